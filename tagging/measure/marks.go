package measure

import (
	"fmt"
	"math"

	"netreel/media/fault"
	"netreel/media/laws"
)

// Use is what a mark is for.
type Use string

// The uses. A mark of the fit fixes the ground plane; a check mark is held out,
// and shows how far the calibration is off; a height mark is above the ground
// and fixes the camera.
const (
	Fit    Use = "fit"
	Check  Use = "check"
	Height Use = "height"
)

// Set is the part of the pitch that a mark belongs to.
type Set string

// The sets.
const (
	StrikersEnd Set = "strikers-end"
	FarEnd      Set = "far-end"
	Own         Set = "own"
)

// Mark is a point of known place that can be clicked in a picture.
type Mark struct {
	Key   string  `json:"key"`   // "popping-off"; "own-1" and so on for a person's own
	Name  string  `json:"name"`  // "Popping crease, off side"
	Click string  `json:"click"` // which edge to click, in words
	Set   Set     `json:"set"`
	Use   Use     `json:"use"`
	Weak  bool    `json:"weak"` // the Laws give a least length only: use it when it was taped
	X     float64 `json:"x"`    // metres
	Y     float64 `json:"y"`
	Z     float64 `json:"z"`
}

// Pitch is what a pitch, or a lane of a hall, is marked with.
type Pitch struct {
	Laws   laws.Edition `json:"laws"`
	Length float64      `json:"length"` // metres, bowling crease to bowling crease; 0: as the edition has it
	Own    []Mark       `json:"own"`    // the person's own points
}

// usualPitch is what a pitch is taken for when nobody says.
func usualPitch() Pitch { return Pitch{Laws: laws.Code2017()} }

// length of the pitch, metres.
func (p Pitch) length() float64 {
	if p.Length == 0 {
		return p.Laws.PitchLength
	}
	return p.Length
}

// Lengths of a pitch that are taken for one, metres.
const (
	minLength = 5
	maxLength = 30
)

// maxOwn is how many own points a pitch may have.
const maxOwn = 40

const (
	transverse = "where the two lines meet: the edge of each line that is nearer the stumps, and the inner edge of the return crease"
	base       = "where it goes into the ground"
)

// Marks lists all that may be clicked, the best first.
func (p Pitch) Marks() []Mark {
	e, far := p.Laws, p.length()
	pop, ret, tip := e.PoppingFromBowling, e.ReturnHalfGap, e.PoppingFromBowling-e.ReturnBehind
	outer := e.WicketWidth / 2
	stump := outer - e.StumpDiameter/2
	var all []Mark
	// pair adds the marks on both sides of the middle.
	pair := func(set Set, use Use, weak bool, key, name, click string, x, y, z float64) {
		all = append(all,
			Mark{key + "-leg", name + ", leg side", click, set, use, weak, x, -y, z},
			Mark{key + "-off", name + ", off side", click, set, use, weak, x, y, z})
	}
	middle := func(set Set, use Use, key, name, click string, x, z float64) {
		all = append(all, Mark{key, name, click, set, use, false, x, 0, z})
	}
	pair(StrikersEnd, Fit, false, "bowling", "Bowling crease", transverse, 0, ret, 0)
	pair(StrikersEnd, Fit, false, "popping", "Popping crease", transverse, pop, ret, 0)
	middle(StrikersEnd, Check, "middle-base", "Middle stump, foot", "the middle of the stump, "+base, 0, 0)
	pair(StrikersEnd, Check, false, "outer-base", "Outer stump, foot", "the outer side of the stump, "+base, 0, outer, 0)
	middle(StrikersEnd, Height, "middle-top", "Middle stump, top", "the middle of the stump's top, without the bail", 0, e.StumpHeight)
	pair(StrikersEnd, Height, false, "outer-top", "Outer stump, top", "the middle of the stump's top, without the bail", 0, stump, e.StumpHeight)
	pair(StrikersEnd, Fit, true, "return-end", "Return crease, rear end", "the inner edge of the line, at its end behind the stumps", tip, ret, 0)
	pair(StrikersEnd, Fit, true, "popping-end", "Popping crease, end", "the edge nearer the stumps, at the line's end", pop, e.PoppingHalfLength, 0)
	pair(FarEnd, Fit, false, "far-bowling", "Far bowling crease", transverse, far, ret, 0)
	pair(FarEnd, Fit, false, "far-popping", "Far popping crease", transverse, far-pop, ret, 0)
	middle(FarEnd, Check, "far-middle-base", "Far middle stump, foot", "the middle of the stump, "+base, far, 0)
	middle(FarEnd, Height, "far-middle-top", "Far middle stump, top", "the middle of the stump's top, without the bail", far, e.StumpHeight)
	return append(all, p.Own...)
}

