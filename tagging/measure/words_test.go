package measure

import (
	"encoding/json"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"netreel/media/fault"
	"netreel/media/laws"
	"netreel/tagging/vocabulary"
)

func TestProposalsAreTermsOfTheVocabulary(t *testing.T) {
	words := vocabulary.Default()
	for _, s := range []Scale{BaseScale(40, 65), CreaseScale(-60, -20), HeightScale(1.7)} {
		require.NoError(t, s.Validate())
		for _, z := range s.Zones {
			require.True(t, words.Offers(s.Group, z.Key), "%s: %s", s.Group, z.Key)
		}
	}
}

func TestProposals(t *testing.T) {
	base := BaseScale(40, 65)
	for _, c := range []struct {
		value, sigma float64
		term         string
		sure         float64
	}{
		{30, 2, "narrow", 1}, {39.99, 2, "narrow", 0.502}, {40, 2, "sound", 0.5}, {52, 2, "sound", 1}, {65, 2, "wide", 0.5},
		{38, 2, "narrow", 0.8413}, // one standard deviation: table of the normal distribution
		{42, 0, "sound", 1},
	} {
		p := base.Propose(Value{Value: c.value, Sigma: c.sigma})
		require.Equal(t, c.term, p.Term)
		require.Equal(t, "base", p.Group)
		require.InDelta(t, c.sure, p.Sure, 0.001)
	}
	// Zones of an upright batter of 1.70 m.
	height := HeightScale(1.7)
	for cm, term := range map[float64]string{5: "toe", 30: "shin", 50: "knee", 90: "waist", 120: "chest", 140: "throat", 160: "head", 190: "above-head"} {
		require.Equal(t, term, height.Propose(Value{Value: cm, Sigma: 3}).Term)
		// The same ball is higher on a smaller batter.
		shares := laws.Heights()
		require.Equal(t, term, laws.ZoneOf(shares, cm/170))
	}
	crease := CreaseScale(-60, -20)
	for cm, term := range map[float64]string{-70: "back", -60: "caught", -30: "caught", -20: "forward", 10: "forward"} {
		require.Equal(t, term, crease.Propose(Value{Value: cm}).Term)
	}
	for cm, word := range map[float64]string{-30: "behind", -4: "on", 4: "on", 12: "forward"} {
		require.Equal(t, word, CreaseWord(Value{Value: cm}))
	}
}

func TestBadScalesAreRefused(t *testing.T) {
	good := BaseScale(40, 65)
	for name, s := range map[string]Scale{
		"nothing":      {},
		"no measure":   {Measure: "strike-rate", Group: "base", Zones: good.Zones},
		"no group":     {Measure: "base-width", Zones: good.Zones},
		"one zone":     {Measure: "base-width", Group: "base", Zones: good.Zones[:1]},
		"backwards":    BaseScale(65, 40),
		"alike":        BaseScale(40, 40),
		"not a number": BaseScale(math.NaN(), 40),
		"no term":      {Measure: "base-width", Group: "base", Zones: []laws.Zone{{Below: 3}, {Key: "wide"}}},
	} {
		require.Equal(t, fault.Invalid, fault.KindOf(s.Validate()), name)
	}
}

func TestProposalsCoverEveryValue(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		narrow := rapid.Float64Range(10, 60).Draw(t, "narrow")
		s := BaseScale(narrow, narrow+rapid.Float64Range(1, 60).Draw(t, "more"))
		p := s.Propose(Value{Value: rapid.Float64Range(-50, 250).Draw(t, "value"), Sigma: rapid.Float64Range(0, 20).Draw(t, "sigma")})
		require.NotEmpty(t, p.Term)
		require.True(t, p.Sure > 0 && p.Sure <= 1)
	})
}

func TestBaselines(t *testing.T) {
	require.Zero(t, BaselineOf(nil))
	require.Equal(t, Baseline{Balls: 1, Mean: 50}, BaselineOf([]float64{50}))
	// 2, 4, 4, 4, 5, 5, 7, 9: a schoolbook's example; sample deviation sqrt(32/7).
	b := BaselineOf([]float64{2, 4, 4, 4, 5, 5, 7, 9})
	require.Equal(t, 8, b.Balls)
	require.InDelta(t, 5, b.Mean, 1e-12)
	require.InDelta(t, math.Sqrt(32.0/7), b.SD, 1e-12)
	away, ok := b.Away(5 + 2*math.Sqrt(32.0/7))
	require.True(t, ok)
	require.InDelta(t, 2, away, 1e-12)
	_, ok = BaselineOf([]float64{1, 2, 3}).Away(2)
	require.False(t, ok, "three balls are no baseline")
	_, ok = BaselineOf([]float64{3, 3, 3, 3, 3}).Away(4)
	require.False(t, ok)
}

