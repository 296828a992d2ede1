package main

import (
	"encoding/json"
	"fmt"
	"math"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// walkFilm is a man who crosses a square, out of the film of people walking, as
// often as wanted: each time he goes from the right to the left in three
// seconds. The same 426 x 240 pixels of each frame, at the size and rate of a
// phone's film.
func walkFilm(t testing.TB, times, width, height, rate int) string {
	t.Helper()
	film := filepath.Join(t.TempDir(), "walk.mp4")
	out, err := exec.CommandContext(t.Context(), "ffmpeg", "-v", "error", "-i", examples+"vtest.avi", "-vf",
		fmt.Sprintf("trim=end_frame=30,crop=426:240:264:170,scale=%d:%d,fps=%d,loop=%d:%d,setpts=N/FR/TB", width, height, rate, times-1, 3*rate),
		"-c:v", "libx264", "-preset", "ultrafast", "-g", fmt.Sprint(rate), "-pix_fmt", "yuv420p", film).CombinedOutput()
	require.NoError(t, err, "%s", out)
	return film
}

// inWalk is a place of vtest.avi, in pixels, as it is seen in walkFilm.
func inWalk(x, y float64) demoPoint { return demoPoint{(x - 264) / 426, (y - 170) / 240} }

// On its frame 17, when the man has both feet on the ground: where his heels
// meet it, picked by eye from a twentyfold enlargement.
const walkContact = 1_650_000

var walkHeels = map[string]demoPoint{"front-heel": inWalk(492.4, 319.1), "back-heel": inWalk(522.8, 320.6)}

// Boxes in which he is said to wait: where he comes from, which he has left by
// far at contact, and where he is then.
const (
	boxBefore    = `{x: 0.86, y: 0.29, width: 0.14, height: 0.36}`
	boxAtContact = `{x: 0.47, y: 0.25, width: 0.2, height: 0.45}`
)

// walking is a session of a man who walks, as often as wanted: each time is a
// ball. The lane's ground is laid where he goes, and to his size, since nothing
// is marked on it.
func walking(t testing.TB, box string, times, width, height, rate int) (w *measuredWorld, balls []int64) {
	app := running(t)
	secret, err := app.unclaimedLink(t.Context())
	require.NoError(t, err)
	w = broughtIn(t, app.URL(), secret, walkFilm(t, times, width, height, rate))
	status := eval[int](w.coach, fmt.Sprintf(`(async () => {
		const put = (path, body, method) => fetch(path, {method, headers: {'Content-Type': 'application/json'}, body: JSON.stringify(body)});
		const {balls} = await (await fetch('/api/sessions/%[1]d/lane')).json();
		const [player] = (await (await fetch('/api/sessions/%[1]d')).json()).players;
		const found = balls.map(b => ({...Object.fromEntries(['id', 'revision', 'start_us', 'contact_us', 'end_us'].map(k => [k, b[k]])), state: 'discarded'}));
		const walks = Array.from({length: %[2]d}, (_, i) => i * 3e6).map(from => ({start_us: from, contact_us: from + %[3]d, end_us: from + 2.6e6, state: 'accepted', batter_id: player.id}));
		return (await put('/api/sessions/%[1]d/lane-edits', {balls: [...found, ...walks]}, 'POST')).status;
	})()`, w.session, times, walkContact))
	require.Equal(t, 200, status)
	w.calibrate(map[string]demoPoint{
		"bowling-leg": inWalk(542, 347), "bowling-off": inWalk(548, 297), "popping-leg": inWalk(487, 346), "popping-off": inWalk(494, 296.5),
	}, box)
	clips := fmt.Sprintf(`fetch('/api/sessions/%d/balls').then(r => r.json())`, w.session)
	w.coach.until(clips + fmt.Sprintf(`.then(l => l.length == %d && l.every(b => b.clips[0]?.smooth))`, times))
	return w, eval[[]int64](w.coach, clips+`.then(l => l.map(b => b.id))`)
}

// TestMeasuringByTheModel is the quick way on balls that nobody has measured.
// The batter's box is drawn once by two clicks, where he waits; then one key
// freezes the frame at contact; the batter, who has left the box, is followed
// there; the model puts the points on; one key keeps the base with how sure it
// is, and the word that it implies waits for the next.
// The second ball was looked at while the first was at hand.
func TestMeasuringByTheModel(t *testing.T) {
	w, balls := walking(t, `null`, 2, 1280, 720, 25)
	coach := w.coach
	coach.open(fmt.Sprintf("/recordings/%d/calibrate", w.recording))
	coach.until(`document.querySelector('.pad canvas')?.width == 1280`)
	coach.click(".points button", "Batter’s box, corner 1")
	w.clickAt(0.86, 0.29)
	coach.until(`document.querySelectorAll('.pad .dot').length == 5`)
	w.clickAt(0.999, 0.65)
	coach.click("button", "Save the new calibration")
	coach.sees("The camera is calibrated")
	coach.open(fmt.Sprintf("/sessions/%d/code/%d", w.session, balls[0]))
	coach.until(`document.querySelector('video.front')?.videoWidth > 0`)
	coach.press("m")
	for i, ball := range balls {
		coach.until(fmt.Sprintf(`location.pathname.endsWith('/code/%d') && document.querySelector('.measure dl')?.innerText.includes('Base')`, ball))
		coach.until(`document.querySelectorAll('.layer .dot.proposed').length == 5`) // heels, toes and the head, as they were proposed
		coach.until(`document.querySelector('.layer polyline.white')`)
		way := eval[[][]float64](coach, `(async () => document.querySelector('.layer polyline.white').getAttribute('points').split(' ').map(p => p.split(',').map(Number)))()`)
		assert.Greater(t, way[0][0], 0.86, "the head's way begins in the box")
		assert.InDelta(t, inWalk(495, 246).X, way[len(way)-1][0], 0.03, "and ends where the nose is at contact")
		coach.shot(fmt.Sprintf("measure by the model %d", i+1))
		coach.enter()

		readings := fmt.Sprintf(`fetch('/api/balls/%d/readings').then(r => r.json())`, ball)
		coach.until(readings + `.then(l => l.length == 1 && l[0].status == 'accepted')`)
		kept := eval[measuredBall](coach, readings+`.then(l => l[0])`)
		assert.Contains(t, kept.ProposedBy, "@mediapipe/pose")
		for heel, want := range walkHeels {
			got := kept.Sights.Contact.Points[heel]
			assert.Less(t, math.Hypot((got.X-want.X)*426, (got.Y-want.Y)*240), 5.0, "%s, pixels of 80 that the man has", heel)
			assert.Equal(t, got, kept.Sights.Contact.Proposed[heel], "what was proposed is kept beside what was accepted")
		}
		picked := w.byHand(t, ball, kept.Sights.Contact.At)
		require.Equal(t, "base-width", kept.Values[0].Measure)
		assert.Positive(t, kept.Values[0].Sigma)
		assert.InDelta(t, picked.Value, kept.Values[0].Value, 2*kept.Values[0].Sigma, "the base by the heels that were picked by eye")
		assert.Equal(t, []string{"base-width"}, eval[[]string](coach, fmt.Sprintf(`fetch('/api/balls/%d').then(r => r.json()).then(b => b.measured.map(m => m.measure).filter(m => m == 'base-width'))`, ball)), "the ball has it")

		coach.sees("Base: Sound")
		coach.enter()
		coach.until(fmt.Sprintf(`fetch('/api/balls/%d').then(r => r.json()).then(b => b.seen.some(o => o.group == 'base' && o.term == 'sound'))`, ball))
	}
	coach.quiet()
}

type measuredValue struct {
	Measure      string
	Value, Sigma float64
}

// measuredBall is a Reading of the API.
type measuredBall struct {
	ProposedBy string `json:"proposed_by"`
	Sights     struct {
		Contact struct {
			At               int64 `json:"at_us"`
			Points, Proposed map[string]demoPoint
		}
	}
	Values []measuredValue
}

// byHand is the base that the heels come to which were picked by eye.
func (w *measuredWorld) byHand(t *testing.T, ball, at int64) measuredValue {
	points, err := json.Marshal(walkHeels)
	require.NoError(t, err)
	values := eval[[]measuredValue](w.coach, fmt.Sprintf(`fetch('/api/readings/try', {method: 'POST', headers: {'Content-Type': 'application/json'}, body: JSON.stringify({
		uuid: crypto.randomUUID(), ball_id: %d, recording_id: %d, proposed_by: '', status: 'accepted', sights: {contact: {at_us: %d, points: %s}}})}).then(r => r.json()).then(o => o.values)`,
		ball, w.recording, at, points))
	require.NotEmpty(t, values)
	require.Equal(t, "base-width", values[0].Measure)
	return values[0]
}

// BenchmarkMeasuringByTheModel has a session's balls measured, each kept as
// soon as its base is there, and the word that it implies too: balls on which
// nobody has put a point, the batter in the box or followed out of it, and balls
// that were all measured in the background before. Seconds to the first one, which has the models opened, and from then
// on a ball.
func BenchmarkMeasuringByTheModel(b *testing.B) {
	const many = 13
	measure := func(b *testing.B, w *measuredWorld, balls []int64) {
		coach := w.coach
		coach.open(fmt.Sprintf("/sessions/%d/code/%d", w.session, balls[0]))
		coach.until(`document.querySelector('video.front')?.videoWidth > 0`)
		begin := time.Now()
		var first time.Duration
		coach.press("m")
		for i, ball := range balls {
			coach.until(fmt.Sprintf(`location.pathname.endsWith('/code/%d') && document.querySelector('.measure dl')?.innerText.includes('Base')`, ball))
			coach.enter()
			coach.until(`(words => words?.includes('Base: ') && !words.includes('Keep'))(document.querySelector('.measure .acts')?.innerText)`)
			coach.enter()
			if i == 0 {
				first = time.Since(begin)
			}
		}
		b.ReportMetric(first.Seconds(), "s-first")
		b.ReportMetric((time.Since(begin)-first).Seconds()/(many-1), "s/ball")
		coach.until(fmt.Sprintf(`fetch('/api/sessions/%d/readings').then(r => r.json()).then(l => l.filter(r => r.status == 'accepted').length == %d)`, w.session, many))
	}
	for name, box := range map[string]string{"in the box": boxAtContact, "followed": boxBefore} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				w, balls := walking(b, box, many, 1920, 1080, 50)
				measure(b, w, balls)
			}
		})
	}
	b.Run("proposed", func(b *testing.B) {
		for b.Loop() {
			w, balls := walking(b, boxBefore, many, 1920, 1080, 50)
			w.coach.open(fmt.Sprintf("/sessions/%d/measures", w.session))
			w.coach.click("button", "Measure all struck balls")
			w.coach.sees("Done:")
			measure(b, w, balls)
		}
	})
}
