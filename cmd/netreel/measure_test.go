package main

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media/scene"
)

// measured is a session whose footage is split, with one player, and a coach's
// page.
type measuredWorld struct {
	coach     *tab
	film      demoFilm
	session   int64
	recording int64
	ball      int64 // a struck one
	truth     scene.TruthBall
}

func measuring(t testing.TB) *measuredWorld {
	app := running(t)
	secret, err := app.unclaimedLink(t.Context())
	require.NoError(t, err)
	return measuringOn(t, app.URL(), secret)
}

// measuringOn is the same on a server that runs already and has not been
// claimed.
func measuringOn(t testing.TB, base, secret string) *measuredWorld {
	film := rendered(t, shortScene())
	w := broughtIn(t, base, secret, film.path)
	w.film = film
	w.struck(t)
	return w
}

// broughtIn is a session with a film, which is split, on a server that has not
// been claimed.
func broughtIn(t testing.TB, base, secret, film string) *measuredWorld {
	w := &measuredWorld{coach: person(t, chromium(t), "coach", base, 1440, 900)}
	w.coach.open("/join/" + secret)
	w.coach.fill("Your name", "Wren Oldacre")
	w.coach.fill("The squad’s name", "Tarnbeck Women")
	w.coach.enter()
	w.coach.sees("New session")
	w.session = eval[int64](w.coach, `(async () => {
		const post = async (path, body) => (await fetch(path, {method: 'POST', headers: {'Content-Type': 'application/json'}, body: JSON.stringify(body)})).json();
		const player = await post('/api/players', {name: 'Suri Tolland', bats: 'right', height_cm: 168});
		await fetch('/api/players/' + player.id + '/yardsticks', {method: 'PUT', headers: {'Content-Type': 'application/json'},
			body: JSON.stringify({narrow_below_cm: 40, wide_from_cm: 100})});
		return (await post('/api/sessions', {title: 'Base', held_on: '2026-01-31', focus: ['base'], players: [player.id]})).id;
	})()`)
	w.coach.open(fmt.Sprintf("/sessions/%d", w.session))
	w.coach.sees("Bring in the footage")
	w.coach.do(chromedp.SetUploadFiles(chromedp.CSS("input[type=file]"), []string{film}))
	w.coach.click("button", "Upload")
	w.coach.until(fmt.Sprintf(`fetch('/api/sessions/%d/lane').then(r => r.json()).then(l => l.recordings.some(r => r.state == "ready"))`, w.session))
	w.recording = eval[int64](w.coach, fmt.Sprintf(`fetch('/api/sessions/%d/lane').then(r => r.json()).then(l => l.recordings[0].id)`, w.session))
	return w
}

// struck finds a ball of the split that the film's truth knows to be struck.
func (w *measuredWorld) struck(t testing.TB) {
	t.Helper()
	type ball struct {
		ID      int64  `json:"id"`
		Contact *int64 `json:"contact_us"`
	}
	for _, b := range eval[[]ball](w.coach, fmt.Sprintf(`fetch('/api/sessions/%d/balls').then(r => r.json())`, w.session)) {
		for _, truth := range w.film.truth.Balls {
			if b.Contact != nil && truth.Contact != nil && math.Abs(float64(*b.Contact)/1e6-*truth.Contact) < 0.2 {
				w.ball, w.truth = b.ID, truth
				return
			}
		}
	}
	require.Fail(t, "no struck ball was found")
}

// clickOn presses the still where a place of the lane is seen, in metres.
func (w *measuredWorld) clickOn(x, y, z float64) {
	w.coach.t.Helper()
	p := w.film.seenAt(x, y, z)
	w.clickAt(p.X, p.Y)
}

// clickAt presses a place of the still, in shares of it.
func (w *measuredWorld) clickAt(x, y float64) {
	w.coach.t.Helper()
	at := eval[[]float64](w.coach, fmt.Sprintf(`(() => {
		const b = document.querySelector('.pad').getBoundingClientRect();
		return [b.left + b.width * %v, b.top + b.height * %v];
	})()`, x, y))
	w.coach.do(chromedp.MouseClickXY(at[0], at[1]))
}

// place drags a point to a place of the lane, wherever it lies or if it is not
// there yet: the one in hand is put where the still is pressed.
func (w *measuredWorld) place(name string, x, y, z float64) {
	w.coach.t.Helper()
	w.coach.until(fmt.Sprintf(`document.querySelector('.measure .now strong')?.innerText == %q`, name))
	w.clickOn(x, y, z)
}

// badMarks clicks marks that can't be used: the page says why, offers no saving,
// and nothing is kept. All is undone at the end.
func (w *measuredWorld) badMarks(gap, pop float64) {
	coach := w.coach
	coach.t.Helper()
	click := func(at ...[2]float64) {
		for i, p := range at {
			w.clickOn(p[0], p[1], 0)
			coach.until(fmt.Sprintf(`document.querySelectorAll('.pad .dot').length == %d`, i+1))
		}
	}
	bowlingLeg, bowlingOff, poppingLeg, poppingOff := [2]float64{0, -gap}, [2]float64{0, gap}, [2]float64{pop, -gap}, [2]float64{pop, gap}
	for _, bad := range []struct {
		says  string
		marks [][2]float64
	}{
		{"Click 1 more", [][2]float64{bowlingLeg, bowlingOff, poppingLeg}},
		{"look swapped", [][2]float64{bowlingOff, bowlingLeg, poppingLeg, poppingOff}},
		{"on one line", [][2]float64{bowlingLeg, bowlingOff, poppingLeg, {0, gap / 2}}},
	} {
		click(bad.marks...)
		coach.sees(bad.says)
		assert.True(coach.t, eval[bool](coach, `document.querySelector('.result button').disabled`), bad.says)
		for left := range slices.Backward(bad.marks) {
			coach.press("\b")
			coach.until(fmt.Sprintf(`document.querySelectorAll('.pad .dot').length == %d`, left))
		}
	}
	assert.True(coach.t, eval[bool](coach, fmt.Sprintf(`fetch('/api/recordings/%d/calibration').then(r => r.json()).then(s => s.calibration === null)`, w.recording)), "nothing is kept")
}

