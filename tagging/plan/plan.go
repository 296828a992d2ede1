// Package plan is what comes next at the nets: blocks of so many balls of a
// kind, the order in which a feeder gives them, how long that takes, what it
// adds to everybody's load, and which planned ball a delivered one was. It is
// pure: it must not know where plans are kept or how they are shown.
//
// Types of balls are numbered 0, 1, 2 ... in the order in which a block lists
// them; a sequence is a list of such numbers, one for each ball.
package plan

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"netreel/media/fault"
)

// Limits of one plan.
const (
	MaxBlocks  = 20
	MaxTypes   = 6  // of one block: more than a feeder keeps in mind
	MaxBalls   = 60 // of one block
	MaxAlike   = 5  // the largest limit on balls alike in a row
	MaxMinutes = 600
	maxName    = 80 // characters
)

// Type is one sort of ball in a block, in the manner of "Yorker". Length, Line
// and Height are term keys, "" where the plan does not say.
type Type struct {
	Name   string `json:"name"`
	Length string `json:"length"`
	Line   string `json:"line"`
	Height string `json:"height"`
	Balls  int    `json:"balls"`
}

// Block is a part of a planned session.
type Block struct {
	Name     string   `json:"name"`
	PlayerID int64    `json:"player_id"` // 0: the plan's player
	Bowling  string   `json:"bowling"`   // term keys; "" when not said
	Feed     string   `json:"feed"`
	Bat      string   `json:"bat"`
	Feeder   string   `json:"feeder"`    // who feeds, in plain words; "" when not said
	SpeedKPH float64  `json:"speed_kph"` // what the feed is set or asked to; 0 when not said
	Pace     float64  `json:"pace_s"`    // seconds from ball to ball
	Pause    float64  `json:"pause_s"`   // seconds before the next block
	Types    []Type   `json:"types"`
	Order    Order    `json:"order"`
	Alike    int      `json:"alike"` // no more than so many alike in a row; 0: no limit
	Seed     uint64   `json:"seed"`
	Sequence Sequence `json:"sequence"` // drawn from the rest
}

// Plan is a session to come.
type Plan struct {
	ID        int64
	Title     string
	PlayerID  int64 // 0: for nobody in particular
	Minutes   int   // the time there is
	WorkOn    []string
	Note      string
	Helmets   bool // a coach ticked that hard balls at the upper body meet a helmet
	Blocks    []Block
	SessionID int64 // the session that it became; 0 until then
	Revision  int
	MadeBy    string
	Updated   time.Time
}

// Balls is how many balls a block has.
func (b Block) Balls() int {
	n := 0
	for _, t := range b.Types {
		n += t.Balls
	}
	return n
}

// Wish is what a block asks of its sequence.
func (b Block) Wish() Wish {
	w := Wish{Order: b.Order, Alike: b.Alike, Seed: b.Seed}
	for _, t := range b.Types {
		w.Counts, w.Names = append(w.Counts, t.Balls), append(w.Names, t.Name)
	}
	return w
}

// maxSeed keeps a seed short enough to be read out and typed in.
const maxSeed = 999_999_999

// Drawn is the block with its sequence; without a seed it gets one. A block
// without balls has none.
func (b Block) Drawn() (Block, error) {
	if b.Seed == 0 {
		b.Seed = 1 + rand.Uint64N(maxSeed)
	}
	b.Sequence = Sequence{}
	if b.Balls() == 0 {
		return b, nil
	}
	s, err := Draw(b.Wish())
	if err == nil {
		b.Sequence = s
	}
	return b, err
}

// Players lists whom a plan is for, each once: its own player first.
func (p Plan) Players() []int64 {
	ids := []int64{}
	for _, id := range append([]int64{p.PlayerID}, blockPlayers(p.Blocks)...) {
		if id != 0 && !slices.Contains(ids, id) {
			ids = append(ids, id)
		}
	}
	return ids
}

func blockPlayers(blocks []Block) []int64 {
	ids := make([]int64, len(blocks))
	for i, b := range blocks {
		ids[i] = b.PlayerID
	}
	return ids
}

// Length is how long a block takes, in seconds, with the pause after it.
func (b Block) Length() float64 { return float64(b.Balls())*b.Pace + b.Pause }

// Budget is a plan against the time there is. Times are in seconds; the pause
// after the last block is not counted.
type Budget struct {
	Balls   int
	Seconds float64
	Room    float64 // what is left; below 0 the blocks take longer than there is
}

