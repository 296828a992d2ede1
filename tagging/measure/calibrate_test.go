package measure

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"netreel/media/fault"
	"netreel/media/laws"
	"netreel/media/scene/space"
)

// Distances of Laws 6.1, 7.2, 7.3 and 7.4 of the 2017 Code, in metres, found in a
// picture that was calibrated from four corners alone. The pitch's length is
// not among what was clicked.
func TestLawsAreRecovered(t *testing.T) {
	marks := map[string]Mark{}
	for _, m := range usualPitch().Marks() {
		marks[m.Key] = m
	}
	for name, cam := range map[string]space.Camera{"side-on": sideOn, "oblique": oblique, "behind": behind, "end-on": endOn} {
		c, err := Calibrate(setup(usualPitch()), exact().clicks(t, cam, usualPitch(), corners))
		require.NoError(t, err, name)
		find := func(key string) Spot {
			m := marks[key]
			at, _, err := c.Spot(exact().pixel(t, cam, space.V{X: m.X, Y: m.Y}), 1)
			require.NoError(t, err)
			return at
		}
		for _, d := range []struct {
			law, a, b string
			metres    float64
		}{
			{"7.2, bowling crease within the return creases", "bowling-leg", "bowling-off", 2.64},
			{"7.3, popping crease from bowling crease", "bowling-off", "popping-off", 1.22},
			{"7.3, popping crease at least 1.83 m each side", "popping-end-leg", "popping-end-off", 3.66},
			{"7.4, return crease at least 2.44 m behind", "return-end-leg", "popping-leg", 2.44},
			{"8.1, wicket's width", "outer-base-leg", "outer-base-off", 0.2286},
		} {
			require.InDelta(t, d.metres, distance(find(d.a), find(d.b)), 1e-8, "%s: Law %s", name, d.law)
		}
		if name == "behind" {
			require.InDelta(t, 20.12, distance(find("middle-base"), find("far-middle-base")), 1e-6, "Law 6.1")
			require.InDelta(t, 17.68, distance(find("popping-off"), find("far-popping-off")), 1e-6, "Laws 6.1 and 7.3")
		}
	}
}

func TestCameraIsRecovered(t *testing.T) {
	for name, cam := range map[string]space.Camera{"side-on": sideOn, "oblique": oblique, "behind": behind} {
		c := exact().calibrated(t, cam)
		require.NotNil(t, c.Camera, name)
		require.InDelta(t, 0, distance(Spot{c.Camera.Eye[0], c.Camera.Eye[1]}, Spot{cam.Eye.X, cam.Eye.Y}), 0.02, name)
		require.InDelta(t, cam.Eye.Z, c.Camera.Eye[2], 0.01, name)
		require.InEpsilon(t, cam.Focal, c.Camera.Focal, 0.002, name)
		for _, r := range c.Residuals {
			require.InDelta(t, 0, r.Cm, 0.01, "%s: %s", name, r.Name)
		}
	}
}

func TestCheckMarksAreHeldOut(t *testing.T) {
	n := noisy(7, 1)
	clicks := n.clicks(t, sideOn, usualPitch(), corners, checks, tops)
	c, err := Calibrate(setup(usualPitch()), clicks)
	require.NoError(t, err)
	require.Len(t, c.Residuals, len(clicks))
	for i, r := range c.Residuals {
		require.Equal(t, clicks[i].Mark, r.Mark)
		if r.Use == Check {
			require.Less(t, r.Cm, 4*r.Sigma, r.Name)
		}
	}
	// Moving a check mark changes its residual and nothing else.
	clicks[4].X += 3
	d, err := Calibrate(setup(usualPitch()), clicks)
	require.NoError(t, err)
	require.Equal(t, c.Ground, d.Ground)
	require.NotEqual(t, c.Residuals[4], d.Residuals[4])
	require.Equal(t, c.Residuals[5], d.Residuals[5])
	// Unless it is asked for.
	clicks[4].Use = Fit
	e, err := Calibrate(setup(usualPitch()), clicks)
	require.NoError(t, err)
	require.NotEqual(t, c.Ground, e.Ground)
}

