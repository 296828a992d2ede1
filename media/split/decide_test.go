package split

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

// TestDecideEqualsEnumeration compares the dynamic programme with a plain
// enumeration of every set of moments.
func TestDecideEqualsEnumeration(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 9).Draw(t, "moments")
		var moments []moment
		at := 0.0
		for range n {
			at += rapid.Float64Range(0.05, 4).Draw(t, "gap")
			moments = append(moments, moment{at: at, score: rapid.Float64Range(-5, 5).Draw(t, "score")})
		}
		best, total := 0.0, 0.0 // logs; the empty set has 0
		marginal := make([]float64, n)
		var sum float64
		for set := range 1 << n {
			score, last := 0.0, -1
			for i := range n {
				if set>>i&1 == 0 {
					continue
				}
				score += moments[i].score
				if last >= 0 {
					score += math.Log(fits(moments[i].at - moments[last].at))
				}
				last = i
			}
			w := math.Exp(score)
			sum += w
			for i := range n {
				if set>>i&1 == 1 {
					marginal[i] += w
				}
			}
			best = max(best, score)
		}
		total = math.Log(sum)
		decide(moments)
		var chosen float64
		last := -1
		for i, m := range moments {
			assert.InDelta(t, marginal[i]/math.Exp(total), m.p, 1e-6, "probability of moment %d", i)
			if m.chosen {
				chosen += m.score
				if last >= 0 {
					chosen += math.Log(fits(m.at - moments[last].at))
				}
				last = i
			}
		}
		assert.InDelta(t, best, chosen, 1e-9, "the chosen set is a best one")
	})
}

func TestDecideKeepsItsDistance(t *testing.T) {
	m := []moment{{at: 10, score: 3}, {at: 10.4, score: 2.9}, {at: 12.6, score: 1}, {at: 30, score: -1}}
	decide(m)
	assert.True(t, m[0].chosen)
	assert.False(t, m[1].chosen, "two sounds of one ball")
	assert.True(t, m[2].chosen, "a burst of balls 2.5 s apart")
	assert.False(t, m[3].chosen, "more likely not")
	assert.Greater(t, m[0].here, m[0].p, "either of two moments makes a ball here")
}
