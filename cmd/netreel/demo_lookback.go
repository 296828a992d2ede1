package main

import (
	"context"
	"fmt"
	"math/rand/v2"
	"slices"
	"time"

	"github.com/google/uuid"

	"netreel/media"
	"netreel/media/scene"
)

// demoRules is what the demo's coach wants of every batter: the high ones let
// go, short and wide ones taken on, good ones wide of off let go.
var demoRules = []map[string]any{
	{"heights": []string{"throat", "head", "above-head"}, "lines": []string{}, "lengths": []string{}, "want": "let-go"},
	{"heights": []string{}, "lines": []string{"wide-off"}, "lengths": []string{"back-of-length", "short"}, "want": "either"},
	{"heights": []string{}, "lines": []string{"wide-off"}, "lengths": []string{"good"}, "want": "let-go"},
	{"heights": []string{}, "lines": []string{}, "lengths": []string{}, "want": "take-on"},
}

// lookback gives the coach's rule for each batter, and the word of the one who
// has an account on how her balls felt; each once.
func (d *demo) lookback(ctx context.Context, session int64, film demoFilm) error {
	for _, name := range film.batters() {
		var kept struct {
			Revision int `json:"revision"`
		}
		path := fmt.Sprintf("/api/players/%d/rules", d.cast.players[name])
		if err := d.coach.get(ctx, path, &kept); err != nil {
			return err
		}
		if kept.Revision == 0 {
			if err := d.coach.put(ctx, path, map[string]any{"revision": 0, "rules": demoRules}, nil); err != nil {
				return err
			}
		}
	}
	secret, err := d.app.store.NewLinkFor(ctx, d.cast.player, time.Hour)
	if err != nil {
		return err
	}
	player, err := signIn(ctx, d.app.URL(), secret)
	if err != nil {
		return err
	}
	lane, err := d.lane(ctx, session)
	if err != nil {
		return err
	}
	luck := rand.New(rand.NewPCG(demoSeed, 3))
	for _, t := range film.truth.Balls[:max(0, len(film.truth.Balls)-demoLeft)] {
		words := feltOf(t, luck)
		b, ok := lane.ballOf(media.Span{Start: media.FromSeconds(t.Release), End: media.FromSeconds(t.End)})
		if !ok || len(words) == 0 || film.truth.Blocks[t.Block].Player != d.cast.first {
			continue
		}
		id := uuid.NewSHA1(uuid.NameSpaceOID, fmt.Appendf(nil, "felt %d", b.ID))
		if err := player.post(ctx, "/api/felt", map[string]any{"uuid": id, "ball_id": b.ID, "words": words}, nil); err != nil {
			return err
		}
	}
	return nil
}

// feltOf is how a ball felt to who batted: mostly as it was, now and then not;
// nothing for the balls that she did not speak of.
func feltOf(t scene.TruthBall, luck *rand.Rand) []string {
	if luck.Float64() < 0.2 {
		return nil
	}
	is := func(group string, terms ...string) bool {
		said := slices.ContainsFunc(t.Terms[group], func(term string) bool { return slices.Contains(terms, term) })
		return said != (luck.Float64() < 0.15)
	}
	var words []string
	for _, f := range []struct {
		word, group string
		terms       []string
	}{
		{"strong", "contact", []string{"middled"}},
		{"clear", "decision", []string{"right", "right-leave"}},
		{"off-balance", "balance", []string{"falling-off", "leaning-back"}},
		{"cramped", "base", []string{"narrow"}},
	} {
		if is(f.group, f.terms...) {
			words = append(words, f.word)
		}
	}
	return words
}
