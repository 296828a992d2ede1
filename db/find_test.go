package db_test

import (
	"cmp"
	"fmt"
	"maps"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"netreel/media"
	"netreel/media/fault"
	"netreel/tagging"
	"netreel/tagging/find"
)

// plainBall is a ball with all that a question may ask of it.
type plainBall struct {
	tagging.Ball
	heldOn string
	given  map[string]string // group -> term: what its block says of its balls
}

// season fills a world with sessions, blocks and invented observations of two
// coders, and returns all balls in no order.
func (w *world) season(seed uint64) []plainBall {
	w.t.Helper()
	r := rand.New(rand.NewPCG(seed, 0))
	pick := func(list ...string) string { return list[r.IntN(len(list))] }
	var balls []plainBall
	for day, players := range [][]int64{{w.players[0].ID}, {w.players[1].ID}, {w.players[0].ID, w.players[1].ID}} {
		heldOn := fmt.Sprintf("2026-01-%02d", 10+day/2) // two on one day
		s, err := w.store.AddSession(w.t.Context(), w.coach, tagging.SessionInput{Title: "Nets", HeldOn: heldOn, Players: players})
		require.NoError(w.t, err)
		rec := w.recording(s.ID, media.SideOn, film(200))
		var list []media.Delivery
		for i := range 12 {
			list = append(list, found(float64(6*i+1), float64(6*i+3), float64(6*i+5)))
		}
		w.split(rec, list...)
		lay := func(blocks ...tagging.Block) map[int64]map[string]string {
			given := map[int64]map[string]string{}
			for i := range blocks {
				blocks[i].Bowling, blocks[i].Feed, blocks[i].Bat = pick("", "fast", "medium"), pick("", "machine"), pick("", "full", "narrow")
			}
			blocks, err = w.store.SetBlocks(w.t.Context(), w.coach, s.ID, blocks)
			require.NoError(w.t, err)
			for _, b := range blocks {
				given[b.ID] = map[string]string{"bowling": b.Bowling, "feed": b.Feed, "bat": b.Bat}
			}
			return given
		}
		first, middle := block("Throw-downs", 0, 30), block("Machine", 30, 50)
		middle.PlayerID = w.players[r.IntN(2)].ID
		given := lay(first, middle)
		gone := as(w.lane(s.ID)[r.IntN(12)])
		gone.State = tagging.Discarded
		for _, b := range w.balls(s.ID) {
			for _, coder := range []tagging.Viewer{w.coach, w.analyst} {
				var save []tagging.Entry
				for _, e := range []tagging.Entry{
					term(b.ID, "shot", pick("pull", "cut", "drive")), term(b.ID, "base", pick("narrow", "sound")),
					term(b.ID, "hands", pick("high", "late")), term(b.ID, "hands", pick("soft", "late")), term(b.ID, "bowling", pick("fast", "off-spin")),
					note(b.ID, pick("head", "toe")+" and "+pick("wrist", "elbow")),
				} {
					if r.IntN(2) == 0 {
						save = append(save, e)
					}
				}
				if len(save) > 0 && r.IntN(4) == 0 {
					save = append(save, takeBack(save[r.IntN(len(save))]))
				}
				if len(save) > 0 && r.IntN(4) > 0 {
					w.say(coder, save...)
				}
			}
		}
		w.edit(s.ID, gone)
		if day == 1 { // what the blocks give is changed when the balls are coded
			middle.Span.Start -= 6 * media.Second
			given = lay(middle)
		}
		for _, b := range w.balls(s.ID) {
			balls = append(balls, plainBall{b, heldOn, given[b.BlockID]})
		}
	}
	return balls
}

