package lookback

import "netreel/tagging/find"

// bits are places in a list of balls.
type bits []uint64

func newBits(n int) bits { return make(bits, (n+63)/64) }

func (b bits) set(i int) { b[i/64] |= 1 << (i % 64) }

// index answers questions about the terms of the balls of a set, so that each
// number can be held against what its question would find.
type index struct {
	balls             int
	everybody, chosen said
}

// said is where terms were seen, by the codes of a question: "shot=pull", and
// "shot" for anything that was said of the group.
type said struct {
	spoken bits // balls that may be found at all
	code   map[string]bits

	measured map[string]bits // by key of measure: balls on which it was taken
}

// newIndex indexes what everybody said, and what the chosen coder did: by the
// latter only what they said counts, and balls they did not speak of are out.
func newIndex(balls []seen) *index {
	x := &index{balls: len(balls)}
	measured := map[string]bits{}
	for i, b := range balls {
		for key := range b.Measured {
			if measured[key] == nil {
				measured[key] = newBits(len(balls))
			}
			measured[key].set(i)
		}
	}
	for _, one := range []bool{false, true} {
		in := said{spoken: newBits(len(balls)), code: map[string]bits{}, measured: measured}
		for i, b := range balls {
			terms, said := b.all, b.said
			if one {
				terms, said = b.terms, b.terms
			}
			if b.spoken || !one {
				in.spoken.set(i)
			}
			for g, list := range terms {
				for _, t := range list {
					in.mark(g+"="+t, i, len(balls))
				}
			}
			for g, list := range said {
				if len(list) > 0 {
					in.mark(g, i, len(balls))
				}
			}
		}
		if one {
			x.chosen = in
		} else {
			x.everybody = in
		}
	}
	return x
}

func (s said) mark(code string, at, balls int) {
	if s.code[code] == nil {
		s.code[code] = newBits(balls)
	}
	s.code[code].set(at)
}

// fit is what a question asks of terms, and of whether something was measured:
// the ranges that the set's own question asks for hold already.
func (s said) fit(q find.Question) bits {
	fits := append(bits(nil), s.spoken...)
	for key := range q.Measured {
		taken := s.measured[key]
		for i := range fits {
			if taken == nil {
				fits[i] = 0
			} else {
				fits[i] &= taken[i]
			}
		}
	}
	for g, terms := range q.Has {
		any := make(bits, len(fits))
		for _, t := range terms {
			for i, w := range s.code[g+"="+t] {
				any[i] |= w
			}
		}
		for i := range fits {
			fits[i] &= any[i]
		}
	}
	less := func(code string) {
		for i, w := range s.code[code] {
			fits[i] &^= w
		}
	}
	for g, terms := range q.Not {
		for _, t := range terms {
			less(g + "=" + t)
		}
	}
	for _, g := range q.Uncoded {
		less(g)
	}
	return fits
}
