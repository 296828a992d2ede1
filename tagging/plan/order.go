package plan

import (
	"fmt"
	"math/big"
	"slices"

	"netreel/media/fault"
)

// Order is how the types of a block follow each other.
type Order string

// The orders. Blocked gives all of one type, then all of the next. Serial goes
// round the types, always the same way. Rounds has every type once a round, in
// rows of a Williams square, so that within the rounds each type comes after
// each other one equally often. Random is any order within the limits, each
// as likely as any other. Pairs is any order in which every ordered pair of
// types occurs equally often.
const (
	Blocked Order = "blocked"
	Serial  Order = "serial"
	Rounds  Order = "rounds"
	Random  Order = "random"
	Pairs   Order = "pairs"
)

// Valid says whether o is one of the orders.
func (o Order) Valid() bool {
	return slices.Contains([]Order{Blocked, Serial, Rounds, Random, Pairs}, o)
}

// Wish is what is asked of a sequence. Alike limits how many of one type may
// come in a row (0: no limit); blocked and serial orders don't heed it. The
// same wish always gives the same sequence.
type Wish struct {
	Counts []int    // balls of each type
	Names  []string // of the types, for what is said of them
	Order  Order
	Alike  int
	Seed   uint64
}

// Sequence is the type of each ball in turn.
type Sequence []int

// Draw makes a sequence of a wish. A wish that nothing can fulfil is
// fault.Invalid, and the message says what could be had instead.
func Draw(w Wish) (Sequence, error) {
	if err := w.check(); err != nil {
		return nil, err
	}
	switch w.Order {
	case Blocked:
		return blocked(w.Counts), nil
	case Serial:
		return serial(w.Counts), nil
	case Rounds:
		return w.rounds()
	case Pairs:
		return w.pairs()
	case Random:
	}
	return w.random()
}

func (w Wish) check() error {
	if !w.Order.Valid() || len(w.Counts) == 0 || len(w.Counts) > MaxTypes || len(w.Names) != len(w.Counts) || w.Alike < 0 || w.Alike > MaxAlike {
		return infeasible("A sequence needs an order, one to %d types with a name each, and a limit of 0 to %d alike in a row.", MaxTypes, MaxAlike)
	}
	if slices.Min(w.Counts) < 0 || sum(w.Counts) > MaxBalls {
		return infeasible("A sequence has %d balls at most. Make two blocks.", MaxBalls)
	}
	if sum(w.Counts) == 0 {
		return infeasible("There are no balls to put in an order. Say how many of each type.")
	}
	return nil
}

func infeasible(format string, a ...any) error {
	return fault.New(fault.Invalid, "plan.Draw", fmt.Sprintf(format, a...))
}

func blocked(counts []int) Sequence {
	var out Sequence
	for t, n := range counts {
		out = append(out, slices.Repeat(Sequence{t}, n)...)
	}
	return out
}

// serial goes round the types that have balls left.
func serial(counts []int) Sequence {
	left, out := slices.Clone(counts), Sequence{}
	for len(out) < sum(counts) {
		for t := range left {
			if left[t] > 0 {
				left[t]--
				out = append(out, t)
			}
		}
	}
	return out
}

// random draws uniformly from all sequences within the limits: a number is
// drawn below their count, and the sequence of that number is walked to.
func (w Wish) random() (Sequence, error) {
	if err := w.crowded(); err != nil {
		return nil, err
	}
	c := newCounter(w.Alike)
	r := newDice(w.Seed).below(c.all(w.Counts))
	left, out := slices.Clone(w.Counts), Sequence{}
	last, run := -1, 0
	for range sum(w.Counts) {
		for t := range left {
			now := 1
			if t == last {
				now = run + 1
			}
			if left[t] == 0 || w.Alike > 0 && now > w.Alike {
				continue
			}
			left[t]--
			ways := c.ways(left, t, now)
			if r.Cmp(ways) < 0 {
				last, run = t, now
				out = append(out, t)
				break
			}
			r.Sub(r, ways)
			left[t]++
		}
	}
	return out, nil
}

// crowded refuses a type of which there are more than the others can keep
// apart: n others make n+1 gaps of at most Alike balls.
func (w Wish) crowded() error {
	if w.Alike == 0 {
		return nil
	}
	for t, n := range w.Counts {
		others := sum(w.Counts) - n
		if n <= w.Alike*(others+1) {
			continue
		}
		allow := (n + others) / (others + 1) // n / gaps, rounded up
		instead := fmt.Sprintf("have at most %d of %s, or at least %d others", w.Alike*(others+1), w.Names[t], (n+w.Alike-1)/w.Alike-1)
		if allow <= MaxAlike {
			instead = fmt.Sprintf("allow %d alike in a row, or ", allow) + instead
		}
		return infeasible("%d balls of %s can't be kept apart by %d others with no more than %d alike in a row. Instead, %s.",
			n, w.Names[t], others, w.Alike, instead)
	}
	return nil
}

// Facts are what a feeder's sequence is like.
type Facts struct {
	Balls      int
	SwitchRate float64 // changes of type / (balls - 1); 0 for a single ball
	Longest    int     // most alike in a row
	Pairs      [][]int // [a][b]: how often b came straight after a
}

// FactsOf counts over a sequence of so many types.
func FactsOf(s Sequence, types int) Facts {
	f := Facts{Balls: len(s), Pairs: make([][]int, types)}
	for t := range f.Pairs {
		f.Pairs[t] = make([]int, types)
	}
	run, changes := 0, 0
	for i, t := range s {
		if i > 0 {
			f.Pairs[s[i-1]][t]++
		}
		if i > 0 && s[i-1] != t {
			run, changes = 0, changes+1
		}
		run++
		f.Longest = max(f.Longest, run)
	}
	if len(s) > 1 {
		f.SwitchRate = float64(changes) / float64(len(s)-1)
	}
	return f
}

// Shares parts so many balls by weights (0 or above, not all 0): whole numbers
// by largest remainder, the earlier type where two are equal.
func Shares(balls int, weights []float64) []int {
	total := 0.0
	for _, w := range weights {
		total += w
	}
	counts, rest := make([]int, len(weights)), make([]float64, len(weights))
	for t, w := range weights {
		exact := float64(balls) * w / total
		counts[t] = int(exact)
		rest[t] = exact - float64(counts[t])
	}
	for sum(counts) < balls {
		most := 0
		for t := range rest {
			if rest[t] > rest[most] {
				most = t
			}
		}
		counts[most]++
		rest[most] = -1
	}
	return counts
}

func sum(list []int) int {
	n := 0
	for _, v := range list {
		n += v
	}
	return n
}

// Count is how many sequences there are with these counts and no more than so
// many alike in a row (0: no limit).
func Count(counts []int, alike int) *big.Int { return newCounter(alike).all(counts) }
