package plan_test

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"netreel/tagging/plan"
)

// hour is what a feeder and a camera made of a planned sequence.
type hour struct {
	planned plan.Sequence
	seen    []int
	at      []float64
	taps    []plan.Tap
	truth   []int // of each delivered ball: the planned one; -1 for an extra one
	tapped  []bool
}

// played goes through a plan. What becomes of each ball is as then says, how
// long after the one before it comes as gap does, and how late it is pressed as
// late does.
func played(planned plan.Sequence, then func() string, gap, late func() float64) hour {
	h := hour{planned: planned}
	now := 0.0
	ball := func(of, seen int, tap bool) {
		h.seen, h.at, h.truth, h.tapped = append(h.seen, seen), append(h.at, now), append(h.truth, of), append(h.tapped, tap)
	}
	for i, p := range planned {
		now += gap()
		what := then()
		tap := what != "dropped" && what != "not pressed"
		switch what {
		case "slip":
			ball(i, (p+1)%3, true)
		case "unseen", "not pressed":
			ball(i, plan.Unseen, tap)
		case "seen":
			ball(i, p, true)
		case "extra":
			ball(i, p, true)
		}
		if tap {
			h.taps = append(h.taps, plan.Tap{Planned: i, At: now + late()})
		}
		if what == "extra" {
			now += gap()
			ball(-1, plan.Unseen, false)
		}
	}
	return h
}

// shifted is the hour with the phone's clock so many seconds fast.
func (h hour) shifted(seconds float64) hour {
	taps := make([]plan.Tap, len(h.taps))
	for i, t := range h.taps {
		taps[i] = plan.Tap{Planned: t.Planned, At: t.At + seconds}
	}
	h.taps = taps
	return h
}

// TestTapsTellWhichBall: on one clock every ball that was pressed is found for
// sure, whatever was dropped before it, not found by the cut, not pressed, too
// many, coded as another, or not coded at all.
func TestTapsTellWhichBall(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		planned := plan.Sequence(rapid.SliceOfN(rapid.IntRange(0, 2), 0, 12).Draw(t, "planned"))
		h := played(planned, func() string {
			return rapid.SampledFrom([]string{"unseen", "seen", "slip", "dropped", "not found", "not pressed", "extra"}).Draw(t, "then")
		}, func() float64 { return rapid.Float64Range(13, 40).Draw(t, "gap") }, func() float64 { return rapid.Float64Range(-0.5, 2).Draw(t, "late") })
		got := plan.AlignTimed(h.planned, h.seen, h.at, h.taps, 5)
		nextP, nextD := 0, 0
		for _, m := range got {
			if m.Planned >= 0 {
				require.Equal(t, nextP, m.Planned)
				nextP++
			}
			if m.Delivered < 0 {
				continue
			}
			require.Equal(t, nextD, m.Delivered)
			nextD++
			if h.tapped[m.Delivered] {
				require.Equal(t, h.truth[m.Delivered], m.Planned, "%+v of %+v", m, h)
				require.True(t, m.Sure)
			}
		}
		require.Equal(t, len(planned), nextP)
		require.Equal(t, len(h.seen), nextD)
	})
}

// TestNoTapsIsOrder: without taps, or with those of no ball of the plan, there
// is only the order.
func TestNoTapsIsOrder(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		planned := plan.Sequence(rapid.SliceOfN(rapid.IntRange(0, 2), 0, 6).Draw(t, "planned"))
		seen := rapid.SliceOfN(rapid.IntRange(plan.Unseen, 2), 0, 6).Draw(t, "seen")
		at := make([]float64, len(seen))
		for i := range at {
			at[i] = float64(20 * i)
		}
		require.Equal(t, plan.Align(planned, seen), plan.AlignTimed(planned, seen, at, []plan.Tap{{Planned: len(planned)}, {Planned: -1}}, 120))
	})
}

// TestTwoPhonesPress: the earlier of two taps of one ball counts.
func TestTwoPhonesPress(t *testing.T) {
	t.Parallel()
	got := plan.AlignTimed(plan.Sequence{0, 1}, []int{u}, []float64{30}, []plan.Tap{{0, 10}, {1, 30}, {0, 31}, {1, 44}}, 5)
	assert.Equal(t, []plan.Match{{0, -1, false, false}, {1, 0, false, true}}, got)
}

// TestEvenBallsOnALooseClock: balls at even times and a clock of which little
// is known leave open which was missed, and that is said.
func TestEvenBallsOnALooseClock(t *testing.T) {
	t.Parallel()
	planned := plan.Sequence{0, 0, 0, 0}
	taps := []plan.Tap{{0, 0}, {1, 20}, {2, 40}, {3, 60}}
	for _, m := range plan.AlignTimed(planned, []int{u, u, u}, []float64{0, 20, 40}, taps, 120) {
		assert.False(t, m.Sure)
	}
	for _, m := range plan.AlignTimed(planned, []int{u, u, u}, []float64{0, 20, 40}, taps, 5) {
		assert.Equal(t, m.Delivered >= 0, m.Sure, "the clap tells which")
	}
}

// TestTapsOnALooseClock plays 60 sessions of 24 balls at a feeder's uneven
// pace with drops, slips and balls that the cut missed, the phone's clock up to
// 100 s off, nothing coded on half of the balls: hardly a ball that is called
// sure is wrong, and far more are found than by their order alone.
func TestTapsOnALooseClock(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(5, 6))
	var sure, wrong, ordered, of int
	for range 60 {
		planned := make(plan.Sequence, 24)
		for i := range planned {
			planned[i] = r.IntN(3)
		}
		h := played(planned, func() string {
			return []string{"unseen", "unseen", "unseen", "seen", "seen", "seen", "slip", "dropped", "not found", "extra"}[r.IntN(10)]
		}, func() float64 { return 12 + 14*r.Float64() }, func() float64 { return 1.5 * r.Float64() }).shifted(200*r.Float64() - 100)
		for _, m := range plan.AlignTimed(h.planned, h.seen, h.at, h.taps, 120) {
			if m.Delivered >= 0 && m.Sure {
				sure++
				if h.truth[m.Delivered] != m.Planned {
					wrong++
				}
			}
		}
		for _, m := range plan.Align(h.planned, h.seen) {
			if m.Delivered >= 0 && m.Sure && h.truth[m.Delivered] == m.Planned {
				ordered++
			}
		}
		of += len(h.seen)
	}
	t.Logf("%d of %d balls sure, %d of them wrong; by order alone %d sure and right", sure, of, wrong, ordered)
	assert.Less(t, float64(wrong), 0.01*float64(sure))
	assert.Greater(t, float64(sure), 0.75*float64(of))
	assert.Greater(t, float64(sure-wrong), 1.5*float64(ordered))
}