// fits is the plain reading of a question: what find.Question says, without
// SQL.
func fits(q find.Question, b plainBall) bool {
	var seen []tagging.Observation
	for _, o := range b.Seen {
		if len(q.Coders) == 0 || slices.Contains(q.Coders, o.AccountID) {
			seen = append(seen, o)
		}
	}
	says := func(group string, terms []string) bool {
		return slices.ContainsFunc(seen, func(o tagging.Observation) bool {
			return o.Kind == tagging.TermKind && o.Group == group && (terms == nil || slices.Contains(terms, o.Term))
		})
	}
	holds := func(group string, terms []string) bool {
		if len(q.Coders) > 0 || says(group, nil) {
			return says(group, terms) // what was seen on the ball overrules its block
		}
		return b.given[group] != "" && slices.Contains(terms, b.given[group])
	}
	for g, terms := range q.Has {
		if !holds(g, terms) {
			return false
		}
	}
	for g, terms := range q.Not {
		if holds(g, terms) {
			return false
		}
	}
	for _, g := range q.Uncoded {
		if says(g, nil) {
			return false
		}
	}
	among := func(ids []int64, id int64) bool { return len(ids) == 0 || slices.Contains(ids, id) }
	noted := q.Text == "" || slices.ContainsFunc(seen, func(o tagging.Observation) bool {
		return o.Kind == tagging.NoteKind && reads(q.Text, o.Body)
	})
	return noted && (len(q.Coders) == 0 || len(seen) > 0) &&
		among(q.Players, b.PlayerID) && among(q.Sessions, b.SessionID) && among(q.Blocks, b.BlockID) && among(q.Balls, b.ID) &&
		(q.From == "" || b.heldOn >= q.From) && (q.To == "" || b.heldOn <= q.To)
}

// reads says whether a note has the words of a text: all of them, either side
// of an "or", and none after a "-" (PostgreSQL documentation, 12.3.2,
// websearch_to_tsquery).
func reads(text, body string) bool {
	words := strings.Fields(strings.ToLower(body))
	for side := range strings.SplitSeq(text, " or ") {
		all := true
		for word := range strings.FieldsSeq(side) {
			bare, not := strings.CutPrefix(word, "-")
			all = all && slices.Contains(words, bare) != not
		}
		if all {
			return true
		}
	}
	return false
}

func (w *world) questions(balls []plainBall) *rapid.Generator[find.Question] {
	var sessions, blocks, ids []int64
	for _, b := range balls {
		ids = append(ids, b.ID)
		sessions = append(sessions, b.SessionID)
		if b.BlockID != 0 {
			blocks = append(blocks, b.BlockID)
		}
	}
	groups := map[string][]string{
		"shot": {"pull", "cut", "drive", "scoop"}, "base": {"narrow", "sound"}, "hands": {"high", "late", "soft"}, "grip": {"low"},
		"bowling": {"fast", "medium", "off-spin"}, "feed": {"machine", "bowler"}, "bat": {"full", "narrow"},
	}
	some := func(t *rapid.T, label string, from []int64) []int64 {
		return rapid.SliceOfN(rapid.SampledFrom(append(from, 999)), 0, 2).Draw(t, label)
	}
	asked := func(t *rapid.T, label string) map[string][]string {
		out := map[string][]string{}
		for _, g := range rapid.SliceOfNDistinct(rapid.SampledFrom(slices.Sorted(maps.Keys(groups))), 0, 2, rapid.ID[string]).Draw(t, label) {
			if rapid.IntRange(0, 2).Draw(t, label+" "+g) > 0 {
				out[g] = rapid.SliceOfN(rapid.SampledFrom(groups[g]), 1, 2).Draw(t, label+" terms of "+g)
			}
		}
		return out
	}
	return rapid.Custom(func(t *rapid.T) find.Question {
		q := find.Question{Has: asked(t, "has"), Not: asked(t, "not")}
		switch rapid.IntRange(0, 7).Draw(t, "and") {
		case 0:
			q.Uncoded = []string{rapid.SampledFrom([]string{"shot", "hands", "feet", "bowling", "bat"}).Draw(t, "uncoded")}
		case 1:
			q.Players = some(t, "players", []int64{w.players[0].ID, w.players[1].ID})
		case 2:
			q.Sessions, q.Blocks = some(t, "sessions", sessions), some(t, "blocks", blocks)
		case 3:
			q.Coders = some(t, "coders", []int64{w.coach.AccountID, w.analyst.AccountID})
		case 5:
			q.Balls = rapid.SliceOfN(rapid.SampledFrom(append(ids, 99_999)), 1, 6).Draw(t, "balls")
		case 4:
			q.From = rapid.SampledFrom([]string{"", "2026-01-10", "2026-01-11", "2027-01-01"}).Draw(t, "from")
			q.To = rapid.SampledFrom([]string{"", "2026-01-10", "2026-01-11"}).Draw(t, "to")
		default:
			q.Text = rapid.SampledFrom([]string{"", "head", "Toes", "head wrist", "head -wrist", "head or elbow", "nothing"}).Draw(t, "text")
			q.Text = strings.Replace(q.Text, "Toes", "toe", 1)
		}
		return q
	})
}

