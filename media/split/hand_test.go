package split

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
)

// fromHand is a way that leans by so much, with balls that take 0.6 s from where they are
// first seen. The second is said to be met much too late.
func fromHand(level float64) *way {
	w := &way{ux: level, uy: 0.5, ax: 1}
	for i := range 7 {
		at := 10 * float64(i+1)
		w.passes = append(w.passes, pass{at: at + 0.6, first: flightPoint{t: at, x: 40 + float64(i), y: 50}})
	}
	w.passes[1].at += 0.3
	return w
}

// TestAsLongFromTheHand sets right what is said to be met much later than others are.
func TestAsLongFromTheHand(t *testing.T) {
	w := fromHand(0.8)
	w.fromHand()
	for i, p := range w.passes {
		assert.InDelta(t, 10*float64(i+1)+0.6, p.at, 0.07, "ball %d", i)
	}
}

// TestWhatTellsBetterThanTheHand leaves balls as they are that turn much later, that are first
// seen elsewhere, that went on past the batter; and all of them where the way is seen from the
// side, where they were bowled long before, where they are few, or first seen here and there.
func TestWhatTellsBetterThanTheHand(t *testing.T) {
	late := fromHand(0.8).passes[1].at
	for name, change := range map[string]func(w *way){
		"first seen elsewhere": func(w *way) { w.passes[1].first.x += 2 * handPlace },
		"never seen to come":   func(w *way) { w.passes[1].first = unseenFirst },
		"onward":               func(w *way) { w.passes[1].onward = true },
		"from the side":        func(w *way) { w.ux = 0.99 },
		"few":                  func(w *way) { w.passes = w.passes[:handLeast-1] },
		"here and there": func(w *way) {
			for _, x := range []float64{-300, -200, -100, -50, 150, 200, 300, 400} {
				w.passes = append(w.passes, pass{at: 100, first: flightPoint{t: 99.4, x: x}})
			}
		},
		"bowled long before": func(w *way) {
			for i := range w.passes {
				w.passes[i].first.t += 0.3
			}
		},
	} {
		w := fromHand(0.8)
		change(w)
		w.fromHand()
		assert.InDelta(t, late, w.passes[1].at, 1e-9, name)
	}

	w := fromHand(0.8)
	w.passes[1].turned = true
	w.fromHand()
	assert.InDelta(t, late, w.passes[1].at, 1e-9, "its turn was seen: it was bowled slower")

	w = fromHand(0.8)
	w.climbs, w.passes[1].onward = true, true
	w.fromHand()
	assert.Less(t, w.passes[1].at, late-0.2, "that what climbs goes on is no sign")
}

// TestTurnBoundsTheHand has a ball that turns a little later than others: it is met sooner than
// it was said to be, but not before it was last seen to come, nor after it was seen to go.
func TestTurnBoundsTheHand(t *testing.T) {
	for _, c := range []struct{ said, came, gone, least, most float64 }{
		{0.7, 0.55, 0.75, 0.61, 0.68}, {0.7, 0.69, 0.75, 0.69, 0.69}, {0.5, 0.4, 0.51, 0.51, 0.51},
	} {
		w := fromHand(0.8)
		p := &w.passes[1]
		p.at, p.turned = 20+c.said, true
		p.came, p.gone = arc{to: flightPoint{t: 20 + c.came}}, &arc{from: flightPoint{t: 20 + c.gone}}
		w.fromHand()
		assert.GreaterOrEqual(t, p.at, 20+c.least-1e-9, "%+v", c)
		assert.LessOrEqual(t, p.at, 20+c.most+1e-9, "%+v", c)
	}
}

// TestTurnsTellHowLong has balls most of which are said to be met too late, while some are
// seen to turn: those say how long all take.
func TestTurnsTellHowLong(t *testing.T) {
	w := fromHand(0.8)
	for i := range w.passes {
		if w.passes[i].turned = i < 3; i == 1 || i >= 3 {
			w.passes[i].at = 10*float64(i+1) + 0.7
		}
	}
	w.passes[1].at -= 0.1
	before := slices.Clone(w.passes)
	w.fromHand()
	for i, p := range w.passes[3:] {
		assert.Less(t, p.at, before[3+i].at-0.07, "ball %d", 3+i)
	}
}
