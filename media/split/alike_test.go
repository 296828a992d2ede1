package split

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// repeated are four alike sightings in each of which something moves for a tenth of a
// second in the first cells at so many steps from the middle: as much as is given for each.
func repeated(moves map[int][2]float32) ([]*sighting, []member) {
	const cells = 4
	all, group := make([]*sighting, 4), make([]member, 4)
	for i := range all {
		rows := make([][]float32, gridLen+2*discoverSlack)
		for k := range rows {
			rows[k] = make([]float32, cells)
			for at, m := range moves {
				if off := k + gridFrom - discoverSlack - at; off >= -1 && off <= 1 {
					rows[k][int(m[0])] += m[1]
				}
			}
		}
		all[i], group[i] = &sighting{view: &view{channels: cells}, rows: rows}, member{in: true}
	}
	return all, group
}

func TestTheShotIsTheSuddenestMovementThatComesAfterTheFeed(t *testing.T) {
	all, group := repeated(map[int][2]float32{-16: {0, 60}, -7: {1, 70}, 0: {1, 100}})
	clear, late := shotOf(all, group)
	assert.Positive(t, clear)
	assert.InDelta(t, 0, late, 2*stirStep, "not the backlift")

	all, group = repeated(map[int][2]float32{-12: {0, 90}, 0: {1, 100}, 14: {2, 100}})
	_, late = shotOf(all, group)
	assert.InDelta(t, 0, late, 2*stirStep, "the way back is hardly more sudden")
}
