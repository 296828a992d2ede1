package split

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// heardAt is a session of nine balls, whose looks differ from those of other moments by so
// much, and show in so many cells.
func heardAt(apart float64, cells int) *session {
	s := told(9, apart, 0)
	s.motion, s.heard = make(curve, 60), &ear{loudest: 0}
	s.motion[30] = 1
	s.probe.Width, s.probe.Height = 1280, 720
	g := &grid{learnt: true}
	for c := range cells {
		g.cues[-gridFrom] = append(g.cues[-gridFrom], cue{channel: int32(c), weight: 1})
	}
	s.sight.folds = []*grid{g, g, g, g}
	return s
}

func TestHeardButHardlyTold(t *testing.T) {
	said := []word{{at: 10, known: true, struck: true, ball: true}}
	for name, c := range map[string]struct {
		apart   float64
		cells   int
		change  func(*session)
		against float64
	}{
		"told":            {untoldBelow + 0.1, 9, func(*session) {}, 0},
		"hardly told":     {untoldBelow - 1, 9, func(*session) {}, untoldMore},
		"said":            {untoldBelow - 1, 9, func(s *session) { s.words = said }, 0},
		"seen to bounce":  {untoldBelow - 1, 9, func(s *session) { s.way = &way{passes: make([]pass, 9), bounced: make([]bounce, 5)} }, 0},
		"nothing to hear": {untoldBelow - 1, 9, func(s *session) { s.heard = nil }, 0},
		"far off":         {9, int(smallBelow) - 1, func(*session) {}, smallMore},
		"near enough":     {9, int(smallBelow), func(*session) {}, 0},
		"not so far":      {9, int(smallBelow) - 1, func(s *session) { s.way = &way{passes: make([]pass, 9)} }, 0},
		"far, and flies":  {9, 2, func(s *session) { s.way = &way{passes: make([]pass, 9)} }, smallMore * (smallFlown - 2)},
	} {
		s := heardAt(c.apart, c.cells)
		c.change(s)
		s.doubt()
		assert.InDelta(t, c.against, s.against.odds(), 1e-6, name)
	}
}

func TestExtent(t *testing.T) {
	s := heardAt(9, 4)
	assert.InDelta(t, 4, s.sight.extent(144), 1e-6)
	s.sight.folds[0].cues[-gridFrom][0].weight = 9 // of the grid that all folds are
	assert.InDelta(t, 12*12.0/84, s.sight.extent(144), 1e-6)
	assert.InDelta(t, 144, (&sight{folds: []*grid{{}}}).extent(144), 1e-6, "nothing tells")
}