func TestWhatCannotBeCalibratedIsRefused(t *testing.T) {
	good := exact().clicks(t, sideOn, usualPitch(), corners, checks)
	change := func(f func(c []Click) []Click) []Click { return f(append([]Click(nil), good...)) }
	swap := func(i, j int) func(c []Click) []Click {
		return func(c []Click) []Click {
			c[i].X, c[j].X = c[j].X, c[i].X
			c[i].Y, c[j].Y = c[j].Y, c[i].Y
			return c
		}
	}
	line := exact().clicks(t, sideOn, usualPitch(), []string{"bowling-leg", "bowling-off", "popping-off"}, checks)
	for i := range line {
		line[i].Use = Fit
	}
	low := cameraAt(space.V{X: 1.1, Y: -8, Z: 0.02}, 390)
	moved := exact().clicks(t, behind, usualPitch(), corners, []string{"far-bowling-leg", "far-bowling-off", "far-popping-leg", "far-popping-off"})
	moved[1].X += 60
	for name, c := range map[string]struct {
		clicks []Click
		says   string
	}{
		"three points":            {good[:3], "needs four marks"},
		"none":                    {nil, "needs four marks"},
		"all but one on a line":   {line, "lie on one line"},
		"one place twice":         {change(func(c []Click) []Click { c[1].X, c[1].Y = c[0].X+1, c[0].Y; return c }), "on the same place"},
		"one mark twice":          {append(append([]Click(nil), good...), good[0]), "a second time"},
		"two points swapped":      {change(swap(0, 1)), "look swapped"},
		"mirrored":                {change(func(c []Click) []Click { return swap(2, 3)(swap(0, 1)(c)) }), "mirrored"},
		"turned half round":       {change(func(c []Click) []Click { return swap(1, 2)(swap(0, 3)(c)) }), "both ends of the crease"},
		"camera on the ground":    {exact().clicks(t, low, usualPitch(), corners), "almost on one line"},
		"unknown mark":            {change(func(c []Click) []Click { c[0].Mark = "boundary"; return c }), "does not have"},
		"outside the picture":     {change(func(c []Click) []Click { c[0].X = -1; return c }), "outside the picture"},
		"not a number":            {change(func(c []Click) []Click { c[0].X = math.NaN(); return c }), "outside the picture"},
		"at infinity":             {change(func(c []Click) []Click { c[0].X = math.Inf(1); return c }), "outside the picture"},
		"without a sigma":         {change(func(c []Click) []Click { c[0].Sigma = -1; return c }), "at most 50 pixels"},
		"a stump's top on ground": {change(func(c []Click) []Click { c[0].Mark, c[0].Use = "middle-top", Fit; return c }), "for that"},
		"one far off of eight":    {moved, "“Bowling crease, off side” does not lie"},
	} {
		_, err := Calibrate(setup(usualPitch()), c.clicks)
		require.Error(t, err, name)
		require.Equal(t, fault.Invalid, fault.KindOf(err), name)
		require.Contains(t, fault.Message(err), c.says, name)
	}
}

func TestBadPitchesAreRefused(t *testing.T) {
	own := func(m ...Mark) Pitch { return Pitch{Laws: laws.Code2017(), Own: m} }
	for name, p := range map[string]Pitch{
		"no edition":     {},
		"too short":      {Laws: laws.Code2017(), Length: 2},
		"too long":       {Laws: laws.Code2017(), Length: 100},
		"key of a mark":  own(Mark{Key: "popping-off", Use: Fit}),
		"key twice":      own(OwnMark(1, "a", 0, 1), OwnMark(1, "b", 1, 1)),
		"no use":         own(Mark{Key: "own-1"}),
		"fit in the air": own(Mark{Key: "own-1", Use: Fit, Z: 1}),
		"too many":       own(make([]Mark, 41)...),
		"not a number":   own(OwnMark(1, "a", math.NaN(), 1)),
	} {
		err := p.Validate()
		require.Equal(t, fault.Invalid, fault.KindOf(err), name)
		_, err = Calibrate(setup(p), nil)
		require.Equal(t, fault.Invalid, fault.KindOf(err), name)
	}
	_, err := Calibrate(Setup{Pitch: usualPitch()}, nil)
	require.Contains(t, fault.Message(err), "size is not known")
	for _, e := range laws.Editions() {
		for _, l := range laws.PitchLengths() {
			require.NoError(t, Pitch{Laws: e, Length: l.Metres}.Validate())
		}
	}
}

// Near an indoor mat: four taped points instead of creases.
func TestOwnPoints(t *testing.T) {
	bowl, pop := usualPitch().Marks()[0], usualPitch().Marks()[3]
	taped, err := OwnTaped(5, "Drain", bowl, pop, 2, 1.5, true)
	require.NoError(t, err)
	require.InDelta(t, 2, math.Hypot(taped.X-bowl.X, taped.Y-bowl.Y), 1e-12)
	require.InDelta(t, 1.5, math.Hypot(taped.X-pop.X, taped.Y-pop.Y), 1e-12)
	require.Positive(t, area(Spot{bowl.X, bowl.Y}, Spot{pop.X, pop.Y}, Spot{taped.X, taped.Y}), "right of the way from one to the other")
	_, err = OwnTaped(5, "Drain", bowl, pop, 0.2, 0.2, true)
	require.Contains(t, fault.Message(err), "don't meet")

	pitch := Pitch{Laws: laws.Code2017(), Length: laws.PitchLengths()[4].Metres, Own: append(OwnRectangle(1, "Mat", 0.3, 2.5, 1.8), taped)}
	require.NoError(t, pitch.Validate())
	c, err := Calibrate(setup(pitch), exact().clicks(t, sideOn, pitch, []string{"own-1", "own-2", "own-3", "own-4", "own-5"}))
	require.NoError(t, err)
	at, _, err := c.Spot(exact().pixel(t, sideOn, space.V{X: 1.22, Y: 0.5}), 1)
	require.NoError(t, err)
	require.InDelta(t, 1.22, at.X, 1e-9)
	require.InDelta(t, 0.5, at.Y, 1e-9)
}

