package measure

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"netreel/media"
	"netreel/media/fault"
)

// Part is something to click on a frame: of the batter, the bat or the ball.
// Front is what is nearer the bowler: the left side of a right-hander.
type Part string

// The parts.
const (
	FrontHeel     Part = "front-heel"
	FrontToe      Part = "front-toe"
	BackHeel      Part = "back-heel"
	BackToe       Part = "back-toe"
	FrontAnkle    Part = "front-ankle"
	BackAnkle     Part = "back-ankle"
	FrontKnee     Part = "front-knee"
	BackKnee      Part = "back-knee"
	FrontHip      Part = "front-hip"
	BackHip       Part = "back-hip"
	FrontShoulder Part = "front-shoulder"
	BackShoulder  Part = "back-shoulder"
	FrontWrist    Part = "front-wrist"
	BackWrist     Part = "back-wrist"
	Head          Part = "head"
	BatHandle     Part = "bat-handle"
	BatToe        Part = "bat-toe"
	Ball          Part = "ball"
	BallBounce    Part = "ball-bounce"
)

// PartInfo says how a part is called and where to click it.
type PartInfo struct {
	Key    Part   `json:"key"`
	Name   string `json:"name"`
	Click  string `json:"click"`
	Ground bool   `json:"ground"` // it touches the ground, so the ground's homography may be asked
}

// Parts lists all parts, from the ground up.
func Parts() []PartInfo {
	return []PartInfo{
		{FrontHeel, "Front heel", "the sole's edge under the heel, where it touches the ground", true},
		{FrontToe, "Front toe", "the sole's edge under the tip of the shoe, where it touches the ground", true},
		{BackHeel, "Back heel", "the sole's edge under the heel, where it touches the ground", true},
		{BackToe, "Back toe", "the sole's edge under the tip of the shoe, where it touches the ground", true},
		{FrontAnkle, "Front ankle", "the middle of the ankle", false},
		{BackAnkle, "Back ankle", "the middle of the ankle", false},
		{FrontKnee, "Front knee", "the middle of the knee, under the pad's knee roll", false},
		{BackKnee, "Back knee", "the middle of the knee, under the pad's knee roll", false},
		{FrontHip, "Front hip", "the hip joint, at the crease of the thigh", false},
		{BackHip, "Back hip", "the hip joint, at the crease of the thigh", false},
		{FrontShoulder, "Front shoulder", "the middle of the shoulder joint", false},
		{BackShoulder, "Back shoulder", "the middle of the shoulder joint", false},
		{FrontWrist, "Front wrist", "the wrist of the hand that is nearer the top of the handle", false},
		{BackWrist, "Back wrist", "the wrist of the hand that is nearer the blade", false},
		{Head, "Head", "the middle of the head, at the height of the eyes", false},
		{BatHandle, "Top of the handle", "the end of the handle", false},
		{BatToe, "Toe of the bat", "the middle of the blade's end", false},
		{Ball, "Ball", "the middle of the ball when it is struck or passes", false},
		{BallBounce, "Bounce", "where the ball touches the ground", true},
	}
}

// PointSigma is how well a part is hit when nobody says, pixels: judgement, no
// source.
const PointSigma = 2.0

// Point is a part clicked, or proposed by a model, on a frame.
type Point struct {
	X     float64 `json:"x"` // pixels of the picture as shown
	Y     float64 `json:"y"`
	Sigma float64 `json:"sigma,omitempty"` // standard deviation of x and of y, pixels; 0: PointSigma
	Seen  float64 `json:"seen,omitempty"`  // of a proposed point: how well the model saw it, 0 to 1; 0: a person clicked
}

func (p Point) sigma() float64 {
	if p.Sigma == 0 {
		return PointSigma
	}
	return p.Sigma
}

// Footing is what of a foot touches the ground.
type Footing string

// The footings.
const (
	Flat  Footing = ""       // heel and toe
	OnToe Footing = "on-toe" // the heel is up
	Up    Footing = "up"     // none of it
)

// Sight is what is marked on one frame.
type Sight struct {
	Points map[Part]Point `json:"points"`
	Front  Footing        `json:"front,omitempty"`
	Back   Footing        `json:"back,omitempty"`
}

// Moment is when something was seen: the presentation time of the first frame
// that shows it, and how long after the one before that frame comes.
type Moment struct {
	At    media.Micros `json:"at"`
	Frame media.Micros `json:"frame"`
}

