package measure

import "math"

// Limits on how far a sole that is off the ground by soleHeight may throw a
// place along the pitch, metres. From a low camera behind the bowler 8 cm throw
// it by a metre: such a view says nothing about the crease.
const (
	soleHeight   = 0.08
	throwCaveat  = 0.12
	throwRefused = 0.50
)

// thrown is how far a point that is really so high, seen at a place of the
// ground, is thrown along the pitch by taking it for one on the ground: away
// from the camera by the distance times height / (camera's height - height).
func thrown(eye [3]float64, at Spot, height float64) float64 {
	return (at.X - eye[0]) * height / (eye[2] - height)
}

// depth gives how far the back foot's middle is from the line of the stumps,
// metres, when the view can tell.
func (t *taking) depth() (float64, error) {
	at, err := t.middle(contact, back)
	if err != nil {
		return 0, err
	}
	c := t.in.Calibration.Camera
	if c == nil {
		t.caveat("Where the camera stands is not known. If it films along the pitch, don't rely on this.")
		return at.X, nil
	}
	off := 0.0
	if c.Eye[2] > soleHeight {
		off = math.Abs(thrown(c.Eye, at, soleHeight))
	}
	if c.Eye[2] <= soleHeight || off > throwRefused {
		return 0, refuse("From this camera a sole %.0f cm off the ground looks %.0f cm farther along the pitch, "+
			"so depth in the crease can't be told. Use a camera from the side.", 100*soleHeight, 100*off)
	}
	if off > throwCaveat {
		t.caveat("From this camera each centimetre that the sole is off the ground moves this by %.1f cm.", 100*off/(100*soleHeight))
	}
	return at.X, nil
}

var creaseDepth = Measure{
	Key: "crease-depth", Name: "Back foot from the popping crease", Unit: Centimetres, vague: 25,
	About: "How far the middle of the back foot is in front of the popping crease (+) or behind it (−) at contact.",
	Needs: calibrated(at(BackHeel)),
	take: func(t *taking) (float64, error) {
		x, err := t.depth()
		if err != nil {
			return 0, err
		}
		return 100 * (x - t.in.Calibration.Pitch.Laws.PoppingFromBowling), nil
	},
}

var stumpDistance = Measure{
	Key: "stump-distance", Name: "Back foot from the stumps", Unit: Centimetres, vague: 25,
	About: "How far the middle of the back foot is in front of the line of the stumps at contact.",
	Needs: calibrated(at(BackHeel)),
	take: func(t *taking) (float64, error) {
		x, err := t.depth()
		return 100 * x, err
	},
}

// releaseWidth is how well it is known how far to the side of the middle stump a
// ball was released, when nobody says: over the wicket and round it are about
// half a metre each way. Judgement, no source.
const releaseWidth = 0.5

var feetLine = Measure{
	Key: "feet-line", Name: "Line of the feet against the ball", Unit: Degrees, vague: 20,
	About: "How far the line from back foot to front foot points to the off side (+) or the leg side (−) of the ball's line; 0: along it.",
	Needs: calibrated(at(FrontHeel, BackHeel, BallBounce)),
	take: func(t *taking) (float64, error) {
		to, err := t.middle(contact, front)
		if err != nil {
			return 0, err
		}
		from, err := t.middle(contact, back)
		if err != nil {
			return 0, err
		}
		feet := math.Atan2(to.Y-from.Y, to.X-from.X)
		line := 0.0 // straight down the pitch, seen from the batter
		if t.has(contact, BallBounce) {
			pitched, err := t.ground(contact, BallBounce)
			if err != nil {
				return 0, err
			}
			x, y := t.released()
			line = math.Atan2(y-pitched.Y, x-pitched.X)
		} else {
			t.caveat("Against the pitch, since where the ball bounced was not clicked.")
		}
		turn := math.Remainder(feet-line, 2*math.Pi) * 180 / math.Pi
		if t.in.Batter.LeftHanded {
			turn = -turn
		}
		return turn, nil
	},
}

// released gives where the ball was released, metres.
func (t *taking) released() (x, y float64) {
	var f Flight
	if t.in.Flight != nil {
		f = *t.in.Flight
	}
	return t.from(f), t.about("release across", f.Across, releaseWidth)
}
