package split

import (
	"cmp"
	"math"
	"slices"
)

// What a ball looks like in one picture: small, by itself, and clearer than
// the noise.
const (
	spotLargest = 60  // pixels of a spot; more is a limb or a person
	spotsMost   = 40  // in one picture, the clearest
	spotsUsual  = 5   // so many spots of a picture may be more than noise
	spotsAbove  = 1.5 // times what noise gives, a spot's mass
	spotClear   = 7   // pixels around a spot in which nothing large moves
	spotAlone   = 14  // pixels around a spot in which hardly any other is ...
	spotShare   = 0.1 // ... of at least this share of its mass
)

// spot is a small connected area that became brighter (+1) or darker (-1).
type spot struct {
	x, y float64
	mass float64
	sign int8
	used bool // part of a flight
}

// spotter finds the small areas of a picture of signed changes.
type spotter struct {
	width, height int
	seen          []bool
	crowded       []bool // near something large
	stack         []int
	found         []spot
	usual         float64 // mass that the spotsUsual-th spot has in most pictures: noise
}

func newSpotter(width, height int) *spotter {
	return &spotter{width: width, height: height, seen: make([]bool, width*height), crowded: make([]bool, width*height)}
}

// spots are the small areas that lie by themselves: a ball over the ground, not
// a hand or a seam of somebody who moves.
func (p *spotter) spots(diff []float32) []spot {
	clear(p.seen)
	clear(p.crowded)
	p.found = p.found[:0]
	for i, d := range diff {
		if d != 0 && !p.seen[i] {
			p.area(diff, i)
		}
	}
	var out []spot
	for i, s := range p.found {
		if p.crowded[int(s.y)*p.width+int(s.x)] {
			continue
		}
		others := 0
		for j, o := range p.found {
			if i != j && o.sign == s.sign && o.mass > spotShare*s.mass && math.Abs(o.x-s.x) < spotAlone && math.Abs(o.y-s.y) < spotAlone {
				others++
			}
		}
		if others <= 1 {
			out = append(out, s)
		}
	}
	slices.SortFunc(out, func(a, b spot) int { return cmp.Compare(b.mass, a.mass) })
	return out[:p.clear(out)]
}

// clear says how many of the spots, the clearest first, stand out from what
// the noise of most pictures gives.
func (p *spotter) clear(spots []spot) int {
	mass := 0.0
	if len(spots) > spotsUsual {
		mass = spots[spotsUsual].mass
	}
	if p.usual == 0 {
		p.usual = mass
	}
	// A running median in steps of a twentieth.
	if mass > p.usual {
		p.usual = max(p.usual, 0.1) * 1.05
	} else {
		p.usual *= 0.95
	}
	n := 0
	for n < min(len(spots), spotsMost) && spots[n].mass > spotsAbove*p.usual {
		n++
	}
	return n
}

// area walks the connected area of pixel i: a small one is noted, the ground
// around a large one is marked as crowded.
func (p *spotter) area(diff []float32, i int) {
	sign := diff[i] > 0
	p.stack = append(p.stack[:0], i)
	p.seen[i] = true
	var x, y, mass float64
	// The stack is kept whole: what has been walked lies below at.
	for at := 0; at < len(p.stack); at++ {
		j := p.stack[at]
		w := math.Abs(float64(diff[j]))
		jx, jy := j%p.width, j/p.width
		x, y, mass = x+w*float64(jx), y+w*float64(jy), mass+w
		for _, k := range [4]int{j - 1, j + 1, j - p.width, j + p.width} {
			if k < 0 || k >= len(diff) || p.seen[k] || diff[k] == 0 || diff[k] > 0 != sign || k/p.width != jy && k%p.width != jx {
				continue
			}
			p.seen[k] = true
			p.stack = append(p.stack, k)
		}
	}
	if len(p.stack) <= spotLargest {
		if len(p.found) < 10*spotsMost {
			s := spot{x: x / mass, y: y / mass, mass: mass, sign: -1}
			if sign {
				s.sign = 1
			}
			p.found = append(p.found, s)
		}
		return
	}
	for n, j := range p.stack {
		if n%4 != 0 { // its pixels lie close together: some will do
			continue
		}
		jx, jy := j%p.width, j/p.width
		for y := max(jy-spotClear, 0); y <= min(jy+spotClear, p.height-1); y++ {
			for x := max(jx-spotClear, 0); x <= min(jx+spotClear, p.width-1); x++ {
				p.crowded[y*p.width+x] = true
			}
		}
	}
}
