package split

import (
	"math"
	"sort"

	"netreel/media"
)

// stirStep is the grain of the curve of motion.
const (
	stirStep  = 0.05               // s
	stirUnit  = 50.0               // steps of a byte for a factor of e
	stirZero  = 100                // byte for "as usual"
	stirLeast = 0.12               // less in all is a picture that does not move
	stirEmpty = 0                  // byte for "no packet here"
	stirMost  = 8 * 24 * 3600 * 20 // steps, eight days: what lies later is a broken time stamp
)

// stir turns packet sizes into how much the picture moves, without decoding:
// an encoder spends more on a picture that differs from the one before. Key
// frames are left out, each kind of picture is compared with its own running
// median, so that what stays is the logarithm of "more than usual". One byte
// for each 50 ms is kept.
type stir struct {
	values  []byte
	sum     float64
	count   int
	bin     int
	usual   [2]float64 // running median of log size: forward and bidirectional pictures
	seen    [2]int
	newest  media.Micros
	packets int
	keys    int
	starts  []float64    // s, ascending: where decoding may begin, at least startsApart from each other
	length  media.Micros // of the file, 0 if not known
	astray  int          // packets whose time can't be
	shown   []bool       // for each second whether a picture begins in it
}

// Decoding begins at a key frame.
const (
	startsApart = 0.5  // s between two that are kept
	startSlack  = 0.15 // s after a key frame from which a decoder that reorders pictures is sure to begin with it
	startReach  = 6.0  // s to go back for one: further back costs too much to look at
)

// start is where decoding begins if pictures from t on are asked for: what lies
// between is decoded anyway.
func (s *stir) start(t float64) float64 {
	i := sort.SearchFloat64s(s.starts, t-startSlack+1e-6)
	if i == 0 || t-s.starts[i-1] > startReach {
		return t
	}
	return s.starts[i-1] + startSlack
}

// strayMost is how far before the file's beginning or beyond its end a picture
// may lie.
const strayMost = media.Second

func (s *stir) add(at media.Micros, size int, key bool) {
	s.packets++
	if s.length > 0 && (at < -strayMost || at > s.length+strayMost) {
		s.astray++
		return
	}
	if second := int(max(at, 0) / media.Second); second < stirMost/20 {
		for len(s.shown) <= second {
			s.shown = append(s.shown, false)
		}
		s.shown[second] = true
	}
	if key {
		s.keys++
		if n, t := len(s.starts), at.Seconds(); n == 0 || t >= s.starts[n-1]+startsApart {
			s.starts = append(s.starts, t)
		}
	}
	kind := 0
	if s.packets > 1 && at < s.newest { // shown before one that is already stored
		kind = 1
	}
	s.newest = max(s.newest, at)
	if key || size <= 0 || at < 0 {
		return
	}
	v := math.Log(float64(size))
	if s.seen[kind] == 0 {
		s.usual[kind] = v
	}
	s.seen[kind]++
	step := 0.004
	if s.seen[kind] < 200 {
		step = 0.05
	}
	d := v - s.usual[kind]
	if d > 0 {
		s.usual[kind] += step
	} else {
		s.usual[kind] -= step
	}
	bin := int(at.Seconds() / stirStep)
	if bin != s.bin {
		s.flush()
		s.bin = bin
	}
	s.sum += min(max(d, -2), 3)
	s.count++
}

// flush writes the bin that is complete. Pictures are stored out of order, so
// a bin may be written twice: the mean of both is kept.
func (s *stir) flush() {
	if s.count == 0 {
		return
	}
	if s.bin < stirMost {
		for len(s.values) <= s.bin {
			s.values = append(s.values, stirEmpty)
		}
		v := s.sum/float64(s.count)*stirUnit + stirZero
		b := byte(min(max(math.Round(v), 1), 255))
		if old := s.values[s.bin]; old != stirEmpty {
			b = byte((int(b) + int(old) + 1) / 2)
		}
		s.values[s.bin] = b
	}
	s.sum, s.count = 0, 0
}

// curve gives the motion as a curve of n steps, gaps filled with what lies
// beside them, lightly smoothed, in units of its own spread.
func (s *stir) curve(n int) curve {
	s.flush()
	c := make(curve, n)
	last := 0.0
	for i := range c {
		if i < len(s.values) && s.values[i] != stirEmpty {
			last = (float64(s.values[i]) - stirZero) / stirUnit
		}
		c[i] = float32(last)
	}
	c = c.smooth()
	if n > 0 && c.quantile(0.98)-c.quantile(0.02) < stirLeast {
		clear(c) // nothing but the running median's own steps
	}
	return c.scaled()
}

// curve is a quantity over the file in steps of stirStep.
type curve []float32

func (c curve) smooth() curve {
	out := make(curve, len(c))
	for i := range c {
		a, b := c[max(i-1, 0)], c[min(i+1, len(c)-1)]
		out[i] = (a + 2*c[i] + b) / 4
	}
	return out
}

// scaled subtracts the median and divides by the mean distance from it.
func (c curve) scaled() curve {
	if len(c) == 0 {
		return c
	}
	mid := c.quantile(0.5)
	var spread float64
	for _, v := range c {
		spread += math.Abs(float64(v - mid))
	}
	spread = max(spread/float64(len(c)), 1e-3)
	for i := range c {
		c[i] = float32(min(max(float64(c[i]-mid)/spread, -3), 6))
	}
	return c
}

// quantile is found from a histogram: exact to a 500th of the range.
func (c curve) quantile(q float64) float32 {
	const cells = 500
	low, top := c[0], c[0]
	for _, v := range c {
		low, top = min(low, v), max(top, v)
	}
	if top == low {
		return low
	}
	var count [cells + 1]int
	for _, v := range c {
		count[int(float64(v-low)/float64(top-low)*cells)]++
	}
	want := int(q * float64(len(c)))
	for i, n := range count {
		if want -= n; want < 0 {
			return low + (top-low)*(float32(i)+0.5)/cells
		}
	}
	return top
}

// step is the index of time t.
func (c curve) step(t float64) int { return int(math.Floor(t / stirStep)) }

// near is the curve at a step; beyond the ends it keeps its last value.
func (c curve) near(i int) float64 {
	if len(c) == 0 {
		return 0
	}
	return float64(c[min(max(i, 0), len(c)-1)])
}

// mean is the curve's mean over steps from..to.
func (c curve) mean(from, to int) float64 {
	var sum float64
	for i := from; i <= to; i++ {
		sum += c.near(i)
	}
	return sum / float64(to-from+1)
}

// burst is how much more than half a second before and after it moves at a
// step.
func (c curve) burst(i int) float64 {
	return c.mean(i-2, i+2) - (c.mean(i-12, i-7)+c.mean(i+7, i+12))/2
}
