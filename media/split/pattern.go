package split

import (
	"cmp"
	"math"
	"slices"
)

// A pattern is what usually happens around a ball in a curve of motion: the
// mean over balls that are sure. Its two parts are weighed apart: the time
// before the ball arrives (run-in, feed, flight) and the shot itself. A shadow
// shot has only the second, a ball left alone mostly the first.
const (
	patternFrom = -32 // steps before contact: 1.6 s
	patternShot = -4  // here the second part begins
	patternTo   = 20
	patternLen  = patternTo - patternFrom + 1
	aroundSteps = 60 // the local mean is over 3 s to either side
	feedPart    = 0
	shotPart    = 1
)

type pattern struct {
	curve  curve
	mean   [patternLen]float64
	weight float64
	fits   [2]contrast // of each part
}

// anchor is a moment with the probability that it is a ball's contact.
type anchor struct {
	at    float64
	p     float64
	heard bool // by the bat's sound
}

// learnPattern learns from anchors; elsewhere are moments that are none.
func learnPattern(c curve, anchors []anchor, elsewhere []float64) pattern {
	p := pattern{curve: c}
	if len(c) == 0 {
		return p
	}
	for _, a := range anchors {
		w := p.window(a.at)
		for i, v := range w {
			p.mean[i] += a.p * v
		}
		p.weight += a.p
	}
	if p.weight > 0 {
		for i := range p.mean {
			p.mean[i] /= p.weight
		}
	}
	for _, a := range anchors {
		for part, v := range p.match(a.at, a.p) {
			p.fits[part].yes.add(v, a.p)
		}
	}
	for _, at := range elsewhere {
		for part, v := range p.match(at, 0) {
			p.fits[part].no.add(v, 1)
		}
	}
	return p
}

// window is the curve around t, its local mean taken off.
func (p *pattern) window(t float64) [patternLen]float64 {
	var w [patternLen]float64
	k := p.curve.step(t)
	mean := p.curve.mean(k-aroundSteps, k+aroundSteps)
	for i := range w {
		w[i] = p.curve.near(k+patternFrom+i) - mean
	}
	return w
}

// match says how well the curve at t follows each part of the pattern. An
// anchor that has itself gone into the pattern with a weight is taken out.
func (p *pattern) match(t, own float64) [2]float64 {
	w := p.window(t)
	var dot, norm [2]float64
	rest := p.weight - own
	if rest <= 0 {
		return dot
	}
	for i, v := range w {
		part := feedPart
		if i+patternFrom >= patternShot {
			part = shotPart
		}
		m := (p.mean[i]*p.weight - own*v) / rest
		dot[part] += m * v
		norm[part] += m * m
	}
	for part := range dot {
		if norm[part] > 1e-9 {
			dot[part] /= math.Sqrt(norm[part])
		}
	}
	return dot
}

// evidence is the log likelihood ratio of each part for a ball at t.
func (p *pattern) evidence(t, own float64) [2]float64 {
	m := p.match(t, own)
	return [2]float64{p.fits[0].evidence(m[0]), p.fits[1].evidence(m[1])}
}

// moments are the weight, mean and variance of a quantity.
type moments struct{ n, sum, squares float64 }

func (m *moments) add(v, weight float64) {
	m.n += weight
	m.sum += weight * v
	m.squares += weight * v * v
}

func (m moments) mean() float64 {
	if m.n == 0 {
		return 0
	}
	return m.sum / m.n
}

func (m moments) variance() float64 {
	if m.n == 0 {
		return 0
	}
	mean := m.mean()
	return max(m.squares/m.n-mean*mean, 0)
}

// middle is the median of a list, the upper of two, which it sorts; the zero value if it is empty.
func middle[T cmp.Ordered](list []T) T {
	if len(list) == 0 {
		var none T
		return none
	}
	slices.Sort(list)
	return list[len(list)/2]
}

// contrast tells two groups apart by one quantity.
type contrast struct{ yes, no moments }

// apart is by how many common standard deviations the groups differ.
func (c contrast) apart() float64 {
	spread := (c.yes.variance() + c.no.variance()) / 2
	if spread <= 0 {
		return 0
	}
	return max(c.yes.mean()-c.no.mean(), 0) / math.Sqrt(spread)
}

// doubt is how many examples it takes until half of what they say is believed.
const doubt = 4

// evidence is the log likelihood ratio of v, bounded.
func (c contrast) evidence(v float64) float64 { return min(max(c.ratio(v), -3), 3) }

// ratio is the log likelihood ratio of v under two normal distributions of one
// common variance: a straight line, which can't be led astray by tails. It is
// 0 where the groups do not differ.
func (c contrast) ratio(v float64) float64 {
	if c.yes.n < 1 || c.no.n < 1 {
		return 0
	}
	m1, m0 := c.yes.mean(), c.no.mean()
	spread := (c.yes.variance() + c.no.variance()) / 2
	if m1 <= m0 || spread <= 0 {
		return 0
	}
	llr := (v - (m1+m0)/2) * (m1 - m0) / spread
	return llr * c.yes.n / (c.yes.n + doubt)
}
