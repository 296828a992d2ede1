package lookback_test

import (
	"encoding/json"
	"reflect"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/tagging"
	"netreel/tagging/compare"
	"netreel/tagging/find"
	"netreel/tagging/lookback"
	"netreel/tagging/vocabulary"
)

// bases are pulls off a narrow and a sound base: 9 of 14 went badly off the
// narrow one, 5 of 21 off the sound one.
func bases() []lookback.Ball {
	var balls []lookback.Ball
	for i := range 35 {
		base, contact := "narrow", "missed"
		if i >= 14 {
			base = "sound"
		}
		if i >= 9 && i < 14 || i >= 19 {
			contact = "middled"
		}
		balls = append(balls, ball(int64(i+1), "base", base, "contact", contact, "feed", "machine"))
	}
	return balls
}

func set(t *testing.T, query string, balls []lookback.Ball) lookback.Set {
	t.Helper()
	q, err := find.Parse(query)
	require.NoError(t, err)
	var in []lookback.Ball
	for _, b := range balls {
		for _, id := range opens(t, query, balls) {
			if id == b.ID {
				in = append(in, b)
			}
		}
	}
	return lookback.NewSet(q, in, 0)
}

func TestCompareTwoSets(t *testing.T) {
	t.Parallel()
	e, balls := vocabulary.Default(), bases()
	c := lookback.Compare(e, set(t, "base=narrow&session=3", balls), set(t, "base=sound&session=3", balls), lookback.Outcomes(nil), "narrow", "sound")
	require.Len(t, c.Outcomes, 4)
	control := c.Outcomes[0]
	assert.Equal(t, [4]int{5, 14, 16, 21}, [4]int{control.Left.Hits.N, control.Left.Of.N, control.Right.Hits.N, control.Right.Of.N})
	assert.Equal(t, "base=narrow&contact=middled,none&session=3", control.Left.Hits.Question)
	// Fisher's two-sided chance of [[9, 5], [5, 16]], summed from the hypergeometric terms in another language.
	assert.InDelta(t, 0.033166950249, control.Figures.Chance.Value, 1e-9)
	assert.Greater(t, control.Figures.Adjusted.Value, control.Figures.Chance.Value, "several outcomes at once are adjusted")
	assert.Equal(t, compare.TooFew, c.Outcomes[3].Verdict.Finding, "no decisions coded")
	assert.Zero(t, c.Shared.N)
	require.Len(t, c.Warnings, 1, "one feed, one session a side")
	assert.Contains(t, c.Warnings[0], "One session")

	var all []lookback.Cell
	cells(reflect.ValueOf(c), &all)
	for _, cell := range all {
		if cell.N > 0 {
			assert.Len(t, opens(t, cell.Question, balls), cell.N, cell.Question)
		}
	}
}

func TestCompareWarns(t *testing.T) {
	t.Parallel()
	e := vocabulary.Default()
	balls := []lookback.Ball{ball(1, "feed", "machine", "contact", "middled"), ball(2, "feed", "bowler", "contact", "missed"), ball(3, "contact", "missed")}
	c := lookback.Compare(e, set(t, "ball=1,2", balls), set(t, "ball=2,3", balls), lookback.Outcomes(nil), "one", "two")
	assert.Equal(t, 1, c.Shared.N)
	require.Len(t, c.Warnings, 3)
	assert.Contains(t, c.Warnings[0], "in both sets: 1")
	assert.Contains(t, c.Warnings[1], "bowler 1, machine 1 against bowler 1, not said 1")
	for _, o := range c.Outcomes {
		assert.Equal(t, compare.TooFew, o.Verdict.Finding)
	}
	none := lookback.Compare(e, lookback.NewSet(find.Question{}, nil, 0), lookback.NewSet(find.Question{}, nil, 0), lookback.Outcomes(nil), "one", "two")
	_, err := json.Marshal(none)
	require.NoError(t, err, "nothing on either side gives no NaN")
}

func TestTermOutcome(t *testing.T) {
	t.Parallel()
	e := vocabulary.Default()
	o, ok := lookback.TermOutcome(e, "feet", "caught")
	require.True(t, ok)
	assert.Equal(t, "Feet: Caught halfway", o.Name)
	balls := []lookback.Ball{ball(1, "feet", "caught"), ball(2, "feet", "forward"), ball(3)}
	c := lookback.Compare(e, set(t, "session=3", balls), set(t, "ball=2", balls), []lookback.Outcome{o}, "a", "b")
	assert.Equal(t, [2]int{1, 2}, [2]int{c.Outcomes[0].Left.Hits.N, c.Outcomes[0].Left.Of.N})
	_, ok = lookback.TermOutcome(e, "feet", "flying")
	assert.False(t, ok)
}

