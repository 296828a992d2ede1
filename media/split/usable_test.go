package split

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestProfilesOfOtherMakes(t *testing.T) {
	t.Parallel()
	bat := make([]Measure, colourSize)
	path := &Path{Seconds: 0.4, Mass: 0.03, Shown: 0.9, Flights: 8}
	around := make([][]float64, len(company{}.count))
	for k := range around {
		around[k] = make([]float64, companyBins)
	}
	whole := Profile{Version: profileVersion, Balls: 9, Heard: 7, Bat: bat, Around: around, Path: path}
	for _, test := range []struct {
		name string
		raw  string
		want *Profile // nil: it is left alone
	}{
		{"the first, which knew the bat alone", `{"version":1,"balls":9,"bat":[{},{},{},{},{},{},{}]}`, &Profile{Version: profileVersion, Balls: 9, Heard: 9, Bat: bat}},
		{"one to come", `{"version":3,"balls":9,"bat":[{},{},{},{},{},{},{}]}`, nil},
		{"of no ball", `{"version":2}`, nil},
		{"nothing", `{}`, nil},
		{"other features of the bat", `{"version":2,"balls":9,"heard":9,"bat":[{},{}]}`, &Profile{Version: profileVersion, Balls: 9}},
		{"other stretches of time", `{"version":2,"balls":9,"around":[[0],[1]]}`, &Profile{Version: profileVersion, Balls: 9}},
		{"a path without a length", `{"version":2,"balls":9,"path":{"flights":9}}`, &Profile{Version: profileVersion, Balls: 9}},
	} {
		t.Run(test.name, func(t *testing.T) {
			var p Profile
			require.NoError(t, json.Unmarshal([]byte(test.raw), &p))
			got, ok := p.usable()
			assert.Equal(t, test.want != nil, ok)
			if test.want != nil {
				assert.Equal(t, *test.want, got)
			}
		})
	}
	got, ok := whole.usable()
	assert.True(t, ok)
	assert.Equal(t, whole, got)
}

// TestPathOutlivesAFilmWithoutBalls has sessions in which no ball is seen: a path
// that is known is believed less and less, and then forgotten.
func TestPathOutlivesAFilmWithoutBalls(t *testing.T) {
	t.Parallel()
	s := &session{taught: Profile{Version: profileVersion, Balls: 10, Path: &Path{Seconds: 0.4, Mass: 0.03, Flights: 2.5 * wayLeast}}}
	kept := s.path()
	require.NotNil(t, kept)
	assert.InDelta(t, 1.25*wayLeast, kept.Flights, 1e-9)
	s.taught.Path = kept
	assert.Nil(t, s.path())
}

// TestKnownPathNeedsFlights keeps a path, and gives it flights of balls that come
// so, flights that come after others, and too few.
func TestKnownPathNeedsFlights(t *testing.T) {
	t.Parallel()
	coming := func(i int) arc { return thrown(10*float64(i+1), 40, 60, 150, 40, 0, 0, 0.4) }
	teacher := &session{seconds: 60, views: views{{from: 0, to: 60}}}
	for i := range 5 {
		teacher.views[0].grey.arcs = append(teacher.views[0].grey.arcs, coming(i))
	}
	teacher.way = teacher.learnWay(nil)
	require.NotNil(t, teacher.way)
	path := teacher.path()
	require.NotNil(t, path)
	for _, test := range []struct {
		name  string
		arcs  []arc
		known bool
	}{
		{"two balls", []arc{coming(0), coming(2)}, true},
		{"one ball", []arc{coming(0)}, false},
		{"balls that go so after they came otherwise", []arc{
			thrown(9.3, 240, 60, -300, 0, 0, 0, 0.5), coming(0), thrown(29.3, 240, 60, -300, 0, 0, 0, 0.5), coming(2)}, false},
		{"balls that come the other way", []arc{thrown(10, 240, 60, -150, 40, 0, 0, 0.4), thrown(20, 240, 60, -150, 40, 0, 0, 0.4)}, false},
	} {
		t.Run(test.name, func(t *testing.T) {
			s := &session{seconds: 60, views: views{{from: 0, to: 60, width: 256, height: 144, grey: newAir(test.arcs)}}, taught: Profile{Balls: 5, Path: path}}
			w := s.learnWay(nil)
			require.Equal(t, test.known, w != nil)
			if w != nil {
				assert.True(t, w.known)
				assert.Len(t, w.passes, len(test.arcs))
				meet := teacher.way.x + teacher.way.ax*teacher.way.meet
				assert.InDelta(t, meet, w.x+w.ax*w.meet, 0.1, "the batter stands where he stood")
			}
		})
	}
}
