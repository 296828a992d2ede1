package split

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestSwingsFromBehindTheArm has balls without sound, seen to fall from the hand to where they
// bounce, one of which is followed on up the picture, and one of which seems to bounce later
// than it does. Their batter swings at all of them: each is struck, at the time it takes.
func TestSwingsFromBehindTheArm(t *testing.T) {
	s, _, _ := nearingBalls()
	w, balls := bounced(0)
	var examples []example
	for i, d := range balls {
		w.passes[i].first = w.passes[i].came.from
		at := d.at + d.contact()
		w.passes[i].at = at
		s.moments = append(s.moments, moment{at: at, onset: -1, chosen: true, p: 0.9, here: 0.9})
		examples = append(examples, example{s.views[0], at, 0.9})
		for k := 2; k < 9; k++ {
			examples = append(examples, example{s.views[0], d.at + float64(k), 0})
		}
	}
	w.passes[1].onward = true
	w.passes[2].ground.at += 0.25
	s.way, s.sight = w, learnSight(144, examples)
	require.True(t, s.sight.learnt())
	s.swings()
	for i, d := range balls {
		assert.True(t, s.moments[i].struck, "ball %d", i)
		assert.InDelta(t, d.at+d.contact(), s.moments[i].at, 0.1, "ball %d", i)
	}
}
