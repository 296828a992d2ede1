package main

import (
	"context"
	"fmt"
	"net"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// wire is the network between a phone and the server, which can be cut.
type wire struct {
	t        *testing.T
	to, addr string

	mu    sync.Mutex
	in    net.Listener // nil while it is cut
	conns map[net.Conn]bool
	lossy bool // the next marks arrive, but their answer does not come back
}

// wired lays a wire to a server.
func wired(t *testing.T, url string) *wire {
	t.Helper()
	w := &wire{t: t, to: strings.TrimPrefix(url, "http://"), addr: "127.0.0.1:0", conns: map[net.Conn]bool{}}
	w.mend()
	t.Cleanup(w.cut)
	return w
}

func (w *wire) url() string { return "http://" + w.addr }

// mend lets calls through, at the same address as before.
func (w *wire) mend() {
	w.t.Helper()
	in, err := (&net.ListenConfig{}).Listen(context.Background(), "tcp", w.addr)
	require.NoError(w.t, err)
	w.mu.Lock()
	w.in, w.addr = in, in.Addr().String()
	w.mu.Unlock()
	go func() {
		for {
			c, err := in.Accept()
			if err != nil {
				return
			}
			go w.carry(c)
		}
	}()
}

// cut refuses every call and breaks those under way.
func (w *wire) cut() {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.in != nil {
		_ = w.in.Close()
		w.in = nil
	}
	w.hangUp()
}

// lose lets calls through but for the answer to the next one that brings marks.
func (w *wire) lose() {
	w.mend()
	w.mu.Lock()
	defer w.mu.Unlock()
	w.lossy = true
}

// losing says whether the answer that is to be lost is still to come.
func (w *wire) losing() bool {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.lossy
}

func (w *wire) hangUp() {
	for c := range w.conns {
		_ = c.Close()
	}
	clear(w.conns)
}

// loses says whether what goes by is the call whose answer is to be lost.
func (w *wire) loses(bytes []byte) bool {
	w.mu.Lock()
	defer w.mu.Unlock()
	if !w.lossy || !strings.HasPrefix(string(bytes), "POST /api/net ") {
		return false
	}
	w.lossy = false
	return true
}

func (w *wire) carry(phone net.Conn) {
	defer func() { _ = phone.Close() }()
	server, err := (&net.Dialer{}).DialContext(context.Background(), "tcp", w.to)
	if err != nil {
		return
	}
	defer func() { _ = server.Close() }()
	w.mu.Lock()
	w.conns[phone] = true
	w.mu.Unlock()
	var lost atomic.Bool
	go func() {
		defer func() { _ = server.Close() }()
		buffer := make([]byte, 64<<10)
		for {
			n, err := phone.Read(buffer)
			if w.loses(buffer[:n]) {
				lost.Store(true)
			}
			if _, wrong := server.Write(buffer[:n]); err != nil || wrong != nil {
				return
			}
		}
	}()
	buffer := make([]byte, 64<<10)
	for {
		n, err := server.Read(buffer)
		if lost.Load() {
			return // it has answered, and nobody hears it
		}
		if _, wrong := phone.Write(buffer[:n]); err != nil || wrong != nil {
			return
		}
	}
}

// wrongClock sets the clock of a page's phone, and of every page after it, so
// many milliseconds fast.
func wrongClock(p *tab, fast int) {
	p.t.Helper()
	script := fmt.Sprintf(`(() => {
		const True = Date, off = %d
		globalThis.Date = class extends True {
			constructor(...a) { if (a.length) super(...a); else super(True.now() + off) }
			static now() { return True.now() + off }
		}
	})()`, fast)
	p.do(chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		_, err := cdp.Call(ctx, target, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: script})
		return err
	}))
}

