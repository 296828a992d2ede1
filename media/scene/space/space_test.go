package space_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"netreel/media/scene/space"
)

func point(t *rapid.T, name string, lo, hi float64) space.V {
	g := rapid.Float64Range(lo, hi)
	return space.V{X: g.Draw(t, name+" x"), Y: g.Draw(t, name+" y"), Z: g.Draw(t, name+" z")}
}

// What is projected lies on the ray of its pixel, and the matrix says the same
// as Project.
func TestProjectRayAndMatrixAgree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		eye := space.V{X: 2.5, Y: rapid.Float64Range(5, 12).Draw(t, "y"), Z: rapid.Float64Range(0.5, 4).Draw(t, "z")}
		cam := space.LookAt(eye, point(t, "at", -1, 1), 1600, 1280, 720)
		p := point(t, "p", -3, 3)
		at, depth, ok := cam.Project(p)
		require.True(t, ok)
		back := eye.Along(cam.Ray(at), depth)
		require.InDelta(t, 0, back.Sub(p).Len(), 1e-9)

		m := cam.Matrix()
		var h [3]float64
		for i, row := range m {
			h[i] = row[0]*p.X + row[1]*p.Y + row[2]*p.Z + row[3]
		}
		require.InDelta(t, at.X, h[0]/h[2], 1e-6)
		require.InDelta(t, at.Y, h[1]/h[2], 1e-6)
	})
}

// Seen from the off side, the bowler is on the right of a right-hander who
// faces the camera; seen from behind the bowler, the off side is on the left
// (common practice; any televised match).
func TestPicturesAreNotMirrored(t *testing.T) {
	side := space.LookAt(space.V{Y: 8, Z: 1.6}, space.V{Z: 1}, 1600, 1280, 720)
	bowler, _, _ := side.Project(space.V{X: 3})
	require.Greater(t, bowler.X, 640.0)
	head, _, _ := side.Project(space.V{Z: 1.7})
	foot, _, _ := side.Project(space.V{})
	require.Less(t, head.Y, foot.Y)

	end := space.LookAt(space.V{X: 27, Z: 3}, space.V{Z: 1}, 3000, 1280, 720)
	off, _, _ := end.Project(space.V{Y: 1})
	require.Less(t, off.X, 640.0)
	_, _, ok := end.Project(space.V{X: 40})
	require.False(t, ok, "behind the camera")
}

func TestSegmentDistance(t *testing.T) {
	a, b := space.V{}, space.V{X: 2}
	for _, c := range []struct {
		p        space.V
		d, share float64
	}{
		{space.V{X: 1, Y: 3}, 3, 0.5},
		{space.V{X: -3, Z: 4}, 5, 0},
		{space.V{X: 2.5}, 0.5, 1},
	} {
		d, share := space.SegmentDistance(c.p, a, b)
		require.InDelta(t, c.d, d, 1e-12)
		require.InDelta(t, c.share, share, 1e-12)
	}
}
