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

// TestWhatTellsBetterThanTheHand leaves balls as they are that are seen to turn, or about,
// that are first seen elsewhere, that went on past the batter; and all of them where the way
// is seen from the side, where they were bowled long before, or where they are few.
func TestWhatTellsBetterThanTheHand(t *testing.T) {
	late := fromHand(0.8).passes[1].at
	for name, change := range map[string]func(w *way){
		"first seen elsewhere": func(w *way) { w.passes[1].first.x += 2 * handPlace },
		"never seen to come":   func(w *way) { w.passes[1].first = unseenFirst },
		"onward":               func(w *way) { w.passes[1].onward = true },
		"from the side":        func(w *way) { w.ux = 0.99 },
		"few":                  func(w *way) { w.passes = w.passes[:handLeast-1] },
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
	assert.Less(t, w.passes[1].at, late)
	assert.Greater(t, w.passes[1].at, late-0.2, "its turn was seen")
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
