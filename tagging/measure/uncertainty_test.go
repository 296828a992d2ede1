package measure

import (
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat"

	"netreel/media"
	"netreel/media/scene/space"
)

// feetAt puts heels on the ground, as a camera sees them.
func feetAt(t require.TestingT, n noise, cam space.Camera, back, front space.V) *Sight {
	s := &Sight{Points: map[Part]Point{}}
	for part, p := range map[Part]space.V{BackHeel: back, FrontHeel: front} {
		at := n.pixel(t, cam, p)
		s.Points[part] = Point{X: at.X, Y: at.Y, Sigma: 1}
	}
	return s
}

// Standard deviations of a base of 0.502 m and of its back foot's depth that a
// pinhole of 1920 x 1080 pixels gave for clicks of 1 pixel on four corners and
// the feet, in a simulation made apart from this code, rounded to a
// millimetre. It did not note focal lengths: 390 pixels a metre at the batter,
// who then fills two thirds of the picture's height, is what reproduces it.
// thrown is where a click on the ankle, 8 cm up, puts the back foot.
func TestSimulatedPinholes(t *testing.T) {
	back, front := space.V{X: 0.96, Y: 0.1}, space.V{X: 1.46, Y: 0.05}
	for _, c := range []struct {
		name                 string
		cam                  space.Camera
		base, depth          float64 // cm
		ankleBase            float64 // cm more, from ankle to ankle
		throwAlong, throwOff float64 // cm
	}{
		{"side-on 8 m, 1.5 m high", sideOn, 0.7, 0.4, 2.9, -1, 46},
		{"side-on 8 m, 3 m high", cameraAt(space.V{X: 1.1, Y: -8, Z: 3}, 390), 0.5, 0.4, 1.4, 0, 22},
		{"oblique, 8 m, 2.5 m high", oblique, 1.1, 0.8, 1.7, -19, 19},
		{"behind the stumps 6 m, 2 m high", behind, 1.4, 1.0, 2.1, 29, 0},
		{"behind the bowler, 1.8 m high", endOn, 4.2, 3.4, 2.4, -102, 0},
	} {
		clicks := exact().clicks(t, c.cam, usualPitch(), corners)
		cal, err := Calibrate(setup(usualPitch()), clicks)
		require.NoError(t, err, c.name)
		input := Input{Calibration: cal, Contact: feetAt(t, exact(), c.cam, back, front)}
		base, err := baseWidth.Take(input)
		require.NoError(t, err, c.name)
		require.InDelta(t, 50.25, base.Value, 0.01, c.name)
		near := func(want, got float64, what string) {
			require.InDelta(t, want, got, 0.05+0.13*want, "%s: %s", c.name, what)
		}
		near(c.base, base.Sigma, "base")
		// The depth alone, also where the view makes it be refused.
		depth, err := propagate(&input, func(t *taking) (float64, error) {
			at, err := t.ground(contact, BackHeel)
			return 100 * at.X, err
		})
		require.NoError(t, err)
		near(c.depth, depth.Sigma, "depth")

		up := space.V{Z: 0.08}
		ankles := input
		ankles.Contact = feetAt(t, exact(), c.cam, back.Add(up), front.Add(up))
		high, err := propagate(&ankles, func(t *taking) (float64, error) {
			a, err := t.ground(contact, BackHeel)
			if err != nil {
				return 0, err
			}
			b, err := t.ground(contact, FrontHeel)
			return 100 * distance(a, b), err
		})
		require.NoError(t, err)
		require.InDelta(t, c.ankleBase, high.Value-base.Value, 0.15, "%s: ankles", c.name)
		a := ankles.Contact.Points[BackHeel]
		at, _, err := cal.Spot(Pixel{a.X, a.Y}, 1)
		require.NoError(t, err)
		require.InDelta(t, c.throwAlong, 100*(at.X-back.X), 1.1, "%s: ankle", c.name)
		require.InDelta(t, c.throwOff, 100*(at.Y-back.Y), 1.1, "%s: ankle", c.name)
		eye := [3]float64{c.cam.Eye.X, c.cam.Eye.Y, c.cam.Eye.Z}
		require.InDelta(t, at.X-back.X, thrown(eye, Spot{back.X, back.Y}, 0.08), 1e-9, "%s: closed form", c.name)

		_, err = creaseDepth.Take(input)
		if c.name == "behind the bowler, 1.8 m high" {
			require.ErrorContains(t, err, "depth in the crease can't be told")
		} else {
			require.NoError(t, err)
		}
	}
}

// Clicks that are worse than they are said to be, as their disagreement shows,
// are not believed: with eight marks and four times the noise the deviation
// grows about fourfold, and somebody is told.
func TestCarelessClicksAreNotBelieved(t *testing.T) {
	all := []string{"far-bowling-leg", "far-bowling-off", "far-popping-leg", "far-popping-off"}
	base := func(n noise) (float64, string) {
		c, err := Calibrate(setup(usualPitch()), n.clicks(t, behind, usualPitch(), corners, all))
		require.NoError(t, err)
		_, sigma, err := c.Spot(exact().pixel(t, behind, space.V{X: 10}), 1e-6)
		require.NoError(t, err)
		return sigma, strings.Join(c.Warnings, " ")
	}
	careful, said := base(noisy(1, 1))
	require.NotContains(t, said, "disagree")
	careless, said := base(noisy(1, 4))
	require.Contains(t, said, "disagree by more than careful clicks do")
	require.InDelta(t, 4, careless/careful, 2)
}

