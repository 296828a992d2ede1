package measure

import (
	"maps"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"netreel/media"
	"netreel/media/fault"
	"netreel/media/scene/space"
)

func TestValuesArePrintedAsPeopleReadThem(t *testing.T) {
	for want, v := range map[string]Value{
		"62 ± 3 cm":       {Value: 61.8, Sigma: 2.9, Unit: Centimetres},
		"62 ± 12 cm":      {Value: 61.8, Sigma: 12.3, Unit: Centimetres},
		"50.2 ± 0.7 cm":   {Value: 50.24, Sigma: 0.71, Unit: Centimetres},
		"50.2 ± 1.3 cm":   {Value: 50.24, Sigma: 1.31, Unit: Centimetres},
		"50.2 ± 0.1 cm":   {Value: 50.24, Sigma: 0.004, Unit: Centimetres},
		"−26 ± 2 cm":      {Value: -25.7, Sigma: 2, Unit: Centimetres},
		"0 ± 2 cm":        {Value: -0.3, Sigma: 2, Unit: Centimetres},
		"124 ± 4°":        {Value: 124.4, Sigma: 4.1, Unit: Degrees},
		"7 ± 1°":          {Value: 6.9, Sigma: 0.6, Unit: Degrees},
		"118 ± 3 km/h":    {Value: 117.9, Sigma: 3.4, Unit: KmPerHour},
		"0.540 ± 0.008 s": {Value: 0.54, Sigma: 0.0082, Unit: Seconds},
		"0.54 ± 0.02 s":   {Value: 0.54, Sigma: 0.02, Unit: Seconds},
		"34 ± 0 cm":       {Value: 34, Unit: Centimetres},
		"39.7 ± 0.8 %":    {Value: 39.7, Sigma: 0.8, Unit: Percent},
	} {
		require.Equal(t, want, v.String())
	}
}

func TestLessIsADifferenceWithBothDeviations(t *testing.T) {
	knee := Value{Measure: "front-knee", Value: 141, Sigma: 3, Unit: Degrees}
	other := Value{Measure: "front-knee", Value: 120, Sigma: 4, Unit: Degrees}
	require.Equal(t, Value{Measure: "front-knee", Value: 21, Sigma: 5, Unit: Degrees}, knee.Less(other)) // 3, 4, 5
	require.Equal(t, "+21 ± 5°", knee.Less(other).Signed())
	require.Equal(t, "−21 ± 5°", other.Less(knee).Signed())
	require.Equal(t, "0 ± 4 cm", Value{Value: 0.3, Sigma: 4, Unit: Centimetres}.Signed())
	require.Equal(t, "+0.02 ± 0.03 s", Value{Value: 0.02, Sigma: 0.03, Unit: Seconds}.Signed())
}

// A right angle is one whether or not it can be told where the bowler is.
func TestKneeNeedsNoOtherFoot(t *testing.T) {
	one := pictured(map[Part]Spot{FrontHip: {500, 300}, FrontKnee: {500, 500}, FrontAnkle: {700, 500}})
	require.InDelta(t, 90, take(t, frontKnee, one).Value, 1e-9)
}

// pictured is an input without a calibration: the picture itself is the plane.
func pictured(points map[Part]Spot) Input {
	s := &Sight{Points: map[Part]Point{}}
	for part, p := range points {
		s.Points[part] = Point{X: p.X, Y: p.Y, Sigma: 1}
	}
	return Input{Contact: s}
}

func take(t require.TestingT, m Measure, in Input) Value {
	v, err := m.Take(in)
	require.NoError(t, err, m.Key)
	return v
}

