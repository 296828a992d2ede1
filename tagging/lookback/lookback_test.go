package lookback_test

import (
	"encoding/json"
	"math"
	"reflect"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"netreel/media/fault"
	"netreel/tagging"
	"netreel/tagging/find"
	"netreel/tagging/lookback"
	"netreel/tagging/vocabulary"
)

// TestEveryNumberOpensItsBalls is the law of the package: whatever was coded,
// by whom, the question of each cell finds as many balls as the cell says.
func TestEveryNumberOpensItsBalls(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		balls := anyBalls(t)
		in := lookback.Session{
			ID: session, Balls: balls, Vocabulary: vocabulary.Default(),
			Coder:  rapid.SampledFrom([]int64{0, coach, analyst}).Draw(t, "coder"),
			Player: rapid.SampledFrom([]int64{0, 5}).Draw(t, "player"),
			Blocks: []tagging.Block{{ID: 1, Name: "One", Challenge: true, Aim: rapid.IntRange(0, 6).Draw(t, "aim")}, {ID: 2, Name: "Two"}},
			Rules:  rapid.SampledFrom([]lookback.Rules{nil, lookback.UsualRules()}).Draw(t, "rules"),
		}
		for _, b := range balls {
			if rapid.Bool().Draw(t, "felt") {
				in.Felt = append(in.Felt, lookback.Felt{Ball: b.ID, Words: []string{"strong", "late"}[:rapid.IntRange(0, 2).Draw(t, "words")]})
			}
		}
		l := lookback.Look(in)
		var all []lookback.Cell
		cells(reflect.ValueOf(l), &all)
		half := lookback.NewSet(find.Question{Sessions: []int64{session}}, balls, in.Coder)
		cells(reflect.ValueOf(lookback.Compare(in.Vocabulary, half, half, lookback.Outcomes(nil), "a", "b")), &all)
		require.NotEmpty(t, all)
		for _, c := range all {
			if c.N == 0 {
				assert.Empty(t, c.Question)
				continue
			}
			assert.Len(t, opens(t, c.Question, balls), c.N, c.Question)
		}
		// JSON has neither NaN nor infinity.
		_, err := json.Marshal(l)
		assert.NoError(t, err)
		add := func(r lookback.Rate) { assert.LessOrEqual(t, r.Hits.N, r.Of.N, r.Key) }
		for _, p := range append(l.Blocks, l.Overall) {
			for _, r := range p.Rates {
				add(r)
			}
		}
	})
}

func TestControlHasTwoDenominators(t *testing.T) {
	t.Parallel()
	// Ten balls: 4 middled, 1 of them out; 2 let go, 1 of them bowled; 1 beaten; 1 edged; 1 mistimed; 1 not coded.
	l := look(
		ball(1, "contact", "middled"), ball(2, "contact", "middled"), ball(3, "contact", "middled", "result", "out"), ball(4, "contact", "middled"),
		ball(5, "contact", "none", "shot", "leave"), ball(6, "shot", "leave", "result", "out"),
		ball(7, "contact", "missed"), ball(8, "contact", "outside-edge"), ball(9, "contact", "mistimed", "result", "run"), ball(10),
	)
	faced, played := rateOf(t, l.Overall, lookback.ControlFaced), rateOf(t, l.Overall, lookback.ControlPlayed)
	assert.Equal(t, [2]int{5, 9}, [2]int{faced.Hits.N, faced.Of.N}, "let go counts, unless out")
	assert.Equal(t, [2]int{4, 7}, [2]int{played.Hits.N, played.Of.N}, "shots only")
	effective := rateOf(t, l.Overall, lookback.Effective)
	assert.Equal(t, [2]int{5, 9}, [2]int{effective.Hits.N, effective.Of.N}, "3 middled and not out, 1 left, 1 mistimed for a run")
	assert.Equal(t, 10, l.Overall.Balls.N)
	assert.Equal(t, 9, l.Overall.Coded.N)
	assert.Equal(t, 2, l.Overall.Left.N)
	assert.Equal(t, "contact=middled&session=3", played.Hits.Question, "a question where one can say it")
	// Wilson for 5 of 9, computed by the formula itself: (10 + z²) / (2 (9 + z²)) is its middle.
	z2 := 1.959963984540054 * 1.959963984540054
	assert.InDelta(t, (10+z2)/(2*(9+z2)), (faced.Share.Low+faced.Share.High)/2, 1e-12)
}

