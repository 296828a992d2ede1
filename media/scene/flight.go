package scene

import (
	"math"
	"slices"

	"netreel/media/laws"
	"netreel/media/scene/space"
)

const gravity = 9.81 // m/s²

// ballRadius is that of a women's ball: 22 cm round (Law 4.6: 21.0 to 22.5 cm).
const ballRadius = 0.22 / (2 * math.Pi)

// leg is a stretch of a ball's way: a parabola, or rolling to rest.
type leg struct {
	at    float64 // s
	from  space.V // m
	speed space.V // m/s
	roll  float64 // deceleration while rolling, m/s²; 0 = in the air
}

func (l leg) pos(t float64) space.V {
	u := t - l.at
	if l.roll > 0 {
		v := l.speed.Len()
		u = min(u, v/l.roll)
		return l.from.Along(l.speed.Unit(), v*u-l.roll*u*u/2)
	}
	p := l.from.Along(l.speed, u)
	p.Z -= gravity * u * u / 2
	return p
}

func (l leg) velocity(t float64) space.V {
	return space.V{X: l.speed.X, Y: l.speed.Y, Z: l.speed.Z - gravity*(t-l.at)}
}

// path is a ball's whole way, legs in rising order of time.
type path []leg

// pos gives where the ball is; before the first leg it is not in flight.
func (p path) pos(t float64) (space.V, bool) {
	for _, l := range slices.Backward(p) {
		if t >= l.at {
			return l.pos(t), true
		}
	}
	return space.V{}, false
}

// delivery is what is asked of a ball before it is hit.
type delivery struct {
	release  float64 // s
	from     space.V
	pace     float64 // m/s along the pitch at release
	pitch    float64 // m: distance of the bounce from the stumps; 0 = full toss
	lineY    float64 // m: where it passes the popping crease
	height   float64 // m: height at the popping crease, full toss only
	turn     float64 // m/s that the bounce adds towards the off side
	bounce   float64 // coefficient of restitution
	keptPace float64 // share of the pace kept through the bounce
}

// solve finds the legs of a delivery: gravity, no drag; the bounce keeps a
// share of the pace along the pitch and sends the ball up again.
func (d delivery) solve(law laws.Edition) path {
	crease := law.PoppingFromBowling
	if d.pitch <= 0 {
		t := (d.from.X - crease) / d.pace
		v := space.V{X: -d.pace, Y: (d.lineY - d.from.Y) / t, Z: (d.height-d.from.Z)/t + gravity*t/2}
		return path{{at: d.release, from: d.from, speed: v}}
	}
	t1 := (d.from.X - d.pitch) / d.pace
	t2 := (d.pitch - crease) / (d.pace * d.keptPace)
	vy := (d.lineY - d.from.Y - d.turn*t2) / (t1 + d.keptPace*t2)
	v := space.V{X: -d.pace, Y: vy, Z: (ballRadius-d.from.Z)/t1 + gravity*t1/2}
	at := d.release + t1
	down := v.Z - gravity*t1
	return path{
		{at: d.release, from: d.from, speed: v},
		{
			at: at, from: space.V{X: d.pitch, Y: d.from.Y + vy*t1, Z: ballRadius},
			speed: space.V{X: -d.pace * d.keptPace, Y: vy*d.keptPace + d.turn, Z: -down * d.bounce},
		},
	}
}

// reaches gives when the last leg is x metres from the stumps.
func (p path) reaches(x float64) float64 {
	l := p[len(p)-1]
	return l.at + (x-l.from.X)/l.speed.X
}

// touch is something that a loose ball does.
type touch struct {
	at   float64
	kind touchKind
	pos  space.V
	hard float64 // m/s into what it meets
}

type touchKind int

const (
	touchGround touchKind = iota
	touchNet
	touchCanvas
	touchStumps
)

// loose follows a ball that nobody touches any more from leg l until it rests
// or seconds have passed: over the ground, into the nets.
func (p path) loose(l leg, until float64) (path, []touch) {
	p = append(p, l)
	var touches []touch
	for range 40 {
		l := p[len(p)-1]
		at, hit := l.meets()
		if at >= until || hit < 0 {
			break
		}
		pos, v := l.pos(at), l.velocity(at)
		if l.roll > 0 {
			v = l.speed.Unit().Mul(max(0, l.speed.Len()-l.roll*(at-l.at)))
		}
		next := leg{at: at, from: pos}
		switch hit {
		case touchGround:
			touches = append(touches, touch{at, hit, pos, -v.Z})
			next.speed = space.V{X: v.X * 0.82, Y: v.Y * 0.82, Z: -v.Z * 0.5}
			if next.speed.Z < 0.7 {
				next.speed.Z, next.roll, next.from.Z = 0, 1.4, ballRadius
				if math.Hypot(next.speed.X, next.speed.Y) < 0.05 {
					next.speed = space.V{X: 0.01}
				}
			}
		default:
			hard := math.Abs(v.Y)
			next.speed = space.V{X: v.X * 0.35, Y: -v.Y * 0.10, Z: v.Z * 0.3}
			if hit == touchCanvas { // the end of the net; the canvas is its foot
				hard = math.Abs(v.X)
				next.speed = space.V{X: -v.X * 0.12, Y: v.Y * 0.35, Z: v.Z * 0.3}
				if pos.Z > canvasTop {
					hit = touchNet
				}
			}
			next.roll = l.roll
			touches = append(touches, touch{at, hit, pos, hard})
		}
		p = append(p, next)
	}
	return p, touches
}

// meets finds when a leg next meets the ground, a side net or the end of the
// net (touchCanvas), and which; -1 for nothing.
func (l leg) meets() (float64, touchKind) {
	at, hit := math.Inf(1), touchKind(-1)
	try := func(u float64, kind touchKind) {
		if u > 1e-4 && l.at+u < at {
			at, hit = l.at+u, kind
		}
	}
	wall := func(from, speed, plane float64, kind touchKind) {
		dir := 1.0
		v := speed
		if plane < 0 {
			dir = -1
		}
		if v*dir <= 1e-6 {
			return
		}
		u := (plane - from) / v
		if l.roll > 0 {
			// Along the way the ball slows: s = v·u - roll·u²/2.
			all := l.speed.Len()
			s := (plane - from) / v * all
			d := all*all - 2*l.roll*s
			if d < 0 {
				return
			}
			u = (all - math.Sqrt(d)) / l.roll
		}
		try(u, kind)
	}
	wall(l.from.Y, l.speed.Y, laneWidth/2-ballRadius, touchNet)
	wall(l.from.Y, l.speed.Y, -laneWidth/2+ballRadius, touchNet)
	wall(l.from.X, l.speed.X, backNet+ballRadius, touchCanvas)
	if l.roll == 0 {
		h := l.from.Z - ballRadius
		if root := l.speed.Z*l.speed.Z + 2*gravity*h; root >= 0 {
			try((l.speed.Z+math.Sqrt(root))/gravity, touchGround)
		}
	}
	return at, hit
}