// TestFindAgainstPlainReading is the law of the question: SQL finds and counts
// what a plain reading of it finds and counts.
func TestFindAgainstPlainReading(t *testing.T) {
	t.Parallel()
	for seed := range uint64(2) {
		t.Run(strconv.FormatUint(seed, 10), func(t *testing.T) {
			t.Parallel()
			w := newWorld(t)
			balls := w.season(seed)
			viewers := []tagging.Viewer{w.coach, w.analyst, w.asPlayer[0], w.asPlayer[1]}
			rapid.Check(t, func(rt *rapid.T) {
				q := w.questions(balls).Draw(rt, "question")
				v := rapid.SampledFrom(viewers).Draw(rt, "viewer")
				mine := slices.DeleteFunc(slices.Clone(balls), func(b plainBall) bool { return !v.Role.Staff() && b.PlayerID != v.PlayerID })
				got, err := w.store.Find(t.Context(), v, q, find.Page{Limit: 200})
				if err != nil {
					rt.Fatal(err)
				}
				var want, ids []int64
				for _, b := range inOrder(mine) {
					if fits(q, b) {
						want = append(want, b.ID)
					}
				}
				for _, item := range got.Items {
					ids = append(ids, item.Ball.ID)
				}
				assert.Equal(rt, want, ids, q.String())
				assert.Equal(rt, len(want), got.Total)
				listed := map[string]int{}
				for _, f := range got.Facets {
					for _, c := range f.Choices {
						listed[f.Key+"="+c.Value] = c.Count
					}
				}
				for choice := range choices(mine) {
					facet, value, _ := strings.Cut(choice, "=")
					assert.Equal(rt, plainCount(rt, mine, q, facet, value), listed[choice], "%s under %s", choice, q)
					delete(listed, choice)
				}
				for choice, n := range listed {
					assert.Zero(rt, n, "%s under %s", choice, q)
				}
			})
		})
	}
}

// choices are all that balls could be chosen by: "shot=pull", "player=3".
func choices(balls []plainBall) map[string]bool {
	set := map[string]bool{}
	for _, b := range balls {
		set[fmt.Sprint("player=", b.PlayerID)], set[fmt.Sprint("session=", b.SessionID)] = true, true
		if b.BlockID != 0 {
			set[fmt.Sprint("block=", b.BlockID)] = true
		}
		for group, term := range b.given {
			set[group+"="+term] = term != ""
		}
		for _, o := range b.Seen {
			set[fmt.Sprint("coder=", o.AccountID)] = true
			if o.Kind == tagging.TermKind {
				set[o.Group+"="+o.Term] = true
			}
		}
	}
	delete(set, "player=0")
	maps.DeleteFunc(set, func(_ string, there bool) bool { return !there })
	return set
}

func inOrder(balls []plainBall) []plainBall {
	return slices.SortedFunc(slices.Values(balls), func(a, b plainBall) int {
		return cmp.Or(strings.Compare(b.heldOn, a.heldOn), cmp.Compare(b.SessionID, a.SessionID), cmp.Compare(a.Number, b.Number))
	})
}

