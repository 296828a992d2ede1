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
func readFrames(path string) ([]media.Micros, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer func() { _ = f.Close() }()
	m, err := openMovie(f)
	if err != nil {
		return nil, err
	}
	const most = 1 << 20 // pictures: more than an hour at 240 a second
	if m.count > most {
		return nil, errTables
	}
	var frames []media.Micros
	err = m.walk(func(p packet) error {
		if !p.hidden {
			frames = append(frames, p.At)
		}
		return nil
	})
	slices.Sort(frames)
	return frames, err
}

// movie is the first video track of an MP4.
type movie struct {
	tables *io.SectionReader // its stbl box
	rate   int64             // ticks a second
	edit   edit
	count  int64 // pictures
}

// openMovie finds a film's tables and checks that they agree with each other.
// It fails for a fragmented film and for one with more than a simple edit.
func openMovie(f *os.File) (*movie, error) {
	info, err := f.Stat()
	if err != nil {
		return nil, err
	}
	return findMovie(io.NewSectionReader(f, 0, info.Size()))
}

func findMovie(file *io.SectionReader) (*movie, error) {
	m, err := findTrack(file)
	if err == nil && m.count > file.Size() {
		return nil, fmt.Errorf("%w: more pictures than bytes", errTables)
	}
	return m, err
}

func findTrack(file *io.SectionReader) (*movie, error) {
	moov, ok := box(file, "moov")
	if !ok {
		return nil, fmt.Errorf("%w: no moov box", errTables)
	}
	if _, pieces := box(moov, "mvex"); pieces {
		return nil, fmt.Errorf("%w: in fragments", errTables)
	}
	for track := range boxes(moov, "trak") {
		if kind, err := content(track, "mdia", "hdlr"); err == nil && len(kind) >= 12 && string(kind[8:12]) == "vide" {
			return readTrack(moov, track)
		}
	}
	return nil, fmt.Errorf("%w: no picture", errTables)
}

func readTrack(moov, track *io.SectionReader) (*movie, error) {
	movieRate, err := timescale(moov, "mvhd")
	if err != nil {
		return nil, err
	}
	m := &movie{}
	if m.rate, err = timescale(track, "mdia", "mdhd"); err != nil {
		return nil, err
	}
	if m.edit, err = readEdit(track); err != nil {
		return nil, err
	}
	m.edit.delay = scale(m.edit.delay, m.rate, movieRate)
	m.edit.length = scale(m.edit.length, m.rate, movieRate)
	var ok bool
	if m.tables, ok = box(track, "mdia", "minf", "stbl"); !ok {
		return nil, errTables
	}
	times, err := m.open("stts", 8, 8)
	if err != nil {
		return nil, err
	}
	if m.count, err = times.total(); err != nil {
		return nil, err
	}
	if sizes, err := m.open("stsz", 12, 4); err != nil || sizes.left != m.count {
		return nil, errors.Join(errTables, err)
	}
	if offsets, err := m.open("ctts", 8, 8); err == nil {
		if n, err := offsets.total(); err != nil || n < m.count {
			return nil, errors.Join(errTables, err)
		}
	}
	return m, nil
}

func (m *movie) open(kind string, head, wide int) (*table, error) {
	b, ok := box(m.tables, kind)
	if !ok {
		return nil, fmt.Errorf("%w: no %s box", errTables, kind)
	}
	return openTable(b, head, wide)
}

// walk hands over the track's packets in file order, on the film's clock. Its
// tables are time to sample and composition offsets (8.6.1), sample sizes
// (8.7.3) and sync samples (8.6.2); without the last every picture is one.
func (m *movie) walk(fn func(packet) error) error {
	times, err1 := m.open("stts", 8, 8)
	sizes, err2 := m.open("stsz", 12, 4)
	if err := errors.Join(err1, err2); err != nil {
		return err
	}
	steps, offsets := runs{table: times}, runs{}
	if t, err := m.open("ctts", 8, 8); err == nil {
		offsets.table = t
	}
	keys, _ := m.open("stss", 8, 4)
	same, nextKey := int(binary.BigEndian.Uint32(sizes.head[4:])), int64(0)
	decode := int64(0)
	for n := int64(1); n <= m.count; n++ {
		step, err := steps.next()
		if err != nil {
			return err
		}
		shown, p := decode, packet{Packet: Packet{Size: same, Key: keys == nil}, timed: true}
		if offsets.table != nil {
			offset, err := offsets.next()
			if err != nil {
				return err
			}
			shown += int64(int32(offset)) // version 1; the larger of version 0 are not used
		}
		if same == 0 {
			size, _, err := sizes.next()
			if err != nil {
				return err
			}
			p.Size = int(size)
		}
		if keys != nil {
			for nextKey < n && keys.left > 0 {
				key, _, err := keys.next()
				if err != nil {
					return err
				}
				nextKey = int64(key)
			}
			p.Key = nextKey == n
		}
		p.At, p.decode, p.hidden = m.clock(shown), m.clock(decode), m.edit.hides(shown)
		if err := fn(p); err != nil {
			return err
		}
		decode += int64(step)
	}
	return nil
}

// clock turns ticks of the track into the film's time.
func (m *movie) clock(ticks int64) media.Micros {
	return media.Micros(scale(ticks-m.edit.from+m.edit.delay, int64(media.Second), m.rate))
}

// timescale reads the ticks a second of an mvhd or mdhd box.
func timescale(in *io.SectionReader, path ...string) (int64, error) {
	b, err := content(in, path...)
	if err != nil {
		return 0, err
	}
	at := 12 // version and flags, two 32-bit times
	if len(b) > 0 && b[0] == 1 {
		at = 20
	}
	if len(b) < at+4 {
		return 0, errTables
	}
	rate := int64(binary.BigEndian.Uint32(b[at:]))
	if rate == 0 {
		return 0, errTables
	}
	return rate, nil
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

// edit is a track's edit list: an empty stretch, then one of the media.
type edit struct {
	delay  int64 // ticks of the movie, then of the track
	from   int64 // ticks of the track
	length int64 // ticks of the movie, then of the track; 0: up to the end
}

// hides says whether a picture is cut off by the edit list.
func (e edit) hides(shown int64) bool {
	return shown < e.from || e.length > 0 && shown >= e.from+e.length
}

func readEdit(track *io.SectionReader) (e edit, err error) {
	if _, ok := box(track, "edts", "elst"); !ok {
		return edit{}, nil
	}
	b, err := content(track, "edts", "elst")
	if err != nil {
		return edit{}, err
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
