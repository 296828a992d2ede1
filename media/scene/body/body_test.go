package body_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"netreel/media/scene/body"
	"netreel/media/scene/space"
)

var woman = body.Build{Height: 1.70}

// A blend never leaves the range of the two keys round it (Fritsch and Carlson
// 1980: monotone data give a monotone curve).
func TestTrackNeverOvershoots(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var track body.Track
		at := 0.0
		n := rapid.IntRange(2, 7).Draw(t, "keys")
		for range n {
			at += rapid.Float64Range(0.01, 2).Draw(t, "step")
			var p body.Pose
			p[body.Hip].X = rapid.Float64Range(-2, 2).Draw(t, "x")
			track.Add(at, p)
		}
		for range 20 {
			i := rapid.IntRange(0, n-2).Draw(t, "between")
			k := rapid.Float64Range(0, 1).Draw(t, "share")
			a, b := track[i], track[i+1]
			x := track.At(a.At + k*(b.At-a.At))[body.Hip].X
			lo, hi := min(a.Pose[body.Hip].X, b.Pose[body.Hip].X), max(a.Pose[body.Hip].X, b.Pose[body.Hip].X)
			require.GreaterOrEqual(t, x, lo-1e-9)
			require.LessOrEqual(t, x, hi+1e-9)
		}
	})
}

func TestLaterKeysReplaceWhatTheyPrecede(t *testing.T) {
	var track body.Track
	for i, at := range []float64{1, 2, 3, 1.5} {
		var p body.Pose
		p[body.Hip].X = float64(i)
		track.Add(at, p)
	}
	require.Len(t, track, 2)
	require.Equal(t, 3.0, track.Last()[body.Hip].X)
	require.Equal(t, 1.5, track.End())
}

// meetings of every shot, at points where it can be played.
var meetings = map[body.Shot]body.Meeting{
	body.Drive:          {Point: space.V{X: 2.15, Y: 0.3, Z: 0.35}, Towards: 0.5},
	body.Loft:           {Point: space.V{X: 3.05, Y: 0.1, Z: 0.4}, Down: 1},
	body.ForwardDefence: {Point: space.V{X: 2.0, Y: 0.1, Z: 0.5}},
	body.BackDefence:    {Point: space.V{X: 1.26, Y: 0.05, Z: 0.9}},
	body.BackFootDrive:  {Point: space.V{X: 1.36, Y: 0.3, Z: 0.75}, Towards: 0.8},
	body.Flick:          {Point: space.V{X: 1.98, Y: -0.08, Z: 0.45}, Towards: -0.9},
	body.Sweep:          {Point: space.V{X: 2.25, Y: 0.05, Z: 0.4}, Towards: -1.5},
	body.Cut:            {Point: space.V{X: 1.02, Y: 0.7, Z: 0.85}, Towards: 1.5},
	body.Pull:           {Point: space.V{X: 1.55, Y: 0.05, Z: 1.15}, Towards: -1.2},
	body.Leave:          {Point: space.V{X: 1.3, Y: 0.6, Z: 0.8}},
	body.Evade:          {Point: space.V{X: 1.3, Y: 0, Z: 1.6}},
}

func play(shot body.Shot) (body.Track, body.Meeting) {
	m := meetings[shot]
	m.Build, m.Shot, m.Base, m.Trigger = woman, shot, 0.45, true
	m.Ready, m.Release, m.At = 1, 2.2, 3
	var track body.Track
	track.Add(0, body.Easy(0.45))
	end := body.Play(&track, m)
	body.Relax(&track, end, end+3, 0.45)
	return track, m
}

func TestEveryShotMeetsTheBall(t *testing.T) {
	for shot := range meetings {
		track, m := play(shot)
		p := track.At(m.At)
		s := body.Solve(&p, woman)
		top, toe := s.BladeEnds()
		d, share := space.SegmentDistance(m.Point, top, toe)
		if shot == body.Leave || shot == body.Evade {
			require.Greater(t, d, 0.2, "%s: the bat is out of the way", shot)
			continue
		}
		require.Less(t, d, 0.06, "%s: the ball touches the face", shot)
		// Cross 2005, Physics of Cricket: the sweet spot is about 150 mm from the toe.
		require.InDelta(t, 0.15, (1-share)*toe.Sub(top).Len(), 0.02, "%s", shot)
	}
}

