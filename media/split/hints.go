package split

import "netreel/media"

// Hints are what is known of a file before it is split. The zero value is
// nothing.
type Hints struct {
	// Balls are those that a person has confirmed, added or moved, on the
	// file's own clock, in any order. Of each the contact is taken for true;
	// without one nothing was struck, and the split looks for the ball's
	// passing inside its stretch. They come out again, sure.
	Balls []media.Delivery
	// Discarded are proposals that a person said are no balls. They do not
	// come out again.
	Discarded []media.Delivery
	// Profile is what an earlier session from the same camera position taught;
	// nil if there was none. One that does not fit is left alone.
	Profile *Profile
}

// Profile is what a session teaches about a camera position: it is kept as JSON
// and given to the next session's split. Its numbers mean something to the
// split only.
type Profile struct {
	Version int       `json:"version"`
	Balls   float64   `json:"balls"`         // how many it was learnt from
	Bat     []Measure `json:"bat,omitempty"` // how the bat sounds here, feature by feature
}

// Measure is the mean and the variance of a quantity.
type Measure struct {
	Mean     float64 `json:"mean"`
	Variance float64 `json:"variance"`
}

// profileVersion is of what a profile's numbers mean.
const profileVersion = 1
