package reading_test

import (
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media"
	"netreel/media/fault"
	"netreel/media/laws"
	"netreel/media/scene/space"
	"netreel/tagging"
	"netreel/tagging/measure"
	"netreel/tagging/reading"
)

// A camera 8 m to the off side, as in the trade's table of how well it can
// work; the picture is 1280 x 720.
var camera = space.LookAt(space.V{X: 1.9, Y: 8, Z: 2}, space.V{X: 1.2, Z: 0.8}, 1400, 1280, 720)

func seenAt(t *testing.T, x, y, z float64) reading.Point {
	t.Helper()
	p, _, ok := camera.Project(space.V{X: x, Y: y, Z: z})
	require.True(t, ok)
	return reading.Point{X: p.X / 1280, Y: p.Y / 720}
}

// clicked are clicks on the very places of the marks. The dimensions are those
// of the Laws of Cricket, 2017 Code, 7 and 8.
func clicked(t *testing.T, keys ...string) reading.CalibrationInput {
	t.Helper()
	var in reading.CalibrationInput
	for _, m := range reading.Choices().Marks {
		for _, key := range keys {
			if m.Key == key {
				in.Clicks = append(in.Clicks, reading.Click{Mark: key, At: seenAt(t, m.X, m.Y, m.Z)})
			}
		}
	}
	require.Len(t, in.Clicks, len(keys))
	return in
}

func solved(t *testing.T) *reading.Calibration {
	t.Helper()
	c, err := clicked(t, "bowling-leg", "bowling-off", "popping-leg", "popping-off", "middle-base", "middle-top").Solve(1280, 720)
	require.NoError(t, err)
	return &c
}

func TestCalibrationKnowsTheCrease(t *testing.T) {
	t.Parallel()
	c := solved(t)
	for _, r := range c.Solved.Residuals {
		assert.Less(t, r.Cm, 0.1, r.Name)
	}
	lines := map[string]reading.Line{}
	for _, l := range c.Lines() {
		lines[l.Name] = l
	}
	popping := lines["popping crease"]
	require.NotEmpty(t, popping.Points)
	end := seenAt(t, laws.Code2017().PoppingFromBowling, -laws.Code2017().PoppingHalfLength, 0)
	assert.InDelta(t, end.X, popping.Points[0].X, 1e-4)
	assert.InDelta(t, end.Y, popping.Points[0].Y, 1e-4)
	assert.InDelta(t, seenAt(t, 0, 0, 0).X, c.ClickAt(c.Solved.Clicks[4]).X, 1e-9)
}

func TestCalibrationRefuses(t *testing.T) {
	t.Parallel()
	four := func(t *testing.T) reading.CalibrationInput {
		return clicked(t, "bowling-leg", "bowling-off", "popping-leg", "popping-off")
	}
	for _, tc := range []struct {
		name string
		in   func(t *testing.T) reading.CalibrationInput
	}{
		{"three points", func(t *testing.T) reading.CalibrationInput {
			return clicked(t, "bowling-leg", "bowling-off", "popping-leg")
		}},
		{"points on one line", func(t *testing.T) reading.CalibrationInput {
			in := four(t)
			for i := range in.Clicks {
				in.Clicks[i].At = reading.Point{X: 0.1 + 0.2*float64(i), Y: 0.5}
			}
			return in
		}},
		{"swapped points", func(t *testing.T) reading.CalibrationInput {
			in := four(t)
			in.Clicks[0].At, in.Clicks[1].At = in.Clicks[1].At, in.Clicks[0].At
			return in
		}},
		{"a point that is nowhere", func(t *testing.T) reading.CalibrationInput {
			in := four(t)
			in.Clicks[0].At.X = 7
			return in
		}},
		{"an edition that nobody wrote", func(t *testing.T) reading.CalibrationInput {
			in := four(t)
			in.Edition = "Laws of croquet"
			return in
		}},
		{"a box that is a dot", func(t *testing.T) reading.CalibrationInput {
			in := four(t)
			in.Box = &reading.Box{X: 0.5, Y: 0.5}
			return in
		}},
		{"an own point without a name", func(t *testing.T) reading.CalibrationInput {
			in := four(t)
			in.Own = []measure.Mark{{Key: "own-1", Use: measure.Fit}}
			return in
		}},
	} {
		t.Run(tc.name, func(t *testing.T) {
			t.Parallel()
			_, err := tc.in(t).Solve(1280, 720)
			require.Error(t, err)
			assert.Equal(t, fault.Invalid, fault.KindOf(err))
			assert.NotEmpty(t, fault.Message(err))
		})
	}
}

