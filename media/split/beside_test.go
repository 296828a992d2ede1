package split

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestWhoBatsAtThePicturesSides has grids that go by one cell at contact: where who
// is filmed stands, or where the next net's batter is half out of the picture.
func TestWhoBatsAtThePicturesSides(t *testing.T) {
	e := newEye(1280, 720)
	apart := contrast{}
	for range 10 {
		apart.yes.add(4, 1)
		apart.yes.add(5, 1)
		apart.no.add(0, 1)
		apart.no.add(1, 1)
	}
	stirs := make(curve, 60)
	stirs[30] = 1
	by := func(columns ...int) *session {
		g := &grid{learnt: true}
		for _, x := range columns {
			g.cues[-gridFrom] = append(g.cues[-gridFrom], cue{channel: int32(4*e.across + x), weight: 1})
		}
		return &session{motion: stirs, sight: &sight{folds: []*grid{g, g, g, g}, fits: [2]contrast{apart, apart}}}
	}
	last := e.across - 1
	assert.InDelta(t, 1, by(5).inside(e), 1e-6)
	assert.InDelta(t, 0.5, by(5, last).inside(e), 1e-6)
	assert.Zero(t, by(0, last).inside(e))
	assert.InDelta(t, 1, by().inside(e), 1e-6, "nothing is told by any")

	assert.Zero(t, by(5).speaksAgainst(e).odds())
	assert.Zero(t, by(5, last).speaksAgainst(e).odds(), "the next net's may be seen as well")
	assert.InDelta(t, besideMost, by(0, last).speaksAgainst(e).odds(), 1e-6)

	told := by(0, last)
	told.words = []word{{at: 10, known: true, struck: true, ball: true}}
	assert.Zero(t, told.speaksAgainst(e).odds(), "somebody said which balls are meant")
}

// TestFarAcrossThePicture has balls on their way to who stands at its side.
func TestFarAcrossThePicture(t *testing.T) {
	across := func(from, to float64) []arc {
		return []arc{level(1, from, 60, (to-from)/0.3, 0, 0.3), level(9, from, 60, (to-from)/0.3, 0, 0.3)}
	}
	assert.True(t, mostSpan(across(30, 210), 100, 128))
	assert.False(t, mostSpan(across(110, 190), 100, 128), "only a part of it")
	assert.False(t, mostSpan(across(5, 120), 100, 128), "not across its middle")
	assert.False(t, mostSpan(nil, 100, 128))
}

// TestBallsNextDoor has balls that are all met far from the middle, where somebody else
// swings as hard between them, or nobody does, or softly.
func TestBallsNextDoor(t *testing.T) {
	e := newEye(1280, 720)
	const row, centre = 4, 8
	session := func(column int, between byte) *session {
		v := &view{to: 60, cells: e.cells(), channels: channelsOf(e)}
		g := &grid{learnt: true}
		g.cues[-gridFrom] = []cue{{channel: int32(row*e.across + column), weight: 1}}
		s := &session{seconds: 60, views: views{v}, sight: &sight{folds: []*grid{g, g, g, g}}}
		for at := 5.0; at < 55; at += 10 {
			s.moments = append(s.moments, moment{at: at, chosen: true, here: 0.9, onset: -1})
		}
		for k := range 60 * 25 {
			at := float64(k) / 25
			cells := make([]byte, v.channels)
			for _, m := range s.moments {
				if at > m.at-0.2 && at < m.at+0.2 {
					cells[row*e.across+column] = 100
				}
				if at > m.at+3 && at < m.at+4 {
					cells[row*e.across+centre] = between
				}
			}
			v.times, v.rows = append(v.times, at), append(v.rows, cells...)
		}
		return s
	}
	assert.True(t, session(12, 110).nextDoor(e))
	assert.True(t, session(3, 110).nextDoor(e), "on either side")
	assert.False(t, session(12, 50).nextDoor(e), "nobody in the middle swings as hard")
	assert.False(t, session(12, 0).nextDoor(e), "nobody stands there")
	assert.False(t, session(10, 110).nextDoor(e), "who bats is not far from the middle")

	bowled := session(12, 0)
	for k, at := range bowled.views[0].times {
		for _, m := range bowled.moments {
			if at > m.at-1.2 && at < m.at+0.2 {
				bowled.views[0].rows[k*channelsOf(e)+row*e.across+centre] = 110
			}
		}
	}
	assert.False(t, bowled.nextDoor(e), "a bowler runs through the middle")

	walked := session(12, 0)
	for k, at := range walked.views[0].times {
		for c := e.across/2 - 2; c <= e.across/2+2; c++ {
			for _, m := range walked.moments {
				if from := m.at + 3 + 0.3*float64(c-e.across/2); at > from && at < from+0.3 {
					walked.views[0].rows[k*channelsOf(e)+row*e.across+c] = 110
				}
			}
		}
	}
	assert.False(t, walked.nextDoor(e), "somebody walks through the middle")

	few := session(12, 110)
	few.moments = few.moments[:2]
	assert.False(t, few.nextDoor(e), "two balls tell nothing")

	comes := session(12, 110)
	comes.way = &way{passes: []pass{{came: arc{to: flightPoint{x: 128}, points: 5}}}}
	assert.False(t, comes.nextDoor(e), "the balls are seen to come to the middle")
	comes.way.passes[0].came.to.x = 210
	assert.True(t, comes.nextDoor(e))
	comes.way.passes[0] = pass{turned: true}
	assert.True(t, comes.nextDoor(e), "they are only seen to go")

	across := session(12, 110)
	across.way = &way{group: []arc{level(4, 20, 60, 500, 50, 0.4)}}
	assert.False(t, across.nextDoor(e), "balls are seen to come across the middle")
	across.way.group[0].from.x = 140
	assert.True(t, across.nextDoor(e))

	require.InDelta(t, 1, session(12, 110).beside(e), 1e-9)
	whole := session(15, 110)
	whole.way = &way{}
	require.Positive(t, whole.beside(e), "who bats stands at the very side")
	for i := range 3 {
		in, out := level(float64(5+10*i)-0.5, 20, 60, 500, 80, 0.35), level(float64(5+10*i)-0.14, 196, 88, 400, -40, 0.1)
		whole.way.bounced = append(whole.way.bounced, bounce{in, out})
	}
	whole.way.passes = make([]pass, 5)
	assert.Zero(t, whole.beside(e), "but balls bounce on their way to him across the middle")
	whole.way.passes = make([]pass, 9)
	assert.Positive(t, whole.beside(e), "few of them")
	known := session(12, 110)
	known.taught.Balls = 20
	assert.Zero(t, known.beside(e), "people found balls here before")
	said := session(12, 110)
	said.words = []word{{at: 5, known: true, struck: true, ball: true}}
	assert.Zero(t, said.beside(e), "somebody said which balls are meant")
}
