package main

import (
	"context"
	"fmt"
	"io"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media/scene"
)

// codedSession is the demo's session as it is once it has been split and
// coded, without its film: balls, blocks, codes, rules and the player's word.
func codedSession(t *testing.T, app *App) (*demo, int64, demoFilm) {
	t.Helper()
	ctx := t.Context()
	show, err := scene.New(scene.WinterSession(demoSeed))
	require.NoError(t, err)
	film := demoFilm{truth: show.Truth()}
	d := &demo{app: app, out: io.Discard, sum: demoSummary{Seconds: map[string]float64{}}}
	require.NoError(t, d.people(ctx, film))
	var players []int64
	for _, name := range film.batters() {
		players = append(players, d.cast.players[name])
	}
	var made struct {
		ID int64 `json:"id"`
	}
	require.NoError(t, d.analyst.post(ctx, "/api/sessions", map[string]any{
		"title": demoTitle, "held_on": "2026-01-31", "place": demoPlace, "players": players,
	}, &made))
	require.NoError(t, d.analyst.post(ctx, fmt.Sprintf("/api/sessions/%d/lane-edits", made.ID),
		map[string]any{"balls": demoLane{}.checkAgainst(film)}, nil))
	require.NoError(t, d.blocks(ctx, made.ID, film))
	require.NoError(t, d.code(ctx, made.ID, film))
	require.NoError(t, d.lookback(ctx, made.ID, film))
	return d, made.ID, film
}

// balls counts the coded balls of the truth that fit, without any of the
// program's help.
func (f demoFilm) count(fits func(t map[string][]string, block string) bool) int {
	n := 0
	for _, b := range f.truth.Balls[:len(f.truth.Balls)-demoLeft] {
		if fits(b.Terms, f.truth.Blocks[b.Block].Name) {
			n++
		}
	}
	return n
}

func is(t map[string][]string, group, term string) bool {
	return len(t[group]) == 1 && t[group][0] == term
}

// TestLookBackInTheBrowser holds the figures of the page against those counted
// from the truth, and opens exactly the balls that a number counts.
func TestLookBackInTheBrowser(t *testing.T) {
	app := running(t)
	d, session, film := codedSession(t, app)
	secret, err := app.store.NewLinkFor(t.Context(), d.cast.coach, time.Hour)
	require.NoError(t, err)
	browser := chromium(t)
	coach := person(t, browser, "look-back", app.URL(), 1440, 900)
	coach.open("/join/" + secret)
	coach.click("button", "")
	coach.sees("New session")
	coach.open(fmt.Sprintf("/sessions/%d/look-back", session))
	coach.sees("In control, of balls faced")

	middled := film.count(func(t map[string][]string, _ string) bool { return is(t, "contact", "middled") })
	letGo := film.count(func(t map[string][]string, _ string) bool { return is(t, "contact", "none") })
	coded := film.count(func(map[string][]string, string) bool { return true })
	require.Positive(t, middled)
	numbers := func(rate string) []string {
		return strings.Split(eval[string](coach, fmt.Sprintf(`[...document.querySelectorAll('[data-rate=%q] .tally')].map(e => e.innerText).join(' ')`, rate)), " ")
	}
	assert.Equal(t, []string{fmt.Sprint(middled + letGo), fmt.Sprint(coded)}, numbers("control-faced")[:2])
	assert.Equal(t, []string{fmt.Sprint(middled), fmt.Sprint(coded - letGo)}, numbers("control-played")[:2])
	inBlock := film.count(func(t map[string][]string, block string) bool {
		return is(t, "contact", "middled") && block == "Short ball"
	})
	row := eval[string](coach, `[...document.querySelectorAll('[data-block]')].find(r => r.innerText.includes('Short ball')).innerText`)
	assert.Contains(t, row, fmt.Sprintf("%d of", inBlock))

	// One click opens the balls counted, and no others.
	sound := film.count(func(t map[string][]string, _ string) bool {
		return is(t, "base", "sound") && is(t, "contact", "mistimed")
	})
	require.Positive(t, sound)
	coach.until(`(() => {
		const a = [...document.querySelectorAll('svg a')].find(a => a.getAttribute('aria-label').includes('Sound, Mistimed'));
		return a && !a.dispatchEvent(new MouseEvent('click', {bubbles: true, cancelable: true}));
	})()`)
	coach.until(`location.pathname == '/find'`)
	coach.until(fmt.Sprintf(`document.querySelectorAll('[data-card]').length == %d`, sound))
	coach.do(chromedp.NavigateBack())
	coach.sees("In control, of balls faced")

	// One player: the coach's rule judges; the challenge is the other's.
	coach.click("button", film.batters()[0])
	coach.sees("Right decisions, by the rule")
	assert.NotContains(t, coach.says(), "Challenge: Last overs")
	coach.click("button", film.batters()[1])
	coach.sees("Challenge: Last overs")
	assert.Equal(t, 12, eval[int](coach, `document.querySelectorAll('.balls a').length`))
	assert.NotContains(t, coach.says(), "NaN")

	// The table behind a chart has the same links.
	coach.click(".figure button", "As a table")
	coach.sees("As a picture")
	assert.Positive(t, eval[int](coach, `[...document.querySelectorAll('.figure')].find(f => f.innerText.includes('As a picture')).querySelectorAll('table a').length`))
	coach.shot("table")
	coach.quiet()
	comparesTwoSets(t, coach, d.cast.coach, film)
	followsAPlayer(t, coach, d)
	onAPhone(t, browser, app, d, session)
	saysHowItFelt(t, browser, app, d)
}

