package measure

import (
	"maps"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"netreel/media/scene"
	"netreel/media/scene/body"
	"netreel/media/scene/space"
)

// struckBodies are the bodies that a scene draws at contact, stroke by stroke,
// as its own camera sees them.
func struckBodies(t *testing.T, clicking func(seed uint64) noise, seeds uint64) (*Calibration, map[body.Shot][]*Sight) {
	set := scene.WinterSession(3)
	set.Width, set.Height = pictureWidth, pictureHeight
	show, err := scene.New(set)
	require.NoError(t, err)
	cam := show.Truth().Camera.Camera
	bodies := map[body.Shot][]*Sight{}
	for shot, meeting := range map[body.Shot]body.Meeting{
		body.Drive:          {Point: space.V{X: 2.15, Y: 0.3, Z: 0.35}, Towards: 0.5},
		body.ForwardDefence: {Point: space.V{X: 2.0, Y: 0.1, Z: 0.5}},
		body.BackDefence:    {Point: space.V{X: 1.26, Y: 0.05, Z: 0.9}},
		body.BackFootDrive:  {Point: space.V{X: 1.36, Y: 0.3, Z: 0.75}, Towards: 0.8},
		body.Pull:           {Point: space.V{X: 1.3, Y: 0.2, Z: 1.1}},
		body.Sweep:          {Point: space.V{X: 2.1, Y: 0.1, Z: 0.3}},
	} {
		meeting.Build, meeting.Shot, meeting.Base = body.Build{Height: 1.68}, shot, 0.45
		meeting.Ready, meeting.Release, meeting.At = 1, 2.2, 3
		var track body.Track
		track.Add(0, body.Easy(0.45))
		body.Play(&track, meeting)
		p := track.At(meeting.At)
		for seed := range seeds {
			bodies[shot] = append(bodies[shot], seenBody(t, clicking(seed), cam, body.Solve(&p, meeting.Build)))
		}
	}
	return exact().calibrated(t, cam), bodies
}

var suri = Batter{Height: 1.68}

// Nothing is said of bodies that are as they were drawn, nor when each point is
// off by a standard deviation of careful clicks.
func TestNothingIsUnlikelyAboutABodyAsItIs(t *testing.T) {
	c, bodies := struckBodies(t, func(seed uint64) noise { return noisy(seed+1, PointSigma) }, 20)
	for shot, sights := range bodies {
		for _, s := range sights {
			require.Empty(t, Unlikely(c, suri, s), "%s", shot)
		}
	}
}

func TestWhatIsHardlyPossibleIsSaid(t *testing.T) {
	c, bodies := struckBodies(t, func(uint64) noise { return exact() }, 1)
	whole := bodies[body.ForwardDefence][0]
	spoilt := func(change func(p map[Part]Point)) string {
		s := *whole
		s.Points = maps.Clone(whole.Points)
		change(s.Points)
		return strings.Join(Unlikely(c, suri, &s), " ")
	}
	move := func(part Part, x, y float64) func(map[Part]Point) {
		return func(p map[Part]Point) {
			at := p[part]
			at.X, at.Y = at.X+x, at.Y+y
			p[part] = at
		}
	}
	front := 1.0 // towards the front foot in the picture
	if whole.Points[FrontHeel].X < whole.Points[BackHeel].X {
		front = -1
	}
	require.Contains(t, spoilt(func(p map[Part]Point) {
		move(FrontHeel, front*250, 0)(p)
		move(FrontToe, front*250, 0)(p)
	}), "wider than anybody")
	require.Contains(t, spoilt(func(p map[Part]Point) {
		move(FrontHeel, 0, -45)(p)
		move(FrontToe, 0, -45)(p)
	}), "One foot would be")
	require.Contains(t, spoilt(move(FrontToe, 0, -25)), "would point to the leg side")
	require.Contains(t, spoilt(move(FrontKnee, 0, -180)), "front shin would be")
	require.Contains(t, spoilt(move(FrontAnkle, 0, -120)), "front ankle to its heel")
	require.Contains(t, spoilt(func(p map[Part]Point) { p[FrontKnee] = p[FrontAnkle] }), "too short")
	require.Contains(t, spoilt(func(p map[Part]Point) {
		move(FrontShoulder, 0, -200)(p)
		move(BackShoulder, 0, -200)(p)
	}), "The trunk would be")
	require.Contains(t, spoilt(func(p map[Part]Point) {
		for _, pair := range [][2]Part{{FrontAnkle, BackAnkle}, {FrontKnee, BackKnee}, {FrontHip, BackHip}, {FrontShoulder, BackShoulder}} {
			p[pair[0]], p[pair[1]] = p[pair[1]], p[pair[0]]
		}
	}), "left and right may be swapped")
	require.Contains(t, spoilt(move(FrontHeel, 0, -600)), "horizon")
	require.Nil(t, Unlikely(nil, suri, whole))
	require.Nil(t, Unlikely(c, suri, nil))
}
