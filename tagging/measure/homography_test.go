package measure

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// The unit square onto a quadrangle, solved by hand in fractions.
func TestUnitSquareByHand(t *testing.T) {
	h, err := direct([]Spot{{0, 0}, {1, 0}, {1, 1}, {0, 1}}, []Spot{{0, 0}, {2, 0}, {3, 2}, {0, 1}})
	require.NoError(t, err)
	h = h.scaled(h[8])
	for i, want := range []float64{6.0 / 5, 0, 0, 0, 4.0 / 5, 0, -2.0 / 5, -1.0 / 5, 1} {
		require.InDelta(t, want, h[i], 1e-12, "element %d", i)
	}
	x, y, _ := h.apply(0.5, 0.5)
	require.InDelta(t, 6.0/7, x, 1e-12)
	require.InDelta(t, 4.0/7, y, 1e-12)
}

// A ground plane of which the pixels of four creases' corners were computed from
// its matrix with twelve figures, apart from this code.
func TestCreaseCornersComputedElsewhere(t *testing.T) {
	corners := []Spot{{0, -1.32}, {0, 1.32}, {1.22, -1.32}, {1.22, 1.32}}
	seen := []Spot{{881.425891, 582.363977}, {921.199143, 834.261242}, {1110.318949, 593.808630}, {1182.441113, 847.323340}}
	h, err := direct(corners, seen)
	require.NoError(t, err)
	h, err = refined(h, corners, seen, []float64{1, 1, 1, 1})
	require.NoError(t, err)
	h = h.scaled(h[8])
	for i, want := range []float64{200, -30, 900, 10, 60, 700, 0, -0.05, 1} {
		require.InDelta(t, want, h[i], 1e-4*max(1, math.Abs(want)), "element %d", i)
	}
	back := h.inverse()
	for _, c := range []struct{ u, v, x, y float64 }{{1082.412060, 718.592965, 0.90, 0.10}, {1022.0, 706.1, 0.61, 0}} {
		x, y, _ := back.apply(c.u, c.v)
		require.InDelta(t, c.x, x, 1e-7)
		require.InDelta(t, c.y, y, 1e-7)
	}
	// The whole way: residuals of nothing, and (0.61, 0) where it belongs.
	names := []string{"bowling-leg", "bowling-off", "popping-leg", "popping-off"}
	var clicks []Click
	for i, p := range seen {
		clicks = append(clicks, Click{Mark: names[i], X: p.X, Y: p.Y})
	}
	c, err := Calibrate(Setup{Pitch: usualPitch(), Width: 1920, Height: 1080}, clicks)
	require.NoError(t, err)
	at, _, err := c.Spot(Pixel{1022.0, 706.1}, 1)
	require.NoError(t, err)
	require.InDelta(t, 0.61, at.X, 1e-7)
	require.InDelta(t, 0, at.Y, 1e-7)
}

// Two general-purpose libraries of the npm registry solved random sets of
// points; testdata/homographies.mjs says how. perspective-transform rounds its
// coefficients to ten places, which leaves a few 1e-10.
func TestAgainstLibraries(t *testing.T) {
	text, err := os.ReadFile("testdata/homographies.json")
	require.NoError(t, err)
	var sets []struct {
		By                      string
		From, To, Asked, Mapped [][2]float64
	}
	require.NoError(t, json.Unmarshal(text, &sets))
	require.Len(t, sets, 60)
	spots := func(p [][2]float64) []Spot {
		s := make([]Spot, len(p))
		for i := range p {
			s[i] = Spot{p[i][0], p[i][1]}
		}
		return s
	}
	for i, set := range sets {
		h, err := direct(spots(set.From), spots(set.To))
		require.NoError(t, err)
		for k, a := range set.Asked {
			x, y, _ := h.apply(a[0], a[1])
			size := max(1, math.Abs(set.Mapped[k][0]), math.Abs(set.Mapped[k][1]))
			require.InDelta(t, set.Mapped[k][0], x, 1e-9*size, "set %d by %s", i, set.By)
			require.InDelta(t, set.Mapped[k][1], y, 1e-9*size, "set %d by %s", i, set.By)
		}
	}
}

