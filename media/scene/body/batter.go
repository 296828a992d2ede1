package body

import (
	"math"

	"netreel/media/scene/space"
)

// Shot is what a batter does with a ball. The values are the keys of the
// default vocabulary.
type Shot string

// The shots that a batter can be asked for.
const (
	ForwardDefence Shot = "forward-defence"
	BackDefence    Shot = "back-defence"
	Drive          Shot = "drive"
	BackFootDrive  Shot = "back-foot-drive"
	Cut            Shot = "cut"
	Pull           Shot = "pull"
	Sweep          Shot = "sweep"
	Flick          Shot = "flick"
	Loft           Shot = "loft"
	Leave          Shot = "leave"
	Evade          Shot = "evade"
)

// Meeting is one ball as the batter is to meet it.
type Meeting struct {
	Build   Build
	Shot    Shot
	Ready   float64 // s: in her stance from here
	Release float64 // s: when the ball leaves the hand or the machine
	At      float64 // s: when the ball is at Point
	Point   space.V // where bat and ball meet, or pass each other
	Towards float64 // rad: where the ball is to go, from x towards y
	Aside   float64 // m: how far the bat is out of the ball's line, towards the inner (upright bat) or lower edge
	Along   float64 // m: how far from the sweet spot towards the toe it is met
	Base    float64 // m: between the feet, in the stance and when she plays back
	Fall    space.V // lean of the trunk that is not meant: loss of balance
	Down    float64 // m: how far she comes down the pitch
	Trigger bool    // a small press before the release
	Soft    bool    // hands give at contact
	Ball    func(t float64) space.V
}

// beat is a change of pose at a time before (negative) or after contact.
type beat struct {
	at float64
	do func(p *Pose)
}

// Play adds the keys of one ball to a batter's track: from the stance at
// m.Ready to the end of the follow-through, and returns when that is.
func Play(t *Track, m Meeting) float64 {
	stance := Stance(m.Base)
	t.Add(m.Ready, stance)
	beats := shots[m.Shot](m)
	first := m.At + beats[0].at
	begin := min(m.Release, first) - 0.12
	// The bat taps while she waits.
	for at := m.Ready + 0.25; at+0.35 < begin; at += 0.62 {
		tap := stance
		tap[Grip].Z -= 0.045
		tap[Hip].Z -= 0.004
		t.Add(at, stance)
		t.Add(at+0.13, tap)
		t.Add(at+0.26, stance)
	}
	t.Add(begin, stance)
	p := stance
	if m.Trigger && m.Release+0.02 < first-0.05 {
		trigger(&p)
		t.Add(m.Release+0.02, p)
	}
	end := begin
	for _, b := range beats {
		at := m.At + b.at
		if at <= end+0.02 {
			// Too little time for a full backlift: fold it into what follows.
			b.do(&p)
			continue
		}
		b.do(&p)
		look(&p, m, at)
		q := p
		if m.Fall != (space.V{}) {
			k := smooth((b.at + 0.45) / 0.45)
			q[Lean] = q[Lean].Along(m.Fall, k)
			q[Hip] = q[Hip].Along(space.V{X: m.Fall.X, Y: m.Fall.Y}, 0.25*k)
			q[Nod] = q[Nod].Along(space.V{X: m.Fall.X, Y: m.Fall.Y}, 0.12*k)
		}
		fit(&q, m.Build, b.at == 0)
		t.Add(at, q)
		end = at
	}
	return end
}

// trigger is the small preparing movement: a press of the back foot and the
// bat on its way up.
func trigger(p *Pose) {
	p[FootR] = p[FootR].Add(space.V{X: -0.07, Y: 0.05})
	p[Hip] = p[Hip].Add(space.V{X: -0.03, Y: 0.02, Z: -0.015})
	p[Grip] = p[Grip].Add(space.V{X: -0.05, Y: -0.02, Z: 0.10})
	p[Blade] = space.V{X: -0.78, Y: 0.06, Z: -0.55}
}

// look turns the eyes to the ball until it is met, then after it.
func look(p *Pose, m Meeting, at float64) {
	head := p[Hip].Add(space.V{X: 0.5 * p[Lean].X, Y: 0.5 * p[Lean].Y, Z: 0.62})
	to := m.Point
	if at < m.At && m.Ball != nil {
		to = m.Ball(at)
	}
	if at > m.At+0.05 && m.Shot != Leave && m.Shot != Evade {
		to = head.Along(space.Heading(m.Towards), 6).Along(space.V{Z: 1}, -0.8)
	}
	g := to.Sub(head).Unit()
	g.Z = max(-0.75, min(0.3, g.Z))
	p[Gaze] = g
}

// meet puts the bat so that its sweet spot (moved by Along and Aside) is where
// the ball is. dir is the blade's direction, face where its face looks.
func meet(p *Pose, m Meeting, dir, face space.V) {
	dir = dir.Unit()
	face = face.Across(dir)
	const gap = 0.036 + 0.012 // the ball's radius and the face's height over the middle line
	spot := m.Point.Along(dir.Cross(face), m.Aside).Along(face, -gap)
	p[Blade], p[Face] = dir, face
	p[Grip] = spot.Along(dir, -(sweetSpot + m.Along))
}

// hands sets grip, blade and face.
func hands(p *Pose, grip, blade, face space.V) { p[Grip], p[Blade], p[Face] = grip, blade.Unit(), face }

// heading turns a share of the way from straight to where the ball goes.
func heading(m Meeting, share float64) space.V { return space.Heading(m.Towards * share) }

// Relax adds the keys of a batter who comes out of a shot, walks back if she
// has to and stands easy, and is in her stance again at ready.
func Relax(t *Track, from, ready, base float64) {
	last := t.Last()
	easy := Easy(base)
	t.Add(from, last)
	need := 0.75
	if far := math.Hypot(last[Hip].X-easy[Hip].X, last[Hip].Y-easy[Hip].Y); far > 0.6 {
		need = 1.5
	}
	if from+need+0.9 > ready {
		t.Add(max(from+0.3, ready-0.2), Stance(base))
		return
	}
	mid := blendPose(last, easy, 0.5)
	mid[FootL].Z, mid[ToeL] = 0.06, easy[ToeL]
	mid[Hip].Z = 0.9
	mid[Grip] = space.V{X: mid[Hip].X + 0.05, Y: mid[Hip].Y + 0.42, Z: 0.95}
	mid[Blade] = space.V{X: -0.35, Y: 0.25, Z: -0.85}
	t.Add(from+need*0.55, mid)
	t.Add(from+need, easy)
	t.Add(max(from+need+0.05, ready-0.75), easy)
	t.Add(ready, Stance(base))
}

// Easy is a batter who stands upright between two balls, looking down the
// pitch.
func Easy(base float64) Pose {
	p := Stance(base * 0.8)
	p[Hip].Z = 0.915
	p[Hip].Y = -0.12
	p[Lean] = space.V{X: 0.03, Y: 0.14}
	p[Turn] = space.V{X: -0.25, Y: -0.35}
	p[Grip] = space.V{X: 1.22, Y: 0.22, Z: 0.80}
	p[Blade] = space.V{X: -0.10, Y: 0.10, Z: -1}
	p[Gaze] = space.V{X: 1, Y: 0.05, Z: -0.05}
	return p
}

func blendPose(a, b Pose, k float64) Pose {
	for i := range a {
		a[i] = space.Mix(a[i], b[i], k)
	}
	return a
}
