package plan_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"netreel/tagging/plan"
)

const u = plan.Unseen

func TestAlign(t *testing.T) {
	t.Parallel()
	planned := plan.Sequence{0, 1, 2, 0, 1, 2}
	for _, tc := range []struct {
		name string
		seen []int
		want []plan.Match
	}{
		{"nobody looked", []int{u, u, u, u, u, u}, []plan.Match{
			{0, 0, false, true}, {1, 1, false, true}, {2, 2, false, true}, {3, 3, false, true}, {4, 4, false, true}, {5, 5, false, true},
		}},
		{"a slip", []int{0, 2, 2, u, 1, 2}, []plan.Match{
			{0, 0, false, true}, {1, 1, true, true}, {2, 2, false, true}, {3, 3, false, true}, {4, 4, false, true}, {5, 5, false, true},
		}},
		{"one left out", []int{0, 2, 0, 1, 2}, []plan.Match{
			{0, 0, false, true}, {1, -1, false, false}, {2, 1, false, true}, {3, 2, false, true}, {4, 3, false, true}, {5, 4, false, true},
		}},
		{"one too many", []int{0, 1, 0, 2, 0, 1, 2}, []plan.Match{
			{0, 0, false, true}, {1, 1, false, true}, {-1, 2, false, false}, {2, 3, false, true}, {3, 4, false, true}, {4, 5, false, true}, {5, 6, false, true},
		}},
		{"none", nil, []plan.Match{
			{0, -1, false, false}, {1, -1, false, false}, {2, -1, false, false}, {3, -1, false, false}, {4, -1, false, false}, {5, -1, false, false},
		}},
	} {
		t.Run(tc.name, func(t *testing.T) {
			t.Parallel()
			assert.Equal(t, tc.want, plan.Align(planned, tc.seen))
		})
	}
	short := plan.Align(planned, []int{u, u, u, u, u})
	for _, m := range short {
		assert.False(t, m.Sure, "one is missing, and nobody can say which")
	}
}

// every lists all alignments with what they cost, the slow and plain way: a
// slip costs 5, a ball left out or too many 4.
func every(planned plan.Sequence, seen []int, i, j, cost int, so []plan.Match, say func([]plan.Match, int)) {
	if i == len(planned) && j == len(seen) {
		say(so, cost)
		return
	}
	so = slices.Clip(so)
	if i < len(planned) && j < len(seen) {
		slip := seen[j] != u && seen[j] != planned[i]
		price := 0
		if slip {
			price = 5
		}
		every(planned, seen, i+1, j+1, cost+price, append(so, plan.Match{Planned: i, Delivered: j, Slip: slip}), say)
	}
	if i < len(planned) {
		every(planned, seen, i+1, j, cost+4, append(so, plan.Match{Planned: i, Delivered: -1}), say)
	}
	if j < len(seen) {
		every(planned, seen, i, j+1, cost+4, append(so, plan.Match{Planned: -1, Delivered: j}), say)
	}
}

// TestAlignIsBest gives small plans with slips, extra balls and dropped ones
// to Align and to the plain way: each ball is there once and in order, none is
// better, and what is sure is the same in all that are as good.
func TestAlignIsBest(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		planned := plan.Sequence(rapid.SliceOfN(rapid.IntRange(0, 2), 0, 5).Draw(t, "planned"))
		var seen []int
		for _, p := range planned {
			switch rapid.SampledFrom([]string{"as planned", "as planned", "unseen", "slip", "dropped", "extra"}).Draw(t, "then") {
			case "as planned":
				seen = append(seen, p)
			case "unseen":
				seen = append(seen, u)
			case "slip":
				seen = append(seen, (p+1)%3)
			case "extra":
				seen = append(seen, p, rapid.IntRange(u, 2).Draw(t, "extra"))
			}
		}
		got := plan.Align(planned, seen)
		nextP, nextD, cost := 0, 0, 0
		for _, m := range got {
			switch {
			case m.Planned < 0 || m.Delivered < 0:
				cost += 4
			case m.Slip:
				cost += 5
			}
			if m.Planned >= 0 {
				require.Equal(t, nextP, m.Planned)
				nextP++
			}
			if m.Delivered >= 0 {
				require.Equal(t, nextD, m.Delivered)
				nextD++
			}
		}
		require.Equal(t, len(planned), nextP)
		require.Equal(t, len(seen), nextD)

		best := 1 << 30
		every(planned, seen, 0, 0, 0, nil, func(_ []plan.Match, c int) { best = min(best, c) })
		require.Equal(t, best, cost)
		partners := map[int]map[int]bool{}
		every(planned, seen, 0, 0, 0, nil, func(so []plan.Match, c int) {
			for _, m := range so {
				if c == best && m.Delivered >= 0 {
					if partners[m.Delivered] == nil {
						partners[m.Delivered] = map[int]bool{}
					}
					partners[m.Delivered][m.Planned] = true
				}
			}
		})
		for _, m := range got {
			if m.Delivered >= 0 {
				require.Equal(t, m.Planned >= 0 && len(partners[m.Delivered]) == 1, m.Sure, "%+v", m)
			}
		}
	})
}

func TestSeenAs(t *testing.T) {
	t.Parallel()
	types := []plan.Type{{Length: "yorker"}, {Length: "short", Height: "chest"}, {Length: "short", Height: "head"}}
	for _, tc := range []struct {
		length, line, height string
		want                 int
	}{
		{"", "", "", u}, {"", "off-stump", "", u}, {"yorker", "", "", 0}, {"yorker", "leg-stump", "toe", 0}, {"short", "", "", u},
		{"short", "", "head", 2}, {"good", "", "", 3}, {"short", "", "waist", 3},
	} {
		assert.Equal(t, tc.want, plan.SeenAs(types, tc.length, tc.line, tc.height), "%+v", tc)
	}
}
