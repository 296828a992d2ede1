package align

import (
	"maps"
	"math"

	"netreel/media"
)

// Pair is a match between two of several recordings, which are numbered by
// whoever asks.
type Pair struct {
	A, B int
	Match
}

// reversed is the same match seen from B.
func (p Pair) reversed() Pair {
	p.A, p.B = p.B, p.A
	p.At, p.Clock = p.Clock.ToSession(p.At), p.Clock.Inverse()
	return p
}

// Loose is the closure error from which one of three matches must be wrong, seconds.
const Loose = 0.03

// Closure says how well matches of three and more recordings fit each other:
// going from A to B, on to C and back to A should end where it began.
type Closure struct {
	Gap   float64 // the largest error over all triangles, seconds
	Worst int     // index of the pair that is most likely wrong; -1 when all fit within Loose
}

// Close checks all triangles among the pairs. Where they don't close, the pair
// that takes part in the most error is the worst; among equals, as in a single
// triangle, the least confident.
func Close(pairs []Pair) Closure {
	blame := make([]float64, len(pairs))
	c := Closure{Worst: -1}
	for i := range pairs {
		for j := range i {
			for k := range j {
				gap, ok := around3(pairs[i], pairs[j], pairs[k])
				if !ok {
					continue
				}
				c.Gap = max(c.Gap, gap)
				if gap > Loose {
					blame[i], blame[j], blame[k] = blame[i]+1, blame[j]+1, blame[k]+1
				}
			}
		}
	}
	for i, b := range blame {
		if b == 0 {
			continue
		}
		if c.Worst < 0 || b > blame[c.Worst] || b == blame[c.Worst] && pairs[i].Confidence < pairs[c.Worst].Confidence {
			c.Worst = i
		}
	}
	return c
}

// around3 is by how many seconds a way round three matches misses its
// beginning, in the middle of the first one's overlap; not ok when the three
// make no triangle.
func around3(x, y, z Pair) (gap float64, ok bool) {
	if y.B != x.A && y.A != x.A {
		y, z = z, y
	}
	if y.B != x.A {
		y = y.reversed()
	}
	if z.A != x.B {
		z = z.reversed()
	}
	// Clocks map x: B -> A, y: A -> C, z: C -> B.
	if y.B != x.A || z.A != x.B || z.B != y.A {
		return 0, false
	}
	home := z.Clock.ToSession(y.Clock.ToSession(x.Clock.ToSession(x.At)))
	return math.Abs((home - x.At).Seconds()), true
}

// Chain places recordings on the clock of those that are placed already, over
// the most certain matches first, and returns all that can be reached.
func Chain(placed map[int]media.Clock, pairs []Pair) map[int]media.Clock {
	out := make(map[int]media.Clock, len(placed))
	maps.Copy(out, placed)
	for {
		next := -1
		for i, p := range pairs {
			_, a := out[p.A]
			_, b := out[p.B]
			if a != b && !p.Refused() && (next < 0 || p.Confidence > pairs[next].Confidence) {
				next = i
			}
		}
		if next < 0 {
			return out
		}
		p := pairs[next]
		if _, ok := out[p.A]; !ok {
			p = p.reversed()
		}
		out[p.B] = p.Clock.Then(out[p.A])
	}
}
