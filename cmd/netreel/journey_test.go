package main

import (
	"encoding/base64"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media/scene"
)

// TestJourney is the main job, whole: a coach signs in for the first time,
// brings footage in, looks the split over, codes a ball with six keys, finds
// it, makes a reel, and the player watches it on a phone.
func TestJourney(t *testing.T) {
	film := rendered(t, shortScene())
	app := running(t)
	secret, err := app.unclaimedLink(t.Context())
	require.NoError(t, err)
	browser := chromium(t)
	coach := person(t, browser, "coach", app.URL(), 1440, 900)

	coach.open("/join/" + secret)
	coach.fill("Your name", "Wren Oldacre")
	coach.fill("The squad’s name", "Tarnbeck Women")
	coach.enter()
	coach.sees("New session")

	coach.click("button", "New session")
	coach.fill("Title", "Drives and short balls")
	coach.do(chromedp.SendKeys(chromedp.CSS("input[aria-label='Name of a new player']"), "Suri Tolland"))
	coach.click("button", "Add this player")
	coach.sees("Suri Tolland")
	coach.click("[type=submit]", "")
	coach.sees("Bring in the footage")
	session := eval[string](coach, `location.pathname.split('/')[2]`)

	// Three files: the film, the film again, and what is no film.
	nonsense := t.TempDir() + "/notes.mp4"
	require.NoError(t, writeFile(nonsense, "not a film"))
	coach.do(chromedp.SetUploadFiles(chromedp.CSS("input[type=file]"), []string{film.path, nonsense}))
	coach.click("button", "Upload")
	coach.sees("This is not a video")
	type lane struct {
		Recordings []struct{ State string }
		Balls      []struct {
			ID      int64
			State   string
			Contact *int64 `json:"contact_us"`
		}
	}
	coach.until(fmt.Sprintf(`fetch('/api/sessions/%s/lane').then(r => r.json()).then(l => l.recordings.some(r => r.state == "ready"))`, session))
	laneNow := func() lane {
		return eval[lane](coach, fmt.Sprintf(`fetch('/api/sessions/%s/lane').then(r => r.json())`, session))
	}
	found := laneNow()
	require.NotEmpty(t, found.Balls) // how well they are found is TestDemoSplit's to say

	// The lane: all accepted by one key, and taken back.
	coach.open("/sessions/" + session + "/split")
	coach.sees("Code the balls")
	coach.shot("lane")
	state := func(n int, s string) string {
		return fmt.Sprintf(`fetch('/api/sessions/%s/lane').then(r => r.json()).then(l => l.balls.filter(b => b.state == %q).length == %d)`, session, s, n)
	}
	coach.press("A", chromedp.KeyModifiers(8))
	coach.until(state(len(found.Balls), "accepted"))
	coach.press("z", chromedp.KeyModifiers(2))
	coach.until(state(len(found.Balls), "proposed"))
	coach.press("y", chromedp.KeyModifiers(2))
	coach.until(state(len(found.Balls), "accepted"))

	// Coding: six keys, no mouse.
	ball := found.Balls[0].ID
	coach.open(fmt.Sprintf("/sessions/%s/code/%d", session, ball))
	coach.until(`document.querySelector('video.front')?.videoWidth > 0`)
	coach.until(`document.querySelector('[data-walk] [aria-pressed]')`)
	for _, key := range []string{"4", "3", "1", "2", "1", "1"} {
		coach.press(key)
	}
	coach.until(fmt.Sprintf(`fetch('/api/balls/%d').then(r => r.json()).then(b => b.seen.filter(o => o.kind == 'term').length == 6)`, ball))
	seen := eval[[]string](coach, fmt.Sprintf(`fetch('/api/balls/%d').then(r => r.json()).then(b => b.seen.map(o => o.group + ':' + o.term).sort())`, ball))
	assert.Equal(t, []string{"base:sound", "contact:middled", "decision:right", "feet:forward", "length:good", "shot:drive"}, seen)
	coach.shot("coding")

	stepsThroughTrueFrames(t, coach, *found.Balls[0].Contact)

	// Finding: two presses. The question becomes a reel.
	coach.open("/find")
	coach.click(".choice .has", "Drive")
	coach.click(".choice .has", "Sound")
	coach.until(`document.querySelectorAll('[data-card]').length == 1`)
	assert.Equal(t, "base=sound&shot=drive", eval[string](coach, `location.search.slice(1)`), "the question lives in the address")
	coach.shot("find")
	coach.click("button", "Keep this question as a reel")
	coach.until(`location.pathname.startsWith('/reels/')`)
	reel := eval[string](coach, `location.pathname.split('/')[2]`)
	coach.sees("Suri Tolland")
	coach.click("label.tick input, .tick", "Suri Tolland")
	coach.sees("Saved")
	coach.until(fmt.Sprintf(`fetch('/api/reels/%s').then(r => r.json()).then(r => r.players.length == 1)`, reel))
	coach.click("button", "Make a link")
	coach.until(`document.querySelector("input[aria-label='The new link']")?.value.includes('/shared/')`)
	shared := eval[string](coach, `document.querySelector("input[aria-label='The new link']").value`)
	coach.shot("reel")

	// The player, on a phone, by a link of their own.
	player := invitePlayer(coach)
	phone := person(t, browser, "player", app.URL(), 390, 844)
	phone.open("/join/" + player)
	phone.click("button", "")
	phone.sees("Your reels")
	phone.click("a", "Drive")
	watches(phone)
	phone.shot("watching")
	phone.quiet() // before what is refused below, which browsers note
	assert.Equal(t, 404, eval[int](phone, `fetch('/api/sessions/999').then(r => r.status)`))
	assert.Equal(t, 403, eval[int](phone, fmt.Sprintf(`fetch('/api/sessions/%s/lane').then(r => r.status)`, session)))

	// Somebody without an account, by the share link; then no more.
	guest := person(t, browser, "guest", app.URL(), 390, 844)
	guest.open("/shared/" + secretOf(shared))
	watches(guest)
	coach.click("button", "Revoke")
	coach.sees("revoked")
	guest.open("/shared/" + secretOf(shared))
	guest.sees("This link opens nothing any more")
	coach.quiet()
}

