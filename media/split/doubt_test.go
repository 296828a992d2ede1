package split

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// heardAt is a session whose balls are all heard, and whose looks differ from those of other
// moments by so much, and show in so many cells.
func heardAt(apart float64, cells int) *session {
	s := dull(9)
	s.crack = s.first
	s.probe.Width, s.probe.Height, s.probe.AudioCodec = 1280, 720, "aac"
	s.motion = make(curve, 90)
	s.motion[30] = 1
	var heard []anchor
	for _, o := range s.onsets {
		heard = append(heard, anchor{o.at, 1, true})
	}
	s.judge(heard)
	s.sight = told(9, apart, 0).sight
	g := &grid{learnt: true}
	for c := range cells {
		g.cues[-gridFrom] = append(g.cues[-gridFrom], cue{channel: int32(c), weight: 1})
	}
	s.sight.folds = []*grid{g, g, g, g}
	return s
}

func TestHeardButHardlyTold(t *testing.T) {
	const near = 9 // cells
	flies := func(s *session) { s.way = &way{passes: make([]pass, 9)} }
	for name, c := range map[string]struct {
		apart   float64
		cells   int
		change  func(*session)
		against float64
	}{
		"told":            {untoldBelow + 0.1, near, func(*session) {}, 0},
		"hardly told":     {untoldBelow - 1, near, func(*session) {}, untoldMore},
		"not told at all": {0.1, near, func(*session) {}, untoldMost},
		"said": {untoldBelow - 1, near, func(s *session) {
			s.words = []word{{at: 10, known: true, struck: true, ball: true}}
		}, 0},
		"seen to bounce": {untoldBelow - 1, near, func(s *session) {
			s.way = &way{passes: make([]pass, 9), bounced: make([]bounce, 5)}
		}, 0},
		"found here before": {untoldBelow - 1, near, func(s *session) { s.taught.Balls = 6 }, 0},
		"nothing to hear":   {untoldBelow - 1, near, func(s *session) { s.heard = nil }, 0},
		"not heard":         {untoldBelow - 1, near, func(s *session) { s.onsets = nil; s.moments = found(9, 0).moments }, 0},
		"too few": {untoldBelow - 1, near, func(s *session) {
			for part := range s.sight.fits { // as many as teach how the balls look, spread as before
				few := moments{}
				for i := range untoldLeast - 1 {
					few.add(s.sight.fits[part].yes.mean()+float64(i%2)-0.5, 1)
				}
				s.sight.fits[part].yes = few
			}
		}, 0},
		"nothing seen":   {untoldBelow - 1, near, func(s *session) { s.sight = nil }, 0},
		"nothing moves":  {untoldBelow - 1, near, func(s *session) { s.motion = make(curve, 90) }, 0},
		"far off":        {near, int(smallBelow) - 1, func(*session) {}, smallMore},
		"near enough":    {near, int(smallBelow), func(*session) {}, 0},
		"not so far":     {near, int(smallBelow) - 1, flies, 0},
		"far, and flies": {near, 2, flies, smallMore * (smallFlown - 2)},
	} {
		s := heardAt(c.apart, c.cells)
		before := s.likely()
		require.Greater(t, before, 8.0, name)
		c.change(s)
		s.doubtUntold()
		assert.InDelta(t, c.against, s.against.odds(), 1e-6, name)
		if c.against > 0 {
			assert.Less(t, s.likely(), before, name)
		}
	}
}

// TestNothingIsLearntFromWhatIsDoubtedAway has balls that are all doubted away: the notes
// say so, and the next session begins as this one did.
func TestNothingIsLearntFromWhatIsDoubtedAway(t *testing.T) {
	s := heardAt(0.1, 9)
	s.heard.env = newEnvelope(80)
	require.NotZero(t, s.result().Profile.Balls, "told, they would be learnt from")
	s.doubtUntold()
	r := s.result()
	assert.Empty(t, r.Deliveries)
	assert.Zero(t, r.Profile)
	assert.Contains(t, strings.Join(r.Notes, " "), "only the next net is in play")
}

func TestExtent(t *testing.T) {
	s := heardAt(9, 4)
	assert.InDelta(t, 4, s.sight.extent(144), 1e-6)
	s.sight.folds[0].cues[-gridFrom][0].weight = 9 // of the grid that all folds are
	assert.InDelta(t, 12*12.0/84, s.sight.extent(144), 1e-6)
	assert.InDelta(t, 144, (&sight{folds: []*grid{{}}}).extent(144), 1e-6, "nothing tells")
}
