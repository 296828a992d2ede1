package measure

import "math"

// side is one of the batter's feet.
type side struct {
	name      string
	heel, toe Part
	footing   func(*Sight) Footing
}

var (
	front = side{"front", FrontHeel, FrontToe, func(s *Sight) Footing { return s.Front }}
	back  = side{"back", BackHeel, BackToe, func(s *Sight) Footing { return s.Back }}
)

// Limits of what is taken for a foot on the ground of the batter's end, metres.
const (
	shortFoot, longFoot = 0.10, 0.50
	behindStumps        = -2.5
	downThePitch        = 6.0
	beside              = 2.5
	widestStance        = 1.9 // between the heels of a batter whose height is not known
)

// placed checks that a point of a foot can be one.
func placed(s side, at Spot) error {
	if at.X < behindStumps || at.X > downThePitch || math.Abs(at.Y) > beside {
		return refuse("The %s foot would stand %s m from the stumps along the pitch and %.1f m beside it. "+
			"Either it is off the ground, or the click is not on the sole.", s.name, number(at.X, 1), math.Abs(at.Y))
	}
	return nil
}

// heel gives the place of a foot's heel, or of its toe when byToe.
func (t *taking) heel(f frame, s side, byToe bool) (Spot, error) {
	if t.sight(f) != nil && s.footing(t.sight(f)) == Up {
		return Spot{}, refuse("The %s foot is off the ground at %s, so where it is can't be told. Choose a frame with the foot down.", s.name, f)
	}
	part := s.heel
	if byToe {
		part = s.toe
	}
	at, err := t.ground(f, part)
	if err != nil || !t.judging() {
		return at, err
	}
	if err := placed(s, at); err != nil {
		return Spot{}, err
	}
	return at, t.whole(f, s)
}

// whole checks that a foot which is said to stand flat is as long as a foot, as
// far as the clicks can tell.
func (t *taking) whole(f frame, s side) error {
	if !t.has(f, s.heel, s.toe) || s.footing(t.sight(f)) != Flat {
		return nil
	}
	var ends [2]Spot
	var sigma float64
	for i, part := range []Part{s.heel, s.toe} {
		var err error
		if ends[i], err = t.ground(f, part); err != nil {
			return err
		}
		p := t.sight(f).Points[part]
		sigma = math.Hypot(sigma, t.in.Calibration.spotSigma(Pixel{p.X, p.Y}, p.sigma()))
	}
	if l := distance(ends[0], ends[1]); l < shortFoot-2*sigma || l > longFoot+2*sigma {
		return refuse("The %s foot would be %.0f cm long, so its heel or its toe is not on the ground. "+
			"Click the sole's edge, or say that the foot is on its toe or up.", s.name, 100*l)
	}
	out := ends[1].Y - ends[0].Y
	if t.in.Batter.LeftHanded {
		out = -out
	}
	if out < -shortFoot-2*sigma {
		t.caveat("The %s foot would point to the leg side. If it did not, its heel was up: say that it is on its toe.", s.name)
	}
	return nil
}

// middle gives the middle of a foot, or what of it is there.
func (t *taking) middle(f frame, s side) (Spot, error) {
	onToe := t.sight(f) != nil && s.footing(t.sight(f)) == OnToe
	if onToe || !t.has(f, s.toe) {
		if !onToe {
			t.caveat("From the %s heel alone: its toe was not clicked.", s.name)
		} else {
			t.caveat("From the %s toe: the heel was up.", s.name)
		}
		return t.heel(f, s, onToe)
	}
	heel, err := t.heel(f, s, false)
	if err != nil {
		return Spot{}, err
	}
	toe, err := t.heel(f, s, true)
	return Spot{(heel.X + toe.X) / 2, (heel.Y + toe.Y) / 2}, err
}

func distance(a, b Spot) float64 { return math.Hypot(b.X-a.X, b.Y-a.Y) }

