package split

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// texture is a smooth picture that can be moved by parts of a pixel.
func texture(e *eye, dx, dy, light float64, noise *rand.Rand) []byte {
	out := make([]byte, e.width*e.height)
	for y := range e.height {
		for x := range e.width {
			u, v := float64(x)-dx, float64(y)-dy
			g := 110 + light + 30*math.Sin(u/9+math.Sin(v/13)) + 25*math.Sin(v/7+u/31)
			if noise != nil {
				g += noise.NormFloat64()
			}
			out[y*e.width+x] = byte(min(max(g, 0), 255))
		}
	}
	return out
}

func changed(t require.TestingT, e *eye, a, b []byte) []byte {
	cells := make([]byte, e.cells())
	e.have = false
	require.False(t, e.see(a, nil, nil, cells), "the first picture has nothing to be compared with")
	require.True(t, e.see(b, nil, nil, cells))
	return cells
}

func TestEyeSeesWhatMoves(t *testing.T) {
	e := newEye(1920, 1080)
	require.Equal(t, []int{256, 144, 16, 9}, []int{e.width, e.height, e.across, e.down})
	a, b := texture(e, 0, 0, 0, nil), texture(e, 0, 0, 0, nil)
	for y := 70; y < 90; y++ {
		for x := 50; x < 60; x++ {
			b[y*e.width+x] = 250
		}
	}
	cells := changed(t, e, a, b)
	for c, v := range cells {
		x, y := c%e.across, c/e.across
		inside := x == 3 && (y == 4 || y == 5)
		assert.Equal(t, inside, v > 0, "cell %d, %d changed by %d", x, y, v)
	}
}

// TestEyeTakesShakeOff moves the whole picture and its light: nothing in it
// has moved.
func TestEyeTakesShakeOff(t *testing.T) {
	e := newEye(1280, 720)
	rapid.Check(t, func(t *rapid.T) {
		dx := rapid.Float64Range(-6, 6).Draw(t, "dx")
		dy := rapid.Float64Range(-6, 6).Draw(t, "dy")
		light := rapid.Float64Range(-20, 20).Draw(t, "light")
		noise := rand.New(rand.NewPCG(9, 9))
		cells := changed(t, e, texture(e, 0, 0, 0, noise), texture(e, dx, dy, light, noise))
		inner, touched := 0, 0
		for c, v := range cells {
			if x, y := c%e.across, c/e.across; x > 0 && y > 0 && x < e.across-1 && y < e.down-1 {
				inner++
				if v > eyeUnit {
					touched++
				}
			}
		}
		assert.Less(t, float64(touched)/float64(inner), 0.1, "shares of cells that seem to move")
	})
}

func TestEyeKeepsThePicturesShape(t *testing.T) {
	for _, test := range []struct{ width, height, across, down int }{
		{1920, 1080, 16, 9}, {1080, 1920, 9, 16}, {640, 480, 16, 12}, {0, 0, 16, 9}, {4000, 10, 16, 2},
	} {
		e := newEye(test.width, test.height)
		assert.Equal(t, []int{test.across, test.down}, []int{e.across, e.down}, "%d x %d", test.width, test.height)
	}
}
