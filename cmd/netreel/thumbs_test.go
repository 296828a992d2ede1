package main

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// small lists what can be pressed on a page but is less than 44 CSS pixels high
// or wide: the target size of WCAG 2.1, success criterion 2.5.5, which excepts
// links in a line of text.
const small = `(() => {
	const least = 43.5, room = e => e.getBoundingClientRect();
	return [...document.querySelectorAll('button, select, input, textarea, summary, a[href]:not([href^="#"])')].filter(e => e.checkVisibility())
		.map(e => e.matches('input[type=checkbox], input[type=radio]') ? e.closest('label') ?? e : e)
		.filter(e => !(e.matches('a') && getComputedStyle(e).display == 'inline'))
		.filter(e => room(e).height < least || room(e).width < least)
		.map(e => e.tagName + ' ' + (e.getAttribute('aria-label') ?? e.innerText ?? '').slice(0, 40) + ' ' + Math.round(room(e).width) + ' x ' + Math.round(room(e).height)) })()`

// wide says by how much a page is wider than its window.
const wide = `Math.max(0, document.documentElement.scrollWidth - innerWidth)`

// pale lists texts of the page at the net whose contrast is less than 7 to 1:
// WCAG 2.1, success criterion 1.4.6 (relative luminance and ratio as defined
// there).
const pale = `(() => {
	const paint = document.createElement('canvas').getContext('2d', {willReadFrequently: true})
	const rgb = colour => { paint.clearRect(0, 0, 1, 1); paint.fillStyle = colour; paint.fillRect(0, 0, 1, 1); return [...paint.getImageData(0, 0, 1, 1).data] }
	const light = c => { const [r, g, b] = c.slice(0, 3).map(v => (v /= 255) <= 0.03928 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4); return 0.2126 * r + 0.7152 * g + 0.0722 * b }
	const behind = e => { for (; e; e = e.parentElement) { const c = rgb(getComputedStyle(e).backgroundColor); if (c[3] > 250) return c } return [255, 255, 255, 255] }
	return [...document.querySelectorAll('.net *')].filter(e => e.checkVisibility() && !e.closest(':disabled') && [...e.childNodes].some(n => n.nodeType == 3 && n.data.trim()))
		.map(e => { const [a, b] = [light(rgb(getComputedStyle(e).color)), light(behind(e))].sort((x, y) => y - x); return [e, (a + 0.05) / (b + 0.05)] })
		.filter(([, ratio]) => ratio < 7).map(([e, ratio]) => e.tagName + ' ' + e.innerText.slice(0, 40) + ' ' + ratio.toFixed(1)) })()`