func TestProgress(t *testing.T) {
	t.Parallel()
	e, o := vocabulary.Default(), lookback.Outcomes(nil)[0]
	visit := func(n int64, middled, missed int) lookback.Visit {
		v := lookback.Visit{Session: n, Title: "Nets", HeldOn: "2026-01-01", Blocks: []tagging.Block{{Name: "Drill"}}}
		for i := range middled + missed {
			contact := "middled"
			if i >= middled {
				contact = "missed"
			}
			b := ball(n*100+int64(i), "contact", contact)
			b.SessionID = n
			v.Balls = append(v.Balls, b)
		}
		return v
	}
	var visits []lookback.Visit
	for n := range int64(6) {
		visits = append(visits, visit(n+1, 4+2*int(n), 16-2*int(n)))
	}
	rising := lookback.Follow(e, 5, visits, o)
	// Six values that all rise: the exact two-sided chance of Kendall's S = 15 is 2 of 720 orders.
	assert.InDelta(t, 2.0/720, rising.Trend.Chance.Value, 1e-12)
	assert.InDelta(t, 0.1, rising.Trend.Slope.Value, 1e-9)
	assert.Contains(t, rising.Words, "Rising, by about 10 in 100")
	assert.Equal(t, []string{"Drill"}, rising.Visits[0].Blocks)
	assert.Len(t, opens(t, rising.Visits[2].Rate.Hits.Question, visits[2].Balls), 8)

	assert.Contains(t, lookback.Follow(e, 5, visits[:1], o).Words, "One session")
	assert.Contains(t, lookback.Follow(e, 5, visits[:3], o).Words, "too few to tell")
	assert.Contains(t, lookback.Follow(e, 5, nil, o).Words, "Nothing to follow yet")
	uncoded := lookback.Follow(e, 5, []lookback.Visit{{Session: 1, Balls: []lookback.Ball{ball(1)}}}, o)
	_, err := json.Marshal(uncoded)
	require.NoError(t, err)
}

func TestFeltAgainstSeen(t *testing.T) {
	t.Parallel()
	balls := []lookback.Ball{
		ball(1, "contact", "middled"), ball(2, "contact", "missed"), ball(3, "contact", "middled"), ball(4, "contact", "missed"), ball(5), ball(6, "contact", "middled"),
	}
	l := lookback.Look(lookback.Session{
		ID: session, Balls: balls, Vocabulary: vocabulary.Default(), Coder: coach, Blocks: []tagging.Block{{ID: 1, Name: "Short ball"}},
		Felt: []lookback.Felt{
			{Ball: 1, Words: []string{"strong"}}, {Ball: 2, Words: []string{"strong"}}, {Ball: 3, Words: []string{"late"}},
			{Ball: 4, Words: []string{"lucky"}}, {Ball: 5, Words: []string{"strong"}}, {Ball: 6, Words: nil},
			{Block: 1, Words: []string{"clear", "strong"}}, {Block: 77, Words: []string{"strong"}},
		},
	})
	assert.Equal(t, 5, l.Felt.Said.N, "an answer that was taken back is none")
	strong := l.Felt.Rows[0]
	assert.Equal(t, [4]int{1, 1, 1, 1}, [4]int{strong.Both.N, strong.Only.N, strong.Other.N, strong.None.N}, "ball 5 is not coded")
	assert.InDelta(t, 0, strong.Agreement.Kappa.Value, 1e-12, "no better than chance")
	assert.Equal(t, "Contact: Middled", strong.Seen)
	assert.Equal(t, []lookback.FeltBlock{{Block: 1, Name: "Short ball", Words: []string{"Strong", "Clear in my mind"}}}, l.Felt.Blocks)
	for _, w := range lookback.FeltWords() {
		assert.True(t, lookback.KnownFelt(w.Key))
		for _, key := range l.Missing {
			assert.NotEmpty(t, key)
		}
	}
	assert.False(t, lookback.KnownFelt("grand"))
}

// TestWithPressed: what is pressed at the net after what was said counts, what
// was said later has the last word, and words of nobody's list stay marks.
func TestWithPressed(t *testing.T) {
	t.Parallel()
	at := func(minute int) time.Time { return time.Date(2026, 2, 1, 10, minute, 0, 0, time.UTC) }
	word := func(minute int, ball int64, body string) tagging.Mark {
		return tagging.Mark{Kind: tagging.WordMark, Who: "Wren", Made: at(minute), BallID: ball, Body: body}
	}
	said := []lookback.Felt{
		{Ball: 1, Words: []string{"strong"}, By: "Suri", Said: at(30)},
		{Ball: 2, Words: []string{"cramped"}, By: "Suri", Said: at(1)},
		{Ball: 3, By: "Suri", Said: at(30)}, // taken back
	}
	got := lookback.WithPressed(said, []tagging.Mark{
		word(2, 1, "Late"), word(2, 3, "Late"), word(3, 2, "late "), word(4, 2, "Off balance"), word(5, 4, "Late"), word(6, 4, "Late"),
		word(7, 5, "Like butter"), word(8, 6, "Late"), word(9, 0, "Late"), {Kind: tagging.GoodMark, Made: at(9), BallID: 4},
	}, []int64{1, 2, 3, 4, 5})
	assert.Equal(t, []lookback.Felt{
		said[0],
		{Ball: 2, Words: []string{"cramped", "late", "off-balance"}, By: "Wren", Said: at(4), AtNet: true},
		said[2],
		{Ball: 4, Words: []string{"late"}, By: "Wren", Said: at(6), AtNet: true},
	}, got)
}
