package plain

import (
	"encoding/binary"
	"math"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestListsNeverMix keeps what is tuned on and what is judged by apart.
func TestListsNeverMix(t *testing.T) {
	t.Parallel()
	seeds := map[uint64]string{}
	for _, list := range [][]Setting{Tuning(), Judging()} {
		for _, s := range list {
			assert.Empty(t, seeds[s.Seed], "%s has the seed of another scene", s.Name)
			seeds[s.Seed] = s.Name
			assert.Zero(t, s.Width%2+s.Height%2, s.Name)
			assert.True(t, s.FPS >= 25 && s.FPS <= 240, s.Name)
		}
	}
	for _, a := range Tuning() {
		for _, b := range Judging() {
			a.Name, a.Seed, b.Name, b.Seed = "", 0, "", 0
			assert.NotEqual(t, a, b)
		}
	}
}

// TestBallsAreInOrder checks every scene's truth: released, bounced, passed,
// each ball before the next and inside the film.
func TestBallsAreInOrder(t *testing.T) {
	t.Parallel()
	for _, s := range append(Tuning(), Judging()...) {
		w := New(s, &Library{})
		last := 0.0
		for _, b := range w.Balls {
			assert.True(t, b.Release > last && b.Release < b.Bounce && b.Bounce < b.Passing && b.Passing < b.End && b.End < s.Seconds, s.Name)
			last = b.Passing
		}
		if s.Gap > 0 {
			assert.Greater(t, len(w.Balls), 4, s.Name)
		} else {
			assert.Empty(t, w.Balls, s.Name)
		}
	}
}

// TestBatIsHeardWhenItStrikes looks for the jump of the sound at each contact,
// as late as its way to the microphone takes.
func TestBatIsHeardWhenItStrikes(t *testing.T) {
	t.Parallel()
	s := Setting{Seed: 5, Seconds: 40, Gap: 6, FPS: 25, Width: 64, Height: 36, Distance: 10, Noise: -60}
	w := New(s, &Library{})
	x := w.Sound()
	energy := func(from, to float64) (sum float64) {
		for _, v := range x[int(from*Rate):int(to*Rate)] {
			sum += float64(v) * float64(v)
		}
		return sum
	}
	require.NotEmpty(t, w.Balls)
	for _, b := range w.Balls {
		at := b.Passing + 10.0/343
		assert.Greater(t, energy(at, at+0.005), 30*energy(at-0.01, at-0.001))
	}
}

// TestBallIsSeenToFly looks for what differs from the picture before, and for
// a still picture when nothing goes on.
func TestBallIsSeenToFly(t *testing.T) {
	t.Parallel()
	s := Setting{Seed: 6, Seconds: 20, Gap: 8, FPS: 50, Width: 320, Height: 180, Ball: 0.02}
	w := New(s, &Library{})
	a, b := make([]byte, 320*180*3/2), make([]byte, 320*180*3/2)
	differ := func(t float64) (n int) {
		w.Picture(int(t*50), a)
		w.Picture(int(t*50)+1, b)
		for i := range a {
			if a[i] != b[i] {
				n++
			}
		}
		return n
	}
	require.NotEmpty(t, w.Balls)
	assert.Zero(t, differ(0.5))
	assert.Greater(t, differ((w.Balls[0].Release+w.Balls[0].Passing)/2), 20)
}

func TestDecode(t *testing.T) {
	t.Parallel()
	const n = 8000
	raw := []byte("RIFF....WAVEfmt ")
	raw = binary.LittleEndian.AppendUint32(raw, 16)
	for _, v := range []uint16{1, 1} {
		raw = binary.LittleEndian.AppendUint16(raw, v)
	}
	raw = binary.LittleEndian.AppendUint32(raw, 22050)
	raw = binary.LittleEndian.AppendUint32(raw, 44100)
	raw = binary.LittleEndian.AppendUint16(raw, 2)
	raw = binary.LittleEndian.AppendUint16(raw, 16)
	raw = append(raw, "data"...)
	raw = binary.LittleEndian.AppendUint32(raw, 2*n)
	for i := range n {
		raw = binary.LittleEndian.AppendUint16(raw, uint16(int16(16000*math.Sin(2*math.Pi*440*float64(i)/22050))))
	}
	x := decode(raw)
	require.Len(t, x, 2*n)
	for i := range 2*n - 1 { // the last has nothing after it
		require.InDelta(t, 16000.0/32768*math.Sin(2*math.Pi*440*float64(i)/44100), x[i], 0.01)
	}
	assert.Nil(t, decode([]byte("no sound")))
	assert.Nil(t, decode(raw[:20]))
}

// TestLoadWithoutRecordings works on a machine where nothing is installed.
func TestLoadWithoutRecordings(t *testing.T) {
	t.Parallel()
	l := Load(os.DirFS(t.TempDir()))
	assert.False(t, l.Installed())
	assert.NotEmpty(t, New(Setting{Seed: 1, Seconds: 10, Gap: 3, FPS: 25, Width: 64, Height: 36, Talk: 0.5, Claps: 6, Bat: Cajon, Neighbours: 1}, l).Sound())
}