// Angles of triangles and slopes whose sizes geometry knows. In the picture y
// runs down.
func TestAnglesByClosedForm(t *testing.T) {
	feet := map[Part]Spot{FrontHeel: {900, 900}, BackHeel: {500, 900}}
	with := func(points map[Part]Spot) Input {
		all := maps.Clone(feet)
		maps.Copy(all, points)
		return pictured(all)
	}
	for _, c := range []struct {
		hip, knee, ankle Spot
		degrees          float64
	}{
		{Spot{500, 300}, Spot{500, 500}, Spot{500, 700}, 180},
		{Spot{500, 300}, Spot{500, 500}, Spot{700, 500}, 90},
		{Spot{500, 500}, Spot{600, 500}, Spot{550, 500 + 50*math.Sqrt(3)}, 60},               // equilateral
		{Spot{300, 300}, Spot{700, 300}, Spot{300, 700}, 45},                                 // half a square
		{Spot{400, 400}, Spot{500, 500}, Spot{500, 500 + 100*math.Sqrt2}, 135},               // octagon
		{Spot{500, 400}, Spot{600, 400}, Spot{600 + 100*0.5, 400 + 100*math.Sqrt(3)/2}, 120}, // hexagon
	} {
		v := take(t, frontKnee, with(map[Part]Spot{FrontHip: c.hip, FrontKnee: c.knee, FrontAnkle: c.ankle}))
		require.InDelta(t, c.degrees, v.Value, 1e-9)
		v = take(t, backKnee, with(map[Part]Spot{BackHip: c.hip, BackKnee: c.knee, BackAnkle: c.ankle}))
		require.InDelta(t, c.degrees, v.Value, 1e-9)
		require.Greater(t, v.Sigma, jointSigma)
		require.Contains(t, strings.Join(v.Caveats, " "), "plane of the picture")
	}
	for _, c := range []struct{ dx, dy, degrees float64 }{
		{0, -300, 0}, {300, -300, 45}, {-300, -300, -45}, {100, -100 * math.Sqrt(3), 30}, {300, 0, 90},
	} {
		lower, upper := Spot{600, 600}, Spot{600 + c.dx, 600 + c.dy}
		require.InDelta(t, c.degrees, take(t, batAngle, with(map[Part]Spot{BatToe: lower, BatHandle: upper})).Value, 1e-9)
		trunk := map[Part]Spot{
			FrontHip: {lower.X + 30, lower.Y}, BackHip: {lower.X - 30, lower.Y},
			FrontShoulder: {upper.X + 50, upper.Y}, BackShoulder: {upper.X - 50, upper.Y},
		}
		require.InDelta(t, c.degrees, take(t, trunkLean, with(trunk)).Value, 1e-9)
		// Filmed from the other side, the same lean has the same sign.
		mirrored := map[Part]Spot{}
		for part, p := range with(trunk).Contact.Points {
			mirrored[part] = Spot{1500 - p.X, p.Y}
		}
		require.InDelta(t, c.degrees, take(t, trunkLean, pictured(mirrored)).Value, 1e-9)
	}
	// The standard deviation of a straight line of length l whose ends are each
	// good to 1 pixel: atan(sqrt(2)/l).
	v := take(t, batAngle, with(map[Part]Spot{BatToe: {600, 600}, BatHandle: {600, 300}}))
	require.InEpsilon(t, math.Atan(math.Sqrt2/300)*180/math.Pi, v.Sigma, 1e-4)
	_, err := batAngle.Take(pictured(map[Part]Spot{BatToe: {600, 600}, BatHandle: {600, 300}}))
	require.ErrorContains(t, err, "click both feet")
}

func moment(seconds, fps float64) *Moment {
	return &Moment{At: media.FromSeconds(seconds), Frame: media.FromSeconds(1 / fps)}
}

