package main

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/fetch"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// nets is a running program with one split film, as its coach knows it.
type nets struct {
	t       *testing.T
	app     *App
	api     *client
	coach   int64 // account
	session int64
	balls   []demoBall
}

func filmed(t *testing.T) *nets {
	t.Helper()
	film := rendered(t, smallScene())
	n := &nets{t: t, app: running(t)}
	secret, err := n.app.unclaimedLink(t.Context())
	require.NoError(t, err)
	n.api, err = signIn(t.Context(), n.app.URL(), secret)
	require.NoError(t, err)
	var me, session struct{ ID int64 }
	require.NoError(t, n.api.get(t.Context(), "/api/me", &me))
	in := map[string]any{"title": "Front foot", "held_on": "2026-01-31"}
	require.NoError(t, n.api.post(t.Context(), "/api/sessions", in, &session))
	n.coach, n.session = me.ID, session.ID
	require.NoError(t, n.api.upload(t.Context(), film.path, session.ID, "side-on"))
	d := &demo{app: n.app, analyst: n.api}
	lane, err := d.waitForSplit(t.Context(), session.ID)
	require.NoError(t, err)
	edits := map[string]any{"balls": lane.checkAgainst(film)} // so that it does not matter here what the split finds
	require.NoError(t, n.api.post(t.Context(), fmt.Sprintf("/api/sessions/%d/lane-edits", session.ID), edits, nil))
	until(t, "every ball has a smooth clip", func() bool {
		var balls []struct{ Clips []struct{ Smooth bool } }
		require.NoError(t, n.api.get(t.Context(), fmt.Sprintf("/api/sessions/%d/balls", session.ID), &balls))
		for _, b := range balls {
			if len(b.Clips) == 0 || !b.Clips[0].Smooth {
				return false
			}
		}
		return true
	})
	lane, err = d.lane(t.Context(), session.ID)
	require.NoError(t, err)
	for i := range film.truth.Balls {
		b, ok := lane.numbered(i + 1)
		require.True(t, ok)
		n.balls = append(n.balls, b)
	}
	return n
}

// signedIn is a tab of somebody, who has come in by a link.
func (n *nets) signedIn(t *testing.T, browser context.Context, name string, account, width, height int64) *tab {
	t.Helper()
	secret, err := n.app.store.NewLinkFor(t.Context(), account, time.Hour)
	require.NoError(t, err)
	p := person(t, browser, name, n.app.URL(), width, height)
	p.open("/")
	p.until(`fetch('/api/links/` + secret + `', {method: 'POST', headers: {'Content-Type': 'application/json'}, body: '{}'}).then(r => r.ok)`)
	return p
}

// said is all that was ever said of a ball, one line each, in order.
func (n *nets) said(ball int64) (lines []string) {
	n.t.Helper()
	var ledger []struct {
		Kind, Group, Term, Body string
		Gone                    bool
	}
	require.NoError(n.t, n.api.get(n.t.Context(), fmt.Sprintf("/api/balls/%d/ledger", ball), &ledger))
	for _, o := range ledger {
		line := strings.TrimSpace(o.Kind + " " + o.Body)
		if o.Kind == "term" {
			line = o.Group + "=" + o.Term
		}
		if o.Gone && o.Kind != "retraction" {
			line += ", gone"
		}
		lines = append(lines, line)
	}
	return lines
}

// comesToSay waits until that is all that was said of a ball.
func (n *nets) comesToSay(ball int64, want ...string) {
	n.t.Helper()
	var got []string
	if !assert.Eventually(n.t, func() bool {
		got = n.said(ball)
		return slices.Equal(want, got)
	}, browserPatience, 50*time.Millisecond) {
		require.Equal(n.t, want, got)
	}
}

