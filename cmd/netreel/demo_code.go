package main

import (
	"context"
	"fmt"
	"math/rand/v2"
	"slices"

	"github.com/google/uuid"

	"netreel/media"
	"netreel/media/scene"
	"netreel/tagging/vocabulary"
)

// demoLeft is how many balls at the end the demo leaves uncoded, so that there
// is something to do.
const demoLeft = 6

// demoEntry is an Entry of the API.
type demoEntry struct {
	UUID    uuid.UUID     `json:"uuid"`
	BallID  int64         `json:"ball_id"`
	Kind    string        `json:"kind"`
	AtUS    *media.Micros `json:"at_us,omitempty"`
	Group   string        `json:"group,omitempty"`
	Term    string        `json:"term,omitempty"`
	Body    string        `json:"body,omitempty"`
	Drawing any           `json:"drawing,omitempty"`
}

// demoNotes are what the coach writes on some balls, by what was played there.
var demoNotes = []struct{ group, term, group2, term2, body string }{
	{"shot", "pull", "base", "narrow", "Feet together when the ball arrives: set the base a touch earlier and the hands have something to turn round."},
	{"shot", "pull", "contact", "middled", "Strong base, head over it. This is the picture to keep."},
	{"shot", "drive", "contact", "middled", "Front foot down early and the head goes with it."},
	{"shot", "sweep", "", "", "Low and early, and under the eyes."},
	{"feet", "caught", "", "", "Neither forward nor back here. Decide sooner, then go all the way."},
	{"decision", "wrong", "", "", "Not the ball for that one. Let it go and wait for the next."},
}

// code puts the truth file's terms on the balls, as the coach would see them,
// and a second opinion of the analyst's on some. Entries have UUIDs made from
// the ball and what is said, so that a second run adds nothing.
func (d *demo) code(ctx context.Context, session int64, film demoFilm) error {
	lane, err := d.lane(ctx, session)
	if err != nil {
		return err
	}
	var edition vocabulary.Edition
	if err := d.coach.get(ctx, "/api/vocabulary", &edition); err != nil {
		return err
	}
	luck := rand.New(rand.NewPCG(demoSeed, 2))
	said := map[string]bool{}
	var coach, analyst []demoEntry
	for _, t := range film.truth.Balls[:max(0, len(film.truth.Balls)-demoLeft)] {
		b, ok := lane.ballOf(media.Span{Start: media.FromSeconds(t.Release), End: media.FromSeconds(t.End)})
		if !ok {
			continue
		}
		coach = append(coach, termsOf(edition, b, t, "coach")...)
		if note, ok := noteOf(t, said); ok {
			e := entryOf(b, t, "coach", "note", note)
			e.Body = note
			coach = append(coach, e)
		}
		if luck.Float64() < 0.25 {
			analyst = append(analyst, secondOpinion(edition, b, t, luck)...)
		}
	}
	if len(coach) > 0 {
		if b, ok := lane.numbered(1); ok {
			coach = append(coach, headLine(b, film.truth.Balls[0]))
		}
	}
	for who, entries := range map[*client][]demoEntry{d.coach: coach, d.analyst: analyst} {
		for len(entries) > 0 {
			n := min(len(entries), 100)
			if err := who.post(ctx, "/api/observations", entries[:n], nil); err != nil {
				return err
			}
			d.sum.Observations += n
			entries = entries[n:]
		}
	}
	return nil
}

func (l demoLane) numbered(n int) (demoBall, bool) {
	for _, b := range l.Balls {
		if b.Number == n && b.State != "discarded" {
			return b, true
		}
	}
	return demoBall{}, false
}

// entryOf is an entry at the ball's contact or passing.
func entryOf(b demoBall, t scene.TruthBall, who, kind, what string) demoEntry {
	at := media.FromSeconds(t.Passing)
	at = min(max(at, b.StartUS), b.EndUS)
	id := uuid.NewSHA1(uuid.NameSpaceOID, fmt.Appendf(nil, "%s %d %s %s", who, b.ID, kind, what))
	return demoEntry{UUID: id, BallID: b.ID, Kind: kind, AtUS: &at}
}

// termsOf is every true term that the vocabulary offers.
func termsOf(e vocabulary.Edition, b demoBall, t scene.TruthBall, who string) []demoEntry {
	var entries []demoEntry
	for _, g := range e.Groups {
		for _, term := range t.Terms[g.Key] {
			if e.Offers(g.Key, term) {
				o := entryOf(b, t, who, "term", g.Key+":"+term)
				o.Group, o.Term = g.Key, term
				entries = append(entries, o)
			}
		}
	}
	return entries
}

// secondOpinion is the analyst's view of a few groups: mostly the same, now and
// then the neighbouring term.
func secondOpinion(e vocabulary.Edition, b demoBall, t scene.TruthBall, luck *rand.Rand) []demoEntry {
	var entries []demoEntry
	for _, key := range []string{"length", "base", "contact"} {
		g, _ := e.Group(key)
		for _, term := range t.Terms[key] {
			if luck.Float64() < 0.2 {
				term = g.Terms[luck.IntN(len(g.Terms))].Key
			}
			o := entryOf(b, t, "analyst", "term", key)
			o.Group, o.Term = key, term
			entries = append(entries, o)
		}
	}
	return entries
}

// noteOf is a note that fits the ball, each note once.
func noteOf(t scene.TruthBall, said map[string]bool) (string, bool) {
	has := func(group, term string) bool {
		if group == "" {
			return true
		}
		return slices.Contains(t.Terms[group], term)
	}
	for _, n := range demoNotes {
		if !said[n.body] && has(n.group, n.term) && has(n.group2, n.term2) {
			said[n.body] = true
			return n.body, true
		}
	}
	return "", false
}

// headLine is a drawing: a straight line from head to front foot.
func headLine(b demoBall, t scene.TruthBall) demoEntry {
	e := entryOf(b, t, "coach", "drawing", "head line")
	type point struct {
		X float64 `json:"x"`
		Y float64 `json:"y"`
	}
	e.Drawing = map[string]any{"strokes": []any{
		map[string]any{"straight": true, "tone": 0, "points": []point{{0.47, 0.27}, {0.47, 0.80}}},
	}}
	return e
}