// Times over 17.68 m, from popping crease to popping crease, at a constant speed,
// and how many frames and what share one frame is at each rate: arithmetic
// (s = v t), checked by hand.
func TestBallSpeedByClosedForm(t *testing.T) {
	for kmh, seconds := range map[float64]float64{80: 0.796, 100: 0.636, 110: 0.579, 120: 0.530, 130: 0.490, 140: 0.455, 145: 0.439, 150: 0.424} {
		v := take(t, ballSpeed, Input{Flight: &Flight{Release: moment(3, 240), Arrival: moment(3+seconds, 240)}})
		require.InDelta(t, kmh, v.Value, 0.15)
		said := strings.Join(v.Caveats, " ")
		require.Contains(t, said, "average")
		require.Contains(t, said, "over a pitch of 20.12 m")
	}
	const seconds = 0.5304 // 120 km/h
	for fps, frames := range map[float64]float64{25: 13.3, 30: 15.9, 50: 26.5, 60: 31.8, 120: 63.6, 240: 127.3} {
		f := &Flight{Release: moment(3, fps), Arrival: moment(3+seconds, fps), FromSigma: 1e-9, ToSigma: 1e-9}
		v := take(t, ballSpeed, Input{Flight: f})
		require.InEpsilon(t, 120, v.Value, 1e-4)
		// Two marks, each uniform over a frame: 1/sqrt(6) = 0.408 of a frame.
		require.InEpsilon(t, 120*0.408/frames, v.Sigma, 0.01, "%v frames a second", fps)
		// One frame either way bounds it.
		require.InEpsilon(t, 120/(1+1/frames), *v.Low, 0.003)
		require.InEpsilon(t, 120/(1-1/frames), *v.High, 0.003)
		s := take(t, flightTime, Input{Flight: f})
		require.InDelta(t, seconds, s.Value, 1e-4)
		require.InDelta(t, 2/fps, *s.High-*s.Low, 1e-5)
	}
	// A shorter lane, a machine in front of the crease, a batter down the pitch.
	in := Input{Flight: &Flight{Release: moment(3, 100), Arrival: moment(3.5, 100), From: 15, To: 2.5}}
	require.InDelta(t, 12.5/0.5*3.6, take(t, ballSpeed, in).Value, 1e-9)
	c := exact().calibrated(t, sideOn)
	c.Pitch.Length = 18.288
	in = Input{Calibration: c, Flight: &Flight{Release: moment(3, 100), Arrival: moment(3.5, 100)}}
	require.InDelta(t, (18.288-2*1.22)/0.5*3.6, take(t, ballSpeed, in).Value, 1e-9)
}

func TestVariableFrameRates(t *testing.T) {
	f := &Flight{Release: &Moment{At: 1_000_000, Frame: 33_333}, Arrival: &Moment{At: 1_600_000, Frame: 16_667}}
	v := take(t, flightTime, Input{Flight: f})
	require.InDelta(t, 0.6+(0.033333-0.016667)/2, v.Value, 1e-9, "each event lies in the middle of its own frame")
	require.InDelta(t, math.Sqrt((0.033333*0.033333+0.016667*0.016667)/12), v.Sigma, 1e-9)
}

func TestTimesThatCannotBeAreRefused(t *testing.T) {
	for name, f := range map[string]*Flight{
		"none":       nil,
		"no release": {Arrival: moment(4, 50)},
		"no arrival": {Release: moment(4, 50)},
		"backwards":  {Release: moment(4, 50), Arrival: moment(3.5, 50)},
		"at once":    {Release: moment(4, 50), Arrival: moment(4, 50)},
		"two frames": {Release: moment(4, 50), Arrival: moment(4.04, 50)},
		"no frame":   {Release: &Moment{At: 1}, Arrival: moment(4, 50)},
	} {
		_, err := ballSpeed.Take(Input{Flight: f})
		require.Equal(t, fault.Invalid, fault.KindOf(err), name)
		require.NotEmpty(t, fault.Message(err), name)
	}
	_, err := ballSpeed.Take(Input{Flight: &Flight{Release: moment(3, 50), Arrival: moment(3.5, 50), From: 2, To: 3}})
	require.ErrorContains(t, err, "shorter than")
}