// badHeels puts the back heel where no ground is, and says that the foot is in
// the air: the page says why nothing follows, and nothing is kept. Undone at the
// end.
func (w *measuredWorld) badHeels(front float64) {
	coach := w.coach
	coach.t.Helper()
	w.place("Front heel", front, 0, 0)
	coach.until(`document.querySelector('.measure .now strong')?.innerText == 'Back heel'`)
	w.clickAt(0.6, 0.02)
	coach.until(`document.querySelector('.measure .refused')?.innerText.includes('horizon')`)
	coach.enter()
	coach.sees("Nothing could be measured")
	coach.do(chromedp.Evaluate[chromedp.Void](`(() => {
		const s = document.querySelectorAll('.measure select')[1];
		s.value = 'up';
		s.dispatchEvent(new Event('change', {bubbles: true}));
	})()`))
	coach.until(`document.querySelector('.measure .refused')?.innerText.includes('off the ground')`)
	coach.do(chromedp.Evaluate[chromedp.Void](`(() => {
		const s = document.querySelectorAll('.measure select')[1];
		s.value = '';
		s.dispatchEvent(new Event('change', {bubbles: true}));
	})()`))
	assert.Zero(coach.t, eval[int](coach, fmt.Sprintf(`fetch('/api/balls/%d/readings').then(r => r.json()).then(l => l.length)`, w.ball)), "nothing is kept")
	coach.press("\b")
	coach.press("\b")
	coach.until(`document.querySelectorAll('.layer .pad .dot').length == 0`)
}

// TestMeasuring is the way from clicks to centimetres to a question: a camera
// is calibrated on the film's own creases, a ball is measured with two clicks
// and one key, its word follows from the coach's limits, and it is found by its
// range. The clicks are to whole pixels of the screen, which are coarser than
// the film's.
func TestMeasuring(t *testing.T) {
	w := measuring(t)
	coach, law := w.coach, w.film.truth.Laws
	coach.open(fmt.Sprintf("/recordings/%d/calibrate", w.recording))
	coach.sees("Click: Bowling crease, leg side")
	coach.until(`document.querySelector('.pad canvas').width == 1280`)
	gap, pop := law.ReturnHalfGap, law.PoppingFromBowling
	w.badMarks(gap, pop)
	coach.refused()
	for i, at := range [][2]float64{{0, -gap}, {0, gap}, {pop, -gap}, {pop, gap}} {
		w.clickOn(at[0], at[1], 0)
		coach.until(fmt.Sprintf(`document.querySelectorAll('.pad .dot').length == %d`, i+1))
	}
	w.clickOn(0, 0, 0) // the middle stump's foot, held out as a check
	coach.sees("Held out as a check")
	off := eval[float64](coach, `(async () => Number(document.querySelector('.result strong').innerText.split(' ')[0]))()`)
	assert.Less(t, off, 3.0, "centimetres")
	coach.shot("calibrate")

	coach.click("button", "Save the calibration")
	coach.sees("The camera is calibrated")

	// Two clicks, Enter for the values, Enter for the word.
	coach.open(fmt.Sprintf("/sessions/%d/code/%d", w.session, w.ball))
	coach.until(`document.querySelector('video.front')?.videoWidth > 0`)
	coach.press("m")
	coach.until(`document.querySelector('.layer .pad canvas')?.width > 300`)
	base := w.truth.Body.Base
	front := pop + w.truth.Body.CreaseDepth
	w.badHeels(front)
	coach.refused()
	w.place("Front heel", front, 0, 0)
	w.place("Back heel", front-base, 0, 0)
	coach.until(`document.querySelector('.measure dl')?.innerText.includes('Base')`)
	coach.shot("measure")
	coach.enter()
	readings := fmt.Sprintf(`fetch('/api/balls/%d/readings').then(r => r.json())`, w.ball)
	coach.until(readings + `.then(l => l.length == 1 && l[0].status == 'accepted')`)
	type value struct {
		Measure      string
		Value, Sigma float64
	}
	values := eval[[]value](coach, readings+`.then(l => l[0].values)`)
	require.NotEmpty(t, values)
	assert.Equal(t, "base-width", values[0].Measure)
	assert.InDelta(t, 100*base, values[0].Value, max(3, 3*values[0].Sigma))
	coach.sees("Base: Sound")
	coach.enter()
	coach.until(fmt.Sprintf(`fetch('/api/balls/%d').then(r => r.json()).then(b => b.seen.some(o => o.group == 'base' && o.term == 'sound'))`, w.ball))

	// Found by its range, and not by another.
	coach.open(fmt.Sprintf("/find?measured.base-width=%.0f..%.0f", 100*base-8, 100*base+8))
	coach.until(`document.querySelectorAll('[data-card]').length == 1`)
	coach.shot("find by range")
	coach.open(fmt.Sprintf("/find?measured.base-width=..%.0f", 100*base-12))
	coach.sees("No ball fits")
	coach.quiet() // before what is refused, which browsers note

	// A refusal says why; undo brings the good clicks back.
	coach.open(fmt.Sprintf("/recordings/%d/calibrate", w.recording))
	coach.sees("Held out as a check")
	coach.click(".points button", "Popping crease, off side")
	w.clickOn(0, gap/2, 0)
	coach.sees("These clicks can’t be used")
	coach.press("\b")
	coach.sees("Held out as a check")
}
