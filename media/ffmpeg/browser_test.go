package ffmpeg

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media"
	"netreel/media/ffmpeg/fftest"
)

// page shows a clip and tells, for given times, which picture a browser shows
// there: its mediaTime and the number in its squares.
const page = `<!doctype html><video muted preload=auto></video><script>
const video = document.querySelector('video')
const canvas = document.createElement('canvas'), pen = canvas.getContext('2d', {willReadFrequently: true})
function number() {
  canvas.width = video.videoWidth; canvas.height = video.videoHeight
  pen.drawImage(video, 0, 0)
  const turned = canvas.width < canvas.height
  let n = 0
  for (let b = 0; b < 14; b++) {
    const [x, y] = turned ? [canvas.width - 11, b*20 + 10] : [b*20 + 10, 10]
    if (pen.getImageData(x, y, 1, 1).data[0] > 128) n += 2 ** b
  }
  return n
}
async function look(src, times) {
  const loaded = new Promise((ok, no) => { video.onloadeddata = ok; video.onerror = () => no(video.error.message) })
  const first = new Promise(ok => video.requestVideoFrameCallback((_, m) => ok(m.mediaTime)))
  video.src = src
  await loaded
  const seen = [{time: await first, number: number()}]
  for (const t of times) {
    const next = new Promise(ok => video.requestVideoFrameCallback((_, m) => ok(m.mediaTime)))
    video.currentTime = t
    seen.push({time: await next, number: number()})
  }
  return seen
}
</script>`

// sighting is a picture as the page tells of it.
type sighting struct {
	Time   float64
	Number int
}

// TestBrowser holds Frames against what Chromium shows: the first picture after
// loading and some that are sought by their middle.
func TestBrowser(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	mux := http.NewServeMux()
	mux.Handle("/clips/", http.StripPrefix("/clips/", http.FileServer(http.Dir(dir))))
	mux.HandleFunc("/{$}", func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Content-Type", "text/html")
		_, _ = w.Write([]byte(page))
	})
	server := httptest.NewServer(mux)
	t.Cleanup(server.Close)
	ctx, cancel := chromedp.NewContext(t.Context(), chromedp.WithAllocatorOptions(
		chromedp.NoSandbox, chromedp.Flag("autoplay-policy", "no-user-gesture-required"),
		chromedp.Flag("disable-background-networking", true), chromedp.Flag("disable-component-update", true)))
	t.Cleanup(cancel)
	require.NoError(t, chromedp.Do(ctx, chromedp.Navigate(server.URL)))
	tool := newTool(t)
	for i, film := range []fftest.Film{farKeys, fast, uneven, late, mkv, turned, films[8].film} {
		src, span := fftest.Make(t, film), media.Span{Start: 1_234_567, End: 2_411_000}
		quick := Cut{Span: span, Dst: filepath.Join(dir, fmt.Sprintf("%d-quick.mp4", i))}
		done, err := tool.CutMany(t.Context(), src, []Cut{quick}, nil)
		require.NoError(t, err)
		smooth := Smooth{Span: span, Height: 720, Dst: filepath.Join(dir, fmt.Sprintf("%d-smooth.mp4", i))}
		smoothed, err := tool.Smooth(t.Context(), src, smooth, nil)
		require.NoError(t, err)
		for path, frames := range map[string][]media.Micros{quick.Dst: done[0].Frames, smooth.Dst: smoothed.Frames} {
			var pick []media.Micros // the times that are sought, and of the pictures there
			want := []media.Micros{frames[0]}
			for _, k := range []int{len(frames) - 2, 1, len(frames) / 2, len(frames)/2 + 1, 2} {
				pick, want = append(pick, middle(frames[k], frames[k+1])), append(want, frames[k])
			}
			numbers := map[media.Micros]int{}
			for _, s := range watch(t, tool, path, film.Turned) {
				numbers[s.at] = s.n
			}
			seen, err := chromedp.Run(ctx, chromedp.Evaluate[[]sighting](
				fmt.Sprintf("look('/clips/%s', %s)", filepath.Base(path), jsonSeconds(t, pick)), chromedp.EvalAwaitPromise))
			require.NoError(t, err, "%+v: %s", film, filepath.Base(path))
			for k, s := range seen {
				assert.InDelta(t, want[k].Seconds(), s.Time, 1.5e-6, "%+v: %s", film, filepath.Base(path))
				assert.Equal(t, numbers[want[k]], s.Number, "%+v: %s", film, filepath.Base(path))
			}
		}
	}
}

func jsonSeconds(t *testing.T, times []media.Micros) string {
	t.Helper()
	var s []float64
	for _, m := range times {
		s = append(s, m.Seconds())
	}
	b, err := json.Marshal(s)
	require.NoError(t, err)
	return string(b)
}
