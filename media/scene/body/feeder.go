package body

import (
	"math"

	"netreel/media/scene/space"
)

// bowlerward poses look down the pitch at the batter: heading pi.
func feederAt(at space.V) Pose { return Stand(at, math.Pi) }

// Throw adds the keys of an overarm throw-down whose ball leaves the right
// hand at a point and a time; start is when the thrower begins to move. With
// stick the arm is longer by the side-arm's stick.
func Throw(t *Track, start, release float64, from space.V, stick bool) {
	at := space.V{X: from.X + 0.42, Y: from.Y + 0.26}
	rest := feederAt(at)
	hold := rest
	hold[HandR] = at.Add(space.V{X: -0.26, Y: -0.10, Z: 1.10})
	hold[HandL] = at.Add(space.V{X: -0.26, Y: 0.10, Z: 1.08})
	t.Add(start, hold)
	back := hold
	back[FootL] = at.Add(space.V{X: -0.25, Y: 0.10, Z: 0.12})
	back[Hip] = at.Add(space.V{X: 0.10, Z: 0.90})
	back[Lean] = space.V{X: 0.16}
	back[Turn] = space.V{X: math.Pi*0.5 - 0.6, Y: math.Pi*0.5 - 0.9}
	back[HandR] = at.Add(space.V{X: 0.48, Y: -0.22, Z: 1.38})
	back[HandL] = at.Add(space.V{X: -0.42, Y: 0.12, Z: 1.42})
	t.Add(release-0.36, back)
	hand := from
	if stick {
		hand = from.Add(space.V{X: 0.16, Z: -0.38})
	}
	let := back
	let[FootL] = at.Add(space.V{X: -0.62, Y: 0.10})
	let[FootR] = at.Add(space.V{X: 0.08, Y: -0.10, Z: 0.08})
	let[Hip] = at.Add(space.V{X: -0.26, Z: 0.88})
	let[Lean] = space.V{X: -0.22, Y: 0.10}
	let[Turn] = space.V{X: math.Pi / 2, Y: math.Pi/2 + 0.25}
	let[HandR] = hand.Add(space.V{X: 0.05, Z: -0.04})
	let[HandL] = at.Add(space.V{X: -0.28, Y: 0.26, Z: 1.0})
	t.Add(release, let)
	through := let
	through[Hip] = at.Add(space.V{X: -0.36, Z: 0.86})
	through[Lean] = space.V{X: -0.5, Y: 0.12}
	through[Turn].Y = math.Pi/2 + 0.7
	through[HandR] = at.Add(space.V{X: -0.72, Y: 0.14, Z: 0.78})
	through[HandL] = at.Add(space.V{X: -0.1, Y: 0.34, Z: 0.9})
	t.Add(release+0.22, through)
	watch := rest
	t.Add(release+1.1, watch)
}

// Serve adds the keys of somebody who shows a ball over the head and drops it
// into a machine at a place; the machine throws it at release.
func Serve(t *Track, start, release float64, machine space.V) {
	at := machine.Add(space.V{X: 0.62, Y: 0.22})
	at.Z = 0
	rest := feederAt(at)
	t.Add(start, rest)
	show := rest
	show[HandR] = at.Add(space.V{X: -0.12, Y: -0.26, Z: 2.02})
	t.Add(release-1.0, show)
	t.Add(release-0.62, show)
	drop := rest
	drop[HandR] = machine.Add(space.V{X: 0.14, Z: 0.16})
	drop[Lean] = space.V{X: -0.14}
	t.Add(release-0.30, drop)
	t.Add(release-0.05, drop)
	t.Add(release+0.6, rest)
}

// Bowl adds the keys of an off-spinner's run-up, delivery and follow-through;
// the ball leaves the right hand at a point and a time. It returns when the
// bowler is back at the mark.
func Bowl(t *Track, release float64, from, mark space.V) float64 {
	stop := space.V{X: from.X + 1.25, Y: from.Y + 0.22}
	run := Running
	run.Speed = 2.9
	run.Stride = 1.9
	set := release - 0.40
	begin := set - stop.Sub(mark).Len()/run.Speed
	TurnTo(t, mark, math.Pi, begin-0.9, begin-0.3)
	run.Go(t, mark, stop, begin)
	at := space.V{X: from.X + 0.30, Y: from.Y + 0.22}
	gather := feederAt(at.Add(space.V{X: 0.55}))
	gather[FootR] = at.Add(space.V{X: 0.62, Y: -0.06})
	gather[FootL] = at.Add(space.V{X: 0.10, Y: 0.06, Z: 0.22})
	gather[ToeR] = space.V{X: -0.4, Y: -0.9}
	gather[Turn] = space.V{X: 0.5, Y: 0.15}
	gather[Lean] = space.V{X: 0.18}
	gather[HandL] = at.Add(space.V{X: -0.05, Y: 0.16, Z: 1.92})
	gather[HandR] = at.Add(space.V{X: 0.40, Y: -0.16, Z: 1.20})
	t.Add(release-0.20, gather)
	let := gather
	let[Hip] = at.Add(space.V{Z: 0.92})
	let[FootL] = at.Add(space.V{X: -0.34, Y: 0.02})
	let[FootR] = at.Add(space.V{X: 0.52, Y: -0.08, Z: 0.14})
	let[Turn] = space.V{X: 1.2, Y: 1.5}
	let[Lean] = space.V{X: -0.10, Y: 0.22}
	let[HandR] = from.Add(space.V{X: 0.03, Z: -0.06})
	let[HandL] = at.Add(space.V{X: -0.05, Y: 0.34, Z: 0.98})
	t.Add(release, let)
	through := let
	through[Hip] = at.Add(space.V{X: -0.55, Z: 0.86})
	through[FootL] = at.Add(space.V{X: -0.36, Y: 0.02})
	through[FootR] = at.Add(space.V{X: -0.95, Y: -0.04, Z: 0.03})
	through[ToeR] = space.V{X: -1}
	through[Turn] = space.V{X: 1.9, Y: 2.4}
	through[Lean] = space.V{X: -0.42, Y: 0.10}
	through[HandR] = at.Add(space.V{X: -0.75, Y: 0.36, Z: 0.82})
	through[HandL] = at.Add(space.V{X: 0.05, Y: 0.30, Z: 1.15})
	t.Add(release+0.26, through)
	end := at.Add(space.V{X: -1.9, Y: 0.12})
	t.Add(release+0.95, feederAt(end))
	t.Add(release+1.5, feederAt(end))
	back := Walking.Go(t, end, mark, release+1.7)
	TurnTo(t, mark, math.Pi, back+0.05, back+0.7)
	return back + 0.7
}
