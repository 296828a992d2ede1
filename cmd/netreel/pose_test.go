package main

import (
	"encoding/base64"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// examples has photographs of people and a film of people walking, which ship
// in Debian's package opencv-doc.
const examples = "/usr/share/doc/opencv-doc/examples/data/"

type landmark struct{ X, Y, Seen float64 }

// part is where a point of a body was picked by eye from a sixfold enlargement,
// in pixels; whole and quick are its numbers in the two models, -1 where one
// does not know it.
type part struct {
	name         string
	whole, quick int
	x, y         float64
}

// photographs: a footballer at full stretch, 548 x 342, and, in grey, a man who
// throws a ball, 640 x 480. Tall is the body from crown to sole, in pixels. A
// box is where to look: x, y, width, height.
var photographs = []struct {
	file string
	tall float64
	box  [4]int
	at   []part
}{
	{"messi5.jpg", 273, [4]int{50, 45, 430, 297}, []part{
		{"nose", 0, 0, 246.8, 116.8}, {"left shoulder", 11, 5, 282.6, 121.4}, {"right shoulder", 12, 6, 200.1, 119.6},
		{"left elbow", 13, 7, 315, 145}, {"right elbow", 14, 8, 145.8, 120.2}, {"left wrist", 15, 9, 344.8, 162.6}, {"right wrist", 16, 10, 100.5, 101.6},
		{"left hip", 23, 11, 289, 233}, {"right hip", 24, 12, 244.6, 249}, {"left knee", 25, 13, 353.6, 249}, {"right knee", 26, 14, 226.8, 279.3},
		{"left ankle", 27, 15, 417, 265}, {"right ankle", 28, 16, 289, 315},
		{"left heel", 29, -1, 423, 274}, {"left toe", 31, -1, 454.5, 286}, // the right shoe is seen from its tip
	}},
	{"basketball1.png", 390, [4]int{15, 60, 190, 420}, []part{
		{"nose", 0, 0, 95, 112}, {"left shoulder", 11, 5, 114, 155}, {"right shoulder", 12, 6, 48, 160},
		{"left elbow", 13, 7, 138, 213}, {"right elbow", 14, 8, 89.3, 208.6}, {"left wrist", 15, 9, 148.3, 167.4}, {"right wrist", 16, 10, 132.8, 157},
		{"left hip", 23, 11, 112, 289}, {"right hip", 24, 12, 60, 288}, {"left knee", 25, 13, 119.4, 375.5}, {"right knee", 26, 14, 62.5, 375.5},
		{"left ankle", 27, 15, 124, 451}, {"right ankle", 28, 16, 61, 457},
		{"left heel", 29, -1, 113, 458}, {"left toe", 31, -1, 151.5, 468.5}, // the right one is cut off by the picture's edge
	}},
}

// modelled asks one of the two models, in a frame under its own policy and out
// of the files that our own server has, for the points of a body in a part of a
// picture; they come in shares of that part.
func (p *tab) modelled(model, file string, box [4]int, size string) []landmark {
	p.t.Helper()
	bytes, err := os.ReadFile(file)
	require.NoError(p.t, err, "deploy/setup.sh installs the photographs")
	// The page's own policy lets in frames, and pictures of its own making.
	p.until(fmt.Sprintf(`(window.models ??= {}, window.models[%[1]q] ??= new Promise((done, failed) => {
		const frame = document.createElement('iframe');
		frame.src = '/pose.html#%[1]s';
		addEventListener('message', e => {
			if (e.source !== frame.contentWindow) return;
			if (e.data.broken) failed(new Error(e.data.broken));
			if (e.data.ready) done(frame);
		});
		document.body.append(frame);
	}), Promise.race([window.models[%[1]q].then(() => true), new Promise(r => setTimeout(r, 200, false))]))`, model))
	p.until(fmt.Sprintf(`(window.asking ??= window.models[%q].then(frame => new Promise(async (done, failed) => {
		addEventListener('message', function hear(e) {
			if (e.source !== frame.contentWindow) return;
			removeEventListener('message', hear);
			if (e.data.problem) failed(new Error(e.data.problem));
			done(e.data.points);
		});
		const bytes = Uint8Array.from(atob(%q), c => c.charCodeAt(0));
		const picture = await createImageBitmap(new Blob([bytes]), %d, %d, %d, %d, %s);
		frame.contentWindow.postMessage({id: 1, picture}, location.origin, [picture]);
	})), Promise.race([window.asking.then(() => true), new Promise(r => setTimeout(r, 200, false))]))`,
		model, base64.StdEncoding.EncodeToString(bytes), box[0], box[1], box[2], box[3], size))
	return eval[[]landmark](p, `window.asking.then(points => (delete window.asking, points ?? []))`)
}

// square is the least square that holds a box.
func square(b [4]int) [4]int {
	side := max(b[2], b[3])
	return [4]int{b[0] + b[2]/2 - side/2, b[1] + b[3]/2 - side/2, side, side}
}

const squared = `{resizeWidth: 192, resizeHeight: 192, resizeQuality: 'high'}`

// TestPoseOnPhotographs runs both models on photographs of people. What they
// find must lie where the points were picked by eye: by 3 % of the body's
// height in the mean and 7 % at most, a heel by 5 %; the toes by 12 %, since the
// model's point is not the shoe's tip.
func TestPoseOnPhotographs(t *testing.T) {
	app := running(t)
	page := person(t, chromium(t), "photographs", app.URL(), 1280, 800)
	page.open("/sign-in")
	page.sees("Sign in")
	for _, photo := range photographs {
		for model, number := range map[string]func(part) int{
			"whole": func(p part) int { return p.whole },
			"quick": func(p part) int { return p.quick },
		} {
			box, size := photo.box, "{}"
			if model == "quick" {
				box, size = square(box), squared
			}
			found := page.modelled(model, examples+photo.file, box, size)
			require.NotEmpty(t, found, "%s on %s sees nobody", model, photo.file)
			var sum, worst float64
			var joints int
			for _, want := range photo.at {
				if number(want) < 0 {
					continue
				}
				l := found[number(want)]
				off := math.Hypot(float64(box[0])+float64(box[2])*l.X-want.x, float64(box[1])+float64(box[3])*l.Y-want.y) / photo.tall
				if want.quick < 0 {
					limit := 0.05
					if want.whole >= 31 {
						limit = 0.12
					}
					assert.Less(t, off, limit, "%s on %s: %s", model, photo.file, want.name)
					continue
				}
				sum, worst, joints = sum+off, max(worst, off), joints+1
			}
			t.Logf("%s on %s: mean %.1f %%, worst %.1f %% of the body's height", model, photo.file, 100*sum/float64(joints), 100*worst)
			assert.Less(t, sum/float64(joints), 0.035, "%s on %s", model, photo.file)
			assert.Less(t, worst, 0.07, "%s on %s", model, photo.file)
		}
	}
	// Points do not depend on which picture came before.
	first := photographs[0]
	var again [2][]landmark
	for i := range again {
		again[i] = page.modelled("whole", examples+first.file, first.box, "{}")
		page.modelled("whole", examples+photographs[1].file, photographs[1].box, "{}")
	}
	require.Len(t, again[0], 33)
	require.Len(t, again[1], 33)
	for i := range again[0] {
		assert.InDelta(t, again[0][i].X, again[1][i].X, 0.004, "point %d", i)
		assert.InDelta(t, again[0][i].Y, again[1][i].Y, 0.004, "point %d", i)
	}
	page.quiet()
}

// TestQuickModelFollows has the quick model follow a man of 80 pixels who walks
// 190 of them to the left in 1.8 s, three tenths of a second from look to look,
// each around where his hips were on the last. His hips and feet are where they
// were picked by eye, to 7 pixels.
func TestQuickModelFollows(t *testing.T) {
	folder := t.TempDir()
	cut := exec.CommandContext(t.Context(), "ffmpeg", "-v", "error", "-i", examples+"vtest.avi", "-frames:v", "19", "-q:v", "2", filepath.Join(folder, "%d.jpg"))
	out, err := cut.CombinedOutput()
	require.NoError(t, err, "%s", out)
	app := running(t)
	page := person(t, chromium(t), "walker", app.URL(), 1280, 800)
	page.open("/sign-in")
	page.sees("Sign in")
	const hip, ankle = 11, 15
	picked := map[int]struct {
		hips [2]float64
		feet [2][2]float64
	}{
		7:  {feet: [2][2]float64{{601, 319}, {628, 314}}, hips: [2]float64{607, 286.5}},
		13: {feet: [2][2]float64{{533, 315.5}, {559.5, 320.6}}, hips: [2]float64{548.5, 287}},
		19: {feet: [2][2]float64{{478, 316.6}, {493.4, 308.5}}, hips: [2]float64{481, 281}},
	}
	box := [4]int{610, 228, 105, 105}
	for n := 1; n <= 19; n += 3 {
		found := page.modelled("quick", filepath.Join(folder, fmt.Sprintf("%d.jpg", n)), box, squared)
		require.Len(t, found, 17)
		at := func(i int) (x, y float64) {
			return float64(box[0]) + float64(box[2])*found[i].X, float64(box[1]) + float64(box[3])*found[i].Y
		}
		x1, y1 := at(hip)
		x2, y2 := at(hip + 1)
		if want, ok := picked[n]; ok {
			assert.Less(t, math.Hypot((x1+x2)/2-want.hips[0], (y1+y2)/2-want.hips[1]), 7.0, "hips on frame %d", n)
			for _, foot := range want.feet {
				nearest := math.Inf(1)
				for i := range 2 {
					x, y := at(ankle + i)
					nearest = min(nearest, math.Hypot(x-foot[0], y-foot[1]))
				}
				assert.Less(t, nearest, 7.0, "a foot on frame %d", n)
			}
		}
		box[0], box[1] = int((x1+x2)/2)-box[2]/2, int((y1+y2)/2)-box[3]/2
	}
	page.quiet()
}
