// Package paint draws anti-aliased shapes straight into the planes of a
// YUV 4:2:0 picture, so that frames go to the encoder without a conversion.
//
// It must not know what the shapes stand for.
package paint

import "math"

// Colour is a colour in the video's own terms: BT.709, limited range.
type Colour struct{ Y, U, V uint8 }

// RGB converts from 8-bit sRGB values by the matrix of ITU-R BT.709.
func RGB(r, g, b uint8) Colour { return FromLinear(float64(r), float64(g), float64(b)) }

// FromLinear converts from red, green and blue in 0..255 without rounding
// them first (gamma is left as it is).
func FromLinear(r, g, b float64) Colour {
	y := 0.2126*r + 0.7152*g + 0.0722*b
	return Colour{
		Y: clamp8(16 + y*219/255),
		U: clamp8(128 + (b-y)/1.8556*224/255),
		V: clamp8(128 + (r-y)/1.5748*224/255),
	}
}

// Lighter returns the colour with its luma moved by d steps.
func (c Colour) Lighter(d float64) Colour {
	c.Y = clamp8(float64(c.Y) + d)
	return c
}

// Towards returns the colour mixed with another, k = 1 being the other.
func (c Colour) Towards(o Colour, k float64) Colour {
	mix := func(a, b uint8) uint8 { return clamp8(float64(a) + k*(float64(b)-float64(a))) }
	return Colour{mix(c.Y, o.Y), mix(c.U, o.U), mix(c.V, o.V)}
}

func clamp8(v float64) uint8 { return uint8(min(255, max(0, math.Round(v)))) }

// Canvas is one picture: a plane of luma and two of chroma at half width and
// height, laid one after the other in Pix as the encoder reads them.
type Canvas struct {
	Width, Height int // even
	Pix           []byte
	Y, U, V       []byte // parts of Pix
}

// NewCanvas makes a canvas; width and height must be even.
func NewCanvas(width, height int) *Canvas {
	n := width * height
	pix := make([]byte, n+n/2)
	return &Canvas{
		Width: width, Height: height, Pix: pix,
		Y: pix[:n], U: pix[n : n+n/4], V: pix[n+n/4:],
	}
}

// CopyFrom makes the canvas equal to another of the same size.
func (c *Canvas) CopyFrom(o *Canvas) { copy(c.Pix, o.Pix) }

// Veil is a thin layer of one colour with a coverage (0..255) a pixel, such
// as a net: kept as the list of the pixels it touches.
type Veil struct {
	colour Colour
	luma   []spot
	chroma []spot
}

// unseen is the coverage of 255 up to which a veil's pixel is left out.
const unseen = 1

type spot struct {
	at    int32
	cover uint8
}

// NewVeil makes a veil from a coverage in 0..1 for every pixel, row by row.
func NewVeil(width, height int, colour Colour, cover []float32) *Veil {
	v := &Veil{colour: colour}
	for i, k := range cover {
		if a := uint8(k*255 + 0.5); a > unseen {
			v.luma = append(v.luma, spot{int32(i), a})
		}
	}
	for y := 0; y+1 < height; y += 2 {
		for x := 0; x+1 < width; x += 2 {
			i := y*width + x
			k := (cover[i] + cover[i+1] + cover[i+width] + cover[i+width+1]) / 4
			if a := uint8(k*255 + 0.5); a > unseen {
				v.chroma = append(v.chroma, spot{int32(y/2*(width/2) + x/2), a})
			}
		}
	}
	return v
}

// Hang lays the veil over the picture.
func (c *Canvas) Hang(v *Veil) {
	if v == nil {
		return
	}
	for _, s := range v.luma {
		c.Y[s.at] = blend(c.Y[s.at], v.colour.Y, s.cover)
	}
	for _, s := range v.chroma {
		c.U[s.at] = blend(c.U[s.at], v.colour.U, s.cover)
		c.V[s.at] = blend(c.V[s.at], v.colour.V, s.cover)
	}
}

// blend moves a towards b by k/255.
func blend(a, b, k uint8) uint8 {
	d := (int32(b) - int32(a)) * int32(k) * 257
	return uint8(int32(a) + (d+1<<15)>>16)
}
