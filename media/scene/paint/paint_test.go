package paint_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"netreel/media/scene/paint"
	"netreel/media/scene/space"
)

// The 8-bit codes of the primaries in limited range follow from ITU-R BT.709-6
// (luma 0.2126 R + 0.7152 G + 0.0722 B, 16 to 235, chroma 16 to 240).
func TestColoursOfBT709(t *testing.T) {
	for name, c := range map[string]struct{ got, want paint.Colour }{
		"white": {paint.RGB(255, 255, 255), paint.Colour{Y: 235, U: 128, V: 128}},
		"black": {paint.RGB(0, 0, 0), paint.Colour{Y: 16, U: 128, V: 128}},
		"red":   {paint.RGB(255, 0, 0), paint.Colour{Y: 63, U: 102, V: 240}},
		"green": {paint.RGB(0, 255, 0), paint.Colour{Y: 173, U: 42, V: 26}},
		"blue":  {paint.RGB(0, 0, 255), paint.Colour{Y: 32, U: 240, V: 118}},
	} {
		require.Equal(t, c.want, c.got, name)
	}
}

func canvas() (*paint.Canvas, *paint.Painter) {
	c := paint.NewCanvas(16, 16)
	for i := range c.Y {
		c.Y[i] = 16
	}
	for i := range c.U {
		c.U[i], c.V[i] = 128, 128
	}
	return c, paint.NewPainter(c)
}

func TestPolygonCoversByArea(t *testing.T) {
	c, p := canvas()
	// 4.5 x 4 pixels from (3, 4): whole pixels full, the last column half.
	p.Polygon([]space.P{{X: 3, Y: 4}, {X: 7.5, Y: 4}, {X: 7.5, Y: 8}, {X: 3, Y: 8}}, paint.Solid(paint.Colour{Y: 216, U: 60, V: 200}))
	require.Equal(t, byte(16), c.Y[4*16+2])
	for x := 3; x < 7; x++ {
		require.InDelta(t, 216, c.Y[4*16+x], 1)
	}
	require.InDelta(t, 116, c.Y[4*16+7], 2)
	require.Equal(t, byte(16), c.Y[8*16+3])
	require.InDelta(t, 60, c.U[2*8+2], 1, "a chroma sample that is wholly covered")
	require.InDelta(t, 94, c.U[2*8+1], 1, "and one that is half covered")
}

func TestShapesStayOnTheCanvas(t *testing.T) {
	c, p := canvas()
	brush := paint.Solid(paint.Colour{Y: 200, U: 128, V: 128})
	p.Capsule(space.P{X: -40, Y: -5}, 8, space.P{X: 60, Y: 30}, 3, brush, 20)
	p.Circle(space.P{X: 16, Y: 0}, 6, brush, 0)
	p.Polygon([]space.P{{X: 100, Y: 100}, {X: 120, Y: 100}, {X: 110, Y: 120}}, brush)
	p.Blob(space.P{X: 15, Y: 15}, 9, 4, 0.5)
	require.Len(t, c.Pix, 16*16*3/2)
}

func TestModelPaintsTheNearerOver(t *testing.T) {
	cam := space.LookAt(space.V{Y: 8}, space.V{}, 30, 16, 16)
	red, blue := paint.RGB(200, 0, 0), paint.RGB(0, 0, 200)
	for _, order := range [][2]float64{{1, -1}, {-1, 1}} {
		c, p := canvas()
		var m paint.Model
		m.Reset(cam)
		for _, y := range order {
			colour := red
			if y < 0 {
				colour = blue
			}
			m.Capsule(space.V{Y: y}, 1, space.V{Y: y, X: 0.1}, 1, paint.Skin{Colour: colour, Plain: true})
		}
		m.Paint(p)
		require.Equal(t, red.Y, c.Y[8*16+8])
	}
}

func TestVeil(t *testing.T) {
	c, _ := canvas()
	cover := make([]float32, 16*16)
	cover[5*16+5] = 1
	cover[5*16+6] = 0.5
	c.Hang(paint.NewVeil(16, 16, paint.Colour{Y: 216, U: 128, V: 128}, cover))
	require.Equal(t, byte(216), c.Y[5*16+5])
	require.InDelta(t, 116, c.Y[5*16+6], 1)
	require.Equal(t, byte(16), c.Y[5*16+7])
}
