package scene_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"netreel/media/scene"
	"netreel/media/scene/space"
)

var views = []scene.View{scene.SideOn, scene.BehindTheArm, scene.Oblique}

// homography fits pixels to the ground plane from four points or more by the
// direct linear transformation (Hartley and Zisserman 2004, Algorithm 4.1):
// the right singular vector of the least singular value.
func homography(t *testing.T, px, ground [][2]float64) func(x, y float64) (float64, float64) {
	a := mat.NewDense(2*len(px), 9, nil)
	for i := range px {
		x, y, u, v := px[i][0]/1000, px[i][1]/1000, ground[i][0], ground[i][1]
		a.SetRow(2*i, []float64{x, y, 1, 0, 0, 0, -u * x, -u * y, -u})
		a.SetRow(2*i+1, []float64{0, 0, 0, x, y, 1, -v * x, -v * y, -v})
	}
	var svd mat.SVD
	require.True(t, svd.Factorize(a, mat.SVDFull))
	var v mat.Dense
	svd.VTo(&v)
	h := mat.Col(nil, 8, &v)
	return func(x, y float64) (float64, float64) {
		x, y = x/1000, y/1000
		w := h[6]*x + h[7]*y + h[8]
		return (h[0]*x + h[1]*y + h[2]) / w, (h[3]*x + h[4]*y + h[5]) / w
	}
}

// A homography that knows only the corners of the crease rectangle, in the
// metres of the Laws (bowling crease to popping crease 1.22 m, return creases
// 2.64 m apart), finds stumps and far creases where the Laws have them.
func TestCreasesLieAsTheLawsSay(t *testing.T) {
	for _, view := range views {
		s := scene.WinterSession(1)
		s.View = view
		show, err := scene.New(s)
		require.NoError(t, err)
		m := show.Truth().Camera.Matrix
		project := func(x, y float64) [2]float64 {
			w := m[2][0]*x + m[2][1]*y + m[2][3]
			return [2]float64{(m[0][0]*x + m[0][1]*y + m[0][3]) / w, (m[1][0]*x + m[1][1]*y + m[1][3]) / w}
		}
		corners := [][2]float64{{0, -1.32}, {0, 1.32}, {1.22, -1.32}, {1.22, 1.32}}
		var px [][2]float64
		for _, c := range corners {
			px = append(px, project(c[0], c[1]))
		}
		ground := homography(t, px, corners)
		for _, p := range [][2]float64{{0, 0}, {0, -0.1143}, {0, 0.1143}, {1.22, 1.83}, {-1.22, 1.32}, {18.90, 0}, {20.12, -1.32}} {
			at := project(p[0], p[1])
			x, y := ground(at[0], at[1])
			require.InDelta(t, p[0], x, 1e-6, "%s %v", view, p)
			require.InDelta(t, p[1], y, 1e-6, "%s %v", view, p)
		}
	}
}

// The paint of the popping crease begins at 1.22 m and no sooner: the edge is
// looked for in the picture itself, along lines that cross the crease, and put
// back on the ground.
func TestThePictureShowsTheCreaseThere(t *testing.T) {
	s := scene.WinterSession(1)
	show, err := scene.New(s)
	require.NoError(t, err)
	pix := show.NewFilmer().Frame(0)
	cam := show.Truth().Camera
	luma := func(x, y float64) float64 {
		at, _, ok := cam.Project(space.V{X: x, Y: y})
		require.True(t, ok)
		sum := 0.0
		x0, y0 := at.X-0.5, at.Y-0.5
		for dy := range 2 {
			for dx := range 2 {
				ix, iy := int(math.Floor(x0))+dx, int(math.Floor(y0))+dy
				w := (1 - math.Abs(x0-float64(ix))) * (1 - math.Abs(y0-float64(iy)))
				sum += w * float64(pix[iy*s.Width+ix])
			}
		}
		return sum
	}
	for _, y := range []float64{0.6, 0.8, 1.0, 1.2, 1.45, 1.7} {
		before, paint := luma(1.12, y), luma(1.245, y)
		require.Greater(t, paint, before+15, "white at %.1f", y)
		edge := 0.0
		for x := 1.15; x < 1.25; x += 0.0005 {
			if luma(x, y) >= (before+paint)/2 {
				edge = x
				break
			}
		}
		require.InDelta(t, 1.22, edge, 0.008, "back edge of the popping crease at y = %.1f", y)
	}
}

func TestFramesAreOfTheirTime(t *testing.T) {
	frame := func(fps float64, i int) []byte {
		s := small(5)
		s.FPS, s.FrameCode = fps, false
		show, err := scene.New(s)
		require.NoError(t, err)
		return append([]byte{}, show.NewFilmer().Frame(i)...)
	}
	// 4.8 s after the beginning, whatever the rate.
	want := frame(25, 120)
	for fps, i := range map[float64]int{50: 240, 100: 480, 240: 1152} {
		require.Equal(t, want, frame(fps, i), "%v fps", fps)
	}
}

// The batter is seen, whole, in every view and shape of picture; with a
// shaking camera too.
func TestEveryViewShowsTheBatter(t *testing.T) {
	for _, view := range views {
		for _, size := range [][2]int{{320, 180}, {180, 320}} {
			for _, shake := range []float64{0, 0.8} {
				s := small(2)
				s.View, s.Width, s.Height, s.Shake, s.Grain = view, size[0], size[1], shake, 2*shake
				say := fmt.Sprint(view, size, shake)
				show, err := scene.New(s)
				require.NoError(t, err, say)
				cam := show.Truth().Camera
				for _, p := range []space.V{{X: 1.1}, {X: 1.5}, {X: 1.3, Z: 1.75}} {
					at, _, ok := cam.Project(p)
					require.True(t, ok && at.X > 10 && at.X < float64(s.Width)-10 && at.Y > 10 && at.Y < float64(s.Height)-10, "%s: %v at %v", say, p, at)
				}
				f := show.NewFilmer()
				require.Len(t, f.Frame(10), s.Width*s.Height*3/2, say)
				n, ok := scene.ReadCode(f.Frame(10), s.Width)
				require.True(t, ok, say)
				require.Equal(t, 10, n, say)
			}
		}
	}
}

func TestBatterIsLargeSideOn(t *testing.T) {
	show, err := scene.New(scene.WinterSession(1))
	require.NoError(t, err)
	c := show.Truth().Camera
	require.InDelta(t, 8.1, c.Batter, 0.2, "metres from the crease")
	require.InDelta(t, 0.47, 1.7*c.Pixels/720, 0.04, "share of the picture's height")
	require.InDelta(t, 8.2*2.9, c.SoundDelay*1000, 0.6, "2.9 ms a metre")
}
