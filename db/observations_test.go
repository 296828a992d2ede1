package db_test

import (
	"slices"
	"sync"
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"netreel/media"
	"netreel/media/fault"
	"netreel/tagging"
	"netreel/tagging/vocabulary"
)

// said prints what holds, in the order of being said: "shot=pull", a note's text, "drawing".
func said(now []tagging.Observation) []string {
	list := []string{}
	for _, o := range now {
		switch o.Kind {
		case tagging.TermKind:
			list = append(list, o.Group+"="+o.Term)
		case tagging.NoteKind:
			list = append(list, o.Body)
		default:
			list = append(list, string(o.Kind))
		}
	}
	return list
}

func takeBack(e tagging.Entry) tagging.Entry {
	return tagging.Entry{UUID: uuid.New(), BallID: e.BallID, Kind: tagging.RetractionKind, Retracts: e.UUID}
}

func TestObserve(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	id, _ := w.filmed(2)
	b := w.balls(id)
	at, until := seconds(3), seconds(3.5)
	pull := term(b[0].ID, "shot", "pull")
	pull.At, pull.Until = &at, &until
	now := w.say(w.coach, pull)
	require.Len(t, now, 1)
	o := now[0]
	assert.Equal(t, pull.UUID, o.UUID)
	assert.Equal(t, "Ada Marsh", o.Coder)
	assert.Equal(t, w.coach.AccountID, o.AccountID)
	assert.Equal(t, "Pull", o.Wording)
	assert.Equal(t, 1, o.Edition)
	assert.Equal(t, &at, o.At)
	assert.Equal(t, &until, o.Until)

	cut := term(b[0].ID, "shot", "cut")
	assert.Equal(t, []string{"shot=cut"}, said(w.say(w.coach, cut)), "one may hold: it follows the coder's own")
	assert.Equal(t, []string{"shot=cut", "shot=pull"}, said(w.say(w.analyst, term(b[0].ID, "shot", "pull"))), "never another's")
	assert.Equal(t, []string{"shot=cut", "shot=pull", "hands=high", "hands=late"},
		said(w.say(w.coach, term(b[0].ID, "hands", "high"), term(b[0].ID, "hands", "late"))), "several may hold")
	moved := term(b[0].ID, "hands", "high")
	moved.At = &at
	assert.Equal(t, []string{"shot=cut", "shot=pull", "hands=late", "hands=high"}, said(w.say(w.coach, moved)), "the same again moves it")
	assert.Equal(t, []string{"shot=cut", "shot=pull", "hands=late"}, said(w.say(w.coach, takeBack(moved))))
	assert.Equal(t, []string{"shot=pull", "hands=late"}, said(w.say(w.coach, takeBack(cut))))
	assert.Equal(t, []string{"shot=pull", "hands=late"}, said(w.say(w.coach, takeBack(cut))), "gone is gone")

	// One save that says a thing and takes it back, on two balls.
	sweep := term(b[1].ID, "shot", "sweep")
	got := w.say(w.coach, sweep, term(b[0].ID, "shot", "loft"), takeBack(sweep), note(b[1].ID, "swept too fine"))
	assert.Equal(t, []string{"shot=pull", "hands=late", "shot=loft", "swept too fine"}, said(got), "what holds on each ball spoken of")

	lines, err := w.store.Ledger(t.Context(), w.analyst, b[1].ID)
	require.NoError(t, err)
	require.Len(t, lines, 3)
	assert.Equal(t, []bool{true, true, false}, []bool{lines[0].Gone, lines[1].Gone, lines[2].Gone})
	assert.Equal(t, tagging.RetractionKind, lines[1].Kind)
	assert.Equal(t, lines[0].ID, lines[1].Supersedes)
	_, err = w.store.Ledger(t.Context(), w.asPlayer[0], b[1].ID)
	assertKind(t, fault.NotFound, err)
	_, err = w.store.Ledger(t.Context(), w.stranger, b[1].ID)
	assertKind(t, fault.NotFound, err)
}

