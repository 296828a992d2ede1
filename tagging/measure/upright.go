package measure

import "math"

// upright is a vertical plane through a place of the ground, with a direction
// along the ground in it.
type upright struct {
	foot  Spot
	along Spot // unit length
}

// normal is the horizontal direction at right angles to the plane.
func (u upright) normal() vec { return vec{-u.along.Y, u.along.X, 0} }

// shifted moves the plane at right angles to itself, metres.
func (u upright) shifted(by float64) upright {
	n := u.normal()
	u.foot = Spot{u.foot.X + by*n[0], u.foot.Y + by*n[1]}
	return u
}

// Angles between the line of sight, on the ground, and the plane's normal, in
// degrees: above the first a value is flagged, above the second refused.
const (
	askew    = 20.0
	tooAskew = 55.0
)

// askewBy is how far the camera is off looking straight at the plane, degrees.
func (u upright) askewBy(eye [3]float64) float64 {
	n := u.normal()
	dx, dy := u.foot.X-eye[0], u.foot.Y-eye[1]
	return math.Acos(min(1, math.Abs(n[0]*dx+n[1]*dy)/math.Hypot(dx, dy))) * 180 / math.Pi
}

// meet gives where what is seen at p lies in the plane: metres along it from
// the foot, and height.
func (u upright) meet(v *view, p Pixel) (along, height float64, err error) {
	eye, d := v.ray(p)
	n := u.normal()
	k := n.dot(vec{u.foot.X - eye[0], u.foot.Y - eye[1], 0}) / n.dot(d)
	if !(k > 0 && finite(k)) {
		return 0, 0, refuse("This point can't lie above the feet as this camera sees them. Click it again.")
	}
	q := eye.add(d, k)
	return (q[0]-u.foot.X)*u.along.X + (q[1]-u.foot.Y)*u.along.Y, q[2], nil
}

// How far a part may be off the plane it is taken to lie in, one standard
// deviation in metres: judgement, no source.
const (
	bodyOffPlane = 0.10
	ballOffPlane = 0.30
)

// halfFoot is how far the middle of a foot lies before its heel, metres, when its
// toe was not clicked: judgement, no source.
const halfFoot = 0.10

// instep is how far the middles of the feet lie beside the line through the
// heels, along the plane's normal.
func (t *taking) instep(u upright) (float64, error) {
	s, n := t.sight(contact), u.normal()
	if s.Front == OnToe || s.Back == OnToe {
		return 0, nil // the base goes from toe to toe
	}
	if !t.has(contact, FrontToe, BackToe) {
		if (n[1] > 0) == t.in.Batter.LeftHanded {
			return -halfFoot, nil
		}
		return halfFoot, nil
	}
	var beside float64
	for _, f := range []side{front, back} {
		heel, err := t.ground(contact, f.heel)
		if err != nil {
			return 0, err
		}
		toe, err := t.ground(contact, f.toe)
		if err != nil {
			return 0, err
		}
		beside += n.dot(vec{toe.X - heel.X, toe.Y - heel.Y, 0}) / 4
	}
	return beside, nil
}

// planeOfFeet gives the vertical plane through the middles of both feet, which
// the body is taken to stand in, with the middle of the base as its foot.
func (t *taking) planeOfFeet() (u upright, width float64, err error) {
	if _, err := t.space(); err != nil {
		return u, 0, err
	}
	a, b, err := t.base(contact)
	if err != nil {
		return u, 0, err
	}
	width = distance(a, b)
	u = upright{Spot{(a.X + b.X) / 2, (a.Y + b.Y) / 2}, Spot{(b.X - a.X) / width, (b.Y - a.Y) / width}}
	switch off := u.askewBy(t.in.Calibration.Camera.Eye); {
	case off > tooAskew:
		return u, 0, refuse("The camera looks along the line of the feet (%.0f° off), so this can't be told from here. Use a camera from the side.", off)
	case off > askew:
		t.caveat("Seen %.0f° off the line of the feet.", off)
	}
	beside, err := t.instep(u)
	return u.shifted(beside), width, err
}

// within gives where a part lies in the body's plane.
func (t *taking) within(u upright, part Part) (along, height float64, err error) {
	p, err := t.click(contact, part)
	if err != nil {
		return 0, 0, err
	}
	v, err := t.space()
	if err != nil {
		return 0, 0, err
	}
	return u.shifted(t.about("off the plane", 0, bodyOffPlane)).meet(v, p)
}

var headOverBase = Measure{
	Key: "head-over-base", Name: "Head over the base", Unit: Centimetres, vague: 25,
	// Taliep, Galal & Vaughan, J Sports Sci 25 (2007) 345-360, measure the head
	// from the centre of the base.
	About: "How far the head is off the middle of the base at contact: towards the front foot (+) or the back foot (−).",
	Needs: calibrated(at(Head, FrontHeel, BackHeel)),
	take: func(t *taking) (float64, error) {
		u, _, err := t.planeOfFeet()
		if err != nil {
			return 0, err
		}
		along, _, err := t.within(u, Head)
		return 100 * along, err
	},
}

// narrowest is the base below which a share of it means nothing, metres.
const narrowest = 0.15

var headShare = Measure{
	Key: "head-share", Name: "Head over the base, as a share", Unit: Percent, vague: 40,
	About: "The same as a share of the base's width: 0 is over the middle, +50 over the front foot, −50 over the back foot.",
	Needs: calibrated(at(Head, FrontHeel, BackHeel)),
	take: func(t *taking) (float64, error) {
		u, width, err := t.planeOfFeet()
		if err != nil {
			return 0, err
		}
		if width < narrowest {
			return 0, refuse("The feet are only %.0f cm apart, so a share of that means nothing.", 100*width)
		}
		along, _, err := t.within(u, Head)
		return 100 * along / width, err
	},
}
