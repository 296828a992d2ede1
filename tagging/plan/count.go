package plan

import (
	"math/big"
	"math/rand/v2"
	"slices"
)

// counter counts the ways in which a sequence can go on, by dynamic
// programming. Types with equally many balls left are alike to it, so that a
// state is what is left of the last type, how long its run is, and the sorted
// rest: 60 balls of six types have some hundred thousand states.
type counter struct {
	alike int
	known map[string]*big.Int
}

func newCounter(alike int) *counter { return &counter{alike, map[string]*big.Int{}} }

// all counts the sequences from the first ball on.
func (c *counter) all(counts []int) *big.Int {
	left, total := slices.Clone(counts), new(big.Int)
	for t := range left {
		if left[t] > 0 {
			left[t]--
			total.Add(total, c.ways(left, t, 1))
			left[t]++
		}
	}
	if sum(counts) == 0 {
		total.SetInt64(1)
	}
	return total
}

// ways counts the sequences of what is left, after run balls of the type last.
// The answer is not to be changed.
func (c *counter) ways(left []int, last, run int) *big.Int {
	rest := make([]int, 0, len(left))
	for t, n := range left {
		if t != last {
			rest = append(rest, n)
		}
	}
	slices.Sort(rest)
	return c.finish(left[last], run, rest)
}

func (c *counter) finish(same, run int, rest []int) *big.Int {
	if c.alike == 0 {
		run = 0
	}
	key := make([]byte, 0, len(rest)+2)
	key = append(key, byte(same), byte(run))
	for _, n := range rest {
		key = append(key, byte(n))
	}
	if n, ok := c.known[string(key)]; ok {
		return n
	}
	total := new(big.Int)
	switch {
	case same == 0 && sum(rest) == 0:
		total.SetInt64(1)
	case same > 0 && (c.alike == 0 || run < c.alike):
		total.Add(total, c.finish(same-1, run+1, rest))
	}
	for i, n := range rest {
		if n == 0 || i > 0 && rest[i-1] == n {
			continue // of equal ones the first stands for all
		}
		equal := 1
		for i+equal < len(rest) && rest[i+equal] == n {
			equal++
		}
		others := slices.Delete(slices.Clone(rest), i, i+1)
		at, _ := slices.BinarySearch(others, same)
		ways := c.finish(n-1, 1, slices.Insert(others, at, same))
		total.Add(total, new(big.Int).Mul(ways, big.NewInt(int64(equal))))
	}
	c.known[string(key)] = total
	return total
}

// dice are drawn from a seed. Only the generator's raw words are used, whose
// values are fixed by its published algorithm (O'Neill 2014, PCG), so that a
// printed seed gives the same sequence for ever.
type dice struct{ words *rand.PCG }

func newDice(seed uint64) dice { return dice{rand.NewPCG(seed, 0x6e6574)} }

// below draws uniformly from 0 to n-1, by rejection.
func (d dice) below(n *big.Int) *big.Int {
	bits := new(big.Int).Sub(n, big.NewInt(1)).BitLen()
	for {
		r := new(big.Int)
		for got := 0; got < bits; got += 64 {
			r.Lsh(r, 64).Or(r, new(big.Int).SetUint64(d.words.Uint64()))
		}
		r.And(r, new(big.Int).Sub(new(big.Int).Lsh(big.NewInt(1), uint(bits)), big.NewInt(1)))
		if r.Cmp(n) < 0 {
			return r
		}
	}
}

func (d dice) intN(n int) int { return int(d.below(big.NewInt(int64(n))).Int64()) }

// shuffle puts a list into a random order (Fisher and Yates).
func shuffle[T any](d dice, list []T) {
	for i := len(list) - 1; i > 0; i-- {
		j := d.intN(i + 1)
		list[i], list[j] = list[j], list[i]
	}
}
