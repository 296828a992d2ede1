package scene

import (
	"math"
	"math/rand/v2"
)

// choice is one row of a table of weighted choices.
type choice struct {
	key    string
	weight float64
}

// odds is a table of weighted choices.
type odds []choice

// at gives the choice at a share 0..1 of all weight.
func (o odds) at(share float64) string {
	sum := 0.0
	for _, c := range o {
		sum += c.weight
	}
	v := share * sum
	for _, c := range o {
		if v -= c.weight; v < 0 {
			return c.key
		}
	}
	return o[len(o)-1].key
}

// luck is seeded chance.
type luck struct {
	*rand.Rand
	walks map[string]float64
}

func newLuck(seed int64, stream uint64) *luck {
	return &luck{rand.New(rand.NewPCG(uint64(seed), stream)), map[string]float64{}}
}

// share gives a number in 0..1. What is asked under one name walks through
// 0..1 by the golden ratio from a random start, so that even a dozen balls
// have the shares that the model says, in no plain order. Names are nested
// (the base of pulls, the contact of pulls off a narrow base), or two walks in
// step would tie their answers together.
func (l *luck) share(name string) float64 {
	v, ok := l.walks[name]
	if !ok {
		v = l.Float64()
	}
	v = math.Mod(v+math.Phi, 1)
	l.walks[name] = v
	return v
}

// even draws evenly under a name.
func (l *luck) even(name string, o odds) string { return o.at(l.share(name)) }

// evenly is a chance that comes true evenly under a name.
func (l *luck) evenly(name string, p float64) bool { return l.share(name) < p }

// pick draws anyhow.
func (l *luck) pick(o odds) string { return o.at(l.Float64()) }

func (l *luck) chance(p float64) bool { return l.Float64() < p }

func (l *luck) between(b [2]float64) float64 { return b[0] + l.Float64()*(b[1]-b[0]) }

// normal is a normal deviate, cut off at two standard deviations.
func (l *luck) normal() float64 { return max(-2, min(2, l.NormFloat64())) }

func (l *luck) sign() float64 {
	if l.chance(0.5) {
		return -1
	}
	return 1
}