// plainCount is how many balls a choice would give in place of its filter.
func plainCount(t rapid.TB, balls []plainBall, q find.Question, facet, value string) (n int) {
	q = q.Without(facet)
	id, err := strconv.ParseInt(value, 10, 64)
	switch facet {
	case find.FacetPlayer:
		q.Players = []int64{id}
	case find.FacetSession:
		q.Sessions = []int64{id}
	case find.FacetBlock:
		q.Blocks = []int64{id}
	case find.FacetCoder:
		q.Coders = []int64{id}
	default:
		err = nil
		has := map[string][]string{facet: {value}}
		maps.Copy(has, q.Has)
		q.Has = has
	}
	if err != nil {
		t.Fatal(err)
	}
	for _, b := range balls {
		if fits(q, b) {
			n++
		}
	}
	return n
}

func TestFindPagesAndNames(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	balls := w.season(7)
	all, err := w.store.Find(ctx, w.coach, find.Question{}, find.Page{})
	require.NoError(t, err)
	assert.Equal(t, len(balls), all.Total)
	require.Len(t, all.Items, 33)
	first := all.Items[0]
	assert.Equal(t, "Nets", first.Session)
	assert.Equal(t, "2026-01-11", first.HeldOn)
	assert.Equal(t, "Throw-downs", first.Block)
	assert.Equal(t, first.Ball.ID, first.BallID)
	assert.NotEmpty(t, first.Ball.Clips)

	page, err := w.store.Find(ctx, w.coach, find.Question{}, find.Page{Offset: 30, Limit: 10})
	require.NoError(t, err)
	assert.Equal(t, all.Items[30:], page.Items)
	beyond, err := w.store.Find(ctx, w.coach, find.Question{}, find.Page{Offset: 1000})
	require.NoError(t, err)
	assert.Empty(t, beyond.Items)
	assert.Equal(t, 33, beyond.Total, "the total is known on every page")

	facet := func(f find.Found, key string) []find.Choice {
		for _, x := range f.Facets {
			if x.Key == key {
				return x.Choices
			}
		}
		return nil
	}
	assert.Len(t, facet(all, "line"), 6, "terms that no ball bears are offered, with zero")
	assert.Zero(t, facet(all, "line")[0].Count)
	assert.Equal(t, "Wide of off", facet(all, "line")[0].Name)
	assert.Equal(t, []string{"Cleo Reed", "Dot Sedge"}, names(facet(all, "player")))
	assert.Equal(t, []string{"Ada Marsh", "Bo Ferry"}, names(facet(all, "coder")))
	assert.Equal(t, "Nets, 2026-01-11", facet(all, "session")[0].Name)
	assert.Equal(t, "Throw-downs, 2026-01-11", facet(all, "block")[0].Name)

	chosen := find.Question{Sessions: []int64{all.Items[0].Ball.SessionID}, To: "2025-01-01"}
	none, err := w.store.Find(ctx, w.coach, chosen, find.Page{})
	require.NoError(t, err)
	assert.Equal(t, []find.Choice{{Value: strconv.FormatInt(chosen.Sessions[0], 10), Name: "Nets, 2026-01-11"}}, facet(none, "session"),
		"what is chosen keeps its name, though it gives nothing")
	own, err := w.store.Find(ctx, w.asPlayer[0], find.Question{Players: []int64{w.players[1].ID}}, find.Page{})
	require.NoError(t, err)
	assert.Zero(t, own.Total)
	assert.Equal(t, []string{"Cleo Reed"}, names(facet(own, "player")), "a player learns no other names")
	theirs, err := w.store.Find(ctx, w.stranger, find.Question{}, find.Page{})
	require.NoError(t, err)
	assert.Zero(t, theirs.Total)
	assert.Empty(t, facet(theirs, "player"))
}

func names(choices []find.Choice) (list []string) {
	for _, c := range choices {
		list = append(list, c.Name)
	}
	return list
}

func TestFindSurvivesHostileText(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	w.season(3)
	rapid.Check(t, func(rt *rapid.T) {
		q, err := find.Parse("text=" + rapid.StringMatching(`([a-z"'()&|!:*<>\\%-]| ){1,30}`).Draw(rt, "text"))
		if err != nil {
			assert.Equal(rt, fault.Invalid, fault.KindOf(err))
			return
		}
		_, err = w.store.Find(t.Context(), w.coach, q, find.Page{Limit: 1})
		assert.NoError(rt, err)
	})
}
