package main

import (
	"fmt"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestTwoBallsSideBySide picks two balls on Find and reads the numbers burned
// into their frames: both show contact at once, step together, go on together,
// and are still together after they have played, beside each other and one over
// the other.
func TestTwoBallsSideBySide(t *testing.T) {
	w := measuring(t)
	coach := w.coach
	type ball struct {
		ID      int64  `json:"id"`
		Contact *int64 `json:"contact_us"`
	}
	var struck []ball
	for _, b := range eval[[]ball](coach, fmt.Sprintf(`fetch('/api/sessions/%d/balls').then(r => r.json())`, w.session)) {
		if b.Contact != nil {
			struck = append(struck, b)
		}
	}
	require.GreaterOrEqual(t, len(struck), 2)
	left, right := struck[0], struck[1]
	w.knee(left.ID, 0.60)
	w.knee(right.ID, 0.51)

	coach.open("/find")
	for _, b := range []ball{left, right} {
		coach.click(".tick", fmt.Sprintf("Choose ball %d", eval[int](coach, fmt.Sprintf(`fetch('/api/balls/%d').then(r => r.json()).then(b => b.number)`, b.ID))))
	}
	coach.click(".keep a", "Side by side")
	coach.until(fmt.Sprintf(`location.pathname + location.search == '/side-by-side?left=%d&right=%d'`, left.ID, right.ID))
	const leftVideo, rightVideo = ".box.left video.front", ".box.right video.front"
	smooth := fmt.Sprintf(`[%q, %q].every(v => document.querySelector(v)?.src.includes('which=smooth'))`, leftVideo, rightVideo)
	coach.until(smooth)

	// The frame on display at a moment: frame k is shown from k / rate on.
	contact := func(b ball) int { return int((*b.Contact + 1) * int64(w.film.truth.Setting.FPS) / 1e6) }
	wantLeft, wantRight := contact(left), contact(right)
	shows := func(after int, what string) {
		t.Helper()
		want, got := [2]int{wantLeft + after, wantRight + after}, [2]int{}
		for deadline := time.Now().Add(browserPatience); got != want && time.Now().Before(deadline); {
			got = [2]int{frameShown(t, coach, leftVideo), frameShown(t, coach, rightVideo)} // a key is on its way through the page
		}
		require.Equal(t, want, got, what)
	}
	shows(0, "contact in both")
	for i := 1; i <= 3; i++ {
		coach.press(kb.ArrowRight)
		shows(i, "one on")
	}
	for i := 2; i >= -4; i-- {
		coach.press(kb.ArrowLeft)
		shows(i, "one back")
	}
	coach.press("o")
	coach.until(`document.querySelector('.pad') && getComputedStyle(document.querySelector('.box.right .picture')).opacity == '0.5'`)
	shows(-4, "one over the other")
	coach.shot("over")
	coach.press("o")
	coach.press(kb.Home)
	shows(0, "contact again")
	coach.shot("beside")

	// Played for a while, each by itself, then stopped: on the same beat again.
	coach.press(" ")
	coach.until(fmt.Sprintf(`[%q, %q].every(v => !document.querySelector(v).paused)`, leftVideo, rightVideo))
	coach.until(`Number(document.querySelector('[role=slider]').ariaValueNow) % 10 == 5`)
	coach.press(" ")
	coach.until(fmt.Sprintf(`[%q, %q].every(v => document.querySelector(v).paused && !document.querySelector(v).seeking)`, leftVideo, rightVideo))
	after := frameShown(t, coach, leftVideo) - wantLeft
	shows(after, "paused together")

	coach.sees("Front knee")
	assert.Regexp(t, `^[+−]\d+ ± \d+°$`, eval[string](coach, `document.querySelector('.measures tbody td:last-child').innerText`))
	assert.Equal(t, 2, eval[int](coach, `document.querySelectorAll('[data-measures]').length`), "over each picture")
	coach.click("button", "Measures over the picture")
	coach.until(`document.querySelectorAll('[data-measures]').length == 0`)
	coach.click("button", "Measures over the picture")

	// Keys move the upper picture.
	coach.press("o")
	coach.until(`document.querySelector('.pad')`)
	coach.do(chromedp.Evaluate[chromedp.Void](`document.querySelector('.pad').focus()`))
	coach.press(kb.ArrowRight)
	coach.press("+")
	coach.until(`document.querySelector('.box.right .picture').style.transform.includes('scale(1.01)')`)
	coach.press("o")

	// One ball, and another is chosen for it.
	coach.open(fmt.Sprintf("/side-by-side?left=%d", left.ID))
	coach.sees("Choose a ball to lay beside ball")
	coach.until(`document.querySelectorAll('[data-card]').length > 1`)
	coach.shot("choose")
	coach.quiet()
	asPhone(coach)
	coach.open(fmt.Sprintf("/side-by-side?left=%d&right=%d", left.ID, right.ID))
	coach.until(smooth)
	shows(0, "on a phone")
	assert.True(t, eval[bool](coach, `document.documentElement.scrollWidth <= innerWidth`), "nothing sticks out")
	coach.shot("phone")
	coach.do(chromedp.Evaluate[chromedp.Void](`document.documentElement.dataset.theme = 'dark'`))
	coach.click("button", "Over")
	coach.until(`document.querySelector('.pad')`)
	coach.shot("phone over")
	coach.do(chromedp.EmulateViewport(1440, 900))
	coach.click("button", "Beside")
	coach.shot("dark")
	coach.quiet()
}

// knee keeps a reading of a front knee, which needs no calibration, as accepted.
func (w *measuredWorld) knee(ball int64, ankle float64) {
	w.coach.t.Helper()
	w.coach.until(fmt.Sprintf(`fetch('/api/readings', {method: 'POST', headers: {'Content-Type': 'application/json'}, body: JSON.stringify({
		uuid: crypto.randomUUID(), ball_id: %d, recording_id: %d, proposed_by: '', status: 'accepted', sights: {contact: {at_us: 1000000, front: '', back: '', proposed: {}, points: {
		'front-hip': {x: 0.5, y: 0.4}, 'front-knee': {x: 0.52, y: 0.5}, 'front-ankle': {x: %v, y: 0.6}}}}})}).then(r => r.ok)`, ball, w.recording, ankle))
}
