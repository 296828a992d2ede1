package ffmpeg

import (
	"context"
	"errors"
	"slices"

	"netreel/media"
)

// errNone tells that a file has no pictures where they were looked for.
var errNone = errors.New("no pictures in this stretch")

// around returns the video packets of a stretch and its surroundings: from a
// key frame at or before its start (where there is one) until after its end.
//
// A container's seek is only a wish, and it seeks by decoding time, so the walk
// begins further back until it finds what it should.
func (t *Tool) around(ctx context.Context, path string, within media.Span) ([]packet, error) {
	for _, back := range []media.Micros{reorder, 15 * media.Second, 2 * 60 * media.Second, within.End + media.Second} {
		read := media.Span{Start: within.Start - back, End: within.End + reorder}
		var found []packet
		reached := read.Start <= 0
		err := t.packets(ctx, path, read, func(p packet) error {
			reached = reached || p.Key && p.timed && p.At <= within.Start
			found = append(found, p)
			return nil
		})
		if err != nil {
			return nil, err
		}
		if reached && len(found) > 0 {
			return found, nil
		}
		if read.Start <= 0 {
			break
		}
	}
	return nil, errNone
}

// shownTimes returns the presentation times of the packets that are shown,
// ascending.
func shownTimes(packets []packet) []media.Micros {
	times := make([]media.Micros, 0, len(packets))
	for _, p := range packets {
		if !p.hidden {
			times = append(times, p.At)
		}
	}
	slices.Sort(times)
	return slices.Compact(times)
}

// stretch is a row of pictures and the cuts on both sides, each in the middle
// between two pictures, where no rounding can move a picture across.
type stretch struct {
	first, last   media.Micros // of the pictures that are in
	before, after media.Micros // cuts
	end           media.Micros // when the last picture stops being shown
	count         int          // pictures
}

// stretchOf picks the pictures that are on screen during a span: from the one
// shown at its start to the last one before its end. times must be ascending
// and not empty.
func stretchOf(times []media.Micros, within media.Span) stretch {
	from, exact := slices.BinarySearch(times, within.Start)
	if !exact && from > 0 {
		from--
	}
	to, _ := slices.BinarySearch(times, within.End) // the first one that is out
	to = max(to, from+1)
	s := stretch{first: times[from], last: times[to-1], count: to - from}
	s.before = s.first - media.Second // nothing is there to be kept out
	if from > 0 {
		s.before = middle(times[from-1], s.first)
	}
	if to < len(times) {
		s.after, s.end = middle(s.last, times[to]), times[to]
		return s
	}
	// The file's last picture stays for as long as the one before it did.
	gap := media.Second / 25
	if len(times) > 1 {
		gap = times[len(times)-1] - times[len(times)-2]
	}
	s.after, s.end = s.last+gap/2, s.last+gap
	return s
}

func middle(a, b media.Micros) media.Micros { return a + (b-a)/2 }
