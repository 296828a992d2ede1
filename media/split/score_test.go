package split

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"netreel/media"
)

func ball(start, contact, end float64) media.Delivery {
	d := media.Delivery{Start: media.FromSeconds(start), End: media.FromSeconds(end), Confidence: 1}
	if contact > 0 {
		c := media.FromSeconds(contact)
		d.Contact = &c
	}
	return d
}

func TestScore(t *testing.T) {
	truth := []media.Delivery{ball(1, 3, 4), ball(8, 10, 11), ball(15, 0, 18), ball(22, 24, 25)}
	tests := []struct {
		name             string
		found            []media.Delivery
		matched, struck  int
		recall, accuracy float64
		coverage         float64
	}{
		{"nothing found", nil, 0, 0, 0, 1, 0},
		{"all found", truth, 4, 4, 1, 1, 1},
		{"one false", slices.Insert(slices.Clone(truth), 1, ball(5, 6, 7)), 4, 4, 1, 0.8, 1},
		{"one missed", truth[1:], 3, 3, 0.75, 1, 9.0 / 12},
		{"contact beyond the tolerance", []media.Delivery{ball(1, 3.6, 4)}, 0, 0, 0, 0, 3.0 / 12},
		{"left ball taken for struck", []media.Delivery{ball(15, 17, 18)}, 1, 0, 0.25, 1, 3.0 / 12},
		{"two found for one", []media.Delivery{ball(8, 9.9, 11), ball(8, 10.1, 11)}, 1, 1, 0.25, 0.5, 6.0 / 12},
		{"a late false ball does not hide the next", []media.Delivery{ball(9, 10.7, 11), ball(22, 24, 25)}, 1, 1, 0.25, 0.5, 5.0 / 12},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			s := Score(test.found, truth, media.Second/2)
			assert.Equal(t, test.matched, s.Matched)
			assert.Equal(t, test.struck, s.StruckRight)
			assert.InDelta(t, test.recall, s.Recall, 1e-9)
			assert.InDelta(t, test.accuracy, s.Precision, 1e-9)
			assert.InDelta(t, test.coverage, s.Coverage, 1e-9)
		})
	}
	s := Score(nil, nil, media.Second)
	assert.Equal(t, 1.0, s.F1, "nothing to find and nothing found is right")
}

func TestScoreContactErrors(t *testing.T) {
	var found, truth []media.Delivery
	for i := range 20 {
		at := 10 + 10*float64(i)
		truth = append(truth, ball(at-2, at, at+1))
		found = append(found, ball(at-2, at+0.001*float64(i+1), at+1))
	}
	s := Score(found, truth, media.Second/2)
	assert.Equal(t, 20, s.Contacts)
	assert.Equal(t, media.Micros(11_000), s.ContactMedian)
	assert.Equal(t, media.Micros(19_000), s.ContactP95, "the 19th of 20")
}

func TestScoreLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string) []media.Delivery {
			var out []media.Delivery
			at := 0.0
			for range rapid.IntRange(0, 12).Draw(t, name) {
				at += rapid.Float64Range(2.5, 9).Draw(t, "gap")
				contact := at
				if rapid.Bool().Draw(t, "left") {
					contact = 0
				}
				out = append(out, ball(at-1, contact, at+1))
			}
			return out
		}
		found, truth := draw("found"), draw("truth")
		s := Score(found, truth, media.Second/4)
		assert.LessOrEqual(t, s.Matched, min(s.Found, s.True), "one to one")
		back := Score(truth, found, media.Second/4)
		assert.Equal(t, s.Matched, back.Matched, "matching is symmetric")
		assert.Equal(t, 1.0, Score(truth, truth, 0).F1, "the truth agrees with itself")
	})
}
