package main

import (
	"context"
	"fmt"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// signedIn is the first coach of a running program, with one player.
func signedIn(t *testing.T, app *App) (coach *tab, secret string) {
	t.Helper()
	secret, err := app.unclaimedLink(t.Context())
	require.NoError(t, err)
	coach = person(t, chromium(t), "coach", app.URL(), 1440, 900)
	coach.open("/join/" + secret)
	coach.fill("Your name", "Wren Oldacre")
	coach.fill("The squad’s name", "Tarnbeck Women")
	coach.enter()
	coach.sees("New session")
	coach.until(`fetch('/api/players', {method: 'POST', headers: {'Content-Type': 'application/json'}, body: JSON.stringify({name: 'Suri Tolland', bats: 'right'})}).then(r => r.ok)`)
	return coach, secret
}

// TestPlanToCard is the way from nothing to a printed card: what to work on,
// the blocks that are made of it, the tick for helmets, the card on a phone
// and on paper, and the session that it becomes.
func TestPlanToCard(t *testing.T) {
	app := running(t)
	coach, _ := signedIn(t, app)
	coach.open("/plans")
	coach.click("button", "New plan")
	coach.sees("Make the blocks of it")
	id := eval[string](coach, `location.pathname.split('/')[2]`)
	saved := func(what string) string {
		return fmt.Sprintf(`fetch('/api/plans/%s').then(r => r.json()).then(p => %s)`, id, what)
	}
	choose(coach, "Add what to work on", "shot=pull")
	choose(coach, "Batter", "1")
	coach.click("button", "Make the blocks of it")
	coach.until(saved(`p.player_id == 1 && p.work_on[0] == 'shot=pull' && p.blocks.length == 2 && p.blocks[1].types[0].length == 'short'`))
	coach.until(saved(`p.facts[1].longest <= 2 && p.seconds <= p.minutes * 60 && p.blocks[1].sequence.length == p.blocks[1].types.reduce((n, t) => n + t.balls, 0)`))
	coach.sees("Changes type after")
	coach.shot("plan")

	coach.quiet() // before what is refused below, which browsers note

	// A wish that nothing fulfils is refused with what could be had, and nothing on the page is lost.
	coach.do(chromedp.SendKeys(chromedp.CSS(`section[aria-label^="Block 2"] input[aria-label="Balls of Short"]`), "\b\b\b40\t"))
	coach.sees("no more than 2 alike in a row. Instead, allow")
	assert.Equal(t, "40", eval[string](coach, `document.querySelector('section[aria-label^="Block 2"] input[aria-label="Balls of Short"]').value`))
	coach.shot("refused")
	coach.do(chromedp.SendKeys(chromedp.CSS(`section[aria-label^="Block 2"] input[aria-label="Balls of Short"]`), "\b\b\b12\t"))
	coach.until(saved(`p.blocks[1].types[0].balls == 12`))
	coach.sees("Saved")

	// Short balls: no card without the tick.
	coach.open("/plans/" + id + "/card")
	coach.sees("A coach ticks on the plan that helmets are worn")
	coach.click("a", "To the plan")
	coach.click("label.tick", "Helmets")
	coach.until(saved(`p.helmets`))
	coach.sees("Saved")
	coach.open("/plans/" + id + "/card")
	coach.sees("1 of 1")
	coach.do(onMedia("print"))
	coach.until(`document.querySelector('.paper').checkVisibility() && !document.querySelector('.screen').checkVisibility()`)
	assert.Equal(t, eval[int](coach, saved(`p.balls`)), eval[int](coach, `document.querySelectorAll('.paper li').length`), "every ball is on the paper")
	coach.shot("paper")
	coach.do(onMedia("screen"))

	phone := coach
	asPhone(phone)
	phone.open("/plans/" + id + "/card")
	phone.click("button", "2. Mixed")
	first := eval[string](phone, saved(`p.blocks[1].types[p.blocks[1].sequence[0]].name`))
	phone.until(fmt.Sprintf(`document.querySelector('.what').innerText == %q`, first))
	phone.shot("phone card")
	phone.open("/plans/" + id)
	phone.sees("Make the blocks of it")
	phone.shot("phone plan")
	phone.open("/plans")
	phone.click("a", "Load")
	phone.sees("Your limits")
	phone.shot("phone load")
	phone.open("/plans/" + id + "/card")
	phone.click("button", "2. Mixed")
	phone.click("button.ball", "")
	phone.sees("2 of")
	phone.open("/plans/" + id + "/card")
	phone.click("button", "2. Mixed")
	phone.sees("2 of")

	coach.open("/plans/" + id)
	coach.click("button", "Make a session")
	coach.click("[type=submit]", "Make the session")
	coach.until(`location.pathname.startsWith('/sessions/')`)
	coach.until(saved(`p.session_id > 0`))
}

// onMedia shows the page as it is printed, or on a screen.
func onMedia(media string) chromedp.Action[chromedp.Void] {
	return chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		_, err := cdp.Call(ctx, target, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: media})
		return err
	})
}

// choose picks an option of the select with a label.
func choose(p *tab, label, value string) {
	p.t.Helper()
	p.until(fmt.Sprintf(`(() => {
		const s = [...document.querySelectorAll('select')].find(s => (s.getAttribute('aria-label') ?? s.labels?.[0]?.innerText ?? '').includes(%q));
		if (!s || ![...s.options].some(o => o.value == %q)) return false;
		s.value = %q;
		s.dispatchEvent(new Event('change', {bubbles: true}));
		return true;
	})()`, label, value, value))
}

// asPhone gives a page the size and the touch of a phone.
func asPhone(p *tab) {
	p.t.Helper()
	p.do(chromedp.EmulateViewport(390, 844, chromedp.EmulateMobile, chromedp.EmulateTouch))
}
