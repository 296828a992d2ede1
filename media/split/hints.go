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
