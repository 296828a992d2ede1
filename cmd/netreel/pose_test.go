package main

import (
	"encoding/base64"
	"fmt"
	"math"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// photograph is a footballer at full stretch, 548 x 342, which ships in
// Debian's package opencv-doc.
const photograph = "/usr/share/doc/opencv-doc/examples/data/messi5.jpg"

// TestPoseOnAPhotograph runs the pose model in a real browser, out of the files
// that our own server has and under the policy of its frame, on a photograph of
// a person. What it finds must lie where the points were picked by eye from an
// enlargement: within 12 pixels, of a body that is some 300 long in this
// picture; the toes within 30, since the model's point is not the shoe's tip.
func TestPoseOnAPhotograph(t *testing.T) {
	jpeg, err := os.ReadFile(photograph)
	require.NoError(t, err, "deploy/setup.sh installs the photographs")
	app := running(t)
	page := person(t, chromium(t), "photograph", app.URL(), 1280, 800)
	page.open("/sign-in")
	page.sees("Sign in")
	// The page's own policy lets in frames, and pictures of its own making.
	page.until(fmt.Sprintf(`(window.found ??= new Promise((done, failed) => {
		const frame = document.createElement('iframe');
		frame.src = '/pose.html';
		addEventListener('message', async e => {
			if (e.source !== frame.contentWindow) return;
			if (e.data.broken || e.data.problem) failed(new Error(e.data.broken ?? e.data.problem));
			if (e.data.points) done(e.data.points);
			if (!e.data.ready) return;
			const bytes = Uint8Array.from(atob(%q), c => c.charCodeAt(0));
			const picture = await createImageBitmap(new Blob([bytes], {type: 'image/jpeg'}));
			frame.contentWindow.postMessage({id: 1, picture}, location.origin, [picture]);
		});
		document.body.append(frame);
	}), Promise.race([window.found.then(() => true), new Promise(r => setTimeout(r, 200, false))]))`, base64.StdEncoding.EncodeToString(jpeg)))
	type landmark struct{ X, Y, Seen float64 }
	found := eval[[]landmark](page, `window.found`)
	require.Len(t, found, 33)
	for _, want := range []struct {
		name   string
		number int
		x, y   float64
		within float64
	}{
		{"nose", 0, 249, 114, 12},
		{"left wrist", 15, 345, 162, 12},
		{"right wrist", 16, 104, 103, 12},
		{"left knee", 25, 351, 252, 12},
		{"right knee", 26, 232, 281, 12},
		{"left ankle", 27, 418, 265, 12},
		{"right ankle", 28, 290, 315, 12},
		{"left heel", 29, 424, 272, 12},
		{"right heel", 30, 304, 328, 12},
		{"left toe", 31, 453, 283, 30},
		{"right toe", 32, 254, 330, 30},
	} {
		l := found[want.number]
		off := math.Hypot(548*l.X-want.x, 342*l.Y-want.y)
		assert.Less(t, off, want.within, "%s: at %.0f, %.0f", want.name, 548*l.X, 342*l.Y)
		assert.Greater(t, l.Seen, 0.5, want.name)
	}
	page.quiet()
}
