package align

import (
	"cmp"
	"context"
	"math"
	"slices"
)

const (
	length = 4096 // samples of a compared window: half a second
	reach  = 800  // samples by which a window may lie off the guess, either way: 100 ms
	most   = 320  // windows that are compared for one guess
)

// fine looks closely at each guess and returns what the best one comes to.
func fine(ctx context.Context, a, b Sound, heardA, heardB heard, lines []line) (Match, error) {
	var trials []*trial
	for _, l := range lines {
		if t := newTrial(l, heardA, heardB); t != nil {
			trials = append(trials, t)
		}
	}
	if len(trials) == 0 {
		return Match{Why: "Nothing that both recordings hear was found."}, nil
	}
	var cutsA, cutsB []cut
	for _, t := range trials {
		for i := range t.windows {
			cutsA = append(cutsA, t.windows[i].a)
			cutsB = append(cutsB, t.windows[i].b)
		}
	}
	if err := collect(ctx, a, cutsA); err != nil {
		return Match{}, err
	}
	if err := collect(ctx, b, cutsB); err != nil {
		return Match{}, err
	}
	p := newPhat(length, reach)
	for _, t := range trials {
		t.stack(p)
	}
	slices.SortStableFunc(trials, func(x, y *trial) int { return cmp.Compare(y.found.sum, x.found.sum) })
	rival := 0.0
	for _, t := range trials[1:] {
		rival = max(rival, t.found.sum*trials[0].longer(t))
	}
	return trials[0].match(rival), nil
}

// trial is a closer look at one guess.
type trial struct {
	guess      line
	start, end float64 // overlap on B's clock, s
	windows    []pair
	found      bright
}

// longer is how many times as long as another guess's overlap this one's is: what
// repeats itself, like a machine, fits at many places, and best where there is
// most of it. A much shorter overlap proves nothing, whatever lies in it.
func (t *trial) longer(o *trial) float64 {
	const believable = 1.5
	return min(believable, max(1, (t.end-t.start)/(o.end-o.start)))
}

// pair is one stretch as both recordings have it.
type pair struct {
	a, b cut
	at   float64 // middle on B's clock, s
	say  float64 // 0 to 1
	// curve is how well the two agree, by how many samples A's lies later than
	// guessed: index reach is the guess itself. In standard deviations.
	curve []float32
	thin  []float32 // the same, coarser
}

// newTrial chooses the windows, nil where the recordings hardly overlap.
func newTrial(l line, a, b heard) *trial {
	t := &trial{guess: l}
	t.start, t.end = l.overlap(a, b)
	if t.end-t.start < shortest {
		return nil
	}
	for _, p := range choose(l, t.start, t.end, a, b) {
		at := (float64(p.from) + length/2.0) / rate
		middle := l.at(at) * rate
		t.windows = append(t.windows, pair{
			at: at, say: p.worth * p.worth,
			b: newCut(p.from, length),
			a: newCut(int(math.Round(middle-length/2.0))-reach, length+2*reach),
		})
	}
	return t
}

// place is where a window of B begins, in samples, and how much of a knock
// both hear in it, 0 to 1.
type place struct {
	from  int
	worth float64
}

// choose picks windows of B: where both hear a knock near the guessed offset,
// spread over the overlap.
func choose(l line, start, end float64, a, b heard) []place {
	const step = length / hop // frames of a window
	first, last := int(start*fps), int(end*fps)-step
	parts := make([][]place, 16)
	for from := first; from <= last; from += step {
		there := int(math.Round(l.at(float64(from)/fps) * fps))
		worth := b.knock(from, from+step) * a.knock(there-reach/hop, there+step+reach/hop)
		part := (from - first) * len(parts) / (last - first + 1)
		parts[part] = append(parts[part], place{from * hop, worth})
	}
	var chosen []place
	for _, part := range parts {
		slices.SortStableFunc(part, func(x, y place) int { return cmp.Compare(y.worth, x.worth) })
		chosen = append(chosen, part[:min(len(part), most/len(parts))]...)
	}
	return chosen
}

// knock says how much of a knock there is between two frames, 0 to 1: a knock
// rises at once and in all bands, a voice slowly and in some.
func (h heard) knock(from, to int) float64 {
	const enough = 12.0 // rises of all bands together, that make a knock
	var most float64
	for f := max(0, from); f < min(to, h.frames()); f++ {
		var sum float64
		for _, rises := range h.rises {
			sum += max(0, float64(rises[f]))
		}
		most = max(most, sum)
	}
	return min(1, most/enough)
}

// cut is a stretch of samples that is wanted of a recording.
type cut struct {
	from    int
	samples []float32
}

func newCut(from, n int) cut { return cut{from: from, samples: make([]float32, n)} }

// collect reads a recording once more and fills the cuts. What lies outside of
// the recording stays silent.
func collect(ctx context.Context, s Sound, cuts []cut) error {
	slices.SortFunc(cuts, func(x, y cut) int { return cmp.Compare(x.from, y.from) })
	at, open := 0, 0
	return s.Sound(ctx, rate, func(heard []float32) error {
		for i := open; i < len(cuts) && cuts[i].from < at+len(heard); i++ {
			c := cuts[i]
			if shift := at - c.from; shift >= 0 {
				copy(c.samples[min(shift, len(c.samples)):], heard)
			} else {
				copy(c.samples, heard[-shift:])
			}
		}
		at += len(heard)
		for open < len(cuts) && cuts[open].from+len(cuts[open].samples) <= at {
			open++
		}
		return ctx.Err()
	})
}
