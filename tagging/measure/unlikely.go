package measure

import (
	"fmt"
	"math"

	"netreel/media/fault"
)

// Lengths of a body's parts as shares of its height: Drillis & Contini, Body
// segment parameters (1966), as printed in Winter, Biomechanics and Motor
// Control of Human Movement, fig. 4.1 (from memory).
const (
	shinShare  = 0.246 // knee to ankle
	thighShare = 0.245 // hip to knee
	trunkShare = 0.288 // hip, at 0.530, to shoulder, at 0.818
	legShare   = 0.530 // hip to the ground
	footShare  = 0.152 // heel to toe
)

// Limits of what a body does, as shares of its height: judgement. A forward
// stroke's stride of 0.72 m in the mean (Stretch et al., J Sports Sci 16 (1998)
// 711-720) out of a stance as wide as the shoulders comes to 0.6 of a tall
// player's height.
const (
	widestBase  = 0.75 // base
	aslant      = 0.25 // one foot farther from the camera's side than the other
	ankleToHeel = 0.12
	turnedIn    = 0.7  // of a foot's length, by which its toe is to the leg side of its heel
	unknownTall = 1.75 // metres, for a batter whose height is not known
)

// How far a part seen by one camera may be from its usual length. A part that
// points at the camera looks short; none looks long.
const (
	tooLong  = 1.3
	tooShort = 0.4
)

// Unlikely says what about the points of a contact's frame is hardly possible
// for a batter, in words; nil when nothing strikes, or when the camera is not
// calibrated. It asks nothing but the frame itself, so that it doubts the first
// ball of a session too.
func Unlikely(c *Calibration, b Batter, s *Sight) []string {
	if c == nil || s == nil {
		return nil
	}
	l := look{taking: &taking{in: &Input{Calibration: c, Batter: b, Contact: s}, choices: map[string]float64{}}, tall: b.Height}
	if l.tall == 0 {
		l.tall = unknownTall
	}
	l.feet()
	l.sides()
	l.limbs()
	return l.reasons
}

type look struct {
	*taking
	tall    float64
	reasons []string
}

func (l *look) say(format string, a ...any) { l.reasons = append(l.reasons, fmt.Sprintf(format, a...)) }

// feet asks whether both feet can be where the points say.
func (l *look) feet() {
	if !l.has(contact, FrontHeel, BackHeel) {
		return
	}
	backEnd, frontEnd, err := l.base(contact)
	if err != nil {
		l.say("%s", fault.Message(err))
		return
	}
	if w := distance(backEnd, frontEnd); w > widestBase*l.tall {
		l.say("The base would be %.0f cm, wider than anybody of this height stands.", 100*w)
	}
	if d := math.Abs(frontEnd.Y - backEnd.Y); d > aslant*l.tall {
		l.say("One foot would be %.0f cm nearer the camera's side than the other: a heel is up, or its point is not on the sole.", 100*d)
	}
	for _, f := range []side{front, back} {
		if f.footing(l.sight(contact)) != Flat || !l.has(contact, f.toe) {
			continue
		}
		heel, err1 := l.ground(contact, f.heel)
		toe, err2 := l.ground(contact, f.toe)
		if err1 != nil || err2 != nil {
			continue
		}
		if d := distance(heel, toe); d > 2*footShare*l.tall {
			l.say("The %s foot would be %.0f cm long: its heel or its toe is not on the ground.", f.name, 100*d)
		}
		out := toe.Y - heel.Y
		if l.in.Batter.LeftHanded {
			out = -out
		}
		if out < -turnedIn*footShare*l.tall {
			l.say("The %s foot would point to the leg side: its heel is up, or its points are off.", f.name)
		}
	}
}

// sides asks whether left and right were taken for each other: most of the
// pairs of the body in the order that is not that of the heels.
func (l *look) sides() {
	s := l.sight(contact)
	order := l.facing()
	if order == 0 || !l.has(contact, FrontHeel, BackHeel) {
		return
	}
	var pairs, turned int
	for _, p := range [][2]Part{{FrontAnkle, BackAnkle}, {FrontKnee, BackKnee}, {FrontHip, BackHip}, {FrontShoulder, BackShoulder}} {
		if !l.has(contact, p[0], p[1]) {
			continue
		}
		pairs++
		if (s.Points[p[0]].X-s.Points[p[1]].X)*order < 0 {
			turned++
		}
	}
	if pairs >= 3 && turned > pairs/2 {
		l.say("The body lies the other way round than the feet: left and right may be swapped.")
	}
}

// limbs asks whether the body's parts are as long as those of a batter of this
// height, in the vertical plane of the feet.
func (l *look) limbs() {
	if l.in.Calibration.Camera == nil || !l.has(contact, FrontHeel, BackHeel) {
		return
	}
	for _, part := range []struct {
		name     string
		from, to Part
		share    float64
		long     float64 // times the share
		short    float64
	}{
		{"front shin", FrontKnee, FrontAnkle, shinShare, tooLong, tooShort},
		{"back shin", BackKnee, BackAnkle, shinShare, tooLong, tooShort},
		{"front thigh", FrontHip, FrontKnee, thighShare, tooLong, tooShort},
		{"back thigh", BackHip, BackKnee, thighShare, tooLong, tooShort},
		{"front leg", FrontHip, FrontHeel, legShare, 1.2, 0},
		{"back leg", BackHip, BackHeel, legShare, 1.2, 0},
		{"front ankle to its heel", FrontAnkle, FrontHeel, ankleToHeel, 1, 0},
		{"back ankle to its heel", BackAnkle, BackHeel, ankleToHeel, 1, 0},
	} {
		if !l.has(contact, part.from, part.to) || part.share == ankleToHeel && !l.flatFoot(part.to) {
			continue
		}
		p, err := l.flat(part.from, part.to)
		if err != nil {
			return // the camera looks along the feet
		}
		l.long(part.name, p[0], p[1], part.share, part.long, part.short)
	}
	if l.has(contact, FrontHip, BackHip, FrontShoulder, BackShoulder) {
		if p, err := l.flat(FrontHip, BackHip, FrontShoulder, BackShoulder); err == nil {
			l.long("trunk", half(p[0], p[1]), half(p[2], p[3]), trunkShare, tooLong, tooShort)
		}
	}
}

// flatFoot says whether the foot of a heel is said to stand flat.
func (l *look) flatFoot(heel Part) bool {
	s := l.sight(contact)
	return heel == FrontHeel && s.Front == Flat || heel == BackHeel && s.Back == Flat
}

func (l *look) long(name string, a, b place, share, long, short float64) {
	d := math.Hypot(a.along-b.along, a.up-b.up)
	usual := share * l.tall
	switch {
	case d > long*usual:
		l.say("The %s would be %.0f cm, too long for this height: one of its points is off.", name, 100*d)
	case d < short*usual:
		l.say("The %s would be %.0f cm, too short for this height: one of its points is off, or it points at the camera.", name, 100*d)
	}
}
