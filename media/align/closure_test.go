package align

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"netreel/media"
)

func anyClock(t *rapid.T, name string) media.Clock {
	return media.Clock{
		Offset:  media.Micros(rapid.Int64Range(-4e9, 4e9).Draw(t, name+" offset")),
		RatePPM: rapid.Float64Range(-100, 100).Draw(t, name+" rate"),
	}
}

// oneOn is the match that three clocks to one true clock imply.
func oneOn(a, b media.Clock) media.Clock { return b.Then(a.Inverse()) }

// Consistent matches close and chain to the clocks they were made of, whatever
// way each is noted.
func TestConsistentMatchesClose(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(3, 5).Draw(t, "recordings")
		clocks := make([]media.Clock, n)
		for i := range clocks {
			clocks[i] = anyClock(t, "clock")
		}
		var pairs []Pair
		for a := range n {
			for b := range a {
				p := Pair{A: a, B: b, Match: Match{
					Clock: oneOn(clocks[a], clocks[b]), At: 60 * media.Second,
					Confidence: rapid.Float64Range(Sure, 1).Draw(t, "confidence"),
				}}
				if rapid.Bool().Draw(t, "turned") {
					p = p.reversed()
				}
				pairs = append(pairs, p)
			}
		}
		c := Close(pairs)
		assert.Equal(t, -1, c.Worst)
		assert.Less(t, c.Gap, 20e-6)
		chained := Chain(map[int]media.Clock{0: clocks[0]}, pairs)
		require.Len(t, chained, n)
		for i, clock := range clocks {
			for _, own := range []media.Micros{0, 3600 * media.Second} {
				assert.InDelta(t, int64(clock.ToSession(own)), int64(chained[i].ToSession(own)), 20)
			}
		}
	})
}

func TestCloseFlagsTheWorstPair(t *testing.T) {
	t.Parallel()
	at := func(a, b int, offset, confidence float64) Pair {
		return Pair{A: a, B: b, Match: Match{Clock: media.Clock{Offset: media.FromSeconds(offset)}, Confidence: confidence}}
	}
	for name, c := range map[string]struct {
		pairs []Pair
		gap   float64
		worst int
	}{
		"two close nothing":                     {[]Pair{at(0, 1, 5, 0.9)}, 0, -1},
		"a chain closes nothing":                {[]Pair{at(0, 1, 5, 0.9), at(1, 2, 5, 0.9)}, 0, -1},
		"a little off is no fault":              {[]Pair{at(0, 1, 5, 0.9), at(1, 2, 7, 0.6), at(0, 2, 12.02, 0.9)}, 0.02, -1},
		"in one triangle the least confident":   {[]Pair{at(0, 1, 5, 0.9), at(1, 2, 7, 0.6), at(0, 2, 12.5, 0.8)}, 0.5, 1},
		"of four cameras the one in two faults": {[]Pair{at(0, 1, 5, 0.9), at(1, 2, 7, 0.9), at(0, 2, 11, 0.99), at(0, 3, 20, 0.6), at(1, 3, 15, 0.6), at(2, 3, 8, 0.6)}, 1, 2},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			got := Close(c.pairs)
			assert.InDelta(t, c.gap, got.Gap, 1e-6)
			assert.Equal(t, c.worst, got.Worst)
		})
	}
}

func TestChainGoesOverTheMostCertain(t *testing.T) {
	t.Parallel()
	at := func(a, b int, offset, confidence float64) Pair {
		return Pair{A: a, B: b, Match: Match{Clock: media.Clock{Offset: media.FromSeconds(offset)}, Confidence: confidence}}
	}
	got := Chain(map[int]media.Clock{7: {Offset: 100}}, []Pair{
		at(7, 8, 3, 0.6), at(7, 9, 5, 0.99), at(8, 9, 1, 0.95), at(9, 4, 2, math.Nextafter(Sure, 0)),
	})
	assert.Equal(t, map[int]media.Clock{
		7: {Offset: 100}, 9: {Offset: 5_000_100}, 8: {Offset: 4_000_100},
	}, got)
}