// TestAtTheNet begins a session on a phone whose clock is two minutes fast,
// cuts the network, presses, closes the page and opens it again, presses more,
// loses an answer on the way, and looks for every press: none lost, none
// twice, each at its time.
func TestAtTheNet(t *testing.T) {
	app := running(t)
	coach, _ := signedIn(t, app)
	coach.until(`fetch('/api/plans', {method: 'POST', headers: {'Content-Type': 'application/json'}, body: JSON.stringify({title: 'Tuesday', player_id: 1, minutes: 20, blocks: [
		{name: 'Drives', feed: 'throw-down', feeder: 'Wren Oldacre', pace_s: 20, order: 'serial', types: [{name: 'Full', length: 'full', balls: 3}, {name: 'Good', length: 'good', balls: 3}]},
		{name: 'Mixed', feed: 'side-arm', feeder: 'Wren Oldacre', pace_s: 20, order: 'random', alike: 2, types: [{name: 'Full', length: 'full', balls: 3}, {name: 'Yorker', length: 'yorker', balls: 3}]}]})}).then(r => r.ok)`)
	link := eval[string](coach, `fetch('/api/accounts').then(r => r.json()).then(a => fetch('/api/accounts/' + a[0].id + '/link', {method: 'POST'})).then(r => r.json()).then(l => l.link.split('/join/')[1])`)
	wire := wired(t, app.URL())
	phone := person(t, coach.ctx, "phone", wire.url(), 390, 844)
	wrongClock(phone, 120_000)
	phone.open("/join/" + link)
	phone.click("button", "")
	phone.sees("Sessions")
	phone.open("/net?plan=1")
	phone.sees("opens offline")
	phone.shot("net begin")
	begun := time.Now()
	phone.click("button.start", "Start")
	phone.sees("All sent")
	session := eval[int](phone, `fetch('/api/sessions').then(r => r.json()).then(s => s[0].id)`)

	wire.cut()
	phone.click(".blocks button", "1. Drives")
	for range 3 {
		phone.click("button.ball", "given")
	}
	phone.click("button.look", "Look at this")
	phone.click("button.good", "Good")
	phone.click(".terms button", "Narrow")
	phone.sees("7 to send")
	phone.shot("net")
	assert.False(t, eval[bool](phone, `fetch('/plans', {headers: {Accept: 'text/html'}}).then(() => true, () => false)`), "other pages are not kept")

	// Closed and opened again, twice, with no network.
	for range 2 {
		phone.open("/net")
		phone.sees("4 of 6")
		phone.click("button.good", "Good")
	}
	phone.click("button.undo", "Take the last press back")
	phone.click(".terms button", "Player’s word")
	phone.click("dialog button", "Late")
	phone.sees("11 to send")
	ended := time.Now()

	// The first answer is lost on the way: the server has what the phone thinks it has not.
	wire.lose()
	phone.until(`(dispatchEvent(new Event('online')), true)`)
	coach.until(fmt.Sprintf(`fetch('/api/sessions/%d/net').then(r => r.json()).then(n => n.marks.length == 10)`, session))
	phone.until(`(dispatchEvent(new Event('online')), document.body.innerText.includes('All sent'))`)
	assert.False(t, wire.losing(), "an answer was lost on the way")

	type mark struct {
		UUID, Kind, Body string
		Made             time.Time
		Block, Ball      *int
		DoubtMS          int `json:"doubt_ms"`
	}
	marks := eval[struct{ Marks []mark }](phone, fmt.Sprintf(`fetch('/api/sessions/%d/net').then(r => r.json())`, session)).Marks
	kinds := map[string]int{}
	for _, m := range marks {
		kinds[m.Kind]++
		assert.WithinRange(t, m.Made, begun.Add(-2*time.Second), ended.Add(2*time.Second), "the phone is two minutes fast, its %s is not", m.Kind)
		assert.Less(t, m.DoubtMS, 5000)
	}
	assert.Equal(t, map[string]int{"start": 1, "block": 1, "given": 3, "look": 1, "good": 2, "term": 1, "word": 1}, kinds, "one Good was taken back")

	// Nothing was filmed; marks and cards still count.
	load := eval[struct {
		Stints []struct {
			Person, Feed string
			Balls        int
		}
	}](phone, `fetch('/api/load?doing=feeding&from=' + new Date(Date.now() - 2e8).toISOString().slice(0, 10) + '&to=' + new Date(Date.now() + 1e8).toISOString().slice(0, 10)).then(r => r.json())`)
	require.Len(t, load.Stints, 1)
	assert.Equal(t, 3, load.Stints[0].Balls)
	assert.Equal(t, "Wren Oldacre", load.Stints[0].Person)

	// A ball is put on the lane just before "Narrow" was pressed: the press stands on it, and one key accepts it.
	type timed struct {
		Kind string
		At   int64 `json:"at_us"`
	}
	at := eval[struct{ Marks []timed }](phone, fmt.Sprintf(`fetch('/api/sessions/%d/net').then(r => r.json())`, session)).Marks
	narrow := at[slices.IndexFunc(at, func(m timed) bool { return m.Kind == "term" })].At
	ball := eval[int](coach, fmt.Sprintf(`fetch('/api/sessions/%d/lane-edits', {method: 'POST', headers: {'Content-Type': 'application/json'},
		body: JSON.stringify({balls: [{start_us: %d, end_us: %d, state: 'accepted'}]})}).then(r => r.json()).then(b => b[0].id)`, session, narrow-600_000, narrow-100_000))
	coach.open(fmt.Sprintf("/sessions/%d", session))
	coach.sees("Player: “Late”")
	coach.sees("by the start that was pressed")
	coach.shot("session net")
	coach.open(fmt.Sprintf("/sessions/%d/code/%d", session, ball))
	coach.sees("Narrow?")
	coach.shot("proposed")
	coach.press("-")
	coach.until(fmt.Sprintf(`fetch('/api/balls/%d').then(r => r.json()).then(b => b.seen.some(o => o.group == 'base' && o.term == 'narrow'))`, ball))
	coach.until(`!document.querySelector('.proposed .chip')`)
}
