package ffmpeg

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"netreel/media"
	"netreel/media/fault"
)

// Cut asks for one clip.
type Cut struct {
	Span media.Span // on the source's own clock
	Dst  string     // staging path of the MP4 to write
}

// CutDone is a clip that was cut.
type CutDone struct {
	Dst    string
	Lead   media.Micros   // where the asked start lies on the clip's clock
	Frames []media.Micros // when each picture is shown, on the clip's clock
}

// atOnce is how many clips one process cuts: it holds each of them open.
const atOnce = 300

// CutMany cuts clips out of a film without encoding the picture anew. Each
// begins with the last key frame at or before its asked start, so that nothing
// asked for is missing, and holds at least the pictures up to its asked end;
// a few after it may follow, since earlier ones refer to them. Only the part of
// the source that the clips need is read, once.
//
// All or nothing: on failure none of the files is left. It returns
// fault.Invalid for a span that is empty or beyond the film.
func (t *Tool) CutMany(ctx context.Context, src string, cuts []Cut, onProgress func(float64)) ([]CutDone, error) {
	const op = "ffmpeg.CutMany"
	s, err := t.source(ctx, src)
	if err != nil {
		return nil, err
	}
	for _, c := range cuts {
		if err := checkSpan(op, c.Span, s); err != nil {
			return nil, err
		}
	}
	var done []CutDone
	for group := range slices.Chunk(cuts, atOnce) {
		before := float64(len(done)) / float64(len(cuts))
		share := float64(len(group)) / float64(len(cuts))
		some, err := t.cutGroup(ctx, op, src, s, group, func(p float64) {
			if onProgress != nil {
				onProgress(before + share*p)
			}
		})
		if err != nil {
			return nil, discard(err, destinations(cuts)...)
		}
		done = append(done, some...)
	}
	return done, nil
}

// checkSpan refuses a span that holds no picture of the film.
func checkSpan(op string, s media.Span, of source) error {
	if s.Length() <= 0 || s.Start >= of.VideoStart+of.Duration || s.End <= of.VideoStart {
		return fault.New(fault.Invalid, op, fmt.Sprintf(
			"The ball must start before it ends and lie within the recording, which runs from %s to %s; this one goes from %s to %s.",
			clockTime(of.VideoStart), clockTime(of.VideoStart+of.Duration), clockTime(s.Start), clockTime(s.End)))
	}
	return nil
}

// clockTime writes a time for people: "61:05.2" is an hour, a minute and five
// seconds and a bit.
func clockTime(m media.Micros) string {
	sign := ""
	if m < 0 {
		sign, m = "-", -m
	}
	tenths := (m + 50_000) / 100_000
	return fmt.Sprintf("%s%d:%02d.%d", sign, tenths/600, tenths/10%60, tenths%10)
}

func destinations(cuts []Cut) []string {
	paths := make([]string, len(cuts))
	for i, c := range cuts {
		paths[i] = c.Dst
	}
	return paths
}

// cutGroup cuts as many clips as one process takes.
func (t *Tool) cutGroup(ctx context.Context, op, src string, s source, cuts []Cut, onProgress func(float64)) ([]CutDone, error) {
	whole := cuts[0].Span
	for _, c := range cuts {
		whole.Start, whole.End = min(whole.Start, c.Span.Start), max(whole.End, c.Span.End)
	}
	packets, err := t.around(ctx, src, whole)
	if errors.Is(err, errNone) {
		return nil, noPictures(op, err)
	}
	if err != nil {
		return nil, err
	}
	p := planCuts(src, s, packets, cuts)
	if err := t.run(ctx, op, cutArgs(p), &meter{total: within(packets, p.within), fn: onProgress}, process{}); err != nil {
		return nil, err
	}
	times := shownTimes(packets)
	done := make([]CutDone, len(cuts))
	for i, c := range cuts {
		if done[i], err = t.checkCut(ctx, op, c, p.clips[i], times); err != nil {
			return nil, err
		}
	}
	return done, nil
}

// within counts the packets that are due in a span.
func within(packets []packet, s media.Span) int {
	n := 0
	for _, p := range packets {
		if s.Contains(p.decode) {
			n++
		}
	}
	return n
}

func noPictures(op string, err error) error {
	return fault.Wrap(err, fault.Invalid, op,
		"The recording has no picture here: it may be damaged. Look at it around this time, and move the ball's edges to where there is a picture.")
}