// Validate checks the pitch's length and the person's own points.
func (p Pitch) Validate() error {
	var wrong []fault.Field
	say := func(field, reason string) { wrong = append(wrong, fault.Field{Name: field, Reason: reason}) }
	if l := p.length(); !(l >= minLength && l <= maxLength) {
		say("length", fmt.Sprintf("must be %d to %d metres", minLength, maxLength))
	}
	e := p.Laws
	if !(e.PoppingFromBowling > 0 && e.ReturnHalfGap > 0 && e.ReturnBehind > 0 && e.PoppingHalfLength > 0 &&
		e.WicketWidth > e.StumpDiameter && e.StumpDiameter > 0 && e.StumpHeight > 0) {
		say("laws", "must be an edition of the Laws with all its dimensions")
	}
	keys := map[string]bool{}
	for _, m := range (Pitch{Laws: e, Length: p.Length}).Marks() {
		keys[m.Key] = true
	}
	if len(p.Own) > maxOwn {
		say("own", fmt.Sprintf("must be at most %d points", maxOwn))
		p.Own = nil
	}
	for i, m := range p.Own {
		at := fmt.Sprintf("own.%d", i)
		switch {
		case m.Key == "" || keys[m.Key]:
			say(at+".key", "must be there and unlike the others")
		case m.Use != Fit && m.Use != Check && m.Use != Height:
			say(at+".use", "must be fit, check or height")
		case (m.Use == Height) != (m.Z != 0):
			say(at+".z", "must be 0 on the ground, and more than 0 for a height")
		}
		for _, v := range []float64{m.X, m.Y, m.Z} {
			if !(math.Abs(v) <= 2*maxLength) { // NaN fails too
				say(at, fmt.Sprintf("must lie within %d metres", 2*maxLength))
				break
			}
		}
		keys[m.Key] = true
	}
	if len(wrong) > 0 {
		return fault.New(fault.Invalid, "measure.Pitch", "These dimensions can't be used. Mend the marked places.", wrong...)
	}
	return nil
}

// OwnMark makes the n-th (from 1) of a person's own points on the ground: along
// metres from the stumps towards the bowler, across metres to the off side of
// a right-hander.
func OwnMark(n int, name string, along, across float64) Mark {
	return Mark{
		Key: fmt.Sprintf("own-%d", n), Name: name, Click: "the very point that was measured to",
		Set: Own, Use: Fit, X: along, Y: across,
	}
}

// OwnRectangle makes the four corners of something rectangular on the ground,
// such as a mat, from typed distances in metres: from the line of the stumps to
// its nearer end, its length and its width, centred on the middle stump.
func OwnRectangle(first int, name string, from, length, width float64) []Mark {
	y := width / 2
	return []Mark{
		OwnMark(first, name+", stumps' end, leg side", from, -y),
		OwnMark(first+1, name+", stumps' end, off side", from, y),
		OwnMark(first+2, name+", bowler's end, leg side", from+length, -y),
		OwnMark(first+3, name+", bowler's end, off side", from+length, y),
	}
}

// OwnTaped makes a point on the ground from its distances to two others, in
// metres; right says that it lies to the right when looking from a to b. It
// fails when the two distances can't meet.
func OwnTaped(n int, name string, a, b Mark, fromA, fromB float64, right bool) (Mark, error) {
	dx, dy := b.X-a.X, b.Y-a.Y
	d := math.Hypot(dx, dy)
	along := (fromA*fromA - fromB*fromB + d*d) / (2 * d)
	square := fromA*fromA - along*along
	if !(d > 0 && fromA > 0 && fromB > 0 && square >= 0) {
		return Mark{}, fault.New(fault.Invalid, "measure.OwnTaped", fmt.Sprintf(
			"These two distances don't meet: “%s” and “%s” are %.2f m apart. Measure again.", a.Name, b.Name, d))
	}
	across := math.Sqrt(square)
	if !right {
		across = -across
	}
	// y runs to the right of x, so right of (dx, dy) is (-dy, dx).
	return OwnMark(n, name, a.X+(along*dx-across*dy)/d, a.Y+(along*dy+across*dx)/d), nil
}