// comparesTwoSets holds a narrow base against a sound one, as the coach saw them.
func comparesTwoSets(t *testing.T, p *tab, coach int64, film demoFilm) {
	t.Helper()
	p.open("/compare")
	p.sees("Choose two sets")
	p.open(fmt.Sprintf("/compare?left=coder%%3D%d", coach))
	p.click("button", "Narrow against Sound")
	p.until(`document.querySelector('[data-outcome=control-played] .words')?.innerText.includes('Base: Narrow')`)
	p.sees("fed in different ways")
	badly := func(base string) (int, int) {
		with := func(t map[string][]string) bool { return is(t, "base", base) && !is(t, "contact", "none") }
		return film.count(func(t map[string][]string, _ string) bool { return with(t) && is(t, "contact", "middled") }),
			film.count(func(t map[string][]string, _ string) bool { return with(t) })
	}
	words := eval[string](p, `document.querySelector('[data-outcome=control-played] .words').innerText`)
	for _, base := range []string{"narrow", "sound"} {
		hits, of := badly(base)
		assert.Contains(t, words, fmt.Sprintf("%d of %d", hits, of))
	}
	p.shot("compare")
	assert.NotContains(t, p.says(), "NaN")
	p.quiet()
}

func followsAPlayer(t *testing.T, p *tab, d *demo) {
	t.Helper()
	p.open(fmt.Sprintf("/players/%d/progress", d.cast.players[d.cast.first]))
	p.sees("One session: nothing to hold it against yet.")
	p.sees("Front foot, Short ball")
	p.shot("progress")
	assert.NotContains(t, p.says(), "NaN")
	p.quiet()
}

// onAPhone looks that nothing of the pages is wider than a phone.
func onAPhone(t *testing.T, browser context.Context, app *App, d *demo, session int64) {
	t.Helper()
	secret, err := app.store.NewLinkFor(t.Context(), d.cast.coach, time.Hour)
	require.NoError(t, err)
	phone := person(t, browser, "on a phone", app.URL(), 390, 844)
	phone.open("/join/" + secret)
	phone.click("button", "")
	phone.sees("New session")
	for _, page := range []struct{ path, shows string }{
		{fmt.Sprintf("/sessions/%d/look-back", session), "Block by block"},
		{"/compare?left=base%3Dnarrow&right=base%3Dsound", "In control, of shots played"},
		{fmt.Sprintf("/players/%d/progress", d.cast.players[d.cast.first]), "What was done"},
		{fmt.Sprintf("/sessions/%d/code", session), "One holds"},
		{fmt.Sprintf("/sessions/%d", session), "Code the balls"},
		{"/find", "Choose all"},
	} {
		phone.open(page.path)
		phone.sees(page.shows)
		assert.LessOrEqual(t, eval[int](phone, `document.documentElement.scrollWidth`), 390, page.path)
		phone.shot(page.shows)
	}
	phone.quiet()
}

// saysHowItFelt is the player's own word on a ball of a reel, on her phone.
func saysHowItFelt(t *testing.T, browser context.Context, app *App, d *demo) {
	t.Helper()
	var reel struct {
		ID int64 `json:"id"`
	}
	question := "shot=pull&player=" + fmt.Sprint(d.cast.players[d.cast.first])
	require.NoError(t, d.coach.post(t.Context(), "/api/reels",
		demoReel{Title: "Pulls", Question: &question, Players: []int64{d.cast.players[d.cast.first]}}, &reel))
	secret, err := app.store.NewLinkFor(t.Context(), d.cast.player, time.Hour)
	require.NoError(t, err)
	phone := person(t, browser, "felt", app.URL(), 390, 844)
	phone.open("/join/" + secret)
	phone.click("button", "")
	phone.sees("Your reels")
	phone.open(fmt.Sprintf("/watch/%d", reel.ID))
	phone.sees("How did it feel?")
	pressed := `[...document.querySelectorAll('.felt button')].find(b => b.innerText == 'Got away with it')?.getAttribute('aria-pressed')`
	require.Equal(t, "false", eval[string](phone, pressed))
	phone.click(".felt button", "Got away with it")
	said := fmt.Sprintf(`(async () => {
		const list = await (await fetch('/api/reels/%d/playlist')).json();
		const felt = await (await fetch('/api/felt?ball=' + list.items[0].ball.id)).json();
		return felt.said[0]?.words.includes('lucky');
	})()`, reel.ID)
	phone.until(said)
	phone.shot("said")
	phone.open(fmt.Sprintf("/watch/%d", reel.ID))
	phone.until(pressed + ` == 'true'`)
	phone.quiet()
}