// invitePlayer invites the session's player as the coach's page would, and
// returns the secret of their link.
func invitePlayer(coach *tab) string {
	link := eval[string](coach, `(async () => {
		const players = await (await fetch('/api/players')).json();
		const r = await fetch('/api/accounts', {method: 'POST', headers: {'Content-Type': 'application/json'},
			body: JSON.stringify({name: players[0].name, role: 'player', player_id: players[0].id})});
		return (await r.json()).link;
	})()`)
	return secretOf(link)
}

// watches waits until a reel's clip plays by itself and the coach's words come.
func watches(p *tab) {
	p.t.Helper()
	p.until(`(v => v && v.videoWidth > 0 && v.currentTime > 0)(document.querySelector('video.front'))`)
	p.until(`document.querySelector('[data-words]')?.innerText.includes('Middled')`)
}

// stepsThroughTrueFrames pauses the clip and steps, reading the number that is
// burned into each frame out of the picture itself. Home, pressed at once after
// Space, shows the frame of the contact (µs on the film's clock): the one on
// display then, of fifty a second.
func stepsThroughTrueFrames(t *testing.T, p *tab, contact int64) {
	t.Helper()
	p.until(`document.querySelector('video.front')?.src.includes('which=smooth')`)
	p.press(" ")
	p.press(kb.Home)
	number := func() int { return frameShown(t, p, "video.front") }
	shows := func(want int) {
		t.Helper()
		deadline := time.Now().Add(browserPatience)
		got := number()
		for got != want && time.Now().Before(deadline) {
			got = number() // the key is on its way through the page
		}
		require.Equal(t, want, got)
	}
	first := int(contact / 20_000)
	shows(first)
	for i := 1; i <= 6; i++ {
		p.press(kb.ArrowRight)
		shows(first + i)
	}
	for i := 5; i >= 2; i-- {
		p.press(kb.ArrowLeft)
		shows(first + i)
	}
}

// frameShown is the number that is burned into the frame on display in the
// video of a selector, once it has done its seeks.
func frameShown(t *testing.T, p *tab, video string) int {
	t.Helper()
	p.until(fmt.Sprintf(`!document.querySelector(%q).seeking`, video))
	// The band that holds the code, as luma, painted at the film's own size.
	raw := eval[string](p, fmt.Sprintf(`new Promise(done => requestAnimationFrame(() => requestAnimationFrame(() => {
		const v = document.querySelector(%q);
		const c = document.createElement('canvas');
		c.width = 1280; c.height = 60;
		const g = c.getContext('2d');
		g.drawImage(v, 0, 0, v.videoWidth, v.videoHeight * 60 / 720, 0, 0, 1280, 60);
		const px = g.getImageData(0, 0, 1280, 60).data;
		let s = '';
		for (let i = 0; i < px.length; i += 4) s += String.fromCharCode(px[i + 1]);
		done(btoa(s));
	})))`, video))
	luma, err := base64.StdEncoding.DecodeString(raw)
	require.NoError(t, err)
	n, ok := scene.ReadCode(luma, 1280)
	require.True(t, ok, "no frame number in the picture")
	return n
}

func TestSecretOf(t *testing.T) {
	t.Parallel()
	assert.Equal(t, "abc", secretOf("https://nets.example/join/abc"))
	assert.False(t, strings.Contains(secretOf("/shared/x_y-z"), "/"))
}
