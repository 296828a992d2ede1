// Package body moves and dresses the people of a net session: poses between
// which a track blends, limbs that follow by two-bone arithmetic, the shots a
// batter plays and the ways a ball is fed.
//
// It must not know balls' outcomes, sound, the hall or the video's clock: it is
// told where and when a ball is met, and gives back bodies.
package body

import (
	"math"
	"sort"

	"netreel/media/scene/space"
)

// A Pose is a row of vectors, so that two poses blend component by component.
// The constants name its places. Points are metres in the frame of the pitch.
type Pose [poseSize]space.V

// Places in a pose.
const (
	Hip   = iota // centre of the pelvis
	Lean         // X, Y: how far the trunk leans, metres a metre of height
	Turn         // X: yaw of the pelvis, Y: of the shoulders, radians; 0 is side-on, chest to the off side. Z: how high the left elbow is, 0..1
	Gaze         // direction of the face
	Nod          // how far the head is moved from above the neck
	FootL        // under the left ankle; Z: heel's height
	FootR        // the same on the right
	ToeL         // direction of the left foot
	ToeR         // of the right
	HandL        // left wrist when it is not on the bat
	HandR        // right wrist when it is not on the bat
	Grip         // bat: between the hands
	Blade        // bat: direction from handle to toe
	Face         // bat: direction that the face looks
	Hold         // X, Y: share of left and right hand that is on the bat, 0..1
	poseSize
)

// Shift returns the pose moved over the ground, everything with it.
func (p Pose) Shift(d space.V) Pose {
	for _, i := range []int{Hip, FootL, FootR, HandL, HandR, Grip} {
		p[i] = p[i].Add(d)
	}
	return p
}

// Key is a pose at a time in seconds.
type Key struct {
	At   float64
	Pose Pose
}

// Track is a row of keys in rising order of time.
type Track []Key

// Add appends a key. Keys that are not later than the last one replace what
// lies after them: the newer intention wins.
func (t *Track) Add(at float64, p Pose) {
	k := *t
	for len(k) > 0 && k[len(k)-1].At >= at-1e-6 {
		k = k[:len(k)-1]
	}
	if len(k) > 0 { // the shorter way round
		before := k[len(k)-1].Pose[Turn]
		p[Turn].X = before.X + math.Remainder(p[Turn].X-before.X, 2*math.Pi)
		p[Turn].Y = before.Y + math.Remainder(p[Turn].Y-before.Y, 2*math.Pi)
	}
	*t = append(k, Key{at, p})
}

// Last returns the latest pose.
func (t Track) Last() Pose { return t[len(t)-1].Pose }

// At gives the pose at a time: a cubic between keys whose slopes never
// overshoot (Fritsch and Carlson 1980, monotone piecewise cubic
// interpolation), so that a foot that stands stays where it stands.
func (t Track) At(at float64) Pose {
	i := sort.Search(len(t), func(i int) bool { return t[i].At > at })
	switch {
	case len(t) == 0:
		return Pose{}
	case i == 0:
		return t[0].Pose
	case i == len(t):
		return t[len(t)-1].Pose
	}
	a, b := &t[i-1], &t[i]
	before, after := a, b
	if i >= 2 {
		before = &t[i-2]
	}
	if i+1 < len(t) {
		after = &t[i+1]
	}
	h := b.At - a.At
	u := (at - a.At) / h
	var out Pose
	for c := range out {
		out[c] = space.V{
			X: hermite(before.Pose[c].X, a.Pose[c].X, b.Pose[c].X, after.Pose[c].X, a.At-before.At, h, after.At-b.At, u),
			Y: hermite(before.Pose[c].Y, a.Pose[c].Y, b.Pose[c].Y, after.Pose[c].Y, a.At-before.At, h, after.At-b.At, u),
			Z: hermite(before.Pose[c].Z, a.Pose[c].Z, b.Pose[c].Z, after.Pose[c].Z, a.At-before.At, h, after.At-b.At, u),
		}
	}
	return out
}

// hermite blends from v1 to v2 at share u of a step of length h1.
func hermite(v0, v1, v2, v3, h0, h1, h2, u float64) float64 {
	if v1 == v2 {
		return v1
	}
	d := (v2 - v1) / h1
	m1 := slope(v1-v0, h0, d, h1)
	m2 := slope(v3-v2, h2, d, h1)
	u2 := u * u
	u3 := u2 * u
	return v1*(2*u3-3*u2+1) + v2*(3*u2-2*u3) + h1*(m1*(u3-2*u2+u)+m2*(u3-u2))
}

// slope is the weighted harmonic mean of the slopes on both sides of a key:
// zero where they differ in sign or where the track begins or ends.
func slope(rise, h, d, hd float64) float64 {
	if h <= 0 {
		return 0
	}
	s := rise / h
	if s*d <= 0 {
		return 0
	}
	w1, w2 := 2*hd+h, hd+2*h
	return (w1 + w2) / (w1/s + w2/d)
}

// End is the time of the last key.
func (t Track) End() float64 {
	if len(t) == 0 {
		return 0
	}
	return t[len(t)-1].At
}