func scene(t *testing.T) reading.Scene {
	t.Helper()
	return reading.Scene{
		Calibration: solved(t), Probe: media.Probe{Width: 1280, Height: 720, FrameRate: 50},
		Player:     tagging.Player{Bats: tagging.Right, HeightCM: 170},
		Yardsticks: reading.Yardsticks{NarrowBelow: new(40.0), WideFrom: new(80.0)},
	}
}

// feet are heels on the ground along the pitch, in metres from the stumps.
func feet(t *testing.T, back, front float64) *reading.Sight {
	t.Helper()
	return &reading.Sight{At: 3 * media.Second, Points: map[measure.Part]reading.Point{
		measure.BackHeel: seenAt(t, back, 0.1, 0), measure.FrontHeel: seenAt(t, front, 0.1, 0),
	}}
}

func values(out reading.Outcome) map[string]measure.Value {
	all := map[string]measure.Value{}
	for _, v := range out.Values {
		all[v.Measure] = v
	}
	return all
}

func TestComputeTakesWhatThePointsAllow(t *testing.T) {
	t.Parallel()
	s := scene(t)
	release := 2400 * media.Micros(1000)
	out, err := s.Compute(reading.Sights{Contact: feet(t, 1.0, 1.62), Stance: feet(t, 1.05, 1.45), Release: &release})
	require.NoError(t, err)
	got := values(out)
	assert.InDelta(t, 62, got["base-width"].Value, 0.1)
	assert.InDelta(t, 40, got["stance-base"].Value, 0.1)
	assert.InDelta(t, 17, got["stride"].Value, 0.1)
	assert.InDelta(t, 62.0/1.7, got["base-share"].Value, 0.1)
	assert.InDelta(t, 0.6, got["flight-time"].Value, 0.011)
	assert.Positive(t, got["base-width"].Sigma)
	require.Len(t, out.Terms, 1)
	assert.Equal(t, "sound", out.Terms[0].Term)
	assert.Greater(t, out.Terms[0].Sure, 0.9)
}

func TestComputeSaysWhyNot(t *testing.T) {
	t.Parallel()
	s := scene(t)
	s.Calibration = nil
	out, err := s.Compute(reading.Sights{Contact: feet(t, 1.0, 1.62)})
	require.NoError(t, err)
	assert.Empty(t, out.Values)
	require.NotEmpty(t, out.Refusals, "a base can't be had without a calibration")
	assert.Contains(t, out.Refusals[0].Why, "calibrated")
	// A heel half a metre up lands far off the pitch.
	up := scene(t)
	sight := feet(t, 1.0, 1.62)
	sight.Points[measure.FrontHeel] = seenAt(t, 1.62, 0.1, 0.7)
	out, err = up.Compute(reading.Sights{Contact: sight})
	require.NoError(t, err)
	assert.NotContains(t, values(out), "base-width")
	require.NotEmpty(t, out.Refusals)
}

// A point that is left where a model put it is less sure than a clicked one.
func TestProposedPointsAreLessSure(t *testing.T) {
	t.Parallel()
	s := scene(t)
	clicked := feet(t, 1.0, 1.62)
	left := feet(t, 1.0, 1.62)
	left.Proposed = map[measure.Part]reading.Proposal{
		measure.BackHeel: {Point: left.Points[measure.BackHeel], Seen: 0.9}, measure.FrontHeel: {Point: left.Points[measure.FrontHeel], Seen: 0.9},
		measure.Head: {Point: seenAt(t, 1.3, 0.1, 1.6), Seen: 0.9},
	}
	byHand, err := s.Compute(reading.Sights{Contact: clicked})
	require.NoError(t, err)
	byModel, err := s.Compute(reading.Sights{Contact: left})
	require.NoError(t, err)
	assert.Equal(t, values(byHand)["base-width"].Value, values(byModel)["base-width"].Value)
	assert.Greater(t, values(byModel)["base-width"].Sigma, 2*values(byHand)["base-width"].Sigma)
}

