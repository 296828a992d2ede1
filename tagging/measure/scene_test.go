package measure

import (
	"math/rand/v2"
	"slices"

	"github.com/stretchr/testify/require"

	"netreel/media/scene/space"
)

// The pinhole cameras here are those of package space, which knows nothing of
// this package.

const (
	pictureWidth  = 1920
	pictureHeight = 1080
)

var (
	corners = []string{"bowling-leg", "bowling-off", "popping-leg", "popping-off"}
	tops    = []string{"middle-top", "outer-top-leg", "outer-top-off"}
	checks  = []string{"middle-base", "outer-base-leg", "outer-base-off"}
)

// cameraAt looks from eye at the batter, framed so that a metre there is so many
// pixels.
func cameraAt(eye space.V, pixelsMetre float64) space.Camera {
	at := space.V{X: 1, Z: 0.7}
	return space.LookAt(eye, at, pixelsMetre*at.Sub(eye).Len(), pictureWidth, pictureHeight)
}

var (
	sideOn  = cameraAt(space.V{X: 1.1, Y: -8, Z: 1.5}, 390)
	oblique = cameraAt(space.V{X: 1.1 + 5.657, Y: -5.657, Z: 2.5}, 390)
	behind  = cameraAt(space.V{X: -6, Z: 2}, 390)
	endOn   = cameraAt(space.V{X: 22.9, Z: 1.8}, 390)
)

// noise is a deterministic source of clicks that are off.
type noise struct {
	r     *rand.Rand
	sigma float64
}

func exact() noise { return noise{rand.New(rand.NewPCG(1, 1)), 0} }

func noisy(seed uint64, sigma float64) noise { return noise{rand.New(rand.NewPCG(seed, 2)), sigma} }

// pixel is where a camera sees a point, clicked.
func (n noise) pixel(t require.TestingT, cam space.Camera, p space.V) Pixel {
	at, _, ok := cam.Project(p)
	require.True(t, ok, "%v is behind the camera", p)
	return Pixel{at.X + n.sigma*n.r.NormFloat64(), at.Y + n.sigma*n.r.NormFloat64()}
}

// clicks clicks marks of a pitch by their keys.
func (n noise) clicks(t require.TestingT, cam space.Camera, pitch Pitch, keys ...[]string) []Click {
	var all []Click
	for _, k := range slices.Concat(keys...) {
		for _, m := range pitch.Marks() {
			if m.Key == k {
				at := n.pixel(t, cam, space.V{X: m.X, Y: m.Y, Z: m.Z})
				all = append(all, Click{Mark: k, X: at.X, Y: at.Y})
			}
		}
	}
	return all
}

func setup(pitch Pitch) Setup { return Setup{Pitch: pitch, Width: pictureWidth, Height: pictureHeight} }

// calibrated calibrates a camera from the near end.
func (n noise) calibrated(t require.TestingT, cam space.Camera) *Calibration {
	c, err := Calibrate(setup(usualPitch()), n.clicks(t, cam, usualPitch(), corners, checks, tops))
	require.NoError(t, err)
	return c
}