// Budget adds a plan's blocks up.
func (p Plan) Budget() Budget {
	var sum Budget
	for i, b := range p.Blocks {
		sum.Balls += b.Balls()
		sum.Seconds += b.Length()
		if i == len(p.Blocks)-1 {
			sum.Seconds -= b.Pause
		}
	}
	sum.Room = float64(p.Minutes)*60 - sum.Seconds
	return sum
}

// Warnings are what keeps a plan from being ready, in words for the coach. A
// plan may be kept with them, so that nothing is lost.
func (p Plan) Warnings() []string {
	var out []string
	if len(p.Blocks) == 0 {
		out = append(out, "There is no block yet. Add one and say which balls it has.")
	}
	for i, b := range p.Blocks {
		if b.Balls() == 0 {
			out = append(out, fmt.Sprintf("Block %d (%s) has no balls. Say how many of each type, or take it out.", i+1, b.Name))
		}
	}
	if sum := p.Budget(); sum.Room < 0 && len(p.Blocks) > 0 {
		last := p.Blocks[len(p.Blocks)-1]
		out = append(out, fmt.Sprintf("The blocks take %s and the session has %d:00. Take out %d balls of %s, shorten the pauses, or plan for more time.",
			clock(sum.Seconds), p.Minutes, int(math.Ceil(-sum.Room/last.Pace)), last.Name))
	}
	if !p.Helmets && len(p.UpperBody()) > 0 {
		out = append(out, "Balls at the upper body are planned. Tick that helmets are worn before the card goes to the feeder.")
	}
	return out
}

// UpperBody lists the types that are aimed short or at throat and head, as
// "block: type": those for which a coach must tick that helmets are worn.
func (p Plan) UpperBody() []string {
	var out []string
	for _, b := range p.Blocks {
		for _, t := range b.Types {
			switch {
			case t.Balls == 0:
			case t.Length == "short", t.Height == "throat", t.Height == "head", t.Height == "above-head":
				out = append(out, b.Name+": "+t.Name)
			}
		}
	}
	return out
}

// Check says whether a plan is well formed. What only keeps it from being
// ready is in Warnings.
func (p Plan) Check() error {
	var fields []fault.Field
	bad := func(name, reason string) { fields = append(fields, fault.Field{Name: name, Reason: reason}) }
	if p.Minutes < 1 || p.Minutes > MaxMinutes {
		bad("minutes", fmt.Sprintf("must be 1 to %d", MaxMinutes))
	}
	if len(p.Blocks) > MaxBlocks {
		bad("blocks", fmt.Sprintf("can be %d at most", MaxBlocks))
	}
	for i, b := range p.Blocks {
		b.check(fmt.Sprintf("blocks.%d.", i), bad)
	}
	if len(fields) == 0 {
		return nil
	}
	return fault.New(fault.Invalid, "plan.Check", "The plan was not saved. Mend the marked places and save again.", fields...)
}

func (b Block) check(at string, bad func(name, reason string)) {
	named := func(name string) bool {
		return strings.TrimSpace(name) != "" && utf8.RuneCountInString(name) <= maxName
	}
	within := func(name string, v, low, high float64) {
		if !(v >= low && v <= high) { // NaN too
			bad(at+name, fmt.Sprintf("must be %g to %g", low, high))
		}
	}
	if !named(b.Name) {
		bad(at+"name", fmt.Sprintf("must be 1 to %d characters", maxName))
	}
	if utf8.RuneCountInString(b.Feeder) > maxName {
		bad(at+"feeder", fmt.Sprintf("must be %d characters at most", maxName))
	}
	within("speed_kph", b.SpeedKPH, 0, 200)
	within("pace_s", b.Pace, 3, 600)
	within("pause_s", b.Pause, 0, 3600)
	within("alike", float64(b.Alike), 0, MaxAlike)
	within("seed", float64(b.Seed), 0, maxSeed)
	if !b.Order.Valid() {
		bad(at+"order", "must be blocked, serial, rounds, random or pairs")
	}
	if len(b.Types) == 0 || len(b.Types) > MaxTypes {
		bad(at+"types", fmt.Sprintf("must be 1 to %d", MaxTypes))
	}
	for j, t := range b.Types {
		if !named(t.Name) {
			bad(fmt.Sprintf("%stypes.%d.name", at, j), fmt.Sprintf("must be 1 to %d characters", maxName))
		}
		within(fmt.Sprintf("types.%d.balls", j), float64(t.Balls), 0, MaxBalls)
	}
	if b.Balls() > MaxBalls {
		bad(at+"types", fmt.Sprintf("can have %d balls together; make two blocks", MaxBalls))
	}
}

// clock writes seconds as m:ss.
func clock(s float64) string {
	n := int(math.Round(s))
	return fmt.Sprintf("%d:%02d", n/60, n%60)
}