func TestInputRefuses(t *testing.T) {
	t.Parallel()
	good := reading.Input{UUID: uuid.New(), Status: reading.Accepted, Sights: reading.Sights{Contact: feet(t, 1, 1.6)}}
	require.NoError(t, good.Validate())
	for name, spoil := range map[string]func(*reading.Input){
		"no number":              func(in *reading.Input) { in.UUID = uuid.Nil },
		"no such status":         func(in *reading.Input) { in.Status = "perhaps" },
		"no points":              func(in *reading.Input) { in.Sights = reading.Sights{} },
		"no points on a frame":   func(in *reading.Input) { in.Sights.Contact = &reading.Sight{} },
		"a point outside":        func(in *reading.Input) { in.Sights.Contact.Points[measure.Head] = reading.Point{X: 1.5} },
		"a time before the film": func(in *reading.Input) { in.Sights.Contact.At = -1 },
		"a proposal seen too well": func(in *reading.Input) {
			in.Sights.Contact.Proposed = map[measure.Part]reading.Proposal{measure.Head: {Seen: 2}}
		},
	} {
		t.Run(name, func(t *testing.T) {
			in := good
			in.Sights.Contact = feet(t, 1, 1.6)
			spoil(&in)
			assert.Equal(t, fault.Invalid, fault.KindOf(in.Validate()))
		})
	}
}

func TestLimits(t *testing.T) {
	t.Parallel()
	require.NoError(t, reading.Yardsticks{}.Validate())
	require.NoError(t, reading.Yardsticks{NarrowBelow: new(40.0), WideFrom: new(75.0), BackBelow: new(-30.0), ForwardFrom: new(10.0)}.Validate())
	for _, l := range []reading.Yardsticks{
		{NarrowBelow: new(40.0)}, {WideFrom: new(40.0)}, {NarrowBelow: new(75.0), WideFrom: new(40.0)}, {BackBelow: new(0.0), ForwardFrom: new(900.0)},
	} {
		assert.Equal(t, fault.Invalid, fault.KindOf(l.Validate()))
	}
}

func TestHistoryComparesAPlayerWithThemselves(t *testing.T) {
	t.Parallel()
	var all []reading.PlayerValue
	add := func(session int64, day string, values ...float64) {
		for _, v := range values {
			all = append(all, reading.PlayerValue{Measure: "base-width", Value: v, SessionID: session, HeldOn: day})
		}
	}
	add(1, "2026-01-10", 50, 52, 54)
	add(2, "2026-01-17", 60, 62, 64)
	h := reading.HistoryOf(all)
	require.Len(t, h.Measures, 1)
	m := h.Measures[0]
	assert.Equal(t, 6, m.All.Balls)
	assert.InDelta(t, 57, m.All.Mean, 1e-9)
	assert.InDelta(t, 52, m.Before.Mean, 1e-9)
	assert.InDelta(t, 62, m.Latest.Mean, 1e-9)
	require.NotNil(t, m.Change)
	assert.InDelta(t, 10, m.Change.Difference, 1e-9)
	assert.Greater(t, m.Change.Low, 0.0)
	assert.Len(t, m.Sessions, 2)
	assert.Empty(t, reading.HistoryOf(nil).Measures)
}

func TestDoubtfulPutsWhatLooksWrongFirst(t *testing.T) {
	t.Parallel()
	var list []reading.Reading
	for i := range 12 {
		width := 60 + float64(i%3)
		if i == 7 {
			width = 110
		}
		list = append(list, reading.Reading{
			Input:  reading.Input{BallID: int64(i), RecordingID: 1, Status: reading.Proposed, Sights: reading.Sights{Contact: feet(t, 1, 1.6)}},
			Values: []measure.Value{{Measure: "base-width", Value: width, Sigma: 2, Unit: measure.Centimetres}},
		})
	}
	list[3].Values = nil
	sorted := reading.Doubtful(list, nil, nil)
	assert.Equal(t, int64(3), sorted[0].BallID, "nothing could be measured")
	assert.Equal(t, int64(7), sorted[1].BallID, "it jumps")
	assert.NotEmpty(t, sorted[1].Doubts)
	assert.Empty(t, sorted[5].Doubts)
	assert.Equal(t, int64(0), sorted[2].BallID, "the others in order")
}
