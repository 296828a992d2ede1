package paint

import (
	"image"
	"image/draw"
	"math"

	"golang.org/x/image/vector"

	"netreel/media/scene/space"
)

// Brush says how a shape is filled.
type Brush struct {
	Colour  Colour
	Opacity float64 // 0..1
	// Sheen lets luma run over the shape: at a point p it is changed by
	// Sheen · (p - Middle), at most by Most in either direction.
	Sheen, Middle space.P
	Most          float64
}

// Solid is an opaque brush of one colour.
func Solid(c Colour) Brush { return Brush{Colour: c, Opacity: 1} }

// Painter draws on one canvas. It keeps its scratch space, so every goroutine
// has a painter of its own.
type Painter struct {
	canvas *Canvas
	raster vector.Rasterizer
	mask   image.Alpha
	points []space.P
}

// NewPainter makes a painter of a canvas.
func NewPainter(c *Canvas) *Painter { return &Painter{canvas: c} }

// Polygon fills a closed polygon (non-zero winding), anti-aliased.
func (p *Painter) Polygon(points []space.P, b Brush) {
	if len(points) < 3 || b.Opacity <= 0 {
		return
	}
	box, ok := p.bounds(points)
	if !ok {
		return
	}
	w, h := box.Dx(), box.Dy()
	p.raster.Reset(w, h)
	p.raster.DrawOp = draw.Src
	ox, oy := float64(box.Min.X), float64(box.Min.Y)
	for i, q := range points {
		x, y := float32(q.X-ox), float32(q.Y-oy)
		if i == 0 {
			p.raster.MoveTo(x, y)
		} else {
			p.raster.LineTo(x, y)
		}
	}
	p.raster.ClosePath()
	if need := w * h; cap(p.mask.Pix) < need {
		p.mask.Pix = make([]byte, need)
	}
	p.mask.Pix = p.mask.Pix[:w*h]
	p.mask.Stride = w
	p.mask.Rect = image.Rect(0, 0, w, h)
	p.raster.Draw(&p.mask, p.mask.Rect, image.Opaque, image.Point{})
	p.lay(box, b)
}

// bounds gives the part of the canvas that the points may touch, its corner
// on even coordinates so that it holds whole chroma samples.
func (p *Painter) bounds(points []space.P) (image.Rectangle, bool) {
	x0, y0 := math.Inf(1), math.Inf(1)
	x1, y1 := math.Inf(-1), math.Inf(-1)
	for _, q := range points {
		x0, x1 = min(x0, q.X), max(x1, q.X)
		y0, y1 = min(y0, q.Y), max(y1, q.Y)
	}
	w, h := float64(p.canvas.Width), float64(p.canvas.Height)
	x0, y0, x1, y1 = max(0, x0), max(0, y0), min(w, x1), min(h, y1)
	if !(x0 < x1 && y0 < y1) {
		return image.Rectangle{}, false
	}
	return image.Rect(int(x0)&^1, int(y0)&^1, (int(math.Ceil(x1))+1)&^1, (int(math.Ceil(y1))+1)&^1), true
}

// lay mixes the brush into the planes through the mask.
func (p *Painter) lay(box image.Rectangle, b Brush) {
	c, w := p.canvas, box.Dx()
	// Fixed point: luma runs with 16 bits behind the point, shares with 24.
	share := int64(math.Round(b.Opacity * (1 << 24) / 255))
	dx := int64(math.Round(b.Sheen.X * 65536))
	most := int64(math.Round(b.Most * 65536))
	base := int64(b.Colour.Y) << 16
	for y := box.Min.Y; y < box.Max.Y; y++ {
		mask := p.mask.Pix[(y-box.Min.Y)*w:][:w]
		row := c.Y[y*c.Width+box.Min.X:][:w]
		run := int64(math.Round(65536 * (b.Sheen.X*(float64(box.Min.X)+0.5-b.Middle.X) +
			b.Sheen.Y*(float64(y)+0.5-b.Middle.Y))))
		for x, m := range mask {
			if m != 0 {
				luma := min(235<<16, max(16<<16, base+min(most, max(-most, run))))
				old := int64(row[x]) << 16
				row[x] = uint8((old<<24 + (luma-old)*int64(m)*share + 1<<39) >> 40)
			}
			run += dx
		}
	}
	share = int64(math.Round(b.Opacity * (1 << 24) / (4 * 255)))
	u, v := int64(b.Colour.U), int64(b.Colour.V)
	half := c.Width / 2
	for y := box.Min.Y; y < box.Max.Y; y += 2 {
		top := p.mask.Pix[(y-box.Min.Y)*w:][:w]
		low := p.mask.Pix[(y+1-box.Min.Y)*w:][:w]
		at := y/2*half + box.Min.X/2
		ru, rv := c.U[at:][:w/2], c.V[at:][:w/2]
		for x := range ru {
			m := int64(top[2*x]) + int64(top[2*x+1]) + int64(low[2*x]) + int64(low[2*x+1])
			if m == 0 {
				continue
			}
			m *= share
			ru[x] = uint8((int64(ru[x])<<24 + (u-int64(ru[x]))*m + 1<<23) >> 24)
			rv[x] = uint8((int64(rv[x])<<24 + (v-int64(rv[x]))*m + 1<<23) >> 24)
		}
	}
}

// Blob darkens (or lightens) a soft ellipse with half axes rx, ry round a
// point: a shadow without an edge. Strength is the share of the light it takes
// away in the middle, negative to add light.
func (p *Painter) Blob(at space.P, rx, ry, strength float64) {
	c := p.canvas
	x0, x1 := max(0, int(at.X-rx)), min(c.Width, int(at.X+rx)+1)
	y0, y1 := max(0, int(at.Y-ry)), min(c.Height, int(at.Y+ry)+1)
	if x0 >= x1 || rx < 0.5 || ry < 0.5 {
		return
	}
	for y := y0; y < y1; y++ {
		ey := (float64(y) + 0.5 - at.Y) / ry
		row := c.Y[y*c.Width:][:c.Width]
		for x := x0; x < x1; x++ {
			ex := (float64(x) + 0.5 - at.X) / rx
			if d := 1 - ex*ex - ey*ey; d > 0 {
				v := float64(row[x]) - 16
				row[x] = uint8(16.5 + min(219, v*(1-strength*d*d)))
			}
		}
	}
}