func TestBodiesStayWhole(t *testing.T) {
	for shot := range meetings {
		track, m := play(shot)
		p0 := track.At(0)
		first := body.Solve(&p0, woman)
		var last *body.Skeleton
		for at := 0.5; at < m.At+4; at += 0.01 {
			p := track.At(at)
			s := body.Solve(&p, woman)
			for side := range 2 {
				for name, l := range map[string][2]float64{
					"upper arm": {first.Elbow[side].Sub(first.Shoulder[side]).Len(), s.Elbow[side].Sub(s.Shoulder[side]).Len()},
					"forearm":   {first.Wrist[side].Sub(first.Elbow[side]).Len(), s.Wrist[side].Sub(s.Elbow[side]).Len()},
					"thigh":     {first.Knee[side].Sub(first.HipJoint[side]).Len(), s.Knee[side].Sub(s.HipJoint[side]).Len()},
					"shin":      {first.Ankle[side].Sub(first.Knee[side]).Len(), s.Ankle[side].Sub(s.Knee[side]).Len()},
				} {
					require.InDelta(t, l[0], l[1], 1e-6, "%s at %.2f: %s", shot, at, name)
				}
				require.Greater(t, s.Toe[side].Z, -0.01, "%s at %.2f: foot under the ground", shot, at)
				require.Less(t, s.Knee[side].Z, 0.8, "%s at %.2f", shot, at)
				require.Greater(t, s.Knee[side].Z, 0.02, "%s at %.2f: knee under the ground", shot, at)
			}
			require.InDelta(t, 0, s.Blade.Dot(s.Face), 1e-9)
			if last != nil {
				// 0.01 s: nothing but the bat moves faster than 12 m/s.
				require.Less(t, s.Head.Sub(last.Head).Len(), 0.06, "%s at %.2f: head", shot, at)
				require.Less(t, s.Knee[0].Sub(last.Knee[0]).Len(), 0.12, "%s at %.2f: knee", shot, at)
			}
			last = s
		}
	}
}

// Through contact the hands stay on the bat.
func TestHandsHoldTheBat(t *testing.T) {
	for shot := range meetings {
		track, m := play(shot)
		for _, dt := range []float64{-0.3, -0.1, 0, 0.1, 0.3} {
			p := track.At(m.At + dt)
			s := body.Solve(&p, woman)
			for side, name := range []string{"left", "right"} {
				d, _ := space.SegmentDistance(s.Wrist[side], s.BatPoint(-0.15), s.BatPoint(0.12))
				require.Less(t, d, 0.10, "%s at %+.1f: %s hand", shot, dt, name)
			}
		}
	}
}

// Feet that stand do not slide: at any moment of a walk at least one foot is
// down, and what is down does not move.
func TestWalkersDoNotSkate(t *testing.T) {
	for name, g := range map[string]body.Gait{"walking": body.Walking, "running": body.Running} {
		var track body.Track
		end := g.Go(&track, space.V{X: 10, Y: 1}, space.V{X: 1, Y: 0}, 1)
		const step = 0.002
		slid, down := 0.0, 0
		n := 0
		for at := 1.5; at < end-0.5; at += step {
			a, b := track.At(at), track.At(at+step)
			for _, foot := range []int{body.FootL, body.FootR} {
				if a[foot].Z < 0.004 && b[foot].Z < 0.004 {
					slid += b[foot].Sub(a[foot]).Len()
					down++
				}
			}
			n++
		}
		require.Greater(t, down, n/2, name)
		require.Less(t, slid/(float64(down)*step), 0.35, "%s: metres a second of sliding", name)
	}
}

func TestNarrowBaseIsNarrow(t *testing.T) {
	bases := []float64{0.29, 0.45, 0.64}
	for i := 1; i < len(bases); i++ {
		a, b := body.Stance(bases[i-1]), body.Stance(bases[i])
		require.Less(t, body.Solve(&a, woman).Base(), body.Solve(&b, woman).Base())
	}
}
