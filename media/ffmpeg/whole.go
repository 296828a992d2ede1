package ffmpeg

import (
	"encoding/binary"
	"errors"
	"io"
	"math/bits"
	"os"

	"netreel/media/fault"
)

// checkWhole returns a fault if a container's own header promises more bytes
// than the file has: the tools open such a file and only stumble at its end.
// A file of another kind passes.
func checkWhole(path string) error {
	const op = "ffmpeg.Probe"
	f, err := os.Open(path)
	if err != nil {
		return fault.Wrap(err, fault.Unavailable, op, "The file cannot be read. Check its permissions.")
	}
	defer func() { _ = f.Close() }()
	info, err := f.Stat()
	if err != nil {
		return fault.Wrap(err, fault.Unavailable, op, "The file cannot be read. Try again in a minute.")
	}
	missing, err := missingBytes(f, info.Size())
	if err != nil {
		return fault.Wrap(err, fault.Unavailable, op, "The file cannot be read. Try again in a minute.")
	}
	if missing > 0 {
		return fault.New(fault.Invalid, op, "This file is incomplete: its end is missing. "+again)
	}
	return nil
}

// missingBytes tells how many bytes a file lacks of what its header promises.
func missingBytes(f io.ReaderAt, size int64) (int64, error) {
	var head [64]byte
	n, err := f.ReadAt(head[:], 0)
	if err != nil && !errors.Is(err, io.EOF) {
		return 0, err
	}
	switch h := head[:n]; {
	case len(h) >= 12 && string(h[:4]) == "RIFF":
		// RIFF chunk: the size follows the tag (Microsoft/IBM, 1991). A file
		// that was never closed says 0.
		return max(0, 8+int64(binary.LittleEndian.Uint32(h[4:]))-size), nil
	case len(h) >= 4 && string(h[:4]) == "\x1a\x45\xdf\xa3":
		return missingOfMatroska(h, size), nil
	case len(h) >= 8 && isBox(string(h[4:8])):
		return missingOfBoxes(f, size)
	}
	return 0, nil
}

// isBox says whether a file of the MP4 family may begin with a box of this type.
func isBox(kind string) bool {
	switch kind {
	case "ftyp", "moov", "mdat", "wide", "free", "skip", "pnot":
		return true
	}
	return false
}

// missingOfBoxes walks the outermost boxes (ISO/IEC 14496-12, 4.2).
func missingOfBoxes(f io.ReaderAt, size int64) (int64, error) {
	var head [16]byte
	for at := int64(0); at < size; {
		n, err := f.ReadAt(head[:], at)
		if err != nil && !errors.Is(err, io.EOF) {
			return 0, err
		}
		if n < 8 {
			return 0, nil // a few stray bytes at the end hurt nobody
		}
		length := int64(binary.BigEndian.Uint32(head[:]))
		switch {
		case length == 0: // up to the end of the file
			return 0, nil
		case length == 1 && n == 16:
			length = int64(min(binary.BigEndian.Uint64(head[8:]), 1<<62))
		}
		if length < 8 {
			return 0, nil // no box: the tools judge the rest
		}
		if length > size-at {
			if kind := string(head[4:8]); kind != "mdat" && kind != "moov" {
				return 0, nil
			}
			return length - (size - at), nil
		}
		at += length
	}
	return 0, nil
}

// missingOfMatroska reads the length of the Segment that follows the EBML
// header (RFC 8794, 4 and 6; RFC 9559, 5.1). Unknown lengths pass.
func missingOfMatroska(head []byte, size int64) int64 {
	skip, at, ok := vint(head, 4)
	if !ok || skip > int64(len(head)) {
		return 0
	}
	at += int(skip)
	if at+4 > len(head) || string(head[at:at+4]) != "\x18\x53\x80\x67" {
		return 0
	}
	length, at, ok := vint(head, at+4)
	if !ok {
		return 0
	}
	return max(0, int64(at)+length-size)
}

// vint reads an EBML variable-size integer at a place and gives the place
// behind it; ok is false if it is cut off or stands for "unknown".
func vint(b []byte, at int) (value int64, next int, ok bool) {
	if at >= len(b) || b[at] == 0 {
		return 0, at, false
	}
	width := bits.LeadingZeros8(b[at]) + 1
	if at+width > len(b) {
		return 0, at, false
	}
	mask := int64(1)<<(7*width) - 1
	for _, c := range b[at : at+width] {
		value = value<<8 | int64(c)
	}
	value &= mask
	return value, at + width, value != mask
}
