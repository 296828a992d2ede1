package split

import (
	"math"
	"slices"
)

// Profile is what the sessions from one camera position have taught: it is kept
// as JSON and given to the next one's split, which begins with it. It is small,
// and its numbers do not depend on the size at which pictures are decoded:
// places are shares of the picture's width and height, times are seconds,
// levels are decibels.
//
// It is never more than a beginning. The camera may have been moved and somebody
// else may bat: each part counts as a few balls, and only where this session's
// own sounds or flights agree with it.
type Profile struct {
	Version int         `json:"version"`
	Balls   float64     `json:"balls"`            // how many it was learnt from
	Heard   float64     `json:"heard"`            // of these, how many with a bat's sound
	Bat     []Measure   `json:"bat,omitempty"`    // how the bat sounds here, feature by feature: its level first
	Around  [][]float64 `json:"around,omitempty"` // dull and other sounds a ball, more than by chance, by tenths of a second around contact
	Bounce  *Measure    `json:"bounce,omitempty"` // s from bounce to contact or passing
	Path    *Path       `json:"path,omitempty"`   // how balls come, if that was seen
	Hit     *Place      `json:"hit,omitempty"`    // where bats meet balls, if balls are only seen to go from there
}

// Measure is the mean and the variance of a quantity.
type Measure struct {
	Mean     float64 `json:"mean"`
	Variance float64 `json:"variance"`
}

// Path is how balls come to the batter: one flight in the middle of all.
type Path struct {
	From    Place   `json:"from"`           // where the ball is first seen
	To      Place   `json:"to"`             // where it is lost, or bounces
	Meet    Place   `json:"meet"`           // where the batter meets it
	Seconds float64 `json:"seconds"`        // between the first two
	Mass    float64 `json:"mass"`           // how much it changes the picture: grey levels times its share of the picture
	Warm    bool    `json:"warm,omitempty"` // ... or its colour, if that is what was followed
	Shown   float64 `json:"shown"`          // share of balls that are seen on it
	Flights float64 `json:"flights"`        // how many it was learnt from
}

// Place is a place in the picture, in shares of its width and height.
type Place struct {
	X float64 `json:"x"`
	Y float64 `json:"y"`
}

// profileVersion is of what a profile's numbers mean. The first knew the bat's
// sound alone, and that has stayed as it was.
const profileVersion = 2

const (
	pathShown  = 0.4 // share of balls seen on a path from which it is one
	profileAs  = 6.0 // an earlier session teaches as much as so many balls
	profileOld = 0.5 // of a path's flights are still believed after a session in which no ball was seen
)

// usable is a profile as this split reads it, all parts that don't fit left
// out: ok is false if nothing remains.
func (p Profile) usable() (_ Profile, ok bool) {
	switch p.Version {
	case 1:
		p = Profile{Version: profileVersion, Balls: p.Balls, Heard: p.Balls, Bat: p.Bat}
	case profileVersion:
	default:
		return Profile{}, false
	}
	if !(p.Balls > 0) {
		return Profile{}, false
	}
	if len(p.Bat) != colourSize || !(p.Heard > 0) {
		p.Bat, p.Heard = nil, 0
	}
	if len(p.Around) != len(company{}.count) || slices.ContainsFunc(p.Around, func(row []float64) bool { return len(row) != companyBins }) {
		p.Around = nil
	}
	if f := p.Path; f != nil && !(f.Seconds >= wayTime && f.Mass > 0 && f.Flights >= wayLeast) {
		p.Path = nil
	}
	return p, true
}

// counts is as how many balls a mean of n examples counts.
func counts(n float64) float64 { return min(n, profileAs) }

// as is a measure as examples, so many that it counts as.
func (m Measure) as(n float64) moments {
	n = counts(n)
	return moments{n, n * m.Mean, n * (m.Variance + m.Mean*m.Mean)}
}

// profile is what this session has taught, and what it was taught and did not
// find otherwise.
func (s *session) profile() Profile {
	p := Profile{Version: profileVersion, Balls: counts(s.taught.Balls), Heard: rounded(s.colour.yes[0].n), Hit: s.taught.Hit}
	for _, a := range s.anchors() {
		p.Balls += a.p
	}
	p.Balls = rounded(p.Balls)
	if p.Heard > 0 {
		for _, m := range s.colour.yes {
			p.Bat = append(p.Bat, Measure{rounded(m.mean()), rounded(m.variance())})
		}
	}
	p.Around = s.company.extra()
	if s.delay.n > 0 {
		p.Bounce = &Measure{rounded(s.delay.mean()), rounded(s.delay.variance())}
	}
	if len(s.onsets) == 0 {
		p.Around, p.Bounce = s.taught.Around, s.taught.Bounce
	}
	p.Path = s.path()
	if w := s.way; w != nil && !w.known {
		if p.Hit = nil; w.outward() {
			p.Hit = s.place(w.x, w.y)
		}
	}
	return p
}

// path is how this session's balls came, as it is kept: nil if that is not known.
func (s *session) path() *Path {
	old, w := s.taught.Path, s.way
	switch {
	case w != nil && len(w.group) >= wayLeast && w.shown >= pathShown:
		a := middleOf(w.group)
		wide, high := eyeSize(s.probe.Width, s.probe.Height)
		return &Path{
			From: *s.place(a.from.x, a.from.y), To: *s.place(a.to.x, a.to.y), Meet: *s.place(w.x+w.ax*w.meet, w.y+w.ay*w.meet),
			Seconds: rounded(a.to.t - a.from.t), Mass: a.mass / float64(wide*high),
			Shown: rounded(w.shown), Flights: float64(len(w.group)), Warm: w.warm,
		}
	case old == nil:
		return nil
	}
	kept := *old
	if w != nil && w.known {
		kept.Flights = counts(kept.Flights) + float64(len(w.group))
		return &kept
	}
	if kept.Flights *= profileOld; kept.Flights < wayLeast {
		return nil
	}
	return &kept
}

// place is a place of the eye's picture as it is kept.
func (s *session) place(x, y float64) *Place {
	wide, high := eyeSize(s.probe.Width, s.probe.Height)
	return &Place{rounded(x / float64(wide)), rounded(y / float64(high))}
}

// middleOf is the flight that most of a group are like.
func middleOf(group []arc) arc {
	best, most := 0, 0
	for i, a := range group {
		n := 0
		for _, b := range group {
			if a.like(b) {
				n++
			}
		}
		if n > most {
			best, most = i, n
		}
	}
	return group[best]
}

// rounded leaves a number four digits behind the point: more would only be kept.
func rounded(v float64) float64 { return math.Round(v*1e4) / 1e4 }