// TestThumbs looks at the pages that a phone is held for, at 390 pixels and in
// light and dark: nothing is too small for a thumb or runs off the screen, the
// page at the net can be read in the sun, shakes the phone, keeps its screen on
// and is still when nobody looks; and the way from a plan to the print dialog
// is a handful of presses.
func TestThumbs(t *testing.T) {
	app := running(t)
	coach, _ := signedIn(t, app)
	coach.until(`fetch('/api/plans', {method: 'POST', headers: {'Content-Type': 'application/json'}, body: JSON.stringify({title: 'Tuesday', player_id: 1, minutes: 20, helmets: true, blocks: [
		{name: 'Drives', feed: 'throw-down', feeder: 'Wren Oldacre', speed_kph: 90, pace_s: 20, order: 'serial', types: [{name: 'Full', length: 'full', balls: 3}, {name: 'Good', length: 'good', balls: 3}, {name: 'Short', length: 'short', line: 'off-stump', balls: 3}]}]})}).then(r => r.ok)`)

	// From the plan page: a new plan, what to work on, its blocks, the card, print.
	coach.open("/plans")
	eval[bool](coach, `(() => { globalThis.presses = 0; addEventListener('click', e => e.isTrusted || presses++, true); addEventListener('change', e => e.target.matches('select') && presses++, true);
		globalThis.print = () => { globalThis.printed = true }; return true })()`)
	coach.click("button", "New plan")
	choose(coach, "Add what to work on", "shot=drive")
	coach.click("button", "Make the blocks of it")
	coach.sees("Changes type after")
	coach.sees("Saved")
	coach.click("a", "Feeder’s card")
	coach.click("button", "Print")
	coach.until(`printed`)
	assert.LessOrEqual(t, eval[int](coach, `presses`), 5, "a handful")

	eval[bool](coach, `fetch('/api/sessions', {method: 'POST', headers: {'Content-Type': 'application/json'}, body: JSON.stringify({title: 'Nets', held_on: '2026-02-07', focus: ['shot'], players: [1]})}).then(r => r.json())
		.then(s => fetch('/api/sessions/' + s.id + '/lane-edits', {method: 'POST', headers: {'Content-Type': 'application/json'}, body: JSON.stringify({balls: [{start_us: 0, end_us: 4000000, state: 'accepted'}]})})).then(r => r.ok)`)
	pages := []struct{ name, path, sees string }{
		{"plan", "/plans/1", "Make the blocks of it"}, {"card", "/plans/1/card", "1 of 9"},
		{"net", "/net?plan=1", "Start"}, {"load", "/load", "1 ball"},
	}
	for _, theme := range []string{"light", "dark"} {
		coach.until(fmt.Sprintf(`(localStorage.setItem('netreel.theme', %q), true)`, theme))
		for _, p := range pages {
			coach.open(p.path)
			coach.sees(p.sees)
			coach.shot("1280 " + theme + " " + p.name)
			assert.Zero(t, eval[int](coach, wide), p.name)
		}
	}
	assert.Equal(t, "2026-02-07", eval[string](coach, `fetch('/api/load').then(r => r.json()).then(l => l.to)`), "it opens on the latest four weeks with a ball")

	asPhone(coach)
	for _, theme := range []string{"light", "dark"} {
		coach.until(fmt.Sprintf(`(localStorage.setItem('netreel.theme', %q), true)`, theme))
		for _, p := range pages {
			coach.open(p.path)
			coach.sees(p.sees)
			coach.shot("390 " + theme + " " + p.name)
			assert.Empty(t, eval[[]string](coach, small), "too small on the %s page", p.name)
			assert.Zero(t, eval[int](coach, wide), "the %s page runs off the screen", p.name)
		}
		assert.Empty(t, eval[[]string](coach, pale), "too pale at the net: %s", theme)
	}

	coach.open("/net?plan=1")
	eval[bool](coach, `(() => { globalThis.shaken = []; navigator.vibrate = v => shaken.push(v); globalThis.locks = 0; const ask = navigator.wakeLock.request.bind(navigator.wakeLock);
		navigator.wakeLock.request = k => (locks++, ask(k)); return true })()`)
	coach.click("button.start", "Start")
	coach.sees("All sent")
	coach.until(`locks > 0`)
	coach.click(".blocks button", "1. Drives")
	for _, press := range []string{"button.ball", "button.look", "button.good"} {
		before := eval[int](coach, `shaken.length`)
		coach.click(press, "")
		require.Greater(t, eval[int](coach, `shaken.length`), before, press)
		assert.GreaterOrEqual(t, eval[float64](coach, fmt.Sprintf(`Math.min(document.querySelector(%q).offsetHeight, document.querySelector(%q).offsetWidth)`, press, press)), 120.0, "far larger than a thumb: %s", press)
	}
	coach.sees("All sent")
	for _, theme := range []string{"light", "dark"} {
		coach.until(fmt.Sprintf(`(document.documentElement.dataset.theme = %q, true)`, theme))
		for _, open := range []string{"Player’s word", "More"} {
			coach.click(".terms button", open)
			coach.until(`document.querySelector('dialog[open]')`)
			assert.Empty(t, eval[[]string](coach, pale), "%s, %s", open, theme)
			assert.Empty(t, eval[[]string](coach, small), "%s, %s", open, theme)
			coach.click("dialog button", "Close")
		}
		coach.shot("390 " + theme + " session")
	}

	// Out of sight: no clock ticks, no line to the server is open, nothing is asked.
	calls := `(() => { globalThis.asked = 0; const f = fetch; globalThis.fetch = (...a) => (asked++, f(...a)); globalThis.opened = 0; const E = EventSource; globalThis.EventSource = class extends E { constructor(u) { super(u); opened++ } };
		globalThis.ticks = 0; const i = setInterval; globalThis.setInterval = (...a) => (ticks++, i(...a)); return true })()`
	eval[bool](coach, calls)
	hide := func(state string) {
		eval[bool](coach, fmt.Sprintf(`(() => { Object.defineProperty(document, 'visibilityState', {value: %q, configurable: true}); document.dispatchEvent(new Event('visibilitychange')); return true })()`, state))
	}
	at := eval[string](coach, `document.querySelector('.time').innerText`)
	hide("hidden")
	assert.Equal(t, []int{0, 0, 0}, eval[[]int](coach, `[asked, opened, ticks]`))
	hide("visible")
	coach.until(`opened == 1 && ticks == 1`)
	coach.until(fmt.Sprintf(`document.querySelector('.time').innerText != %q`, at))
	coach.quiet()
}
