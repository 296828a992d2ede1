package ffmpeg

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math/bits"
	"os"
	"slices"

	"netreel/media"
)

// readFrames returns when each picture of a clip made here is shown, ascending,
// on the clip's clock: the mediaTime of a browser, which obeys the edit list.
//
// It reads the sample tables of a plain MP4 (ISO/IEC 14496-12): starting
// ffprobe once for each of hundreds of clips would take longer than cutting
// them.
func readFrames(path string) ([]media.Micros, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer func() { _ = f.Close() }()
	info, err := f.Stat()
	if err != nil {
		return nil, err
	}
	moov, err := findMovie(f, info.Size())
	if err != nil {
		return nil, err
	}
	return movieFrames(moov)
}

var errTables = errors.New("the MP4's tables are damaged")

// findMovie reads the moov box. Ours are at the front and small.
func findMovie(f io.ReaderAt, size int64) ([]byte, error) {
	const largest = 64 << 20
	var head [8]byte
	for at := int64(0); at+8 <= size; {
		if _, err := f.ReadAt(head[:], at); err != nil {
			return nil, err
		}
		length := int64(binary.BigEndian.Uint32(head[:]))
		if length < 8 || length > size-at {
			return nil, errTables
		}
		if string(head[4:]) == "moov" {
			if length > largest {
				return nil, errTables
			}
			moov := make([]byte, length-8)
			_, err := f.ReadAt(moov, at+8)
			return moov, err
		}
		at += length
	}
	return nil, fmt.Errorf("%w: no moov box", errTables)
}

// box finds the first box along a path of types within a box's content.
func box(b []byte, path ...string) ([]byte, bool) {
	for _, kind := range path {
		found := false
		for content := range boxes(b, kind) {
			b, found = content, true
			break
		}
		if !found {
			return nil, false
		}
	}
	return b, true
}

// boxes yields the contents of all boxes of one type.
func boxes(b []byte, kind string) func(func([]byte) bool) {
	return func(yield func([]byte) bool) {
		for len(b) >= 8 {
			n := binary.BigEndian.Uint32(b)
			if n < 8 || uint64(n) > uint64(len(b)) {
				return
			}
			if string(b[4:8]) == kind && !yield(b[8:n]) {
				return
			}
			b = b[n:]
		}
	}
}

// movieFrames reads the first video track of a moov box's content.
func movieFrames(moov []byte) ([]media.Micros, error) {
	header, ok := box(moov, "mvhd")
	movieRate, fine := timescale(header)
	if !ok || !fine {
		return nil, errTables
	}
	for track := range boxes(moov, "trak") {
		if kind, ok := box(track, "mdia", "hdlr"); ok && len(kind) >= 12 && string(kind[8:12]) == "vide" {
			return trackFrames(track, movieRate)
		}
	}
	return nil, fmt.Errorf("%w: no picture", errTables)
}

// timescale reads the ticks a second of an mvhd or mdhd box.
func timescale(b []byte) (int64, bool) {
	at := 12 // version and flags, two 32-bit times
	if len(b) > 0 && b[0] == 1 {
		at = 20
	}
	if len(b) < at+4 {
		return 0, false
	}
	rate := int64(binary.BigEndian.Uint32(b[at:]))
	return rate, rate > 0
}

func trackFrames(track []byte, movieRate int64) ([]media.Micros, error) {
	header, _ := box(track, "mdia", "mdhd")
	rate, ok := timescale(header)
	if !ok {
		return nil, errTables
	}
	times, err := compositionTimes(track)
	if err != nil {
		return nil, err
	}
	e, err := readEdit(track)
	if err != nil {
		return nil, err
	}
	delay := scale(e.delay, rate, movieRate)
	end := e.from + scale(e.length, rate, movieRate)
	var frames []media.Micros
	for _, at := range times {
		if at < e.from || e.length > 0 && at >= end {
			continue
		}
		frames = append(frames, media.Micros(scale(at-e.from+delay, int64(media.Second), rate)))
	}
	slices.Sort(frames)
	return frames, nil
}

// scale is v*to/from, rounded to the nearest, for from > 0.
func scale(v, to, from int64) int64 {
	negative := v < 0
	if negative {
		v = -v
	}
	hi, lo := bits.Mul64(uint64(v), uint64(to))
	lo, carry := bits.Add64(lo, uint64(from)/2, 0)
	if hi += carry; hi >= uint64(from) {
		return 0 // no clip is that long
	}
	q, _ := bits.Div64(hi, lo, uint64(from))
	if negative {
		return -int64(q)
	}
	return int64(q)
}

// compositionTimes adds up stts and ctts: when each sample is shown, in ticks
// of the track, before the edit list.
func compositionTimes(track []byte) ([]int64, error) {
	const most = 1 << 20 // samples: more than an hour at 240 a second
	var times []int64
	decode := int64(0)
	err := runs(track, "stts", func(count, delta uint32) error {
		if int64(count)+int64(len(times)) > most {
			return errTables
		}
		for range count {
			times = append(times, decode)
			decode += int64(delta)
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	if _, ok := box(track, "mdia", "minf", "stbl", "ctts"); !ok {
		return times, nil
	}
	at := 0
	err = runs(track, "ctts", func(count, offset uint32) error {
		for range min(int64(count), int64(len(times)-at)) {
			times[at] += int64(int32(offset)) // version 1; the larger of version 0 are not used here
			at++
		}
		return nil
	})
	return times, err
}

// runs reads a table of (count, value) pairs.
func runs(track []byte, kind string, fn func(count, value uint32) error) error {
	b, ok := box(track, "mdia", "minf", "stbl", kind)
	if !ok || len(b) < 8 {
		return fmt.Errorf("%w: no %s box", errTables, kind)
	}
	n := int64(binary.BigEndian.Uint32(b[4:]))
	b = b[8:]
	if n*8 > int64(len(b)) {
		return fmt.Errorf("%w: short %s box", errTables, kind)
	}
	for ; n > 0; n-- {
		if err := fn(binary.BigEndian.Uint32(b), binary.BigEndian.Uint32(b[4:])); err != nil {
			return err
		}
		b = b[8:]
	}
	return nil
}

// edit is a track's edit list: an empty stretch, then one of the media.
type edit struct {
	delay  int64 // ticks of the movie
	from   int64 // ticks of the track
	length int64 // ticks of the movie; 0: up to the end
}

func readEdit(track []byte) (e edit, err error) {
	b, ok := box(track, "edts", "elst")
	if !ok {
		return edit{}, nil
	}
	if len(b) < 8 {
		return edit{}, errTables
	}
	size := int64(12)
	if b[0] == 1 {
		size = 20
	}
	n := int64(binary.BigEndian.Uint32(b[4:]))
	if b = b[8:]; n*size > int64(len(b)) {
		return edit{}, errTables
	}
	for i := range n {
		row := b[i*size:]
		length, from := int64(binary.BigEndian.Uint32(row)), int64(int32(binary.BigEndian.Uint32(row[4:])))
		if size == 20 {
			length, from = int64(binary.BigEndian.Uint64(row)), int64(binary.BigEndian.Uint64(row[8:]))
		}
		switch {
		case from == -1 && i == 0:
			e.delay = length
		case from >= 0 && i == n-1:
			e.from, e.length = from, length
		default:
			return edit{}, fmt.Errorf("%w: more than one edit", errTables)
		}
	}
	return e, nil
}
