package main

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestSecondLookInTheBrowser has a coach draw a sample, code it again without
// seeing what was said, and finds the table held against the truth: the first
// coding is the truth's, and the second says the same thing of every ball. The
// look-back then doubts what did not agree, on its page and on paper.
func TestSecondLookInTheBrowser(t *testing.T) {
	app := running(t)
	d, session, film := codedSession(t, app)
	secret, err := app.store.NewLinkFor(t.Context(), d.cast.coach, time.Hour)
	require.NoError(t, err)
	coach := person(t, chromium(t), "second look", app.URL(), 1440, 900)
	coach.open("/join/" + secret)
	coach.click("button", "")
	coach.sees("New session")

	coach.open(fmt.Sprintf("/sessions/%d", session))
	coach.click("button", "More for this session")
	coach.click("[role=menuitem]", "Do we see the same thing?")
	coach.sees("Nobody has looked twice yet")
	coach.click("button", "Draw a sample")
	coach.sees("Whose coding")
	coach.until(`(() => {
		const boxes = [...document.querySelectorAll('dialog fieldset label')];
		for (const l of boxes) if (l.control.checked != ['Base', 'Contact'].includes(l.innerText.trim())) l.control.click();
		return boxes.length > 2;
	})()`)
	coach.fill("Balls", "12")
	coach.click("dialog button[type=submit]", "Draw")
	coach.click("main a", "Begin")
	coach.sees("Ball 1 of 12")
	const balls = 12
	for ball := 1; ball <= balls; ball++ {
		coach.sees(fmt.Sprintf("Ball %d of %d", ball, balls))
		pressed := eval[int](coach, `document.querySelectorAll('.terms [aria-pressed=true]').length`)
		assert.Zero(t, pressed, "nothing is said of the ball yet")
		coach.press("1") // narrow
		coach.until(`document.querySelector('.terms h2').innerText.startsWith('Contact')`)
		coach.press("1") // middled
		coach.until(`document.querySelector('.terms [aria-pressed=true]')?.innerText.includes('Middled')`)
		if ball < balls {
			coach.press("]")
		}
	}
	coach.sees("12 of 12 looked at")
	coach.shot("blind")
	coach.click("button", "Finish")
	coach.click("dialog button", "Finish")
	coach.sees("Trust a term from")
	coach.shot("agreement")

	numbers := eval[[]int](coach, `fetch('/api' + location.pathname.replace('/agreement', '')).then(r => r.json()).then(k => k.balls.map(b => b.ball.number))`)
	require.Len(t, numbers, balls)
	sound, middled := 0, 0
	for _, n := range numbers {
		terms := film.truth.Balls[n-1].Terms
		if is(terms, "base", "sound") {
			sound++
		}
		if is(terms, "contact", "middled") {
			middled++
		}
	}
	require.Positive(t, sound)
	cell := func(group, row, column string) string {
		return eval[string](coach, fmt.Sprintf(`(() => {
			const s = [...document.querySelectorAll('section')].find(s => s.querySelector('h2').innerText == %q);
			const at = [...s.querySelectorAll('.cross thead th')].findIndex(h => h.innerText == %q);
			const r = [...s.querySelectorAll('.cross tbody tr')].find(r => r.querySelector('th').innerText == %q);
			return r.querySelectorAll('td')[at].innerText;
		})()`, group, column, row))
	}
	assert.Equal(t, fmt.Sprint(sound), cell("Base", "Sound", "Narrow"))
	assert.Equal(t, "0", cell("Base", "Sound", "Sound"))
	assert.Equal(t, fmt.Sprint(middled), cell("Contact", "Middled", "Middled"))
	assert.NotContains(t, coach.says(), "NaN")
	coach.quiet()

	// The clips of a cell are one click away.
	coach.click(".cross td a", fmt.Sprintf("%d balls: Sound the first time, Narrow the second", sound))
	coach.until(`location.pathname == '/find'`)
	coach.until(fmt.Sprintf(`document.querySelectorAll('[data-card]').length == %d`, sound))

	coach.open(fmt.Sprintf("/sessions/%d/look-back", session))
	coach.sees("Not to be trusted: in second looks, coders did not see the same. Base: Narrow, Sound")
	assert.Equal(t, "%PDF-", eval[string](coach, fmt.Sprintf(`fetch('/api/sessions/%d/report.pdf').then(r => r.text()).then(s => s.slice(0, 5))`, session)))
	coach.quiet()
}