// checkCut reads a clip's own table of pictures, compares it with the source's
// and puts the clip on the disk for good.
func (t *Tool) checkCut(ctx context.Context, op string, c Cut, p plannedClip, times []media.Micros) (CutDone, error) {
	frames, err := readFrames(c.Dst)
	if err != nil {
		return CutDone{}, fault.Wrap(err, fault.Internal, op, "A clip that was cut cannot be read. Try again.")
	}
	from, _ := slices.BinarySearch(times, p.zero)
	to, _ := slices.BinarySearch(times, c.Span.End)
	if want := to - from; len(frames) < want || len(frames) == 0 {
		t.log.ErrorContext(ctx, "clip lacks pictures", "op", op, "dst", c.Dst, "want", want, "got", len(frames))
		return CutDone{}, fault.New(fault.Internal, op, "A clip that was cut lacks pictures. Try again.")
	}
	if err := syncFile(c.Dst); err != nil {
		return CutDone{}, fault.Wrap(err, fault.Unavailable, op, "A clip could not be stored. Free some disk space, then try again.")
	}
	return CutDone{Dst: c.Dst, Lead: c.Span.Start - p.zero, Frames: frames}, nil
}

// cutPlan is one process that cuts many clips.
type cutPlan struct {
	src    string
	source source
	within media.Span // what of the source is read, on its own clock
	sound  string     // "" for none, "copy", or the encoder for a kind that MP4 does not carry everywhere
	clips  []plannedClip
}

// plannedClip is one output. Without a skip it begins with the source and keeps
// the container's clock, so that pictures which an edit list hides stay hidden.
type plannedClip struct {
	dst    string
	zero   media.Micros // where the clip's clock has its zero, on the source's clock
	skip   media.Micros // what comes before is left out, on the container's clock; 0: nothing
	shift  media.Micros // from the skip to the key frame, where the clip's clock has its zero
	length media.Micros // from the skip on
}

// planCuts finds the key frame for each cut. packets must reach from before the
// earliest to after the latest.
func planCuts(src string, s source, packets []packet, cuts []Cut) cutPlan {
	keys := slices.DeleteFunc(slices.Clone(packets), func(p packet) bool { return !p.Key })
	slices.SortFunc(keys, byTime)
	plan := cutPlan{src: src, source: s}
	switch s.AudioCodec {
	case "":
	case "aac", "mp3":
		plan.sound = "copy"
	default:
		plan.sound = "aac"
	}
	for i, c := range cuts {
		clip := planClip(s, keys, c)
		plan.clips = append(plan.clips, clip)
		if i == 0 || clip.zero < plan.within.Start {
			plan.within.Start = clip.zero
		}
		plan.within.End = max(plan.within.End, c.Span.End)
	}
	// The container's seek may come out a little late, since it goes by
	// decoding times.
	plan.within.Start = max(0, plan.within.Start-reorder)
	return plan
}

func byTime(a, b packet) int { return cmp.Compare(a.At, b.At) }

// planClip plans one clip. ffmpeg compares a skip with decoding times, by which
// a key frame comes some pictures before it is shown; so the skip goes to that
// time, and the clip's clock is shifted on to when it is shown.
func planClip(s source, keys []packet, c Cut) plannedClip {
	clip := plannedClip{dst: c.Dst, zero: -s.start}
	at, exact := slices.BinarySearchFunc(keys, packet{Packet: Packet{At: c.Span.Start}}, byTime)
	if !exact && at > 0 {
		at--
	}
	if len(keys) > 0 {
		// Both times are rounded to the container's ticks once more. A shift by
		// whole ticks keeps the first picture at exactly zero, and a hair keeps
		// it from falling before, where it would be hidden.
		const hair = 2 // microseconds
		key := keys[at]
		shift := s.wholeTicks(key.At - key.decode)
		if skip := key.At + s.start - shift - hair; skip > 0 {
			clip.zero, clip.skip, clip.shift = key.At, skip, shift
		}
	}
	clip.length = c.Span.End + s.start - clip.skip
	return clip
}

// wholeTicks rounds a length to whole ticks of the picture's time base, a
// negative one to none.
func (s source) wholeTicks(m media.Micros) media.Micros {
	tick := s.tick.float()
	return media.FromSeconds(math.Round(max(0, m.Seconds())/tick) * tick)
}