func TestMeasuresOfAFigureInSpace(t *testing.T) {
	cal := exact().calibrated(t, sideOn)
	in := Input{Calibration: cal, Batter: Batter{Height: 1.7}, Contact: sightOf(t, exact(), sideOn, figure)}
	heels := figure[FrontHeel].Sub(figure[BackHeel])
	width := 100 * math.Hypot(heels.X, heels.Y)
	dir := heels.Mul(1 / heels.Len())
	middle := space.Mix(figure[FrontHeel], figure[BackHeel], 0.5)
	head := 100 * figure[Head].Sub(middle).Dot(dir)
	for _, c := range []struct {
		m            Measure
		want, within float64
	}{
		{baseWidth, width, 0.01},
		{baseShare, width / 1.7, 0.01},
		{creaseDepth, 100 * (0.95 - 1.22), 0.01},
		{stumpDistance, 95, 0.01},
		{headOverBase, head, 0.3},
		{headShare, 100 * head / width, 0.5},
		{batAngle, math.Atan2(0.10, 0.82) * 180 / math.Pi, 0.2},
		{trunkLean, math.Atan2(0.17, 0.49) * 180 / math.Pi, 0.5},
	} {
		require.InDelta(t, c.want, take(t, c.m, in).Value, c.within, c.m.Key)
	}
	// Where a ball is taken to be met, it is as high as it is.
	level := maps.Clone(figure)
	level[Ball] = space.V{X: 1.285, Y: 0.14 + reach, Z: 0.28}
	in.Contact = sightOf(t, exact(), sideOn, level)
	require.InDelta(t, 28, take(t, ballHeight, in).Value, 0.1)
}

func TestAFootOffTheGroundIsRefused(t *testing.T) {
	cal := exact().calibrated(t, sideOn)
	jump := maps.Clone(figure)
	for _, p := range []Part{FrontHeel, FrontToe} {
		jump[p] = jump[p].Add(space.V{Z: 0.5})
	}
	raised := maps.Clone(figure)
	raised[BackHeel] = raised[BackHeel].Add(space.V{Z: 0.05})
	said := sightOf(t, exact(), sideOn, figure)
	said.Front = Up
	onToe := sightOf(t, exact(), sideOn, raised)
	onToe.Back = OnToe
	for name, c := range map[string]struct {
		sight *Sight
		says  string
	}{
		"jumping":        {sightOf(t, exact(), sideOn, jump), "off the ground"},
		"heel raised":    {sightOf(t, exact(), sideOn, raised), "heel or its toe is not on the ground"},
		"said to be up":  {said, "front foot is off the ground"},
		"heel not there": {sightOf(t, exact(), sideOn, map[Part]space.V{FrontHeel: figure[FrontHeel]}), "Missing at contact: Back heel"},
		"nothing there":  {nil, "Missing at contact"},
		"in the sky":     {&Sight{Points: map[Part]Point{FrontHeel: {X: 900, Y: 5}, BackHeel: {X: 700, Y: 800}}}, "horizon"},
		"one place":      {&Sight{Points: map[Part]Point{FrontHeel: {X: 900, Y: 800}, BackHeel: {X: 900, Y: 800}}}, ""},
	} {
		_, err := baseWidth.Take(Input{Calibration: cal, Contact: c.sight})
		if c.says == "" {
			require.NoError(t, err, name) // feet together are no mistake
			continue
		}
		require.Equal(t, fault.Invalid, fault.KindOf(err), name)
		require.Contains(t, fault.Message(err), c.says, name)
	}
	raised[BackHeel] = raised[BackHeel].Add(space.V{Z: 0.06})
	higher := take(t, baseWidth, Input{Calibration: cal, Contact: sightOf(t, exact(), sideOn, raised)})
	require.Contains(t, strings.Join(higher.Caveats, " "), "its heel was up")
	// A heel that is known to be up: from toe to toe, and so said.
	v := take(t, baseWidth, Input{Calibration: cal, Contact: onToe})
	toes := figure[FrontToe].Sub(figure[BackToe])
	require.InDelta(t, 100*math.Hypot(toes.X, toes.Y), v.Value, 0.01)
	require.Contains(t, v.Caveats[0], "toe to toe")
}

