package measure

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"netreel/media/fault"
)

// Click is a mark clicked in the picture.
type Click struct {
	Mark  string  `json:"mark"` // its key
	X     float64 `json:"x"`    // pixels
	Y     float64 `json:"y"`
	Sigma float64 `json:"sigma,omitempty"` // standard deviation of x and of y, pixels; 0: ClickSigma
	Use   Use     `json:"use,omitempty"`   // "": as the mark has it; Fit or Check for a mark on the ground
}

// ClickSigma is how well a point is hit through a loupe, pixels: judgement, no
// source.
const ClickSigma = 1.0

// Setup is the picture that is calibrated.
type Setup struct {
	Pitch    Pitch     `json:"pitch"`
	Width    int       `json:"width"` // of the picture as shown, pixels
	Height   int       `json:"height"`
	Straight [][]Pixel `json:"straight,omitempty"` // points along lines that are straight in the world, for the lens
}

// Calibration turns places of the picture into places on the pitch. It is made
// by Calibrate and can be kept as JSON.
type Calibration struct {
	Setup
	Clicks []Click `json:"clicks"`

	Ground    [9]float64  `json:"ground"` // 3 x 3 by rows: homogeneous pixels of the straightened picture from metres on the ground; its third coordinate is 1 amid the fit's marks
	Bend      float64     `json:"bend"`   // of the lens; 0 when no straight line was given
	BendSigma float64     `json:"bendSigma"`
	Camera    *Camera     `json:"camera,omitempty"` // nil: nothing above the ground can be measured
	Spread    [][]float64 `json:"spread"`           // how ground (9), bend and projection (12) move when one input moves by its standard deviation, a row an input

	Residuals []Residual `json:"residuals"` // one a click
	Warnings  []string   `json:"warnings"`
}

// Camera is what the clicks say about where the picture was taken from.
type Camera struct {
	Projection [12]float64 `json:"projection"` // 3 x 4 by rows: homogeneous pixels of the straightened picture, the third coordinate the depth in metres, from homogeneous metres
	Eye        [3]float64  `json:"eye"`        // metres
	Focal      float64     `json:"focal"`      // pixels
}

// Residual is how far a click is from where the calibration puts its mark.
type Residual struct {
	Mark   string  `json:"mark"`
	Name   string  `json:"name"`
	Use    Use     `json:"use"`
	Pixels float64 `json:"pixels"`
	Cm     float64 `json:"cm"`     // on the ground; of a height mark, at its distance from the camera
	Along  float64 `json:"along"`  // of which towards the bowler, cm; 0 for a height mark
	Across float64 `json:"across"` // and to the off side of a right-hander
	Sigma  float64 `json:"sigma"`  // what the clicks allow for, cm: one standard deviation
}

// Calibrate finds the ground plane and the camera from four or more clicks on
// the ground, better with the stumps' tops. It fails with fault.Invalid, whose
// message says what is wrong with the clicks and what to do.
func Calibrate(setup Setup, clicks []Click) (*Calibration, error) {
	marked, err := match(setup, clicks)
	if err != nil {
		return nil, fault.At("measure.Calibrate", err)
	}
	in := inputs{width: setup.Width, height: setup.Height, marked: marked}
	if len(setup.Straight) > 0 {
		if in.bend, in.bendSigma, err = findBend(setup.Width, setup.Height, setup.Straight); err != nil {
			return nil, fault.At("measure.Calibrate", err)
		}
		if in.bendSigma > vagueBend {
			in.bend, in.bendSigma = 0, 0
		}
	}
	if err := checkLayout(in); err != nil {
		return nil, fault.At("measure.Calibrate", err)
	}
	s, err := in.solve(nil)
	if err != nil {
		return nil, fault.Wrap(err, fault.Invalid, "measure.Calibrate", tooFlat)
	}
	c := &Calibration{Setup: setup, Clicks: clicks, Ground: s.ground, Bend: in.bend, BendSigma: in.bendSigma, Warnings: []string{}}
	if s.camera != nil {
		c.Camera = &Camera{s.camera.matrix(float64(setup.Width)/2, float64(setup.Height)/2), s.camera.eye, s.camera.focal}
	}
	c.warnOfLens(in)
	if err := c.settle(in, s); err != nil {
		return nil, fault.At("measure.Calibrate", err)
	}
	return c, nil
}

const tooFlat = "These clicks don't fix the ground: seen from this camera they lie almost on one line. " +
	"Click marks farther apart, or film from higher up."

// inputs are all the numbers that a calibration depends on.
type inputs struct {
	width, height int
	marked        []marked
	bend          float64
	bendSigma     float64
	cx, cy        float64 // how far the camera's axis is off the picture's middle, pixels
	usual         float64 // logarithm of the focal length to expect, from that of the picture's longer side
}

