package split

import (
	"math"
	"sort"
)

// moment is a time at which a ball may have been struck or have passed.
type moment struct {
	at     float64 // s on the file's clock
	struck bool
	onset  int  // index of the sound it rests on; -1 if none
	said   bool // a person said so
	clues  clues
	score  float64 // log odds that this is a ball, its neighbours apart
	p      float64 // probability after the joint decision
	here   float64 // probability that there is a ball at all about here
	chosen bool
}

// The rhythm of a net: two balls are never closer than tooClose, and from
// farEnough on a gap says nothing against them.
const (
	tooClose  = 1.7 // s between two contacts
	farEnough = 2.3
	aboutHere = 0.9 // s: moments closer than this may be one and the same ball
)

// fits is how well two balls with this gap go together, 0 to 1.
func fits(gap float64) float64 {
	switch {
	case gap <= tooClose:
		return 0
	case gap >= farEnough:
		return 1
	}
	return (gap - tooClose) / (farEnough - tooClose)
}

// byTime sorts moments by time in place; those at one time stay as they are.
func byTime(moments []moment) {
	sort.SliceStable(moments, func(i, j int) bool { return moments[i].at < moments[j].at })
}

// decide chooses the most probable set of balls over the whole session and
// gives each moment its probability: a chain of moments in which each one's
// odds multiply and neighbours must keep their distance, solved by dynamic
// programming (the best chain, and the sums over all chains for the
// probabilities). moments are sorted by time in place.
func decide(moments []moment) {
	byTime(moments)
	n := len(moments)
	at := func(i int) float64 { return moments[i].at }
	// ahead[i] is the log of the sum over all chains that end in i.
	ahead := chainSums(n, at, func(i int) float64 { return moments[i].score })
	back := chainSums(n, func(i int) float64 { return -at(n - 1 - i) }, func(i int) float64 { return moments[n-1-i].score })
	total := 0.0 // the empty chain
	for _, v := range ahead {
		total = logAdd(total, v)
	}
	best := make([]float64, n)
	from := make([]int, n)
	first := 0
	top, topAt := 0.0, -1 // the best chain among those far enough in the past
	end, endAt := 0.0, -1
	for i := range moments {
		m := &moments[i]
		m.p = math.Exp(min(ahead[i]+back[n-1-i]-m.score-total, 0))
		for at(i)-at(first) >= farEnough {
			if best[first] > top {
				top, topAt = best[first], first
			}
			first++
		}
		best[i], from[i] = top, topAt
		for j := first; j < i; j++ {
			if f := fits(at(i) - at(j)); f > 0 && best[j]+math.Log(f) > best[i] {
				best[i], from[i] = best[j]+math.Log(f), j
			}
		}
		best[i] += m.score
		if best[i] > end {
			end, endAt = best[i], i
		}
	}
	for i := range moments {
		moments[i].chosen = false
	}
	for i := endAt; i >= 0; i = from[i] {
		moments[i].chosen = true
	}
	for i := range moments {
		moments[i].here = 0
		for j := i; j >= 0 && at(i)-at(j) <= aboutHere; j-- {
			moments[i].here += moments[j].p
		}
		for j := i + 1; j < n && at(j)-at(i) <= aboutHere; j++ {
			moments[i].here += moments[j].p
		}
		moments[i].here = min(moments[i].here, 1)
	}
}

// chainSums gives for each moment the log of the summed odds of all chains
// that end in it. at must ascend.
func chainSums(n int, at func(int) float64, score func(int) float64) []float64 {
	sums := make([]float64, n)
	past := 0.0 // log of the sum over the empty chain and all that ended long ago
	first := 0
	for i := range n {
		for at(i)-at(first) >= farEnough {
			past = logAdd(past, sums[first])
			first++
		}
		s := past
		for j := first; j < i; j++ {
			if f := fits(at(i) - at(j)); f > 0 {
				s = logAdd(s, sums[j]+math.Log(f))
			}
		}
		sums[i] = s + score(i)
	}
	return sums
}

func logAdd(a, b float64) float64 {
	if a < b {
		a, b = b, a
	}
	if math.IsInf(a, 0) {
		return a
	}
	return a + math.Log1p(math.Exp(b-a))
}

func sigmoid(x float64) float64 { return 1 / (1 + math.Exp(-x)) }

// logSigmoid is the log of sigmoid(x).
func logSigmoid(x float64) float64 { return -logAdd(0, -x) }
