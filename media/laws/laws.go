// Package laws holds the dimensions of a cricket pitch as data with an
// edition label, so that nothing else has a number of the Laws in its code.
//
// It is a leaf: it must not know pictures, people or measuring.
//
// Frame, used by the whole scene: the origin lies on the ground at the
// striker's middle stump, x runs towards the bowler, y to the off side of a
// right-hander, z up; metres. (x, y, z in this order are left-handed.)
package laws

// Edition is one text of the Laws of Cricket, in metres as the Laws print
// them.
type Edition struct {
	Name string `json:"name"`

	PitchLength        float64 `json:"pitchLength"`        // Law 6.1: bowling crease to bowling crease
	PitchWidth         float64 `json:"pitchWidth"`         // Law 6.1
	BowlingCrease      float64 `json:"bowlingCrease"`      // Law 7.2: length of the marking
	PoppingFromBowling float64 `json:"poppingFromBowling"` // Law 7.3: back edge to back edge
	PoppingHalfLength  float64 `json:"poppingHalfLength"`  // Law 7.3: least length each side of the middle
	ReturnHalfGap      float64 `json:"returnHalfGap"`      // Law 7.4: middle to the inside edge
	ReturnBehind       float64 `json:"returnBehind"`       // Law 7.4: least length behind the popping crease
	WicketWidth        float64 `json:"wicketWidth"`        // Law 8.1: over the outer stumps
	StumpHeight        float64 `json:"stumpHeight"`        // Law 8.2
	StumpDiameter      float64 `json:"stumpDiameter"`      // Law 8.2: the largest allowed
	BailProjection     float64 `json:"bailProjection"`     // Law 8.3: the most above the stumps
	BatWidth           float64 `json:"batWidth"`           // Law 5.7 and Appendix B: the most
	BatLength          float64 `json:"batLength"`          // Law 5.7: the most
	BatDepth           float64 `json:"batDepth"`           // Law 5.7: the most
	WomensBall         float64 `json:"womensBall"`         // Law 4.6: largest circumference
}

// Code2017 is the 2017 Code. Nothing published says that a later edition
// changes pitch, crease or wicket dimensions. The Laws print a women's ball of
// 21.0 to 22.5 cm round.
func Code2017() Edition {
	return Edition{
		Name:               "Laws of Cricket, 2017 Code",
		PitchLength:        20.12,
		PitchWidth:         3.05,
		BowlingCrease:      2.64,
		PoppingFromBowling: 1.22,
		PoppingHalfLength:  1.83,
		ReturnHalfGap:      1.32,
		ReturnBehind:       2.44,
		WicketWidth:        0.2286,
		StumpHeight:        0.711,
		StumpDiameter:      0.0381,
		BailProjection:     0.0127,
		BatWidth:           0.108,
		BatLength:          0.9652,
		BatDepth:           0.067,
		WomensBall:         0.225,
	}
}

// Rect is an axis-parallel patch of ground.
type Rect struct{ X0, Y0, X1, Y1 float64 }

// Contains says whether (x, y) lies on the patch.
func (r Rect) Contains(x, y float64) bool {
	return r.X0 <= x && x < r.X1 && r.Y0 <= y && y < r.Y1
}

// Markings gives the painted lines of both ends for paint of a given width.
// The Laws fix one edge of each line: the back edge (nearest the stumps) of
// bowling and popping crease and the inside edge of the return creases. The
// paint lies on the other side of that edge: in front of the bowling and
// popping creases, outside the return creases.
func (e Edition) Markings(paint float64) []Rect {
	one := []Rect{
		{0, -e.BowlingCrease / 2, paint, e.BowlingCrease / 2},
		{e.PoppingFromBowling, -e.PoppingHalfLength, e.PoppingFromBowling + paint, e.PoppingHalfLength},
		{e.PoppingFromBowling - e.ReturnBehind, e.ReturnHalfGap, e.PoppingFromBowling, e.ReturnHalfGap + paint},
		{e.PoppingFromBowling - e.ReturnBehind, -e.ReturnHalfGap - paint, e.PoppingFromBowling, -e.ReturnHalfGap},
	}
	for _, r := range one[:4:4] {
		one = append(one, Rect{e.PitchLength - r.X1, r.Y0, e.PitchLength - r.X0, r.Y1})
	}
	return one
}

// Point is a named point of the ground plane.
type Point struct {
	Name string  `json:"name"`
	X    float64 `json:"x"`
	Y    float64 `json:"y"`
}

// Corners gives the four corners of the crease rectangle at the striker's
// end: where the fixed edges of bowling and popping crease meet those of the
// return creases.
func (e Edition) Corners() []Point {
	p, r := e.PoppingFromBowling, e.ReturnHalfGap
	return []Point{
		{"bowling crease, leg side", 0, -r},
		{"bowling crease, off side", 0, r},
		{"popping crease, leg side", p, -r},
		{"popping crease, off side", p, r},
	}
}

// Stumps gives the ground centres of the three stumps of one end, x from the
// bowling crease of that end: leg, middle, off.
func (e Edition) Stumps() []Point {
	y := e.WicketWidth/2 - e.StumpDiameter/2
	return []Point{{"leg stump", 0, -y}, {"middle stump", 0, 0}, {"off stump", 0, y}}
}