// marked is a click with its mark.
type marked struct {
	Mark
	pixel Pixel
	sigma float64
}

// Standard deviation of the place where the camera's axis meets the picture,
// as a share of the picture's longer side: judgement, no source.
const axisSpread = 0.01

// solution is what inputs lead to.
type solution struct {
	ground           homography
	groundCost       float64 // sum of squared errors, each divided by its sigma
	groundFree       int     // equations beyond the unknowns
	camera           *pinhole
	cameraCost       float64
	cameraFree       int
	lens             lens
	middleX, middleY float64
}

// of lists the clicked marks of some uses.
func (in inputs) of(uses ...Use) []marked {
	var some []marked
	for _, m := range in.marked {
		if slices.Contains(uses, m.Use) {
			some = append(some, m)
		}
	}
	return some
}

// solve finds ground and camera. near is an earlier solution of almost the same
// inputs, or nil.
func (in inputs) solve(near *solution) (*solution, error) {
	s := &solution{lens: lensOf(in.width, in.height, in.bend)}
	s.middleX, s.middleY = s.lens.cx+in.cx, s.lens.cy+in.cy
	var world, picture []Spot
	var sigma []float64
	for _, m := range in.of(Fit) {
		world, picture = append(world, Spot{m.X, m.Y}), append(picture, Spot(s.lens.straighten(m.pixel)))
		sigma = append(sigma, m.sigma)
	}
	h, err := direct(world, picture)
	if err != nil {
		return nil, err
	}
	if h, err = refined(h, world, picture, sigma); err != nil {
		return nil, err
	}
	var mid Spot
	for _, p := range world {
		mid.X += p.X / float64(len(world))
		mid.Y += p.Y / float64(len(world))
	}
	_, _, w := h.apply(mid.X, mid.Y)
	s.ground = h.scaled(w)
	for i, p := range world {
		x, y, _ := s.ground.apply(p.X, p.Y)
		s.groundCost += (square(x-picture[i].X) + square(y-picture[i].Y)) / square(sigma[i])
	}
	s.groundFree = 2*len(world) - 8
	in.findCamera(s, near)
	return s, nil
}

// findCamera looks for the pinhole from several focal lengths, since the way
// down may end in a hollow; near saves the search.
func (in inputs) findCamera(s, near *solution) {
	var points []seen
	for _, m := range in.of(Fit, Height) {
		points = append(points, seen{vec{m.X, m.Y, m.Z}, s.lens.straighten(m.pixel), m.sigma})
	}
	long := float64(max(in.width, in.height))
	usual := long * math.Exp(in.usual)
	s.cameraFree = 2*len(points) - 7
	if near != nil {
		if near.camera != nil {
			if c, cost, ok := fitPinhole(*near.camera, points, s.middleX, s.middleY, usual); ok {
				s.camera, s.cameraCost = &c, cost
			}
		}
		return
	}
	shift := homography{1, 0, -s.middleX, 0, 1, -s.middleY, 0, 0, 1}
	h := shift.times(&s.ground)
	for _, times := range []float64{0.5, 0.9, 1.6, 3, 6, 12} {
		from := pose(&h, times*long)
		if c, cost, ok := fitPinhole(from, points, s.middleX, s.middleY, usual); ok && (s.camera == nil || cost < s.cameraCost) {
			s.camera, s.cameraCost = &c, cost
		}
	}
	if s.camera != nil && (s.camera.eye[2] <= 0 || s.cameraCost > misfit*float64(s.cameraFree)) {
		s.camera = nil
	}
}

// misfit is the mean square of the reprojection errors, in sigmas, above which
// the picture is not that of the assumed camera.
const misfit = 100

// ordinary is the share of good sets of clicks whose disagreement stays below
// the limit at which their sigma is taken to be larger than stated.
const ordinary = 0.99

// looser gives the factor for the clicks' sigma: 1 as long as their
// disagreement is ordinary.
func looser(cost float64, free int) float64 {
	if free < 1 || cost <= (distuv.ChiSquared{K: float64(free)}).Quantile(ordinary) {
		return 1
	}
	return math.Sqrt(cost / float64(free))
}

func square(v float64) float64 { return v * v }

// warnOfLens says what is known of the lens.
func (c *Calibration) warnOfLens(in inputs) {
	switch {
	case len(c.Straight) == 0:
		c.warn("Lens bending was not checked: mark a long straight line near the edge of the picture, or keep feet and marks away from the edges.")
	case in.bendSigma == 0:
		c.warn("The straight line says nothing about the lens: choose a longer one, nearer to the edge of the picture.")
	case math.Abs(in.bend) > 0.3:
		c.warn("The lens bends straight lines strongly: zoom in or stand farther away.")
	}
}

func (c *Calibration) warn(format string, a ...any) {
	c.Warnings = append(c.Warnings, fmt.Sprintf(format, a...))
}
