package plan_test

import (
	"fmt"
	"math/big"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	"netreel/media/fault"
	"netreel/tagging/plan"
)

// TestCounts: four types of three each with at most one alike in a row is
// A190826(4) of the On-Line Encyclopedia of Integer Sequences (number from
// memory); without a limit it is the multinomial 12!/3!^4. The others were
// computed independently by inclusion and exclusion.
func TestCounts(t *testing.T) {
	t.Parallel()
	three, six := []int{3, 3, 3, 3}, []int{6, 6, 6, 6}
	for _, tc := range []struct {
		counts []int
		alike  int
		want   int64
	}{
		{three, 1, 41_304}, {three, 2, 308_664}, {three, 3, 369_600}, {three, 0, 369_600},
		{six, 1, 8_437_796_016}, {six, 2, 1_057_246_098_816}, {six, 0, 2_308_743_493_056},
		{[]int{9, 1}, 1, 0}, {[]int{9, 1}, 2, 0}, {[]int{2, 1}, 1, 1}, {[]int{0, 0}, 1, 1}, {[]int{5}, 4, 0},
	} {
		assert.Equal(t, big.NewInt(tc.want).String(), plan.Count(tc.counts, tc.alike).String(), "%v, %d alike", tc.counts, tc.alike)
	}
}

// TestWilliams checks the squares against those of Williams 1949 as printed by
// the MRC Cognition and Brain Sciences Unit's pages, and the property that
// makes them what they are.
func TestWilliams(t *testing.T) {
	t.Parallel()
	printed := map[int]string{
		4: "1243 2314 3421 4132",
		6: "126354 231465 342516 453621 564132 615243",
		7: "1273645 2314756 3425167 4536271 5647312 6751423 7162534 5463721 6574132 7615243 1726354 2137465 3241576 4352617",
	}
	for n := 2; n <= 9; n++ {
		rows := plan.Williams(n)
		want, each := n, 1
		if n%2 == 1 {
			want, each = 2*n, 2
		}
		require.Len(t, rows, want)
		after, place := map[[2]int]int{}, map[[2]int]int{}
		var words []string
		for _, row := range rows {
			var word strings.Builder
			for i, v := range row {
				fmt.Fprint(&word, v+1)
				place[[2]int{i, v}]++
				if i > 0 {
					after[[2]int{row[i-1], v}]++
				}
			}
			words = append(words, word.String())
		}
		assert.Len(t, after, n*(n-1), "every ordered pair of %d", n)
		for pair, count := range after {
			assert.Equal(t, each, count, "%d types, pair %v", n, pair)
		}
		for at, count := range place {
			assert.Equal(t, each, count, "%d types, place %v", n, at)
		}
		if p := printed[n]; p != "" {
			assert.Equal(t, p, strings.Join(words, " "))
		}
	}
}

func wish(order plan.Order, alike int, counts ...int) plan.Wish {
	return plan.Wish{Counts: counts, Names: []string{"Yorker", "Good", "Short", "Full", "Full toss", "Wide"}[:len(counts)], Order: order, Alike: alike}
}

// uniform draws 100,000 times and demands that every one of so many sequences
// comes, and that the chi-square statistic is not in the outermost millionth.
func uniform(t *testing.T, w plan.Wish, sequences int) {
	t.Helper()
	const draws = 100_000
	got := map[string]int{}
	for seed := range uint64(draws) {
		w.Seed = seed
		s, err := plan.Draw(w)
		require.NoError(t, err)
		got[fmt.Sprint(s)]++
	}
	require.Len(t, got, sequences)
	want, chi := float64(draws)/float64(sequences), 0.0
	for _, n := range got {
		chi += (float64(n) - want) * (float64(n) - want) / want
	}
	tail := distuv.ChiSquared{K: float64(sequences - 1)}.Survival(chi)
	assert.Greater(t, tail, 1e-6, "chi-square %.1f over %d sequences", chi, sequences)
}

