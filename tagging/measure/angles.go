package measure

import "math"

// jointSigma is how well an angle of the body seen by one camera agrees with
// that measured in space, degrees, when it moves in the plane of the picture:
// Cleary et al., JOSPT Open 2024, 10.2519/josptopen.2024.0051 (knee: standard
// error 3.4 to 3.5°). For other joints it is judgement.
const jointSigma = 3.5

// place is a point in a plane, with up up.
type place struct{ along, up float64 }

// flat gives parts in the vertical plane of the feet, or, where that can't be
// had, as they are in the picture, which serves when the camera is level and
// looks straight at the batter. Along runs towards the front foot where the
// feet say which way that is.
func (t *taking) flat(parts ...Part) ([]place, error) {
	out := make([]place, len(parts))
	if t.in.Calibration != nil && t.in.Calibration.Camera != nil && t.has(contact, FrontHeel, BackHeel) {
		u, _, err := t.planeOfFeet()
		if err != nil {
			return nil, err
		}
		for i, p := range parts {
			if out[i].along, out[i].up, err = t.within(u, p); err != nil {
				return nil, err
			}
		}
		return out, nil
	}
	t.caveat("As it is in the picture: true when the camera is level and looks straight at the batter from the side.")
	forward := t.facing()
	if forward == 0 {
		forward = 1 // an angle between limbs is the same seen in a mirror; what asks for the front refuses by itself
	}
	for i, p := range parts {
		at, err := t.click(contact, p)
		if err != nil {
			return nil, err
		}
		out[i] = place{forward * at.X, -at.Y}
	}
	return out, nil
}

// facing is 1 when the bowler is to the right in the picture, -1 to the left, by
// the first pair of parts that both were clicked, and 0 when none was.
func (t *taking) facing() float64 {
	for _, pair := range [][2]Part{
		{FrontHeel, BackHeel}, {FrontToe, BackToe}, {FrontAnkle, BackAnkle}, {FrontKnee, BackKnee},
	} {
		if t.has(contact, pair[0], pair[1]) {
			s := t.sight(contact)
			return math.Copysign(1, s.Points[pair[0]].X-s.Points[pair[1]].X)
		}
	}
	return 0
}

// lean is the angle of the line from below to above against the vertical,
// degrees, positive when it leans to the front.
func lean(below, above place) float64 {
	return math.Atan2(above.along-below.along, above.up-below.up) * 180 / math.Pi
}

// turned is the angle at b from a to c, degrees, -180 to 180.
func turned(a, b, c place) float64 {
	ux, uy, vx, vy := a.along-b.along, a.up-b.up, c.along-b.along, c.up-b.up
	return math.Atan2(ux*vy-uy*vx, ux*vx+uy*vy) * 180 / math.Pi
}

func half(a, b place) place { return place{(a.along + b.along) / 2, (a.up + b.up) / 2} }

// body adds what one camera can't know about an angle of the body.
func (t *taking) body(degrees float64) float64 {
	t.caveat("About ± 4° if the movement is in the plane of the picture, more if not.")
	return t.about("joint", degrees, jointSigma)
}

// knee measures the angle at a knee.
func knee(key, name string, hip, knee, ankle Part) Measure {
	return Measure{
		Key: key, Name: name, Unit: Degrees, vague: 25,
		About: "The angle between thigh and shin at contact: 180° is a straight leg.",
		Needs: at(hip, knee, ankle),
		take: func(t *taking) (float64, error) {
			p, err := t.flat(hip, knee, ankle)
			if err != nil {
				return 0, err
			}
			// On past 180° when an input is moved, or a straight leg would seem
			// to be known exactly.
			turn := turned(p[0], p[1], p[2])
			turn *= t.choice(key, math.Copysign(1, turn))
			if turn < 0 {
				turn += 360
			}
			return t.body(turn), nil
		},
	}
}

var (
	frontKnee = knee("front-knee", "Front knee", FrontHip, FrontKnee, FrontAnkle)
	backKnee  = knee("back-knee", "Back knee", BackHip, BackKnee, BackAnkle)
)

const sideless = "Which way the bowler is can't be told: click both feet."

var trunkLean = Measure{
	Key: "trunk-lean", Name: "Trunk lean", Unit: Degrees, vague: 25,
	About: "The line from the middle of the hips to the middle of the shoulders at contact, against the vertical: towards the front foot (+) or the back foot (−).",
	Needs: at(FrontHip, BackHip, FrontShoulder, BackShoulder),
	take: func(t *taking) (float64, error) {
		p, err := t.flat(FrontHip, BackHip, FrontShoulder, BackShoulder)
		if err != nil {
			return 0, err
		}
		if t.facing() == 0 {
			return 0, refuse(sideless)
		}
		return t.body(lean(half(p[0], p[1]), half(p[2], p[3]))), nil
	},
}

var batAngle = Measure{
	Key: "bat-angle", Name: "Bat angle", Unit: Degrees, vague: 25,
	About: "The bat from its toe to the top of its handle at contact, against the vertical: handle ahead, towards the bowler (+), or behind (−).",
	Needs: at(BatHandle, BatToe),
	take: func(t *taking) (float64, error) {
		p, err := t.flat(BatToe, BatHandle)
		if err != nil {
			return 0, err
		}
		if t.facing() == 0 {
			return 0, refuse(sideless)
		}
		return lean(p[0], p[1]), nil
	},
}