func TestHorizonIsRefused(t *testing.T) {
	c := exact().calibrated(t, sideOn)
	_, _, err := c.Spot(Pixel{960, 10}, 1)
	require.Equal(t, fault.Invalid, fault.KindOf(err))
	require.Contains(t, fault.Message(err), "horizon")
	_, ok := c.Pixel(Spot{1, -9})
	require.False(t, ok, "behind the camera")
}

// bend bends what a pinhole sees as the division model says, by its own formula:
// straight = seen / (1 + bend r²), solved by halving.
func bend(p Pixel, by float64) Pixel {
	cx, cy, half := pictureWidth/2.0, pictureHeight/2.0, math.Hypot(pictureWidth, pictureHeight)/2
	r := math.Hypot(p.X-cx, p.Y-cy) / half
	lo, hi := 0.0, 3.0
	for range 200 {
		if mid := (lo + hi) / 2; mid/(1+by*mid*mid) < r {
			lo = mid
		} else {
			hi = mid
		}
	}
	k := 1.0
	if r > 0 {
		k = lo / r
	}
	return Pixel{cx + (p.X-cx)*k, cy + (p.Y-cy)*k}
}

func TestBendingIsFoundFromAStraightLine(t *testing.T) {
	for _, by := range []float64{-0.12, -0.03, 0.05} {
		n := noisy(3, 0.5)
		s := setup(usualPitch())
		// The top of a net along the lane, far from the middle of the picture.
		var line []Pixel
		for x := -0.8; x < 3.2; x += 0.4 {
			p := bend(exact().pixel(t, sideOn, space.V{X: x, Y: 1.8, Z: 2.1}), by)
			line = append(line, Pixel{p.X + n.sigma*n.r.NormFloat64(), p.Y + n.sigma*n.r.NormFloat64()})
		}
		s.Straight = [][]Pixel{line}
		clicks := exact().clicks(t, sideOn, usualPitch(), corners, checks, tops)
		for i, c := range clicks {
			p := bend(Pixel{c.X, c.Y}, by)
			clicks[i].X, clicks[i].Y = p.X, p.Y
		}
		c, err := Calibrate(s, clicks)
		require.NoError(t, err)
		require.InDelta(t, by, c.Bend, 4*c.BendSigma)
		require.Less(t, c.BendSigma, 0.03)
		for _, w := range c.Warnings {
			require.NotContains(t, w, "Lens")
		}
		// A place near the edge: better than when the lens is not asked.
		at := space.V{X: 2.8, Y: 0.4}
		seen := bend(exact().pixel(t, sideOn, at), by)
		found, sigma, err := c.Spot(seen, 1)
		require.NoError(t, err)
		require.Less(t, distance(found, Spot{at.X, at.Y}), 4*sigma)
		back, ok := c.Pixel(found)
		require.True(t, ok)
		require.InDelta(t, seen.X, back.X, 1e-6)
		require.InDelta(t, seen.Y, back.Y, 1e-6)
	}
}

func TestBendingOfAnExactLine(t *testing.T) {
	for _, by := range []float64{-0.2, -0.02, 0.1} {
		var line []Pixel
		for x := 100.0; x <= 1800; x += 100 {
			line = append(line, bend(Pixel{x, 150 + x/20}, by))
		}
		found, sigma, err := findBend(pictureWidth, pictureHeight, [][]Pixel{line})
		require.NoError(t, err)
		require.InDelta(t, by, found, 1e-6)
		require.Less(t, sigma, 0.01)
	}
}

func TestBadStraightLines(t *testing.T) {
	clicks := exact().clicks(t, sideOn, usualPitch(), corners, checks)
	for name, line := range map[string][]Pixel{
		"two points":    {{100, 100}, {900, 100}},
		"one place":     {{100, 100}, {900, 100}, {901, 100}},
		"out of bounds": {{100, 100}, {900, 100}, {2901, 100}},
	} {
		s := setup(usualPitch())
		s.Straight = [][]Pixel{line}
		_, err := Calibrate(s, clicks)
		require.Equal(t, fault.Invalid, fault.KindOf(err), name)
	}
	// A line through the middle of the picture stays straight however the lens is.
	s := setup(usualPitch())
	s.Straight = [][]Pixel{{{100, 540}, {500, 540}, {1400, 540}, {1800, 540}}}
	c, err := Calibrate(s, clicks)
	require.NoError(t, err)
	require.Zero(t, c.Bend)
	require.Contains(t, strings.Join(c.Warnings, " "), "says nothing about the lens")
}