func TestNotesAndDrawings(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	id, rec := w.filmed(1)
	ball := w.balls(id)[0].ID
	first := note(ball, "Hed falls over")
	w.say(w.coach, first)
	second := note(ball, "Head falls over")
	second.Retracts = first.UUID
	assert.Equal(t, []string{"Head falls over"}, said(w.say(w.coach, second)))
	third := note(ball, "Head falls to off")
	third.Retracts = first.UUID // from a page that had not seen the second
	assert.Equal(t, []string{"Head falls to off"}, said(w.say(w.coach, third)))
	w.say(w.coach, takeBack(third))
	fourth := note(ball, "Better")
	fourth.Retracts = second.UUID
	assert.Equal(t, []string{"Better"}, said(w.say(w.coach, fourth)), "no text is lost")

	at := seconds(3)
	drawing := tagging.Entry{
		UUID: uuid.New(), BallID: ball, Kind: tagging.DrawingKind, At: &at, RecordingID: rec,
		Drawing: &tagging.Drawing{Strokes: []tagging.Stroke{{Straight: true, Tone: 2, Points: [][2]float64{{0.25, 0.5}, {1, 0}}}}},
	}
	now := w.say(w.coach, drawing)
	require.Len(t, now, 2)
	assert.Equal(t, drawing.Drawing, now[1].Drawing)
	assert.Equal(t, rec, now[1].RecordingID)

	_, elsewhere := w.filmed(1)
	drawing.UUID, drawing.RecordingID = uuid.New(), elsewhere
	_, err := w.store.Observe(ctx, w.coach, []tagging.Entry{drawing})
	assertKind(t, fault.Invalid, err)
	wrong := note(ball, "x")
	wrong.Retracts = now[1].UUID
	_, err = w.store.Observe(ctx, w.coach, []tagging.Entry{wrong})
	assertKind(t, fault.Invalid, err) // a drawing is no note
}

func TestObserveRefuses(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	id, _ := w.filmed(2)
	b := w.balls(id)
	pull := term(b[0].ID, "shot", "pull")
	w.say(w.coach, pull)
	retraction := takeBack(pull)
	onAnother := takeBack(pull)
	onAnother.BallID = b[1].ID
	null := note(b[0].ID, "a\x00b")
	theirs := pull
	cases := []struct {
		name  string
		who   tagging.Viewer
		entry tagging.Entry
		kind  fault.Kind
	}{
		{"a term not offered", w.coach, term(b[0].ID, "shot", "scoop"), fault.Invalid},
		{"a term of another group", w.coach, term(b[0].ID, "shot", "narrow"), fault.Invalid},
		{"a ball not there", w.coach, term(999, "shot", "pull"), fault.NotFound},
		{"another squad's ball", w.stranger, term(b[0].ID, "shot", "pull"), fault.NotFound},
		{"by a player", w.asPlayer[0], term(b[0].ID, "shot", "pull"), fault.Forbidden},
		{"taking back what is not there", w.coach, takeBack(term(b[0].ID, "shot", "pull")), fault.NotFound},
		{"taking back what another said", w.analyst, retraction, fault.Forbidden},
		{"taking back on another ball", w.coach, onAnother, fault.NotFound},
		{"another's number", w.analyst, theirs, fault.Conflict},
		{"a null", w.coach, null, fault.Invalid},
		{"no number", w.coach, tagging.Entry{BallID: b[0].ID, Kind: tagging.NoteKind, Body: "x"}, fault.Invalid},
	}
	for _, c := range cases {
		// All or nothing: with a good entry before it.
		_, err := w.store.Observe(ctx, c.who, []tagging.Entry{note(b[0].ID, "before"), c.entry})
		assert.Equal(t, c.kind, fault.KindOf(err), "%s: %v", c.name, err)
	}
	_, err := w.store.Observe(ctx, w.coach, nil)
	assertKind(t, fault.Invalid, err)
	w.say(w.coach, retraction)
	_, err = w.store.Observe(ctx, w.coach, []tagging.Entry{takeBack(retraction)})
	assertKind(t, fault.Invalid, err)
	lines, err := w.store.Ledger(ctx, w.coach, b[0].ID)
	require.NoError(t, err)
	assert.Len(t, lines, 2, "nothing of what was refused is there")
}

