package main

import (
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// calibrated has the camera of the film calibrated on its own creases, with the
// batter's box.
func (w *measuredWorld) calibrated() {
	w.coach.t.Helper()
	law := w.film.truth.Laws
	marks := map[string]demoPoint{}
	for key, at := range map[string][3]float64{
		"bowling-leg": {0, -law.ReturnHalfGap}, "bowling-off": {0, law.ReturnHalfGap},
		"popping-leg": {law.PoppingFromBowling, -law.ReturnHalfGap}, "popping-off": {law.PoppingFromBowling, law.ReturnHalfGap},
		"middle-top": {0, 0, law.StumpHeight},
	} {
		marks[key] = w.film.seenAt(at[0], at[1], at[2])
	}
	w.calibrate(marks, `{x: 0.22, y: 0.25, width: 0.4, height: 0.65}`)
}

// calibrate says where marks are seen in the film's picture, and where the
// batter stands.
func (w *measuredWorld) calibrate(marks map[string]demoPoint, box string) {
	w.coach.t.Helper()
	var clicks []string
	for key, p := range marks {
		clicks = append(clicks, fmt.Sprintf(`{mark: %q, x: %v, y: %v}`, key, p.X, p.Y))
	}
	status := eval[int](w.coach, fmt.Sprintf(`fetch('/api/recordings/%d/calibration', {method: 'PUT', headers: {'Content-Type': 'application/json'},
		body: JSON.stringify({at_us: 0, clicks: [%s], box: %s})}).then(r => r.status)`, w.recording, strings.Join(clicks, ", "), box))
	require.Equal(w.coach.t, 200, status)
}

// TestMeasuringAllSurvives has every struck ball measured, and gets in the way
// of it: it is paused, the page is left, closed and opened anew, and the server
// is killed while a ball is looked at. Nothing is lost and nothing is there
// twice; then what waits is looked over.
func TestMeasuringAllSurvives(t *testing.T) {
	p := newProcess(t)
	p.start("serve")
	base := p.hears("netreel is at")
	w := measuringOn(t, base, secretOf(p.hears("First coach")))
	coach := w.coach
	w.calibrated()
	struck := eval[int](coach, fmt.Sprintf(`fetch('/api/sessions/%d/balls').then(r => r.json()).then(l => l.filter(b => b.contact_us !== null).length)`, w.session))
	require.GreaterOrEqual(t, struck, 4, "balls to measure")

	// "Measuring: 2 of 6 balls" is said of the run at hand.
	const done = `Number(document.querySelector('.run')?.innerText.match(/: (\d+) of/)?.[1] ?? 0)`
	coach.open(fmt.Sprintf("/sessions/%d/measures", w.session))
	coach.click("button", "Measure all struck balls")
	coach.until(done + " >= 1")
	coach.click("button", "Pause")
	coach.sees("Paused")
	coach.shot("measure all paused")
	coach.click("a", "Base") // to the session, and back: what was paused waits
	coach.until(fmt.Sprintf(`location.pathname == '/sessions/%d'`, w.session))
	coach.do(chromedp.NavigateBack())
	coach.sees("Paused")
	coach.click("button", "Go on")
	coach.until(done + " >= 2")
	assert.Contains(t, coach.says(), "s a ball", "how long it takes is said")

	coach.open(fmt.Sprintf("/sessions/%d/measures", w.session)) // the page is loaded anew, in the middle of a ball
	coach.click("button", "struck ball")
	coach.until(`document.querySelector('.run')?.innerText.includes('Measuring:')`)
	p.addr = strings.TrimPrefix(base, "http://")
	p.kill()
	coach.sees("can’t be reached")
	p.start("serve")
	require.Equal(t, base, p.hears("netreel is at"))
	coach.sees("Done:")
	coach.shot("measure all done")

	db := p.database()
	count := func(sql string) (n int) {
		require.NoError(t, db.QueryRow(t.Context(), sql).Scan(&n))
		return n
	}
	readings := count(`SELECT count(*) FROM reading`)
	missed := eval[int](coach, `(async () => Number(document.querySelector('.run').innerText.match(/nobody made out on (\d+)/)?.[1] ?? 0))()`)
	assert.Equal(t, struck, readings+missed, "each struck ball has a reading, or nobody was made out on it")
	assert.Equal(t, readings, count(`SELECT count(DISTINCT delivery_id) FROM reading WHERE holds AND status = 'proposed'`), "none twice")

	// What is doubted comes first, and is left when the others are accepted at once.
	coach.until(fmt.Sprintf(`document.querySelectorAll('[data-card]').length == %d`, readings))
	doubted := eval[[]bool](coach, `(async () => [...document.querySelectorAll('[data-card]')].map(c => c.querySelector('.doubt') !== null))()`)
	for i := 1; i < len(doubted); i++ {
		assert.False(t, doubted[i] && !doubted[i-1], "card %d is doubted, and the one before is not", i+1)
	}
	plain := 0
	for _, d := range doubted {
		if !d {
			plain++
		}
	}
	if plain > 0 {
		coach.click("button", fmt.Sprintf("Accept the %d without a doubt", plain))
		coach.until(fmt.Sprintf(`document.querySelectorAll('[data-card]').length == %d`, readings-plain))
	}
	assert.Equal(t, plain, count(`SELECT count(*) FROM reading WHERE holds AND status = 'accepted'`))
	assert.Equal(t, readings-plain, count(`SELECT count(*) FROM reading WHERE holds AND status = 'proposed'`))
}
