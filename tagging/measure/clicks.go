package measure

import (
	"fmt"
	"math"

	"netreel/media/fault"
)

// Limits of clicks.
const (
	maxClicks   = 60
	maxSigma    = 50.0 // pixels
	samePlace   = 3.0  // pixels within which two marks are one place
	sameMark    = 0.01 // metres within which two marks are one
	onOneLine   = 0.02 // metres off a line within which a mark is on it
	flatPicture = 2.0  // pixels off a line within which a click is on it
	maxSide     = 20000
)

func inside(p Pixel, width, height int) bool {
	return p.X >= 0 && p.Y >= 0 && p.X <= float64(width) && p.Y <= float64(height) // NaN is not
}

// match puts clicks and marks together and checks each by itself.
func match(setup Setup, clicks []Click) ([]marked, error) {
	if err := setup.Pitch.Validate(); err != nil {
		return nil, err
	}
	if setup.Width < 16 || setup.Height < 16 || setup.Width > maxSide || setup.Height > maxSide {
		return nil, fault.New(fault.Invalid, "", "The picture's size is not known. Open the recording again.",
			fault.Field{Name: "width, height", Reason: fmt.Sprintf("must be 16 to %d pixels", maxSide)})
	}
	marks := map[string]Mark{}
	for _, m := range setup.Pitch.Marks() {
		marks[m.Key] = m
	}
	var wrong []fault.Field
	var all []marked
	used := map[string]bool{}
	for i, c := range clicks {
		at := fmt.Sprintf("clicks.%d", i)
		m, known := marks[c.Mark]
		sigma := c.Sigma
		if sigma == 0 {
			sigma = ClickSigma
		}
		reason := ""
		switch {
		case i >= maxClicks:
			reason = fmt.Sprintf("is one of more than %d", maxClicks)
		case !known:
			reason = fmt.Sprintf("names a mark that this pitch does not have: %q", c.Mark)
		case used[c.Mark]:
			reason = fmt.Sprintf("clicks “%s” a second time", m.Name)
		case !inside(Pixel{c.X, c.Y}, setup.Width, setup.Height):
			reason = fmt.Sprintf("puts “%s” outside the picture", m.Name)
		case !(sigma > 0 && sigma <= maxSigma):
			reason = fmt.Sprintf("must be good to at most %.0f pixels", maxSigma)
		case c.Use != "" && c.Use != m.Use && (m.Use == Height || c.Use != Fit && c.Use != Check):
			reason = fmt.Sprintf("can't use “%s” for that", m.Name)
		}
		if reason != "" {
			wrong = append(wrong, fault.Field{Name: at, Reason: reason})
			if i >= maxClicks {
				break
			}
			continue
		}
		if c.Use != "" {
			m.Use = c.Use
		}
		used[c.Mark] = true
		all = append(all, marked{m, Pixel{c.X, c.Y}, sigma})
	}
	if len(wrong) > 0 {
		return nil, fault.New(fault.Invalid, "", "Some clicks can't be used: "+wrong[0].Name+" "+wrong[0].Reason+".", wrong...)
	}
	return all, nil
}

// checkLayout refuses clicks that don't fix the ground or can't be so.
func checkLayout(in inputs) error {
	bad := func(format string, a ...any) error {
		return fault.New(fault.Invalid, "", fmt.Sprintf(format, a...))
	}
	fit := in.of(Fit)
	if len(fit) < 4 {
		return bad("The ground needs four marks on it, no three of them on one line; %d were clicked. "+
			"The four corners of popping and return creases with the bowling crease serve best.", len(fit))
	}
	for i, a := range fit {
		for _, b := range fit[:i] {
			switch {
			case math.Hypot(a.pixel.X-b.pixel.X, a.pixel.Y-b.pixel.Y) < samePlace:
				return bad("“%s” and “%s” were clicked on the same place. Click one of them again.", b.Name, a.Name)
			case math.Hypot(a.X-b.X, a.Y-b.Y) < sameMark:
				return bad("“%s” and “%s” are the same place on the pitch. Leave one of them out.", b.Name, a.Name)
			}
		}
	}
	world := func(m marked) Spot { return Spot{m.X, m.Y} }
	l := lensOf(in.width, in.height, in.bend)
	picture := func(m marked) Spot { return Spot(l.straighten(m.pixel)) }
	if nearlyLine(fit, world, onOneLine) {
		return bad("Of the clicked marks all, or all but one, lie on one line of the ground, which does not fix it. " +
			"Click marks on two lines, two on each.")
	}
	if nearlyLine(fit, picture, flatPicture) {
		return bad(tooFlat)
	}
	return checkTurns(fit, picture)
}