func TestViewsThatCannotSupportAMeasure(t *testing.T) {
	for _, c := range []struct {
		m    Measure
		cam  space.Camera
		says string
	}{
		{creaseDepth, endOn, "depth in the crease can't be told"},
		{stumpDistance, endOn, "depth in the crease can't be told"},
		{headOverBase, endOn, "along the line of the feet"},
		{headOverBase, behind, "along the line of the feet"},
		{trunkLean, endOn, "along the line of the feet"},
		{frontKnee, behind, "along the line of the feet"},
	} {
		in := Input{Calibration: exact().calibrated(t, c.cam), Contact: sightOf(t, exact(), c.cam, figure)}
		delete(in.Contact.Points, BallBounce)
		_, err := c.m.Take(in)
		require.Equal(t, fault.Invalid, fault.KindOf(err), c.m.Key)
		require.Contains(t, fault.Message(err), c.says, c.m.Key)
	}
	in := Input{Calibration: exact().calibrated(t, oblique), Contact: sightOf(t, exact(), oblique, figure)}
	require.Contains(t, strings.Join(take(t, creaseDepth, in).Caveats, " "), "each centimetre")
	require.Contains(t, strings.Join(take(t, headOverBase, in).Caveats, " "), "off the line of the feet")
	require.Contains(t, strings.Join(take(t, frontKnee, in).Caveats, " "), "off the line of the feet")

	ground := *in.Calibration
	ground.Camera = nil
	in.Calibration = &ground
	_, err := headOverBase.Take(in)
	require.ErrorContains(t, err, "serves the ground only")
	_, err = baseWidth.Take(Input{Contact: in.Contact})
	require.ErrorContains(t, err, "camera calibrated")
	_, err = baseShare.Take(in)
	require.ErrorContains(t, err, "height is not known")

	// Clicks that are good to nothing.
	vague := map[Part]Point{}
	for part, p := range in.Contact.Points {
		p.Sigma = 50
		vague[part] = p
	}
	in.Contact = &Sight{Points: vague}
	_, err = baseWidth.Take(in)
	require.ErrorContains(t, err, "could only be told to")
}

func TestFeetAgainstTheBall(t *testing.T) {
	cal := exact().calibrated(t, oblique)
	points := map[Part]space.V{
		BackHeel: {X: 0.9}, FrontHeel: {X: 1.5, Y: 0.6}, BallBounce: {X: 2.9},
	}
	in := Input{Calibration: cal, Contact: sightOf(t, exact(), oblique, points)}
	require.InDelta(t, 45, take(t, feetLine, in).Value, 1e-6)
	in.Batter.LeftHanded = true
	require.InDelta(t, -45, take(t, feetLine, in).Value, 1e-6)
	// Released a metre wide of the middle, 16 m before it bounces.
	in.Batter.LeftHanded = false
	in.Flight = &Flight{From: 18.9, Across: 1}
	require.InDelta(t, 45-math.Atan2(1, 16)*180/math.Pi, take(t, feetLine, in).Value, 1e-6)
	delete(in.Contact.Points, BallBounce)
	v := take(t, feetLine, in)
	require.InDelta(t, 45, v.Value, 1e-6)
	require.Contains(t, strings.Join(v.Caveats, " "), "Against the pitch")
}

// A left-hander is a right-hander in a mirror, and so is her camera.
func TestLeftHandersAreMirrored(t *testing.T) {
	mirrored := map[Part]space.V{}
	for part, p := range figure {
		mirrored[part] = space.V{X: p.X, Y: -p.Y, Z: p.Z}
	}
	eye := oblique.Eye
	eye.Y = -eye.Y
	across := cameraAt(eye, 390)
	right := Input{Calibration: exact().calibrated(t, oblique), Contact: sightOf(t, exact(), oblique, figure), Batter: Batter{Height: 1.7}}
	left := Input{Calibration: exact().calibrated(t, across), Contact: sightOf(t, exact(), across, mirrored), Batter: Batter{Height: 1.7, LeftHanded: true}}
	for _, toes := range []bool{true, false} {
		if !toes {
			for _, s := range []*Sight{right.Contact, left.Contact} {
				delete(s.Points, FrontToe)
				delete(s.Points, BackToe)
			}
		}
		for i, r := range TakeAll(right) {
			l := TakeAll(left)[i]
			require.Equal(t, r.Refusal, l.Refusal)
			if r.Value != nil {
				require.InDelta(t, r.Value.Value, l.Value.Value, 0.01, r.Measure)
				require.InEpsilon(t, r.Value.Sigma, l.Value.Sigma, 0.01, r.Measure)
				require.Equal(t, r.Value.Caveats, l.Value.Caveats, r.Measure)
			}
		}
	}
}

