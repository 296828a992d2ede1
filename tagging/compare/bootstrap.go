package compare

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
)

// Clustered is a difference whose interval allows for balls of one session
// being alike: whole sessions are drawn anew, not balls.
type Clustered struct {
	Difference Estimate // a less b; in [-1, 1] for rates, in the unit of the readings for means
	A, B       int      // sessions with balls on each side
	Rough      bool     // fewer than EnoughSessions on a side: the interval is a rough one
}

// EnoughSessions on each side make a bootstrap over sessions better than
// rough (common practice, no source).
const EnoughSessions = 5

// draws is how often sessions are drawn anew: the limits of a percentile
// interval settle well before (B. Efron & R. J. Tibshirani, An Introduction to
// the Bootstrap, 1993, chapter 13: a thousand or more).
const draws = 4000

// totals are what a session adds to the two sides.
type totals struct {
	sum [2]float64
	n   [2]float64
}

// bootstrap is the percentile interval of the difference of two means, of
// which a rate is one. Sessions are drawn with replacement; a draw that leaves
// a side without balls is drawn again. The same seed and counts give the same
// interval.
func bootstrap(sessions map[int64]totals, seed uint64) Clustered {
	ids := make([]int64, 0, len(sessions))
	var out Clustered
	var all totals
	for id, t := range sessions {
		if t.n[0]+t.n[1] == 0 {
			continue
		}
		ids = append(ids, id)
		out.A += one(t.n[0] > 0)
		out.B += one(t.n[1] > 0)
		all = all.plus(t)
	}
	out.Rough = min(out.A, out.B) < EnoughSessions
	switch {
	case out.A == 0 || out.B == 0:
		out.Difference = missing(NoBalls)
		return out
	case out.A == 1 || out.B == 1:
		out.Difference = missing(FewSessions)
		return out
	}
	slices.Sort(ids)
	luck := rand.New(rand.NewPCG(seed, uint64(len(ids))))
	seen := make([]float64, 0, draws)
	for len(seen) < draws {
		var t totals
		for range ids {
			t = t.plus(sessions[ids[luck.IntN(len(ids))]])
		}
		if t.n[0] > 0 && t.n[1] > 0 {
			seen = append(seen, t.difference())
		}
	}
	slices.Sort(seen)
	d := all.difference()
	// Percentiles of few draws may lie to one side of what was seen.
	out.Difference = Estimate{
		Value: d,
		Low:   math.Min(d, quantile(seen, (1-Level)/2)),
		High:  math.Max(d, quantile(seen, (1+Level)/2)),
	}
	return out
}

func (t totals) plus(o totals) totals {
	for side := range t.n {
		t.sum[side] += o.sum[side]
		t.n[side] += o.n[side]
	}
	return t
}

func (t totals) difference() float64 { return t.sum[0]/t.n[0] - t.sum[1]/t.n[1] }

func one(yes bool) int {
	if yes {
		return 1
	}
	return 0
}

// quantile of ascending values, at least one, between the two nearest (type 7
// of R. J. Hyndman & Y. Fan 1996, The American Statistician 50:361-365).
func quantile(sorted []float64, p float64) float64 {
	at := p * float64(len(sorted)-1)
	i := min(len(sorted)-1, max(0, int(at)))
	if i == len(sorted)-1 {
		return sorted[i]
	}
	return sorted[i] + (at-float64(i))*(sorted[i+1]-sorted[i])
}

// median of any values, at least one.
func median(values []float64) float64 {
	values = slices.Clone(values)
	slices.SortFunc(values, cmp.Compare[float64])
	return quantile(values, .5)
}