func TestOldObservationsKeepTheirWording(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	ctx := t.Context()
	id, _ := w.filmed(1)
	ball := w.balls(id)[0].ID
	pull := term(ball, "shot", "pull")
	w.say(w.coach, pull, term(ball, "hands", "high"), term(ball, "hands", "late"))
	e, err := w.store.Vocabulary(ctx, w.coach, 0)
	require.NoError(t, err)
	change := func(group, key string, fn func(*vocabulary.Group, *vocabulary.Term)) {
		for i := range e.Groups {
			for j := range e.Groups[i].Terms {
				if g := &e.Groups[i]; g.Key == group && g.Terms[j].Key == key {
					fn(g, &g.Terms[j])
				}
			}
		}
	}
	change("shot", "pull", func(_ *vocabulary.Group, t *vocabulary.Term) { t.Name, t.Retired = "Pull shot", true })
	change("hands", "high", func(g *vocabulary.Group, _ *vocabulary.Term) { g.Many = false })
	_, err = w.store.SaveVocabulary(ctx, w.coach, e)
	require.NoError(t, err)

	assert.Equal(t, "Pull", w.balls(id)[0].Seen[0].Wording)
	again := w.say(w.coach, pull)
	assert.Equal(t, []string{"shot=pull", "hands=high", "hands=late"}, said(again), "a save repeated after the change is no error")
	_, err = w.store.Observe(ctx, w.coach, []tagging.Entry{term(ball, "shot", "pull")})
	assertKind(t, fault.Invalid, err)
	assert.Equal(t, []string{"shot=pull", "hands=soft"}, said(w.say(w.coach, term(ball, "hands", "soft"))),
		"where one may hold now, it follows all that held before")
}

func TestOneCoderOnTwoPagesAtOnce(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	id, _ := w.filmed(3)
	b := w.balls(id)
	terms := []string{"pull", "cut", "sweep", "loft", "flick", "glance", "hook", "leave"}
	same := term(b[0].ID, "base", "narrow")
	var wait sync.WaitGroup
	for i, key := range terms {
		wait.Go(func() {
			// In different orders, so that locks taken carelessly would meet.
			entries := []tagging.Entry{term(b[0].ID, "shot", key), term(b[1].ID, "shot", key), term(b[2].ID, "shot", key), same}
			if i%2 == 1 {
				slices.Reverse(entries)
			}
			_, err := w.store.Observe(t.Context(), w.coach, entries)
			assert.NoError(t, err)
		})
	}
	wait.Wait()
	for i, x := range w.balls(id) {
		shots := 0
		for _, o := range x.Seen {
			if o.Group == "shot" {
				shots++
			}
		}
		assert.Equal(t, 1, shots, "one shot holds on ball %d", i+1)
		lines, err := w.store.Ledger(t.Context(), w.coach, x.ID)
		require.NoError(t, err)
		assert.Len(t, lines, len(terms)+[]int{1, 0, 0}[i], "and the ledger has them all")
	}
}

