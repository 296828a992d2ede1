package main

import (
	"context"
	"fmt"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media"
	"netreel/media/ffmpeg/fftest"
)

// clapAfter is how long after it is opened a browser's made-up microphone
// plays a clap.
const clapAfter = time.Second

// clapMicrophone are the flags by which Chromium takes a file for its
// microphone (its own switches for tests of media capture).
func clapMicrophone(t *testing.T) []chromedp.ExecAllocatorOption {
	t.Helper()
	path := filepath.Join(t.TempDir(), "clap.wav")
	fftest.FFmpeg(t, "-f", "lavfi", "-i", "aevalsrc='0.001*(random(0)-0.5)+if(gte(t,1),0.8*(random(1)*2-1)*exp(-(t-1)/0.01),0)':d=2:s=48000", "-c:a", "pcm_s16le", path)
	return []chromedp.ExecAllocatorOption{
		chromedp.Flag("use-fake-device-for-media-stream", true), chromedp.Flag("use-fake-ui-for-media-stream", true),
		chromedp.Flag("use-file-for-fake-audio-capture", path),
	}
}

// clapFilm is a minute with a quiet bang at 20 s, a clap at 31.5 s and another
// quiet bang at 40 s.
func clapFilm(t *testing.T) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "side.mp4")
	bang := func(at, size float64) string {
		return fmt.Sprintf("if(between(t,%g,%g),%g*(random(1)*2-1)*exp(-(t-%g)/0.01),0)", at, at+0.3, size, at)
	}
	fftest.FFmpeg(t, "-f", "lavfi", "-i", "color=c=gray:s=320x180:r=25:d=60", "-f", "lavfi", "-i",
		"aevalsrc='0.001*(random(0)-0.5)+"+bang(20, 0.1)+"+"+bang(31.5, 0.8)+"+"+bang(40, 0.1)+"':d=60:s=48000", "-c:v", "libx264", "-preset", "ultrafast", "-c:a", "aac", "-shortest", path)
	return path
}

// holding keeps the mouse down on an element until the page shows a text.
func holding(p *tab, selector, text string) {
	p.t.Helper()
	type spot struct{ X, Y float64 }
	at := eval[spot](p, fmt.Sprintf(`(() => { const e = document.querySelector(%q); e.scrollIntoView(); const b = e.getBoundingClientRect(); return {X: b.x + b.width / 2, Y: b.y + b.height / 2} })()`, selector))
	mouse := func(kind input.DispatchMouseEventType) {
		p.do(chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
			_, err := cdp.Call(ctx, target, input.DispatchMouseEvent, input.DispatchMouseEventParams{Type: kind, X: at.X, Y: at.Y, Button: input.MouseButtonLeft, ClickCount: 1})
			return err
		}))
	}
	mouse(input.DispatchMouseEventTypeMousePressed)
	p.sees(text)
	mouse(input.DispatchMouseEventTypeMouseReleased)
}

// TestClap claps three times where a phone hears it, then finds the clap in
// the sound of the session's recording, by which the marks are laid.
func TestClap(t *testing.T) {
	app := running(t)
	coach, _ := signedIn(t, app)
	account := eval[int64](coach, `fetch('/api/me').then(r => r.json()).then(m => m.id)`)
	link := func() string {
		secret, err := app.store.NewLinkFor(t.Context(), account, time.Hour)
		require.NoError(t, err)
		return secret
	}
	phone := person(t, chromium(t, clapMicrophone(t)...), "phone", app.URL(), 390, 844)
	phone.open("/join/" + link())
	phone.click("button", "")
	phone.sees("Sessions")
	phone.open("/net")
	phone.click("button.start", "Start")
	phone.sees("All sent")
	phone.click("button", "More")
	phone.sees("The phone listens only while you hold it")
	phone.shot("clap")
	session := eval[int64](phone, `fetch('/api/sessions').then(r => r.json()).then(s => s[0].id)`)
	type mark struct {
		Kind string
		Made time.Time
		At   *media.Micros `json:"at_us"`
	}
	claps := func() []mark {
		all := eval[struct{ Marks []mark }](coach, fmt.Sprintf(`fetch('/api/sessions/%d/net').then(r => r.json())`, session)).Marks
		return slices.DeleteFunc(all, func(m mark) bool { return m.Kind != "clap" })
	}
	eval[bool](phone, `(() => { globalThis.opened = []; const media = navigator.mediaDevices, open = media.getUserMedia.bind(media);
		media.getUserMedia = async c => { const s = await open(c); opened.push(Date.now()); return s }; return true })()`)
	for n := range 3 {
		holding(phone, "button.clap", "The clap was heard and noted.")
		coach.until(fmt.Sprintf(`fetch('/api/sessions/%d/net').then(r => r.json()).then(n => n.marks.filter(m => m.kind == 'clap').length == %d)`, session, n+1))
		assert.True(t, eval[bool](phone, `document.querySelector('.clap').innerText == 'Hold, and clap'`), "it has let the microphone go")
	}
	phone.quiet()
	heard := claps()
	for i, opened := range eval[[]int64](phone, `opened`) {
		// What it plays begins when the microphone is opened; that the phone waits before it is sure is taken off.
		assert.InDelta(t, clapAfter.Seconds(), heard[i].Made.Sub(time.UnixMilli(opened)).Seconds(), 0.3)
	}

	api, err := signIn(t.Context(), app.URL(), link())
	require.NoError(t, err)
	require.NoError(t, api.upload(t.Context(), clapFilm(t), session, "side-on"))
	_, err = (&demo{app: app, analyst: api}).waitForSplit(t.Context(), session)
	require.NoError(t, err)
	// As the phone thinks, the last clap was 25 s after the recording's beginning; it was 6.5 s later.
	last := heard[2].Made.Add(-25 * time.Second)
	require.NoError(t, api.put(t.Context(), fmt.Sprintf("/api/sessions/%d/net-clock", session), map[string]any{"by": "hand", "zero_at": last}, nil))

	coach.open(fmt.Sprintf("/sessions/%d", session))
	coach.sees("by hand")
	coach.click("summary", "Phone and camera on one clock")
	coach.click("button", "Find the clap in the sound")
	coach.sees("One stands out")
	assert.Equal(t, 3, eval[int](coach, `document.querySelectorAll('[aria-label="Sharp sounds"] li').length`))
	assert.Contains(t, eval[string](coach, `[...document.querySelectorAll('[aria-label="Sharp sounds"] li')].find(l => l.innerText.includes('stands out')).innerText`), "+6.5 s")
	coach.shot("find clap")
	coach.click("li:has(.chip) button", "Hear the sound at 0:31")
	coach.until(`performance.getEntriesByType('resource').some(e => e.name.includes('/sound.wav'))`)
	coach.click("li:has(.chip) button", "The clap is at 0:31")
	coach.sees("by the clap")
	assert.InDelta(t, 31.5, claps()[2].At.Seconds(), 0.03)
	coach.click("button", "Take back: Clap")
	coach.until(fmt.Sprintf(`fetch('/api/sessions/%d/net').then(r => r.json()).then(n => n.marks.filter(m => m.kind == 'clap').length == 2)`, session))
	coach.quiet()

}