// nearlyLine says whether there is a line that all points but at most one lie
// on: then no four of them are in general position.
func nearlyLine(points []marked, at func(marked) Spot, within float64) bool {
	for i := range points {
		for j := range i {
			a, b := at(points[i]), at(points[j])
			length := math.Hypot(b.X-a.X, b.Y-a.Y)
			off := 0
			for k := range points {
				if math.Abs(area(a, b, at(points[k])))/length > within {
					off++
				}
			}
			if off < 2 {
				return true
			}
		}
	}
	return false
}

// area is twice the area of a triangle, positive when its corners turn from x
// towards y.
func area(a, b, c Spot) float64 { return (b.X-a.X)*(c.Y-a.Y) - (b.Y-a.Y)*(c.X-a.X) }

// checkTurns compares the sense in which three marks turn on the ground with
// that in the picture. From above the ground both are always the same: x
// towards y is clockwise on the ground as it is in a picture. So points that
// were swapped are found out before anything is solved.
func checkTurns(fit []marked, picture func(marked) Spot) error {
	wrong, all := turns(fit, picture)
	switch {
	case wrong == 0:
		return nil
	case wrong == all:
		return fault.New(fault.Invalid, "", "The clicks are mirrored: were leg side and off side, or the two creases, mixed up? "+
			"The off side here is that of a right-hander.")
	}
	var found [][2]string
	for i := range fit {
		for j := range i {
			swapped := append([]marked(nil), fit...)
			swapped[i].pixel, swapped[j].pixel = fit[j].pixel, fit[i].pixel
			if wrong, _ := turns(swapped, picture); wrong == 0 {
				found = append(found, [2]string{fit[j].Name, fit[i].Name})
			}
		}
	}
	if len(found) == 1 {
		return fault.New(fault.Invalid, "", fmt.Sprintf("“%s” and “%s” look swapped. Click both again.", found[0][0], found[0][1]))
	}
	return fault.New(fault.Invalid, "", "The lines between these clicks cross each other as they can't on the ground: two of them are probably swapped. Click them again.")
}

// turns counts the triangles whose sense differs between ground and picture,
// and all whose sense is plain in both.
func turns(fit []marked, picture func(marked) Spot) (wrong, all int) {
	for i := range fit {
		for j := range i {
			for k := range j {
				a, b, c := fit[i], fit[j], fit[k]
				ground := area(Spot{a.X, a.Y}, Spot{b.X, b.Y}, Spot{c.X, c.Y})
				p, q, r := picture(a), picture(b), picture(c)
				seen := area(p, q, r)
				if math.Abs(ground) < onOneLine*widest(Spot{a.X, a.Y}, Spot{b.X, b.Y}, Spot{c.X, c.Y}) ||
					math.Abs(seen) < flatPicture*widest(p, q, r) {
					continue
				}
				all++
				if (ground > 0) != (seen > 0) {
					wrong++
				}
			}
		}
	}
	return wrong, all
}

// widest is the longest side of a triangle.
func widest(a, b, c Spot) float64 {
	return max(math.Hypot(a.X-b.X, a.Y-b.Y), math.Hypot(b.X-c.X, b.Y-c.Y), math.Hypot(c.X-a.X, c.Y-a.Y))
}
