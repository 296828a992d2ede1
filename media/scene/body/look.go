package body

import "netreel/media/scene/paint"

// Look is what a person wears.
type Look struct {
	Build       Build
	SkinTone    paint.Colour
	Hair        paint.Colour
	Shirt       paint.Colour
	Sleeve      paint.Colour
	Cuff        paint.Colour // hem of a short sleeve
	LongSleeves bool
	Trousers    paint.Colour
	Shoes       paint.Colour
	HeadWear    HeadWear
	HeadColour  paint.Colour
	Pads        bool // batting pads and gloves
	PadColour   paint.Colour
	GloveColour paint.Colour
	Ponytail    bool
	BatWidth    float64 // metres; 0 draws no bat
	Dim         float64 // 0..1: how far colours sink into Haze, for the next net
	Haze        paint.Colour
}

// HeadWear is what is worn on the head.
type HeadWear int

// The kinds of head wear.
const (
	BareHead HeadWear = iota
	Cap
	Helmet
)

// FullBat and NarrowBat are blade widths in metres: the widest that the Laws
// allow (Law 5.7), and a practice bat of about six tenths.
const (
	FullBat   = 0.108
	NarrowBat = 0.064
)

func (l *Look) skin(c paint.Colour, lit float64) paint.Skin {
	return paint.Skin{Colour: l.fade(c), Lit: lit * (1 - l.Dim/2)}
}

func (l *Look) fade(c paint.Colour) paint.Colour { return c.Towards(l.Haze, l.Dim) }
