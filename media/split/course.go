package split

// course tells how far the work has got. How many steps it takes nobody knows
// beforehand: each is given a share of what is left, so that every step, and a
// session that is read again, is seen to move.
type course struct {
	tell func(share float64) // may be nil; told nothing that falls
	told float64
	done float64 // share of the work before the step that runs
}

// The shares of what is left that a step takes.
const (
	surveyShare = 0.05
	gazeShare   = 0.4
)

// step begins the next step. The function that it gives is told how far that one has
// got, from 0 to 1.
func (c *course) step(share float64) func(done float64) {
	from := c.done
	c.done += share * (1 - c.done)
	to := c.done
	return func(done float64) { c.at(from + (to-from)*min(max(done, 0), 1)) }
}

// end says that all is done.
func (c *course) end() { c.at(1) }

func (c *course) at(share float64) {
	if c.told = max(c.told, share); c.tell != nil {
		c.tell(c.told)
	}
}