func TestTwoCodersWhoDiffer(t *testing.T) {
	t.Parallel()
	split := ball(1, "contact", "middled")
	split.By[analyst] = termsOf("contact", "missed")
	alike := ball(2, "contact", "outside-edge")
	alike.By[analyst] = termsOf("contact", "top-edge")
	in := lookback.Session{ID: session, Balls: []lookback.Ball{split, alike}, Vocabulary: vocabulary.Default()}
	together := rateOf(t, lookback.Look(in).Overall, lookback.ControlPlayed)
	assert.Equal(t, [3]int{0, 1, 1}, [3]int{together.Hits.N, together.Of.N, together.Disputed.N})
	in.Coder = analyst
	alone := rateOf(t, lookback.Look(in).Overall, lookback.ControlPlayed)
	assert.Equal(t, [3]int{0, 2, 0}, [3]int{alone.Hits.N, alone.Of.N, alone.Disputed.N})
	assert.Equal(t, []lookback.Coder{{ID: coach, Balls: 2}, {ID: analyst, Balls: 2}}, lookback.Coders(in.Balls))
}

func TestRules(t *testing.T) {
	t.Parallel()
	rules := lookback.Rules{
		{Heights: []string{"throat", "head"}, Want: lookback.LeaveAlone},
		{Lines: []string{"wide-off"}, Lengths: []string{"short"}, Want: lookback.TakeOn},
		{Lines: []string{"wide-off"}, Want: lookback.LeaveAlone},
		{Want: lookback.Either},
	}
	require.NoError(t, rules.Validate(vocabulary.Default()))
	cases := []struct {
		name     string
		ball     lookback.Ball
		hit, off int
	}{
		{"high and evaded", ball(1, "height", "head", "line", "middle", "length", "short", "shot", "evade"), 1, 1},
		{"high and hooked", ball(1, "height", "head", "line", "middle", "length", "short", "shot", "hook"), 0, 1},
		{"the earlier rule holds", ball(1, "height", "head", "line", "wide-off", "length", "short", "shot", "cut"), 0, 1},
		{"short and wide, cut", ball(1, "height", "waist", "line", "wide-off", "length", "short", "shot", "cut"), 1, 1},
		{"good and wide, driven", ball(1, "height", "knee", "line", "wide-off", "length", "good", "shot", "drive"), 0, 1},
		{"either, and decided", ball(1, "height", "knee", "line", "middle", "length", "good", "shot", "drive"), 1, 1},
		{"caught between is never right", ball(1, "height", "knee", "line", "middle", "length", "good", "shot", "drive", "decision", "late"), 0, 1},
		{"height not coded: the rule can't say", ball(1, "line", "wide-off", "length", "good", "shot", "leave"), 0, 0},
		{"nothing done", ball(1, "height", "head", "line", "middle", "length", "good"), 0, 0},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			l := lookback.Look(lookback.Session{ID: session, Balls: []lookback.Ball{c.ball}, Vocabulary: vocabulary.Default(), Rules: rules})
			r := rateOf(t, l.Overall, lookback.RightByRule)
			assert.Equal(t, [2]int{c.hit, c.off}, [2]int{r.Hits.N, r.Of.N})
		})
	}
	for name, bad := range map[string]lookback.Rules{
		"rules.0.want":    {{Want: "hope"}},
		"rules.0.heights": {{Heights: []string{"moon"}, Want: lookback.TakeOn}},
		"rules.1.lines":   {{Want: lookback.TakeOn}, {Lines: []string{"middle", "middle"}, Want: lookback.TakeOn}},
		"rules":           make(lookback.Rules, lookback.MaxRules+1),
	} {
		err := bad.Validate(vocabulary.Default())
		require.Error(t, err, name)
		var f *fault.Error
		require.ErrorAs(t, err, &f)
		assert.Equal(t, name, f.Fields[0].Name)
	}
	assert.NoError(t, lookback.UsualRules().Validate(vocabulary.Default()))
}

