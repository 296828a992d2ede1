package split

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestTheMiddleNetIsFilmed has balls of the next net seen to the right of one's own, from
// behind the arm: those about the middle of the picture are the session's.
func TestTheMiddleNetIsFilmed(t *testing.T) {
	own := over()
	next := slices.Clone(own)
	for i := range next {
		next[i].y += 4
		next[i].at += 4.5
	}
	s := seenBy(behindTheArm, append(slices.Clone(own), next...))
	n := s.partAcross(s.views[0].grey.bounces)
	require.NotNil(t, n)
	assert.Len(t, n.near, len(own))
	assert.Len(t, n.far, len(next))
	all := s.views[0].grey.arcs
	left := n.ownAcross(all)
	assert.Less(t, len(left), len(all))
	for _, b := range n.near {
		assert.Contains(t, left, b.in)
	}
	for _, b := range n.far {
		assert.NotContains(t, left, b.in)
	}
	alone := seenBy(behindTheArm, own)
	assert.Nil(t, alone.partAcross(alone.views[0].grey.bounces), "one net")
}
