package measure

import (
	"fmt"
	"math"
	"slices"

	"netreel/media/fault"
)

// taking is one computation of a measure. It hands out every number that has a
// standard deviation, and remembers which it handed out, so that propagate can
// move each of them in turn. A measure must take all such numbers from here.
type taking struct {
	in      *Input
	shift   map[string]float64 // standard deviations by which an input is moved
	inputs  []string           // the inputs asked for, in order
	caveats []string
	low     *float64 // bounds by the frames
	high    *float64
	seeing  *view
	choices map[string]float64
}

// propagate computes a measure and its standard deviation, to first order: each
// input is moved by one standard deviation both ways. Where a foot's distance
// from a low camera is unsure by a tenth of the base or more, the true deviation
// is a few per cent larger.
func propagate(in *Input, take func(*taking) (float64, error)) (Value, error) {
	t := &taking{in: in, choices: map[string]float64{}}
	v, err := take(t)
	if err != nil {
		return Value{}, err
	}
	if !finite(v) {
		return Value{}, refuse("These points don't give a measure: two of them that should lie apart are on the same place.")
	}
	var sum float64
	for _, name := range t.inputs {
		var ends [2]float64
		for i, by := range []float64{-1, 1} {
			moved := &taking{in: in, shift: map[string]float64{name: by}, choices: t.choices}
			if ends[i], err = take(moved); err != nil {
				return Value{}, err
			}
		}
		sum += square(ends[1]-ends[0]) / 4
	}
	return Value{Value: v, Sigma: math.Sqrt(sum), Low: t.low, High: t.high, Caveats: append([]string{}, t.caveats...)}, nil
}

// refuse says why something can't be measured and what to do.
func refuse(format string, a ...any) error {
	return fault.New(fault.Invalid, "", fmt.Sprintf(format, a...))
}

// caveat notes what else to know about the value, once.
func (t *taking) caveat(format string, a ...any) {
	if c := fmt.Sprintf(format, a...); !slices.Contains(t.caveats, c) {
		t.caveats = append(t.caveats, c)
	}
}

// judging says that this is the computation whose value counts. What is found
// to be impossible is refused there, not where inputs are moved.
func (t *taking) judging() bool { return t.shift == nil }

// choice gives a number that must stay what it was at first while inputs are
// moved: which way a knee bends, say.
func (t *taking) choice(name string, first float64) float64 {
	if c, ok := t.choices[name]; ok {
		return c
	}
	if t.choices != nil {
		t.choices[name] = first
	}
	return first
}

// bounds notes what the value can't be below or above.
func (t *taking) bounds(low, high float64) { t.low, t.high = &low, &high }

// about gives a number that is known to sigma.
func (t *taking) about(name string, value, sigma float64) float64 {
	if sigma == 0 {
		return value
	}
	if !slices.Contains(t.inputs, name) {
		t.inputs = append(t.inputs, name)
	}
	return value + t.shift[name]*sigma
}

// view gives the calibration.
func (t *taking) view() (*view, error) {
	if t.seeing != nil {
		return t.seeing, nil
	}
	c := t.in.Calibration
	if c == nil {
		return nil, refuse("This needs the camera calibrated: click the marks of the creases once for this recording.")
	}
	v := c.moved(func(row int) float64 { return t.about(fmt.Sprintf("calibration %d", row), 0, 1) })
	t.seeing = &v
	return t.seeing, nil
}

// space gives the calibration where heights are to be measured.
func (t *taking) space() (*view, error) {
	v, err := t.view()
	if err == nil && t.in.Calibration.Camera == nil {
		return nil, refuse("This camera's calibration serves the ground only. Click the stumps' tops too, on a picture that was not cropped.")
	}
	return v, err
}

// frame is one of the two frames of a ball that are looked at.
type frame string

const (
	stance  frame = "stance"
	contact frame = "contact"
)

func (t *taking) sight(f frame) *Sight {
	if f == stance {
		return t.in.Stance
	}
	return t.in.Contact
}

// has says whether parts were clicked on a frame.
func (t *taking) has(f frame, parts ...Part) bool {
	s := t.sight(f)
	for _, p := range parts {
		if s == nil {
			return false
		}
		if _, ok := s.Points[p]; !ok {
			return false
		}
	}
	return true
}

// click gives where a part is on a frame.
func (t *taking) click(f frame, part Part) (Pixel, error) {
	if !t.has(f, part) {
		return Pixel{}, refuse("Missing at %s: %s. Click it first.", f, nameOf(part))
	}
	p := t.sight(f).Points[part]
	sigma := p.sigma()
	name := string(f) + " " + string(part)
	return Pixel{t.about(name+" x", p.X, sigma), t.about(name+" y", p.Y, sigma)}, nil
}

func nameOf(part Part) string {
	for _, p := range Parts() {
		if p.Key == part {
			return p.Name
		}
	}
	return string(part)
}

// ground gives the place on the ground of a part that touches it.
func (t *taking) ground(f frame, part Part) (Spot, error) {
	p, err := t.click(f, part)
	if err != nil {
		return Spot{}, err
	}
	v, err := t.view()
	if err != nil {
		return Spot{}, err
	}
	return v.ground(p)
}