func TestRandomIsUniform(t *testing.T) {
	t.Parallel()
	// 30 is A114938(3) of the On-Line Encyclopedia of Integer Sequences (from memory).
	uniform(t, wish(plan.Random, 1, 2, 2, 2), 30)
	uniform(t, wish(plan.Random, 2, 3, 2, 1), int(plan.Count([]int{3, 2, 1}, 2).Int64()))
}

// TestPairsAreUniform: there are (k!)^k/k^2 cyclic de Bruijn sequences of order
// 2 on k letters (van Aardenne-Ehrenfest and de Bruijn 1951); each gives one
// linear sequence from each of its k^2 places, of which the k^2/k that begin
// with the type that has one ball more are drawn from. Without a type after
// itself, the complete graph on three has 3 circuits of 6 arcs, each passing a
// given type twice.
func TestPairsAreUniform(t *testing.T) {
	t.Parallel()
	uniform(t, wish(plan.Pairs, 0, 4, 3, 3), 24*3)
	uniform(t, wish(plan.Pairs, 1, 2, 3, 2), 3*2)
}

func TestPairsOccurEquallyOften(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		k := rapid.IntRange(2, plan.MaxTypes).Draw(t, "types")
		alike := rapid.IntRange(0, 2).Draw(t, "alike")
		lengths := plan.PairLengths(k, alike != 1)
		n := rapid.SampledFrom(lengths).Draw(t, "balls")
		counts := slices.Repeat([]int{n / k}, k)
		counts[rapid.IntRange(0, k-1).Draw(t, "first")]++
		w := wish(plan.Pairs, alike, counts...)
		w.Seed = rapid.Uint64().Draw(t, "seed")
		s, err := plan.Draw(w)
		if alike == 2 && fault.KindOf(err) == fault.Invalid {
			return // long runs can be hard to avoid by chance; that is said, not hidden
		}
		require.NoError(t, err)
		facts := plan.FactsOf(s, k)
		for a, row := range facts.Pairs {
			for b, n := range row {
				if a != b || alike != 1 {
					require.Equal(t, facts.Pairs[0][1], n, "%v after %v", b, a)
				}
			}
		}
		require.Equal(t, counts, tally(s, k))
	})
}

// TestDeBruijn: the textbooks' cyclic sequence of order 2 on four letters (the
// least one of the alphabet) has every pair once; so has what is drawn.
func TestDeBruijn(t *testing.T) {
	t.Parallel()
	cyclic := plan.Sequence{0, 0, 1, 0, 2, 0, 3, 1, 1, 2, 1, 3, 2, 2, 3, 3}
	drawn, err := plan.Draw(wish(plan.Pairs, 2, 5, 4, 4, 4))
	require.NoError(t, err)
	for _, s := range []plan.Sequence{append(cyclic, cyclic[0]), drawn} {
		for _, row := range plan.FactsOf(s, 4).Pairs {
			assert.Equal(t, []int{1, 1, 1, 1}, row)
		}
	}
}

// TestWithinLimits: whatever is drawn has the counts and the limit that were
// asked for, and a wish is refused exactly when nothing fulfils it.
func TestWithinLimits(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		counts := rapid.SliceOfN(rapid.IntRange(0, 9), 1, 5).Draw(t, "counts")
		w := wish(plan.Random, rapid.IntRange(0, 4).Draw(t, "alike"), counts...)
		w.Seed = rapid.Uint64().Draw(t, "seed")
		s, err := plan.Draw(w)
		possible := len(s) > 0 || plan.Count(counts, w.Alike).Sign() > 0 && slices.Max(counts) > 0
		require.Equal(t, possible, err == nil, "%v", err)
		if err != nil {
			require.Equal(t, fault.Invalid, fault.KindOf(err))
			return
		}
		require.Equal(t, counts, tally(s, len(counts)))
		if w.Alike > 0 {
			require.LessOrEqual(t, plan.FactsOf(s, len(counts)).Longest, w.Alike)
		}
		again, err := plan.Draw(w)
		require.NoError(t, err)
		require.Equal(t, s, again, "the same seed")
	})
}

