package tagging_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"netreel/media"
	"netreel/tagging"
)

func TestHearAround(t *testing.T) {
	t.Parallel()
	film := func(id int64, offset, length media.Micros, sound string) tagging.Recording {
		return tagging.Recording{ID: id, Clock: media.Clock{Offset: offset * media.Second}, Probe: &media.Probe{Duration: length * media.Second, AudioCodec: sound}}
	}
	list := []tagging.Recording{film(1, 0, 60, ""), film(2, 10, 20, "aac"), film(3, 25, 60, "aac"), {ID: 4}}
	span := func(from, to media.Micros) media.Span {
		return media.Span{Start: from * media.Second, End: to * media.Second}
	}
	for _, tc := range []struct {
		name   string
		of     media.Span
		want   int64
		within media.Span
	}{
		{"the one that heard most of it", span(20, 50), 3, span(0, 25)},
		{"its beginning cut off", span(0, 20), 2, span(0, 10)},
		{"silent ones have no say", span(0, 9), 0, media.Span{}},
		{"after all", span(90, 99), 0, media.Span{}},
	} {
		h, ok := tagging.HearAround(list, tc.of)
		assert.Equal(t, tc.want != 0, ok, tc.name)
		assert.Equal(t, tc.want, h.Recording.ID, tc.name)
		assert.Equal(t, tc.within, h.Within, tc.name)
	}
}

func TestMarkClear(t *testing.T) {
	t.Parallel()
	clear := func(above ...float64) (which []int) {
		bangs := make([]tagging.Bang, len(above))
		for i, a := range above {
			bangs[i].Above = a
		}
		tagging.MarkClear(bangs)
		for i, b := range bangs {
			if b.Clear {
				which = append(which, i)
			}
		}
		return which
	}
	assert.Equal(t, []int{1}, clear(20, 31, 25))
	assert.Empty(t, clear(20, 31, 26), "two that are much alike: neither")
	assert.Equal(t, []int{0}, clear(14))
	assert.Empty(t, clear())
}