// TestNothingSaidIsLost follows one ball on the coding page: a note, undo, a
// lost connection, an answer that is lost, and a tab that is closed on all of
// it. What was said reaches the server, each thing once.
func TestNothingSaidIsLost(t *testing.T) {
	n := filmed(t)
	ball := n.balls[0].ID
	home := n.signedIn(t, chromium(t), "coach", n.coach, 1440, 900)
	home.open("/healthz") // no page of ours, so that only the other tabs have words to send
	coding := fmt.Sprintf("/sessions/%d/code/%d", n.session, ball)
	ready := `document.querySelector('[data-walk] [aria-pressed]') && document.querySelector('video.front')?.videoWidth > 0`

	p := home.another("first tab")
	p.open(coding)
	p.until(ready)
	p.note("Head over the front knee")
	n.comesToSay(ball, "note Head over the front knee")
	p.codes("L", "4")
	n.comesToSay(ball, "note Head over the front knee", "length=good")
	p.press(kb.Backspace)
	n.comesToSay(ball, "note Head over the front knee", "length=good, gone", "retraction")
	p.press(kb.Backspace)
	before := []string{"note Head over the front knee, gone", "length=good, gone", "retraction", "retraction"}
	n.comesToSay(ball, before...)

	// The server keeps what is said, and its answer is lost: the page says it again.
	lost := p.losesAnswers("/api/observations", 2)
	p.codes("L", "3")
	require.Equal(t, []int64{http.StatusOK, http.StatusOK}, []int64{<-lost, <-lost})
	p.sees("Saved")
	before = append(before, "length=full")
	assert.Equal(t, before, n.said(ball))

	// No connection: it is kept here, undone here, and the page says so.
	p.offline(true)
	p.codes("S", "3")
	p.codes("M", "2")
	p.press(kb.Backspace)
	p.note("Late hands")
	p.sees("Kept here until the server is back")
	p.sees("Late hands")
	assert.Equal(t, before, n.said(ball))
	p.beginNote()
	p.press("Not finished")
	p.close()

	// Another tab, later, with a connection: all of it is there, once.
	p = home.another("second tab")
	p.open(coding)
	p.until(ready)
	p.sees("Saved")
	after := n.said(ball)
	require.Equal(t, append(before, "shot=drive", "feet=back, gone", "retraction", "note Late hands", "note Not finished"), after)
	p.sees("Not finished")
	p.open(coding)
	p.until(ready)
	p.sees("Saved")
	assert.Equal(t, after, n.said(ball), "opened again, it says nothing twice")

	// The connection comes back under an open page.
	p.offline(true)
	p.note("Still here")
	p.sees("Kept here until the server is back")
	p.offline(false)
	n.comesToSay(ball, append(after, "note Still here")...)
	p.sees("Saved")
}

// codes opens a group by its letter and presses a term's key.
func (p *tab) codes(group, term string) {
	p.t.Helper()
	p.press(group, chromedp.KeyModifiers(8))
	p.press(term)
}

// note writes a note on the ball at hand.
func (p *tab) note(text string) {
	p.t.Helper()
	p.beginNote()
	p.press(text)
	p.enter()
	p.until(`document.activeElement.tagName != 'TEXTAREA'`)
}

// beginNote presses the key that opens a note and puts the keyboard there. The
// character comes with the key, as from a keyboard, and not after it: it would
// land in the note.
func (p *tab) beginNote() {
	p.t.Helper()
	p.do(chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		key := input.DispatchKeyEventParams{Type: input.DispatchKeyEventTypeKeyDown, Key: "/", Code: "Slash", Text: "/", UnmodifiedText: "/"}
		_, err := cdp.Call(ctx, t, input.DispatchKeyEvent, key)
		if err == nil {
			key.Type, key.Text, key.UnmodifiedText = input.DispatchKeyEventTypeKeyUp, "", ""
			_, err = cdp.Call(ctx, t, input.DispatchKeyEvent, key)
		}
		return err
	}))
	p.until(`document.activeElement.tagName == 'TEXTAREA'`)
}

// offline cuts the tab's connection, or gives it back.
func (p *tab) offline(off bool) {
	p.t.Helper()
	p.do(chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, network.EmulateNetworkConditionsByRule, network.EmulateNetworkConditionsByRuleParams{
			MatchedNetworkConditions: []*network.Conditions{{Offline: off, DownloadThroughput: -1, UploadThroughput: -1}}})
		if err == nil {
			_, err = cdp.Call(ctx, t, network.OverrideNetworkState, network.OverrideNetworkStateParams{
				Offline: off, DownloadThroughput: -1, UploadThroughput: -1})
		}
		return err
	}))
}

// losesAnswers lets the next so many requests to an address reach the server,
// and their answers get lost on the way back. The channel tells what these were.
func (p *tab) losesAnswers(path string, times int) <-chan int64 {
	p.t.Helper()
	lost := make(chan int64, times)
	paused := chromedp.Events(p.ctx, fetch.RequestPaused)
	p.do(chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, fetch.Enable, fetch.EnableParams{Patterns: []*fetch.RequestPattern{
			{URLPattern: "*" + path, RequestStage: fetch.RequestStageResponse}}})
		return err
	}))
	go func() {
		left := times
		for e, err := range paused {
			if err != nil {
				return
			}
			answer := e.ResponseStatusCode
			left--
			last := left == 0
			_ = chromedp.Do(p.ctx, chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
				_, err := cdp.Call(ctx, t, fetch.FailRequest, fetch.FailRequestParams{RequestID: e.RequestID, ErrorReason: network.ErrorReasonConnectionReset})
				if err == nil && last {
					_, err = cdp.Call(ctx, t, fetch.Disable, cdp.Empty{})
				}
				return err
			}))
			if lost <- answer; last {
				return
			}
		}
	}()
	return lost
}