func tally(s plan.Sequence, types int) []int {
	counts := make([]int, types)
	for _, t := range s {
		counts[t]++
	}
	return counts
}

func TestRefusedSayingWhatCouldBeHad(t *testing.T) {
	t.Parallel()
	for _, tc := range []struct {
		name string
		wish plan.Wish
		says []string
	}{
		{"nine and one", wish(plan.Random, 1, 9, 1), []string{"allow 5 alike", "at most 2 of Yorker", "at least 8 others"}},
		{"nine and one, two alike", wish(plan.Random, 2, 9, 1), []string{"allow 5 alike", "at most 4 of Yorker", "at least 4 others"}},
		{"only one type", wish(plan.Random, 1, 40), []string{"at most 1 of Yorker", "at least 39 others"}},
		{"no balls", wish(plan.Random, 1, 0, 0), []string{"how many of each type"}},
		{"unequal rounds", wish(plan.Rounds, 0, 4, 3), []string{"3 of each"}},
		{"rounds of two", wish(plan.Rounds, 1, 4, 4), []string{"Allow 2 alike"}},
		{"no whole pairs", wish(plan.Pairs, 1, 4, 4, 4, 4), []string{"3 of each and one more of one (13 balls)"}},
		{"pairs, but lopsided", wish(plan.Pairs, 1, 10, 1, 1, 1), []string{"3 of each and one more of one"}},
		{"too many", wish(plan.Random, 1, 40, 40), []string{"two blocks"}},
	} {
		t.Run(tc.name, func(t *testing.T) {
			t.Parallel()
			_, err := plan.Draw(tc.wish)
			require.Equal(t, fault.Invalid, fault.KindOf(err))
			for _, want := range tc.says {
				assert.Contains(t, fault.Message(err), want)
			}
		})
	}
	// What is offered instead can be had.
	for _, w := range []plan.Wish{wish(plan.Random, 5, 9, 1), wish(plan.Random, 1, 2, 1), wish(plan.Random, 1, 9, 8), wish(plan.Rounds, 2, 4, 4)} {
		_, err := plan.Draw(w)
		assert.NoError(t, err, "%v", w)
	}
}

// TestSwitchRates: k types in blocks change k-1 times, in turn every time, and
// with each of k equal types as likely as any other 1-1/k of the times.
func TestSwitchRates(t *testing.T) {
	t.Parallel()
	rate := func(w plan.Wish) float64 {
		s, err := plan.Draw(w)
		require.NoError(t, err)
		require.Equal(t, w.Counts, tally(s, len(w.Counts)))
		return plan.FactsOf(s, len(w.Counts)).SwitchRate
	}
	assert.InDelta(t, 3.0/23, rate(wish(plan.Blocked, 0, 6, 6, 6, 6)), 1e-12)
	assert.InDelta(t, 1, rate(wish(plan.Serial, 0, 6, 6, 6, 6)), 1e-12)
	assert.InDelta(t, 1, rate(wish(plan.Rounds, 1, 6, 6, 6, 6)), 1e-12)
	mean := 0.0
	for seed := range uint64(4000) {
		w := wish(plan.Random, 0, 6, 6, 6, 6)
		w.Seed = seed
		mean += rate(w) / 4000
	}
	// Without replacement the chance is that the next ball is one of 18 of the 23 left.
	assert.InDelta(t, 18.0/23, mean, 0.01)
}

func TestShares(t *testing.T) {
	t.Parallel()
	assert.Equal(t, []int{8, 8, 8}, plan.Shares(24, []float64{1, 1, 1}))
	assert.Equal(t, []int{4, 3, 3}, plan.Shares(10, []float64{1, 1, 1}))
	assert.Equal(t, []int{6, 0, 3}, plan.Shares(9, []float64{2, 0, 1}))
}