func TestWarnings(t *testing.T) {
	c, err := Calibrate(setup(usualPitch()), exact().clicks(t, sideOn, usualPitch(), corners))
	require.NoError(t, err)
	said := strings.Join(c.Warnings, " ")
	require.Contains(t, said, "Lens bending was not checked")
	require.Contains(t, said, "Nothing was held out")
	require.Contains(t, said, "No stump's top")

	c, err = Calibrate(setup(usualPitch()), exact().clicks(t, sideOn, usualPitch(), corners, []string{"popping-end-off"}))
	require.NoError(t, err)
	require.Contains(t, strings.Join(c.Warnings, " "), "“Popping crease, end, off side”: the Laws give a least length only")

	clicks := exact().clicks(t, sideOn, usualPitch(), corners, checks)
	clicks[4].X += 25 // the middle stump's foot: 6 cm
	c, err = Calibrate(setup(usualPitch()), clicks)
	require.NoError(t, err)
	require.Contains(t, strings.Join(c.Warnings, " "), "“Middle stump, foot” is 6 cm off")

	// A picture that was cropped to one side: the ground is as good as ever.
	clicks = exact().clicks(t, oblique, usualPitch(), corners, checks, tops)
	for i := range clicks {
		clicks[i].X = clicks[i].X/4 + 1400
		clicks[i].Y = clicks[i].Y / 4
	}
	c, err = Calibrate(setup(usualPitch()), clicks)
	require.NoError(t, err)
	at, _, err := c.Spot(Pixel{clicks[4].X, clicks[4].Y}, 1)
	require.NoError(t, err)
	require.InDelta(t, 0, distance(at, Spot{}), 1e-9)
}

func TestLinesLieOnTheMarks(t *testing.T) {
	c := exact().calibrated(t, oblique)
	lines := map[string][]Pixel{}
	for _, l := range c.Lines() {
		lines[l.Name] = l.Points
		for _, p := range l.Points {
			require.True(t, finite(p.X) && finite(p.Y))
		}
	}
	ends := func(name string, a, b space.V) {
		l := lines[name]
		require.NotEmpty(t, l, name)
		for i, p := range []space.V{a, b} {
			want, got := exact().pixel(t, oblique, p), l[i*(len(l)-1)]
			require.InDelta(t, want.X, got.X, 0.1, name)
			require.InDelta(t, want.Y, got.Y, 0.1, name)
		}
	}
	ends("popping crease", space.V{X: 1.22, Y: -1.83}, space.V{X: 1.22, Y: 1.83})
	ends("return crease, off side", space.V{X: -1.22, Y: 1.32}, space.V{X: 1.22, Y: 1.32})
	ends("middle stump", space.V{}, space.V{Z: 0.711})
	require.NotContains(t, lines, "far bowling crease", "behind this camera")
}

func TestCalibrationIsKeptAsJSON(t *testing.T) {
	c := noisy(4, 1).calibrated(t, oblique)
	text, err := json.Marshal(c)
	require.NoError(t, err)
	var back Calibration
	require.NoError(t, json.Unmarshal(text, &back))
	require.Equal(t, *c, back)
}

func TestAnyViewOfTheCreasesGivesThemBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		around := rapid.Float64Range(-math.Pi, math.Pi).Draw(t, "around")
		far := rapid.Float64Range(4, 25).Draw(t, "far")
		eye := space.Heading(around).Mul(far).Add(space.V{X: 0.6, Z: rapid.Float64Range(1.2, 6).Draw(t, "high")})
		cam := cameraAt(eye, rapid.Float64Range(150, 380).Draw(t, "pixels"))
		clicks := exact().clicks(t, cam, usualPitch(), corners)
		for _, c := range clicks {
			if !inside(Pixel{c.X, c.Y}, pictureWidth, pictureHeight) {
				t.Skip("not in the picture")
			}
		}
		c, err := Calibrate(setup(usualPitch()), clicks)
		if err != nil {
			require.Contains(t, fault.Message(err), "almost on one line")
			return
		}
		at := Spot{rapid.Float64Range(0, 1.22).Draw(t, "x"), rapid.Float64Range(-1.3, 1.3).Draw(t, "y")}
		found, _, err := c.Spot(exact().pixel(t, cam, space.V{X: at.X, Y: at.Y}), 1)
		require.NoError(t, err)
		require.Less(t, distance(at, found), 1e-6)
	})
}
