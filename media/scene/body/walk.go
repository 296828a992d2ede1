package body

import (
	"math"

	"netreel/media/scene/space"
)

// Facing is the yaw of somebody whose chest looks along heading h (radians
// from x towards y).
func Facing(h float64) float64 { return h - math.Pi/2 }

// Stand is somebody who stands upright at a place of the ground and looks
// along heading h.
func Stand(at space.V, h float64) Pose {
	var p Pose
	ahead, left := space.Heading(h), space.Heading(Facing(h))
	place := func(l, f, z float64) space.V {
		return at.Along(left, l).Along(ahead, f).Along(space.V{Z: 1}, z)
	}
	p[Hip] = place(0, 0, 0.941)
	p[Lean] = ahead.Mul(0.04)
	p[Turn] = space.V{X: Facing(h), Y: Facing(h)}
	p[Gaze] = ahead.Along(space.V{Z: 1}, -0.08)
	p[FootL], p[FootR] = place(0.12, 0.03, 0), place(-0.12, -0.03, 0)
	p[ToeL], p[ToeR] = ahead.Along(left, 0.25), ahead.Along(left, -0.25)
	p[HandL], p[HandR] = place(0.27, 0.06, 0.86), place(-0.27, 0.06, 0.86)
	p[Grip], p[Blade], p[Face] = place(-0.27, 0.12, 0.80), space.V{Z: -1}.Along(ahead, 0.35), ahead
	return p
}

// Gait is how somebody gets along.
type Gait struct {
	Speed  float64 // m/s
	Stride float64 // m from one step of a foot to the next of the same foot
	Bat    bool    // carries a bat in the right hand
}

// The gaits.
var (
	Walking = Gait{Speed: 1.45, Stride: 1.35}
	Running = Gait{Speed: 3.7, Stride: 2.3}
)

// TurnTo adds the keys of somebody who stands at a place of the ground and turns
// towards heading h between two times, in small steps.
func TurnTo(t *Track, at space.V, h, from, to float64) {
	before := h
	if len(*t) > 0 {
		before = t.Last()[Turn].X + math.Pi/2
	}
	turn := math.Remainder(h-before, 2*math.Pi)
	n := max(1, int(math.Ceil(math.Abs(turn)/0.6)))
	for i := 0; i <= n; i++ {
		k := float64(i) / float64(n)
		p := Stand(at, before+turn*k)
		if i > 0 && i < n {
			p[FootL+i%2].Z = 0.04
		}
		t.Add(from+(to-from)*k, p)
	}
}

// Go adds the keys of going in a straight line over the ground from a to b,
// starting at a time, and returns the time of arrival. Feet that stand stay
// where they stand.
func (g Gait) Go(t *Track, a, b space.V, start float64) float64 {
	way := b.Sub(a)
	far := way.Len()
	if far < 0.05 {
		return start
	}
	end := start + far/g.Speed
	h := math.Atan2(way.Y, way.X)
	if len(*t) > 0 && !g.Bat {
		if turn := t.Last()[Turn].X - Facing(h); math.Abs(math.Remainder(turn, 2*math.Pi)) > 0.7 {
			TurnTo(t, a, h, max(t.End()+0.02, start-0.6), start-0.05)
		}
	}
	for n, i := int(math.Ceil((end-start)/0.07)), 0; i <= n; i++ {
		share := float64(i) / float64(n)
		t.Add(start+(end-start)*share, g.at(a, way.Unit(), h, far*share, far))
	}
	return end
}

// at is the pose after s metres of the way.
func (g Gait) at(a, dir space.V, h, s, far float64) Pose {
	p := Stand(a.Along(dir, s), h)
	left := space.Heading(Facing(h))
	speed := g.Speed / 3.7
	foot := func(phase, side float64, toe *space.V) space.V {
		u := math.Mod(s/g.Stride+phase, 1)
		base := s - u*g.Stride // where the cycle began
		plant := base + 0.25*g.Stride
		z := 0.0
		if u > 0.5 {
			k := (u - 0.5) * 2
			plant += g.Stride * smooth(k)
			z = (0.07 + 0.16*speed) * math.Sin(math.Pi*k)
			*toe = toe.Along(space.V{Z: 1}, -0.5*math.Sin(math.Pi*k))
		}
		// Both feet stand under the body where the way begins and ends.
		return a.Along(dir, min(far+0.1, max(-0.1, plant))).Along(left, side*0.08).Along(space.V{Z: 1}, z)
	}
	p[FootL] = foot(0, 1, &p[ToeL])
	p[FootR] = foot(0.5, -1, &p[ToeR])
	swing := math.Sin(2 * math.Pi * s / g.Stride)
	reach := 0.16 + 0.12*speed
	up := 0.16 * speed
	p[HandL] = p[HandL].Along(dir, -reach*swing).Along(space.V{Z: 1}, up+0.05*math.Abs(swing))
	p[HandR] = p[HandR].Along(dir, reach*swing).Along(space.V{Z: 1}, up+0.05*math.Abs(swing))
	p[Hip].Z = 0.930 - 0.02*speed + 0.018*math.Cos(4*math.Pi*s/g.Stride)
	p[Lean] = dir.Mul(0.05 + 0.10*speed)
	p[Turn].Y += 0.12 * swing
	if g.Bat {
		p[Hold] = space.V{Y: 1}
		p[Grip] = p[HandR].Along(dir, 0.04).Along(space.V{Z: 1}, -0.05)
		p[Blade] = space.V{Z: -0.85}.Along(dir, 0.5)
		p[Face] = left
	}
	return p
}