// figure is a batter made of points, metres: all of her in the vertical plane
// through the middles of her feet.
var figure = map[Part]space.V{
	BackHeel: {X: 0.95, Y: -0.03}, BackToe: {X: 0.95, Y: 0.23}, FrontHeel: {X: 1.62, Y: 0.05}, FrontToe: {X: 1.62, Y: 0.31},
	BackAnkle: {X: 0.95, Y: 0.10, Z: 0.08}, FrontAnkle: {X: 1.62, Y: 0.18, Z: 0.08},
	BackKnee: {X: 1.08, Y: 0.115, Z: 0.46}, FrontKnee: {X: 1.72, Y: 0.19, Z: 0.47},
	BackHip: {X: 1.26, Y: 0.14, Z: 0.84}, FrontHip: {X: 1.40, Y: 0.15, Z: 0.84},
	BackShoulder: {X: 1.40, Y: 0.15, Z: 1.33}, FrontShoulder: {X: 1.60, Y: 0.18, Z: 1.33},
	Head: {X: 1.62, Y: 0.18, Z: 1.52}, BatHandle: {X: 1.75, Y: 0.19, Z: 0.95}, BatToe: {X: 1.65, Y: 0.18, Z: 0.13},
	Ball: {X: 1.72, Y: 0.19, Z: 0.28}, BallBounce: {X: 2.9, Y: 0.12},
}

func sightOf(t require.TestingT, n noise, cam space.Camera, points map[Part]space.V) *Sight {
	s := &Sight{Points: map[Part]Point{}}
	for part, p := range points {
		at := n.pixel(t, cam, p)
		s.Points[part] = Point{X: at.X, Y: at.Y, Sigma: 1}
	}
	return s
}

// flight at 120 km/h over 17.68 m, filmed at 50 frames a second.
var flight = &Flight{
	Trigger: &Moment{At: media.FromSeconds(9.90), Frame: 20000},
	Release: &Moment{At: media.FromSeconds(10.00), Frame: 20000},
	Bounce:  &Moment{At: media.FromSeconds(10.40), Frame: 20000},
	Arrival: &Moment{At: media.FromSeconds(10.54), Frame: 20000},
}

// draws of the Monte Carlo check.
const draws = 10_000

// TestFirstOrderAgreesWithMonteCarlo draws every input ten thousand times, clicks
// on marks and body, where the lens' axis is, off-plane distances, frames, solves
// the whole calibration anew each time, and compares the spread of what comes
// out with the propagated one.
func TestFirstOrderAgreesWithMonteCarlo(t *testing.T) {
	for name, cam := range map[string]space.Camera{"side-on": sideOn, "oblique": oblique} {
		cal := exact().calibrated(t, cam)
		before := map[Part]space.V{BackHeel: {X: 0.9, Y: 0.1}, BackToe: {X: 0.9, Y: 0.36}, FrontHeel: {X: 1.3, Y: 0.12}, FrontToe: {X: 1.3, Y: 0.38}}
		input := Input{
			Calibration: cal, Batter: Batter{Height: 1.7}, Flight: flight,
			Contact: sightOf(t, exact(), cam, figure), Stance: sightOf(t, exact(), cam, before),
		}
		marked, err := match(cal.Setup, cal.Clicks)
		require.NoError(t, err)
		in := inputs{width: cal.Width, height: cal.Height, marked: marked}
		middle, err := in.solve(nil)
		require.NoError(t, err)
		r := rand.New(rand.NewPCG(20, 26))
		asked := map[string][]string{}
		for _, m := range Measures() {
			ask := &taking{in: &input}
			_, err := m.take(ask)
			require.NoError(t, err, m.Key)
			for _, name := range ask.inputs {
				if !strings.HasPrefix(name, "calibration") { // that is drawn as a whole
					asked[m.Key] = append(asked[m.Key], name)
				}
			}
		}
		samples := map[string][]float64{}
		for range draws {
			s, err := in.drawn(r).solve(middle)
			require.NoError(t, err)
			moved := *cal
			moved.Ground, moved.Spread = s.ground, nil
			moved.Camera = &Camera{Projection: s.camera.matrix(s.middleX, s.middleY), Eye: cal.Camera.Eye}
			now := input
			now.Calibration = &moved
			for _, m := range Measures() {
				shift := map[string]float64{}
				for _, name := range asked[m.Key] {
					shift[name] = r.NormFloat64()
				}
				v, err := m.take(&taking{in: &now, shift: shift})
				require.NoError(t, err, m.Key)
				samples[m.Key] = append(samples[m.Key], v)
			}
		}
		for _, m := range Measures() {
			v, err := m.Take(input)
			require.NoError(t, err, "%s: %s", name, m.Key)
			mean, sd := stat.MeanStdDev(samples[m.Key], nil)
			require.InDelta(t, v.Value, mean, 0.2*sd, "%s: %s", name, m.Key)
			require.InEpsilon(t, sd, v.Sigma, 0.05, "%s: %s", name, m.Key)
		}
	}
}

// drawn draws every input about its value.
func (in inputs) drawn(r *rand.Rand) inputs {
	in.marked = append([]marked(nil), in.marked...)
	for i := range in.marked {
		m := &in.marked[i]
		m.pixel.X += m.sigma * r.NormFloat64()
		m.pixel.Y += m.sigma * r.NormFloat64()
	}
	in.bend += in.bendSigma * r.NormFloat64()
	in.cx += axisSpread * float64(max(in.width, in.height)) * r.NormFloat64()
	in.cy += axisSpread * float64(max(in.width, in.height)) * r.NormFloat64()
	in.usual += focalSpread * r.NormFloat64()
	return in
}
