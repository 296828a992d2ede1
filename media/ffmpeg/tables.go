package ffmpeg

import (
	"bufio"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"iter"
	"math"
)

// This file reads the sample tables of an MP4 or MOV (ISO/IEC 14496-12) by
// itself: asking ffprobe for every packet makes it read the whole file, and
// starting it once for each of hundreds of clips takes longer than cutting
// them. The tables are streamed, so that memory does not grow with the film.

var errTables = errors.New("the MP4's tables are damaged or of another kind")

// boxes yields the contents of all boxes of one type within another's (4.2).
func boxes(in *io.SectionReader, kind string) iter.Seq[*io.SectionReader] {
	return func(yield func(*io.SectionReader) bool) {
		var head [16]byte
		for at := int64(0); at+8 <= in.Size(); {
			n, err := in.ReadAt(head[:], at)
			if err != nil && !errors.Is(err, io.EOF) {
				return
			}
			length, skip := int64(binary.BigEndian.Uint32(head[:])), int64(8)
			switch {
			case length == 0:
				length = in.Size() - at
			case length == 1 && n == len(head):
				length, skip = int64(min(binary.BigEndian.Uint64(head[8:]), math.MaxInt64)), 16
			}
			if length < skip || length > in.Size()-at {
				return
			}
			if string(head[4:8]) == kind && !yield(io.NewSectionReader(in, at+skip, length-skip)) {
				return
			}
			at += length
		}
	}
}

// box finds the first box along a path of types.
func box(in *io.SectionReader, path ...string) (*io.SectionReader, bool) {
	for _, kind := range path {
		var found *io.SectionReader
		for content := range boxes(in, kind) {
			found = content
			break
		}
		if found == nil {
			return nil, false
		}
		in = found
	}
	return in, true
}

// content reads a small box.
func content(in *io.SectionReader, path ...string) ([]byte, error) {
	const largest = 1 << 16
	b, ok := box(in, path...)
	if !ok || b.Size() > largest {
		return nil, fmt.Errorf("%w: no %s box", errTables, path[len(path)-1])
	}
	return io.ReadAll(b)
}

// table walks one of a track's tables: rows of so many 32-bit numbers after a
// head of version, flags and the number of rows.
type table struct {
	rows *bufio.Reader
	head []byte
	left int64 // rows that are still to come
	wide int   // bytes of a row
	row  [8]byte
}

// openTable opens a table whose head ends, with its number of rows, after size
// bytes.
func openTable(b *io.SectionReader, size, wide int) (*table, error) {
	t := &table{rows: bufio.NewReaderSize(io.NewSectionReader(b, 0, b.Size()), 1<<14), head: make([]byte, size), wide: wide}
	if _, err := io.ReadFull(t.rows, t.head); err != nil {
		return nil, fmt.Errorf("%w: %w", errTables, err)
	}
	t.left = int64(binary.BigEndian.Uint32(t.head[size-4:]))
	return t, nil
}

// next reads one row; the second number is 0 in a table of one.
func (t *table) next() (first, second uint32, err error) {
	if t.left == 0 {
		return 0, 0, io.EOF
	}
	t.left--
	if _, err := io.ReadFull(t.rows, t.row[:t.wide]); err != nil {
		return 0, 0, fmt.Errorf("%w: %w", errTables, err)
	}
	if t.wide == 8 {
		second = binary.BigEndian.Uint32(t.row[4:])
	}
	return binary.BigEndian.Uint32(t.row[:]), second, nil
}

// runs walks a table of (count, value), value by value.
type runs struct {
	*table
	count, value uint32
}

func (r *runs) next() (value uint32, err error) {
	for r.count == 0 {
		if r.count, r.value, err = r.table.next(); err != nil {
			return 0, err
		}
	}
	r.count--
	return r.value, nil
}

// total adds up a table's counts, using it up.
func (t *table) total() (int64, error) {
	var sum int64
	for {
		count, _, err := t.next()
		if errors.Is(err, io.EOF) {
			return sum, nil
		}
		if err != nil {
			return 0, err
		}
		sum += int64(count)
	}
}