// The photographs graf1 and graf3 of a painted wall and the homography between
// them, H1to3p, are of Mikolajczyk and Schmid's data set (A performance
// evaluation of local descriptors, IEEE PAMI 27 (2005) 1615-1630); Debian's
// package opencv-doc ships all three. The points were picked here by eye from
// enlarged crops: crossings of strokes, corners and a highlight.
func TestPaintedWall(t *testing.T) {
	published := homography{
		7.6285898e-01, -2.9922929e-01, 2.2567123e+02,
		3.3443473e-01, 1.0143901e+00, -7.6999973e+01,
		3.4663091e-04, -1.4364524e-05, 1.0000000e+00,
	}
	graf1 := []Spot{{405.2, 207.0}, {333.8, 192.3}, {515.3, 349}, {526.5, 222.7}, {188, 140.5}, {734.5, 289.3}, {263, 481.5}, {52.5, 395.5}}
	graf3 := []Spot{{415.5, 235.5}, {380.2, 206.2}, {439.1, 382.3}, {476.1, 274.7}, {308.2, 120.5}, {558.7, 369.5}, {259.5, 460.7}, {146.5, 337}}
	sigma := make([]float64, len(graf1))
	for i, p := range graf1 {
		x, y, _ := published.apply(p.X, p.Y)
		require.Less(t, math.Hypot(x-graf3[i].X, y-graf3[i].Y), 1.5, "our pick %d by the published homography", i)
		sigma[i] = 1
	}
	h, err := direct(graf1, graf3)
	require.NoError(t, err)
	h, err = refined(h, graf1, graf3, sigma)
	require.NoError(t, err)
	for x := 200.0; x <= 700; x += 50 {
		for y := 200.0; y <= 400; y += 50 {
			u, v, _ := h.apply(x, y)
			pu, pv, _ := published.apply(x, y)
			require.Less(t, math.Hypot(u-pu, v-pv), 2.0, "(%v, %v) between the picks", x, y)
		}
	}
	// And each pick by the others alone, the outer ones beyond their reach.
	for i := range graf1 {
		from, to := without(graf1, i), without(graf3, i)
		h, err := direct(from, to)
		require.NoError(t, err)
		h, err = refined(h, from, to, sigma[1:])
		require.NoError(t, err)
		x, y, _ := h.apply(graf1[i].X, graf1[i].Y)
		require.Less(t, math.Hypot(x-graf3[i].X, y-graf3[i].Y), 4.0, "pick %d by the others", i)
	}
}

func without(p []Spot, i int) []Spot { return append(append([]Spot(nil), p[:i]...), p[i+1:]...) }

// anySquare draws four points near the corners of a square.
func anySquare(t *rapid.T, name string, half float64) []Spot {
	var p []Spot
	for _, c := range []Spot{{-1, -1}, {1, -1}, {1, 1}, {-1, 1}} {
		p = append(p, Spot{
			half * (c.X + rapid.Float64Range(-0.4, 0.4).Draw(t, name+"x")),
			half * (c.Y + rapid.Float64Range(-0.4, 0.4).Draw(t, name+"y")),
		})
	}
	return p
}

func TestHomographyMapsItsPointsThereAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		from, to := anySquare(t, "from", 2), anySquare(t, "to", 500)
		h, err := direct(from, to)
		require.NoError(t, err)
		back := h.inverse()
		for i := range from {
			x, y, _ := h.apply(from[i].X, from[i].Y)
			require.InDelta(t, to[i].X, x, 1e-7)
			require.InDelta(t, to[i].Y, y, 1e-7)
			x, y, _ = back.apply(to[i].X, to[i].Y)
			require.InDelta(t, from[i].X, x, 1e-9)
			require.InDelta(t, from[i].Y, y, 1e-9)
		}
	})
}

func TestRefiningLowersTheError(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		from, to := anySquare(t, "from", 2), anySquare(t, "to", 500)
		exact, err := direct(from, to)
		require.NoError(t, err)
		for range rapid.IntRange(1, 6).Draw(t, "more") {
			p := Spot{rapid.Float64Range(-1, 1).Draw(t, "x"), rapid.Float64Range(-1, 1).Draw(t, "y")}
			x, y, _ := exact.apply(p.X, p.Y)
			from, to = append(from, p), append(to, Spot{x + rapid.Float64Range(-3, 3).Draw(t, "u"), y + rapid.Float64Range(-3, 3).Draw(t, "v")})
		}
		sigma := make([]float64, len(from))
		for i := range sigma {
			sigma[i] = 1
		}
		cost := func(h homography) (sum float64) {
			for i, p := range from {
				x, y, _ := h.apply(p.X, p.Y)
				sum += square(x-to[i].X) + square(y-to[i].Y)
			}
			return sum
		}
		h, err := direct(from, to)
		require.NoError(t, err)
		better, err := refined(h, from, to, sigma)
		require.NoError(t, err)
		require.LessOrEqual(t, cost(better), cost(h)*(1+1e-9)+1e-9)
		require.LessOrEqual(t, cost(better), cost(exact)*(1+1e-9)+1e-9)
	})
}

func TestDegeneratePointsFixNoHomography(t *testing.T) {
	good := []Spot{{0, 0}, {1, 0}, {1, 1}, {0, 1}}
	for name, bad := range map[string][]Spot{
		"three on a line": {{0, 0}, {1, 0}, {2, 0}, {0, 1}},
		"all on a line":   {{0, 0}, {1, 1}, {2, 2}, {3, 3}},
		"one twice":       {{0, 0}, {0, 0}, {1, 1}, {0, 1}},
	} {
		_, err := direct(good, bad)
		require.ErrorIs(t, err, errDegenerate, name)
		_, err = direct(bad, good)
		require.ErrorIs(t, err, errDegenerate, name)
	}
}