// close closes the tab as a person does.
func (p *tab) close() {
	p.t.Helper()
	gone, err := chromedp.Detached(p.ctx)
	require.NoError(p.t, err)
	p.do(chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, page.Close, cdp.Empty{})
		return err
	}))
	<-gone
}

// TestFoundAndWatched looks at the same balls on two pages, since footage takes
// its time to be ready.
func TestFoundAndWatched(t *testing.T) {
	n := filmed(t)
	browser := chromium(t)
	t.Run("found by what its block says", func(t *testing.T) { n.foundByBlock(t, browser) })
	t.Run("a watched ball stays", func(t *testing.T) { n.watchedBallStays(t, browser) })
}

// foundByBlock: nobody has said what the balls were; the card says how it comes
// that they are found.
func (n *nets) foundByBlock(t *testing.T, browser context.Context) {
	spin := []map[string]any{{"name": "Spin", "start_us": 0, "end_us": n.balls[1].EndUS, "bowling": "off-spin"}}
	require.NoError(t, n.api.put(t.Context(), fmt.Sprintf("/api/sessions/%d/blocks", n.session), spin, nil))
	p := n.signedIn(t, browser, "finding", n.coach, 1440, 900)
	p.open("/find")
	p.click(".choice .has", "Off spin")
	p.until(`document.querySelectorAll('[data-card]').length == 2`)
	assert.Contains(t, eval[string](p, `document.querySelector('[data-card]').innerText`), "Off spin by its block, not coded yet")
	p.quiet()
}

// watchedBallStays: while somebody looks at a ball, its reel's question comes to
// find other balls, and that one no more. The picture stands still.
func (n *nets) watchedBallStays(t *testing.T, browser context.Context) {
	drives := map[int64]uuid.UUID{}
	drive := func(b demoBall) map[string]any {
		drives[b.ID] = uuid.New()
		return map[string]any{"uuid": drives[b.ID], "ball_id": b.ID, "kind": "term", "group": "shot", "term": "drive"}
	}
	noDrive := func(b demoBall) map[string]any {
		return map[string]any{"uuid": uuid.New(), "ball_id": b.ID, "kind": "retraction", "retracts": drives[b.ID]}
	}
	n.says(drive(n.balls[1]), drive(n.balls[2]))
	var reel struct{ ID int64 }
	require.NoError(t, n.api.post(t.Context(), "/api/reels", map[string]any{"title": "Drives", "question": "shot=drive"}, &reel))

	p := n.signedIn(t, browser, "watching", n.coach, 390, 844)
	p.open(fmt.Sprintf("/watch/%d", reel.ID))
	balls := func(n int) string { return fmt.Sprintf(`document.querySelectorAll('.dots i').length == %d`, n) }
	front := `document.querySelector('video.front')`
	p.until(balls(2))
	p.press("]")
	shows := func(number int) string {
		return fmt.Sprintf(`%s?.getAttribute('aria-label') == 'Ball %d'`, front, number)
	}
	p.until(shows(3))
	p.until(front + `.currentTime > 0`)
	p.press(" ")
	p.press(kb.Home)
	p.until(front + `.paused && !` + front + `.seeking`)
	type picture struct {
		Src, Label string
		Time       float64
		Paused     bool
	}
	seen := func() picture {
		return eval[picture](p, `(v => ({Src: v.src, Label: v.getAttribute('aria-label'), Time: v.currentTime, Paused: v.paused}))(`+front+`)`)
	}
	still := seen()
	require.True(t, still.Paused)

	n.says(drive(n.balls[0]))
	p.until(balls(3))
	assert.Equal(t, still, seen(), "a ball came in before it")
	n.says(noDrive(n.balls[1]))
	p.until(balls(2))
	assert.Equal(t, still, seen(), "a ball before it went")
	n.says(noDrive(n.balls[2]), drive(n.balls[1]))
	p.until(balls(3))
	assert.Equal(t, still, seen(), "it is no longer one of them, and stays until it is left")
	p.press("[")
	p.until(shows(2))
	p.quiet()
}

// says is what the coach says by other means than the page that is looked at.
func (n *nets) says(entries ...map[string]any) {
	n.t.Helper()
	require.NoError(n.t, n.api.post(n.t.Context(), "/api/observations", entries, nil))
}