// base gives both ends of the base on a frame: the heels, or the toes when a
// heel is up.
func (t *taking) base(f frame) (backEnd, frontEnd Spot, err error) {
	byToe := false
	if s := t.sight(f); s != nil && (s.Front == OnToe || s.Back == OnToe) {
		byToe = true
		t.caveat("From toe to toe: a heel was up at %s.", f)
	}
	if frontEnd, err = t.heel(f, front, byToe); err != nil {
		return backEnd, frontEnd, err
	}
	if backEnd, err = t.heel(f, back, byToe); err != nil {
		return backEnd, frontEnd, err
	}
	most := widestStance
	if h := t.in.Batter.Height; h > 0 {
		most = 1.1 * h
	}
	if w := distance(backEnd, frontEnd); w > most && t.judging() {
		return backEnd, frontEnd, refuse("The feet would be %.0f cm apart. One of them is off the ground, or a click is not on its sole.", 100*w)
	}
	return backEnd, frontEnd, nil
}

func (t *taking) width(f frame) (float64, error) {
	a, b, err := t.base(f)
	return 100 * distance(a, b), err
}

// height gives the batter's upright height in metres.
func (t *taking) height() (float64, error) {
	b := t.in.Batter
	if b.Height == 0 {
		return 0, refuse("The batter's height is not known. Enter it with the player.")
	}
	sigma := b.HeightSigma
	if sigma == 0 {
		sigma = 0.01
	}
	return t.about("height", b.Height, sigma), nil
}

var baseWidth = Measure{
	Key: "base-width", Name: "Base", Unit: Centimetres, vague: 25,
	About: "Between the feet when the ball is struck or passes, heel to heel along the ground.",
	Needs: calibrated(at(FrontHeel, BackHeel)),
	take:  func(t *taking) (float64, error) { return t.width(contact) },
}

var baseShare = Measure{
	Key: "base-share", Name: "Base against height", Unit: Percent, vague: 15,
	About: "The base as a share of the batter's height, so that batters of unlike size can be compared.",
	Needs: append(calibrated(at(FrontHeel, BackHeel)), NeedsHeight),
	take: func(t *taking) (float64, error) {
		w, err := t.width(contact)
		if err != nil {
			return 0, err
		}
		h, err := t.height()
		return w / h, err
	},
}

var stanceBase = Measure{
	Key: "stance-base", Name: "Base in the stance", Unit: Centimetres, vague: 25,
	About: "Between the feet before the ball is released, heel to heel along the ground.",
	Needs: calibrated(before(FrontHeel, BackHeel)),
	take:  func(t *taking) (float64, error) { return t.width(stance) },
}

var baseChange = Measure{
	Key: "base-change", Name: "Base, contact against stance", Unit: Centimetres, vague: 25,
	About: "How much wider (+) or narrower (−) the base is at contact than in the stance.",
	Needs: calibrated(before(FrontHeel, BackHeel), at(FrontHeel, BackHeel)),
	take: func(t *taking) (float64, error) {
		w, err := t.width(contact)
		if err != nil {
			return 0, err
		}
		s, err := t.width(stance)
		return w - s, err
	},
}

var stride = Measure{
	Key: "stride", Name: "Front-foot stride", Unit: Centimetres, vague: 25,
	About: "How far the front foot has gone towards the bowler (+) or back (−) from the stance to contact.",
	Needs: calibrated(before(FrontHeel), at(FrontHeel)),
	take: func(t *taking) (float64, error) {
		byToe := t.sight(contact) != nil && t.sight(stance) != nil && (t.sight(contact).Front == OnToe || t.sight(stance).Front == OnToe)
		if byToe {
			t.caveat("By the toe: the heel was up.")
		}
		to, err := t.heel(contact, front, byToe)
		if err != nil {
			return 0, err
		}
		from, err := t.heel(stance, front, byToe)
		return 100 * (to.X - from.X), err
	},
}