func TestDecisionTable(t *testing.T) {
	t.Parallel()
	l := look(
		ball(1, "height", "head", "shot", "evade"), ball(2, "height", "head", "shot", "hook"), ball(3, "height", "knee", "shot", "drive"),
		ball(4, "height", "knee", "shot", "drive", "decision", "late"), ball(5, "height", "knee", "shot", "leave"), ball(6, "shot", "drive"),
	)
	require.Len(t, l.Decisions.Rows, 2)
	counts := func(r lookback.DecisionRow) []int {
		n := make([]int, len(r.Cells))
		for i, c := range r.Cells {
			n[i] = c.N
		}
		return n
	}
	assert.Equal(t, "Knee", l.Decisions.Rows[0].Name, "from the ground up")
	assert.Equal(t, []int{1, 1, 0, 1}, counts(l.Decisions.Rows[0]), "taken on, left, evaded, caught between")
	assert.Equal(t, []int{1, 0, 1, 0}, counts(l.Decisions.Rows[1]))
	assert.Equal(t, 1, l.Decisions.Unsaid.N)
}

func TestChallenge(t *testing.T) {
	t.Parallel()
	in := lookback.Session{
		ID: session, Vocabulary: vocabulary.Default(), Coder: coach,
		Blocks: []tagging.Block{{ID: 1, Name: "Twelve to win", Aim: 6, Challenge: true}},
	}
	for i, c := range []string{"middled", "missed", "middled", "middled", "", "middled", "missed", "middled"} {
		if c == "" {
			in.Balls = append(in.Balls, ball(int64(i+1)))
			continue
		}
		in.Balls = append(in.Balls, ball(int64(i+1), "contact", c))
	}
	in.Earlier = []lookback.Earlier{{
		Session: 2, Title: "Last week", HeldOn: "2026-01-24", Block: tagging.Block{ID: 9, Name: "Twelve to win", Aim: 12},
		Balls: []lookback.Ball{ball(90, "contact", "middled"), ball(91, "contact", "missed")},
	}}
	l := lookback.Look(in)
	require.Len(t, l.Challenges, 1)
	card := l.Challenges[0]
	assert.Len(t, card.Balls, 6, "the first six count, however many were bowled")
	assert.Equal(t, [2]int{4, 5}, [2]int{card.Effective.Hits.N, card.Effective.Of.N})
	assert.Equal(t, 3, card.Best.N, "a ball that is not coded yet breaks no run")
	assert.Equal(t, 3, card.Now)
	assert.Equal(t, 1, card.Open.N)
	require.Len(t, card.Earlier, 1)
	assert.Equal(t, [3]int{1, 2, 1}, [3]int{card.Earlier[0].Effective.Hits.N, card.Earlier[0].Effective.Of.N, card.Earlier[0].Best})
}

func TestBadInput(t *testing.T) {
	t.Parallel()
	empty := look()
	assert.False(t, rateOf(t, empty.Overall, lookback.ControlFaced).Share.Known(), "no balls: no share")
	assert.Empty(t, empty.Blocks)
	assert.Len(t, empty.Missing, 7)
	one := look(ball(1, "contact", "middled"))
	share := rateOf(t, one.Overall, lookback.ControlFaced).Share
	assert.InDelta(t, 0.206549, share.Low, 1e-6, "Wilson for 1 of 1 (computed from the formula)")
	bare := lookback.Look(lookback.Session{ID: session, Balls: []lookback.Ball{ball(1, "contact", "middled")}, Vocabulary: vocabulary.Edition{}})
	assert.Empty(t, bare.Crosses, "a vocabulary without the usual groups")
	assert.Equal(t, 1, rateOf(t, bare.Overall, lookback.ControlFaced).Hits.N)
}

func TestTenThousandBalls(t *testing.T) {
	t.Parallel()
	var balls []lookback.Ball
	e := vocabulary.Default()
	for i := range 10_000 {
		var said []string
		for j, g := range e.Groups {
			said = append(said, g.Key, g.Terms[(i+i/7*j)%len(g.Terms)].Key)
		}
		balls = append(balls, ball(int64(i+1), said...))
	}
	l := look(balls...)
	assert.Equal(t, 10_000, l.Overall.Balls.N)
	r := rateOf(t, l.Overall, lookback.ControlFaced)
	assert.Equal(t, 10_000, r.Of.N)
	assert.False(t, math.IsNaN(r.Share.Value))
	assert.Equal(t, "session=3", l.Overall.Balls.Question)
}