// TestLedgerAgainstAModel lets two coders say and take back at random, and
// compares what holds with a plain list of who holds what.
func TestLedgerAgainstAModel(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	rapid.Check(t, func(rt *rapid.T) {
		id, _ := w.filmed(2)
		m := &ledgerModel{balls: w.balls(id)}
		for range rapid.IntRange(1, 8).Draw(rt, "saves") {
			who := rapid.SampledFrom([]tagging.Viewer{w.coach, w.analyst}).Draw(rt, "who")
			save := m.save(rt, who.AccountID)
			if len(save) == 0 {
				continue
			}
			if _, err := w.store.Observe(t.Context(), who, save); err != nil {
				rt.Fatal(err)
			}
			var want, got []uuid.UUID
			for _, c := range m.held {
				want = append(want, c.entry.UUID)
			}
			for _, b := range w.balls(id) {
				for _, o := range b.Seen {
					got = append(got, o.UUID)
				}
			}
			assert.ElementsMatch(rt, want, got)
		}
	})
	var wrong int
	require.NoError(t, w.store.Pool().QueryRow(t.Context(), `SELECT count(*) FROM observation o
		WHERE o.holds <> (o.kind <> 'retraction' AND NOT EXISTS (SELECT FROM observation later WHERE later.supersedes = o.id))`).Scan(&wrong))
	assert.Zero(t, wrong, "holds is what it is derived from")
	require.NoError(t, w.store.Pool().QueryRow(t.Context(), `SELECT count(*) FROM delivery d WHERE d.codes <> ARRAY(
		SELECT DISTINCT o.group_key || '=' || o.term_key AS code FROM observation o
		WHERE o.delivery_id = d.id AND o.holds AND o.kind = 'term' ORDER BY code)`).Scan(&wrong))
	assert.Zero(t, wrong, "and so are the codes")
}

type claim struct {
	entry tagging.Entry
	by    int64
}

type ledgerModel struct {
	balls       []tagging.Ball
	held, every []claim
}

// save draws a save of one coder and does to the model what it should do.
func (m *ledgerModel) save(rt *rapid.T, who int64) (save []tagging.Entry) {
	say := func(e tagging.Entry, same func(tagging.Entry) bool) {
		m.drop(func(c claim) bool { return c.by == who && c.entry.BallID == e.BallID && same(c.entry) })
		m.held, m.every, save = append(m.held, claim{e, who}), append(m.every, claim{e, who}), append(save, e)
	}
	for range rapid.IntRange(1, 4).Draw(rt, "entries") {
		ball := rapid.SampledFrom(m.balls).Draw(rt, "ball").ID
		own := slices.DeleteFunc(slices.Clone(m.every), func(c claim) bool { return c.by != who })
		what := rapid.SampledFrom([]string{"one", "many", "take back", "repeat"}).Draw(rt, "what")
		switch {
		case what == "one":
			e := term(ball, "shot", rapid.SampledFrom([]string{"pull", "cut", "sweep"}).Draw(rt, "shot"))
			say(e, func(o tagging.Entry) bool { return o.Group == "shot" })
		case what == "many":
			e := term(ball, "hands", rapid.SampledFrom([]string{"high", "late"}).Draw(rt, "hands"))
			say(e, func(o tagging.Entry) bool { return o.Term == e.Term })
		case len(own) == 0:
		case what == "repeat":
			save = append(save, rapid.SampledFrom(own).Draw(rt, "repeated").entry)
		default:
			e := rapid.SampledFrom(own).Draw(rt, "taken back").entry
			m.drop(func(c claim) bool { return c.entry.UUID == e.UUID })
			save = append(save, takeBack(e))
		}
	}
	return save
}

func (m *ledgerModel) drop(fn func(claim) bool) { m.held = slices.DeleteFunc(m.held, fn) }

func TestObservationsOfManyBallsAtOnce(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	id, _ := w.filmed(tagging.MaxEntries / 2)
	var save []tagging.Entry
	at := media.Micros(0)
	for _, b := range w.balls(id) {
		e := term(b.ID, "feed", "machine")
		e.At = &at
		save = append(save, e, term(b.ID, "feed", "side-arm"))
	}
	assert.Len(t, w.say(w.coach, save...), tagging.MaxEntries/2)
	_, err := w.store.Observe(t.Context(), w.coach, append(save, note(save[0].BallID, "one too many")))
	assertKind(t, fault.Invalid, err)
}
