package split

import (
	"math"
	"sort"
)

// Company is what else is heard around a contact: the machine or the feet
// before it, the bounce, the ball in the net after it. Where and how often is
// learnt from the session, from a prior that knows of the bounce only.
const (
	companyFrom = -1.2 // s
	companyTo   = 0.9
	companyStep = 0.1
	companyBins = 21
	ownSound    = 0.045 // s: closer than this it is the contact's own sound
)

type company struct {
	onsets []onset
	rate   [2]float64 // sudden sounds a second in the whole session: dull, other
	count  [2][companyBins]float64
	weight float64
}

// kindOf parts sounds into dull ones (0) and others (1).
func kindOf(o onset) int {
	if o.lift[bandThud] > o.lift[bandCrack] {
		return 0
	}
	return 1
}

const companyDoubt = 5 // the prior counts as so many balls

// learnCompany learns from anchors and from what an earlier session taught.
func learnCompany(onsets []onset, anchors []anchor, duration float64, taught Profile) company {
	c := company{onsets: onsets}
	for _, o := range onsets {
		c.rate[kindOf(o)]++
	}
	for k := range c.rate {
		c.rate[k] = max(c.rate[k]/max(duration, 1), 0.02)
	}
	c.weight = companyDoubt
	for k := range c.count {
		for b := range companyBins {
			at := companyFrom + (float64(b)+0.5)*companyStep
			c.count[k][b] = companyDoubt * c.rate[k] * companyStep
			if k == 0 && at > -0.5 && at < -0.1 {
				c.count[k][b] += companyDoubt * 0.1
			}
		}
	}
	if n := counts(taught.Balls); taught.Around != nil {
		for k := range c.count {
			for b := range companyBins {
				c.count[k][b] += n * max(c.rate[k]*companyStep+taught.Around[k][b], 0)
			}
		}
		c.weight += n
	}
	for _, a := range anchors {
		h := c.around(a.at)
		for k := range h {
			for b, n := range h[k] {
				c.count[k][b] += a.p * n
			}
		}
		c.weight += a.p
	}
	return c
}

// extra is how many more sounds than by chance are heard around a ball.
func (c *company) extra() [][]float64 {
	out := make([][]float64, len(c.count))
	for k := range c.count {
		for _, n := range c.count[k] {
			out[k] = append(out[k], rounded(n/c.weight-c.rate[k]*companyStep))
		}
	}
	return out
}

// around counts the sounds around t: each counts in its own bin and half in
// the two beside it.
func (c *company) around(t float64) [2][companyBins]float64 {
	var h [2][companyBins]float64
	for _, o := range within(c.onsets, t+companyFrom, t+companyTo) {
		d := o.at - t
		if math.Abs(d) < ownSound {
			continue
		}
		b := min(int((d-companyFrom)/companyStep), companyBins-1)
		k := kindOf(o)
		h[k][b] += 0.5
		for _, n := range []int{b - 1, b + 1} {
			if n >= 0 && n < companyBins {
				h[k][n] += 0.25
			}
		}
	}
	return h
}

// evidence is the log likelihood ratio of what is heard around t, for a ball
// there against none: two Poisson processes of different rates. own is the
// weight with which t itself was learnt from.
func (c *company) evidence(t, own float64) float64 {
	h := c.around(t)
	local := c.local(t)
	var llr float64
	for k := range h {
		for b, n := range h[k] {
			learnt := max(c.count[k][b]-own*n, 0.1*c.rate[k]*companyStep*c.weight)
			expect := learnt / (c.weight - own)
			usual := c.rate[k] * companyStep
			// Where much is going on anyway, one more sound says less.
			extra := max(expect-usual, -0.9*usual)
			usual *= local
			llr += n*math.Log((usual+extra)/usual) - extra
		}
	}
	return min(max(llr, -3), 4)
}

// local is how much more than usual is heard within five seconds of t, at
// least 1.
func (c *company) local(t float64) float64 {
	const reach = 5.0
	i := sort.Search(len(c.onsets), func(i int) bool { return c.onsets[i].at >= t-reach })
	j := sort.Search(len(c.onsets), func(i int) bool { return c.onsets[i].at >= t+reach })
	return max(float64(j-i)/(2*reach)/(c.rate[0]+c.rate[1]), 1)
}