func proposals(values ...float64) []Proposed {
	all := make([]Proposed, len(values))
	for i, v := range values {
		all[i] = Proposed{Ball: int64(i), Run: "a", Seen: 0.9, Value: Value{Measure: "base-width", Value: v, Sigma: 1, Unit: Centimetres}}
	}
	return all
}

func TestDoubtsComeFirst(t *testing.T) {
	all := proposals(50, 52, 49, 51, 97, 50, 48, 53, 51, 50, 49, 52, 50, 51)
	all[2].Seen = 0.1
	all[8].Crossed = true
	d := Doubts(all)
	require.Len(t, d, len(all))
	require.EqualValues(t, []int64{4, 8, 2, 0, 1, 3}, []int64{d[0].Ball, d[1].Ball, d[2].Ball, d[3].Ball, d[4].Ball, d[5].Ball})
	require.Contains(t, d[0].Reasons[0], "97.0 ± 1.0 cm is far from 50 cm")
	require.Equal(t, []string{"The feet cross."}, d[1].Reasons)
	require.Contains(t, d[2].Reasons[0], "hardly seen (10 %)")
	for _, rest := range d[3:] {
		require.Zero(t, rest.Score)
		require.Empty(t, rest.Reasons)
	}
	require.Empty(t, Doubts(nil))
}

// The median of 1, 1, 2, 2, 4, 6, 9 is 2, that of the distances from it 1; times
// the reciprocal of the normal distribution's upper quartile, 0.6745.
func TestRobustDeviation(t *testing.T) {
	values := []float64{9, 1, 4, 1, 2, 6, 2}
	require.Equal(t, 2.0, median(values))
	require.InDelta(t, 1/0.67449, deviation(values, 2, 0), 1e-4)
	require.Equal(t, 3.0, deviation(values, 2, 3), "never less than one measurement's")
	require.Equal(t, 1.5, median([]float64{2, 1}))
}

// A change that lasts is no jump, and runs are not mixed.
func TestAChangeThatLastsIsNoDoubt(t *testing.T) {
	all := proposals(50, 51, 49, 50, 52, 50, 49, 51, 50, 51, 49, 50, 62, 63, 61, 62, 63, 62, 61, 62, 64, 61, 62, 63)
	for i, d := range Doubts(all) {
		require.Zero(t, d.Score, "%d: %v", i, d.Reasons)
	}
	two := append(proposals(40, 41, 40, 39, 40), proposals(80, 81, 79, 80, 80)...)
	for i := range two[5:] {
		two[5+i].Run = "b"
	}
	for _, d := range Doubts(two) {
		require.Zero(t, d.Score)
	}
}

// Clicks and points come from outside as JSON: nothing in them may panic, and
// what is taken must be finite.
func FuzzFromOutside(f *testing.F) {
	good := Calibration{Setup: setup(usualPitch()), Clicks: exact().clicks(f, oblique, usualPitch(), corners, checks, tops)}
	text, err := json.Marshal(good)
	require.NoError(f, err)
	input, err := json.Marshal(Input{Contact: sightOf(f, exact(), oblique, figure), Flight: flight, Batter: Batter{Height: 1.7}})
	require.NoError(f, err)
	f.Add(text, input)
	f.Add([]byte(`{"pitch":{"laws":{}},"width":16,"height":16,"clicks":[{"mark":"","x":1e300}]}`), []byte(`{"contact":{"points":{"ball":{}}}}`))
	f.Fuzz(func(t *testing.T, asked, input []byte) {
		var c Calibration
		if json.Unmarshal(asked, &c) != nil {
			return
		}
		made, err := Calibrate(c.Setup, c.Clicks)
		if err != nil {
			require.Equal(t, fault.Invalid, fault.KindOf(err))
			require.NotEmpty(t, fault.Message(err))
			return
		}
		if _, err := json.Marshal(made); err != nil {
			t.Fatal(err)
		}
		made.Lines()
		var in Input
		if json.Unmarshal(input, &in) != nil {
			return
		}
		in.Calibration = made
		for _, taken := range TakeAll(in) {
			require.True(t, taken.Value != nil || taken.Refusal != "", taken.Measure)
			if taken.Value != nil {
				require.True(t, finite(taken.Value.Value) && finite(taken.Value.Sigma), taken.Measure)
			}
		}
	})
}
