package main

import (
	"crypto/sha256"
	"fmt"
	"testing"

	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media"
	"netreel/media/align"
	"netreel/media/split"
	"netreel/tagging"
)

// longSession is an hour by two cameras with 400 balls that are proposed and 50
// that are not, as rows without footage; no job touches them.
func longSession(t *testing.T, app *App, session int64) {
	t.Helper()
	ctx, s := t.Context(), app.store
	require.NoError(t, app.workers.QueuePause(ctx, "*", nil))
	v, err := s.StaffOf(ctx, session)
	require.NoError(t, err)
	var ids []int64
	for _, camera := range []media.Camera{media.SideOn, media.BehindTheArm} {
		u, err := s.OpenUpload(ctx, v, tagging.Upload{TusID: string(camera), SessionID: session, FileName: string(camera) + ".mp4", Size: 10, Camera: camera})
		require.NoError(t, err)
		require.NoError(t, s.MarkLanded(ctx, u.TusID))
		u, err = s.LandUpload(ctx, u.ID, sha256.Sum256([]byte(camera)), 10)
		require.NoError(t, err)
		ids = append(ids, u.RecordingID)
		require.NoError(t, s.SaveProbe(ctx, u.RecordingID, media.Probe{
			VideoCodec: "h264", PixelFormat: "yuv420p", AudioCodec: "aac", Width: 1280, Height: 720, FrameRate: 50, Duration: 3600 * media.Second,
		}))
	}
	found := split.Result{Cut: 0.5, Notes: []string{"The sound is clipped."}, Sound: media.Trace{Step: 20_000, Values: make([]byte, 180_000)}}
	for i := range 450 {
		start := media.Micros(i)*8*media.Second + media.Micros(i/200)*media.Second // a little more after 200
		contact, confidence := start+2*media.Second, 0.55+0.4*float64(i%10)/9
		if i%9 == 8 {
			confidence = 0.2
		}
		found.Balls = append(found.Balls, split.Ball{Delivery: media.Delivery{Start: start, Contact: &contact, End: start + 4*media.Second, Confidence: confidence}, Passing: contact, Struck: 0.9})
		if i > 0 && i%150 == 0 {
			found.Breaks = append(found.Breaks, media.Span{Start: start - 4*media.Second, End: start})
		}
	}
	require.NoError(t, s.SaveSplit(ctx, ids[0], found))
	require.NoError(t, s.SaveSplit(ctx, ids[1], split.Result{Cut: 0.5}))
	require.NoError(t, s.SaveMatches(ctx, session, []align.Pair{{A: int(ids[0]), B: int(ids[1]), Match: align.Match{Why: "Too little that both recordings hear was found."}}}))
}

// TestLaneOfAnHour is the split page at 60 minutes and 400 balls: far away the
// balls are drawn, from near each is a thing of its own, the slider works at once, the doubtful are gone through by
// one key, and two cameras are laid on one clock by hand.
func TestLaneOfAnHour(t *testing.T) {
	app := running(t)
	secret, err := app.unclaimedLink(t.Context())
	require.NoError(t, err)
	coach := person(t, chromium(t), "coach", app.URL(), 1440, 900)
	coach.open("/join/" + secret)
	coach.fill("Your name", "Wren Oldacre")
	coach.fill("The squad’s name", "Tarnbeck Women")
	coach.enter()
	coach.sees("New session")
	session := eval[int64](coach, `fetch('/api/sessions', {method: 'POST', headers: {'Content-Type': 'application/json'},
		body: JSON.stringify({title: 'An hour', held_on: '2026-02-07', focus: ['shot'], players: []})}).then(r => r.json()).then(s => s.id)`)
	longSession(t, app, session)
	lane := fmt.Sprintf(`fetch('/api/sessions/%d/lane').then(r => r.json())`, session)

	coach.open(fmt.Sprintf("/sessions/%d/split", session))
	coach.sees("400 balls")
	// Far away the balls are drawn: each row has ink, and nothing to press weighs the lane down.
	coach.until(`(() => { const rows = [...document.querySelectorAll('.lane .row')];
		return rows.length == 2 && document.querySelectorAll('.lane .ball').length == 0 && rows.every(r => { const c = r.querySelectorAll('canvas')[1];
			return c.width > 0 && c.getContext('2d').getImageData(0, 0, c.width, c.height).data.some(v => v > 0) }) })()`)
	coach.sees("The sound is clipped.")
	coach.shot("hour")
	drawn := `(() => { const lane = document.querySelector('.lane').getBoundingClientRect();
		const balls = [...document.querySelectorAll('.lane .ball')].map(b => b.getBoundingClientRect());
		return balls.length > 0 && balls.length < 60 && balls.every(b => b.right >= lane.left - 8 && b.left <= lane.right + 8) })()`
	coach.press("z") // nothing in hand: nothing happens
	coach.press("n")
	coach.until(drawn)
	coach.press("+")
	coach.until(drawn)
	first := eval[string](coach, `document.querySelector('.lane .ball.selected .body').getAttribute('aria-label')`)
	coach.press("n")
	coach.until(drawn)
	coach.until(fmt.Sprintf(`document.querySelector('.lane .ball.selected .body')?.getAttribute('aria-label') != %q`, first))

	// The slider: shown while it is moved, kept when it is let go.
	coach.until(`document.body.innerText.match(/\d+ to check/)`)
	move := `(() => { const s = document.querySelector('.cut input'); s.value = s.max; s.dispatchEvent(new Event('input', {bubbles: true})) })()`
	_ = eval[*int](coach, move+" ?? null")
	coach.until(`document.querySelector('.cut output').innerText == '450 balls'`)
	assert.Equal(t, 400, eval[int](coach, lane+`.then(l => l.balls.length)`), "nothing is sent yet")
	coach.until(`(document.querySelector('.cut input').dispatchEvent(new Event('change', {bubbles: true})), true)`)
	coach.until(lane + `.then(l => l.balls.length == 450 && l.cut_chosen)`)
	coach.click("button", "As the split proposes")
	coach.until(lane + `.then(l => l.balls.length == 400 && !l.cut_chosen)`)

	coach.sees("a block?")
	coach.sees("What the split could not use")
	coach.sees("Too little that both recordings hear was found.")
	coach.click("button", "Lay them on one clock")
	coach.sees("Guessed from the time of day")
	coach.shot("clocks")
	coach.click("button", "Lay all cameras anew")
	coach.sees("The cameras are being compared by their sound")
	coach.click("button", "Pick the same bang on two")
	coach.click("button", "At the playhead of side-on")
	coach.sees("Now press the same bang")
	coach.press(kb.ArrowRight)
	coach.click("button", "At the playhead of behind-the-arm")
	coach.until(lane + `.then(l => l.recordings.some(r => r.clock_by == 'person' && Math.abs(r.offset_us) == 100000))`)
}