// Flight is what is known of the ball's way in time and space.
type Flight struct {
	Trigger *Moment `json:"trigger,omitempty"` // the batter's first movement
	Release *Moment `json:"release,omitempty"` // the ball leaves hand or machine
	Bounce  *Moment `json:"bounce,omitempty"`
	Arrival *Moment `json:"arrival,omitempty"` // contact, or it passes the batter

	From      float64 `json:"from,omitempty"`      // where it was released, metres from the striker's stumps; 0: at the far popping crease
	FromSigma float64 `json:"fromSigma,omitempty"` // metres; 0: 0.3
	To        float64 `json:"to,omitempty"`        // where it was met, metres from the striker's stumps; 0: at the popping crease
	ToSigma   float64 `json:"toSigma,omitempty"`   // metres; 0: 0.3
	Across    float64 `json:"across,omitempty"`    // where it was released, metres to the off side of a right-hander
}

// Batter is who bats.
type Batter struct {
	Height      float64 `json:"height,omitempty"`      // standing upright, metres; 0: not known
	HeightSigma float64 `json:"heightSigma,omitempty"` // metres; 0: 0.01
	LeftHanded  bool    `json:"leftHanded,omitempty"`
}

// Input is all that measures may be taken from. What is missing makes the
// measures that need it say so.
type Input struct {
	Calibration *Calibration `json:"calibration,omitempty"`
	Batter      Batter       `json:"batter"`
	Stance      *Sight       `json:"stance,omitempty"`  // before the ball is released
	Contact     *Sight       `json:"contact,omitempty"` // when it is struck or passes
	Flight      *Flight      `json:"flight,omitempty"`
}

// Validate checks that what is there makes sense by itself.
func (in *Input) Validate() error {
	var wrong []fault.Field
	say := func(bad bool, field, reason string) {
		if bad {
			wrong = append(wrong, fault.Field{Name: field, Reason: reason})
		}
	}
	known := map[Part]bool{}
	for _, p := range Parts() {
		known[p.Key] = true
	}
	sight := func(name string, s *Sight) {
		if s == nil {
			return
		}
		for key, p := range s.Points {
			at := name + ".points." + string(key)
			say(!known[key], at, "is not a part that can be clicked")
			say(!(math.Abs(p.X) <= maxSide && math.Abs(p.Y) <= maxSide), at, "lies outside any picture")
			say(!(p.Sigma >= 0 && p.Sigma <= maxSigma), at, fmt.Sprintf("must be good to at most %.0f pixels", maxSigma))
			say(!(p.Seen >= 0 && p.Seen <= 1), at, "must have been seen with 0 to 1")
			if c := in.Calibration; c != nil {
				say(!inside(Pixel{p.X, p.Y}, c.Width, c.Height), at, "lies outside the picture")
			}
		}
		for _, f := range []Footing{s.Front, s.Back} {
			say(f != Flat && f != OnToe && f != Up, name, "must have feet that are flat, on the toe or up")
		}
	}
	sight("stance", in.Stance)
	sight("contact", in.Contact)
	b := in.Batter
	say(!(b.Height == 0 || b.Height >= 0.8 && b.Height <= 2.4), "batter.height", "must be 0.8 to 2.4 metres")
	say(!(b.HeightSigma >= 0 && b.HeightSigma <= 0.2), "batter.heightSigma", "must be at most 0.2 metres")
	if f := in.Flight; f != nil {
		for name, m := range map[string]*Moment{"trigger": f.Trigger, "release": f.Release, "bounce": f.Bounce, "arrival": f.Arrival} {
			say(m != nil && (m.Frame <= 0 || m.Frame > media.Second), "flight."+name, "must have a frame interval of up to a second")
		}
		for name, v := range map[string]float64{"from": f.From, "to": f.To, "across": f.Across} {
			say(!(math.Abs(v) <= maxLength), "flight."+name, fmt.Sprintf("must be at most %d metres", maxLength))
		}
		for name, v := range map[string]float64{"fromSigma": f.FromSigma, "toSigma": f.ToSigma} {
			say(!(v >= 0 && v <= 3), "flight."+name, "must be 0 to 3 metres")
		}
	}
	if len(wrong) > 0 {
		slices.SortFunc(wrong, func(a, b fault.Field) int { return strings.Compare(a.Name, b.Name) }) // maps have no order
		return fault.New(fault.Invalid, "measure.Input", "This can't be measured: "+wrong[0].Name+" "+wrong[0].Reason+".", wrong...)
	}
	return nil
}