func TestCrossedFeet(t *testing.T) {
	c, s := exact().calibrated(t, oblique), sightOf(t, exact(), oblique, figure)
	require.False(t, Crossed(c, s))
	s.Points[FrontHeel], s.Points[BackHeel] = s.Points[BackHeel], s.Points[FrontHeel]
	require.True(t, Crossed(c, s))
	delete(s.Points, BackHeel)
	require.False(t, Crossed(c, s))
	require.False(t, Crossed(nil, s))
}

func TestInputsThatMakeNoSense(t *testing.T) {
	cal := exact().calibrated(t, sideOn)
	click := func(p Point) *Sight { return &Sight{Points: map[Part]Point{FrontHeel: p}} }
	for name, in := range map[string]Input{
		"no such part":       {Contact: &Sight{Points: map[Part]Point{"ear": {}}}},
		"outside":            {Calibration: cal, Contact: click(Point{X: 5000, Y: 3})},
		"not a number":       {Contact: click(Point{X: math.NaN()})},
		"vague beyond sense": {Contact: click(Point{Sigma: 51})},
		"seen twice over":    {Stance: click(Point{Seen: 2})},
		"no such footing":    {Contact: &Sight{Back: "skating"}},
		"a giant":            {Batter: Batter{Height: 3}},
		"a giant by far":     {Batter: Batter{Height: 1.8, HeightSigma: 1}},
		"out of the ground":  {Flight: &Flight{From: 80}},
		"anywhere":           {Flight: &Flight{ToSigma: 4}},
	} {
		for _, m := range []Measure{baseWidth, flightTime} {
			_, err := m.Take(in)
			require.Equal(t, fault.Invalid, fault.KindOf(err), name)
			require.Contains(t, fault.Message(err), "can't be measured", name)
		}
	}
}

func TestNoInputMakesAMeasurePanicOrLie(t *testing.T) {
	cal := noisy(5, 1).calibrated(t, oblique)
	rapid.Check(t, func(t *rapid.T) {
		s := &Sight{Points: map[Part]Point{}}
		for _, p := range Parts() {
			if rapid.Bool().Draw(t, "there") {
				s.Points[p.Key] = Point{X: rapid.Float64Range(0, pictureWidth).Draw(t, "x"), Y: rapid.Float64Range(0, pictureHeight).Draw(t, "y")}
			}
		}
		s.Front = rapid.SampledFrom([]Footing{Flat, OnToe, Up}).Draw(t, "front")
		for _, taken := range TakeAll(Input{Calibration: cal, Contact: s, Stance: s, Batter: Batter{Height: 1.7}, Flight: flight}) {
			if taken.Value == nil {
				require.NotEmpty(t, taken.Refusal, taken.Measure)
				continue
			}
			require.True(t, finite(taken.Value.Value) && finite(taken.Value.Sigma), taken.Measure)
			require.Positive(t, taken.Value.Sigma, taken.Measure)
		}
	})
}

func TestMeasuresAreDescribed(t *testing.T) {
	parts := map[string]bool{}
	for _, p := range Parts() {
		require.NotEmpty(t, p.Name)
		require.NotEmpty(t, p.Click)
		parts["contact."+string(p.Key)], parts["stance."+string(p.Key)] = true, true
	}
	keys := map[string]bool{}
	for _, m := range Measures() {
		require.False(t, keys[m.Key], m.Key)
		keys[m.Key] = true
		require.NotEmpty(t, m.Name)
		require.NotEmpty(t, m.About)
		require.Positive(t, m.vague, m.Key)
		for _, n := range m.Needs {
			if strings.Contains(string(n), "contact.") || strings.Contains(string(n), "stance.") {
				require.True(t, parts[string(n)], "%s needs %s", m.Key, n)
			}
		}
		found, ok := Find(m.Key)
		require.True(t, ok)
		require.Equal(t, m.Name, found.Name)
	}
	_, ok := Find("strike-rate")
	require.False(t, ok)
}
