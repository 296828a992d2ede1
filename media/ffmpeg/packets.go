package ffmpeg

import (
	"bufio"
	"context"
	"errors"
	"io"
	"os"
	"slices"
	"strconv"
	"strings"

	"netreel/media"
	"netreel/media/fault"
)

// Packet is one coded picture as the container lists it.
type Packet struct {
	At   media.Micros // presentation time on the file's own clock
	Size int          // bytes
	Key  bool         // decoding may begin here
}

// Packets hands every video packet to fn, in file order, without decoding.
// Memory does not grow with the file. An error from fn ends the walk and is
// returned.
//
// Where a container lists its packets in one place (MP4, MOV) only that place
// is read; of others the whole file is.
func (t *Tool) Packets(ctx context.Context, path string, fn func(Packet) error) error {
	const op = "ffmpeg.Packets"
	src, err := t.source(ctx, path)
	if err != nil {
		return err
	}
	f, err := os.Open(path)
	if err != nil {
		return fault.Wrap(err, fault.Unavailable, op, "The file cannot be read. Check its permissions.")
	}
	defer func() { _ = f.Close() }()
	m, err := openMovie(f)
	if err != nil {
		return t.packets(ctx, path, media.Span{}, func(p packet) error { return fn(p.Packet) })
	}
	err = m.walk(func(p packet) error {
		p.At -= src.start
		return errors.Join(ctx.Err(), fn(p.Packet))
	})
	return fault.At(op, err)
}

// FrameTimes returns the presentation times of the pictures that are shown
// within a span, ascending, on the file's own clock. A zero span is the whole
// file. Pictures that an edit list hides are left out.
func (t *Tool) FrameTimes(ctx context.Context, path string, within media.Span) ([]media.Micros, error) {
	read := within
	if within != (media.Span{}) {
		read = media.Span{Start: within.Start - reorder, End: within.End + reorder}
	}
	var times []media.Micros
	err := t.packets(ctx, path, read, func(p packet) error {
		if !p.hidden && (within == (media.Span{}) || within.Contains(p.At)) {
			times = append(times, p.At)
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	slices.Sort(times)
	return slices.Compact(times), nil
}

// reorder is more than the time by which a picture can come earlier or later
// in the file than it is shown: 16 pictures (H.264, A.3.1) at 10 a second.
const reorder = 2 * media.Second

type packet struct {
	Packet
	decode media.Micros // when it is due at the decoder, on the file's own clock
	timed  bool         // decode is known, not a guess
	hidden bool         // needed for decoding, not shown
}

// packets hands over the video packets from the last key frame before a span
// on (or from earlier) until presentation times pass its end. A zero span is
// the whole file.
func (t *Tool) packets(ctx context.Context, path string, within media.Span, fn func(packet) error) error {
	const op = "ffmpeg.Packets"
	s, err := t.source(ctx, path)
	if err != nil {
		return err
	}
	return t.supervise(ctx, op, t.ffprobe, process{
		args:   packetArgs(path, s.start, within),
		stdout: func(r io.Reader) error { return parsePackets(r, s.start, fn) },
	})
}

func packetArgs(path string, start media.Micros, within media.Span) []string {
	args := append([]string{"-v", "error"}, untrusted...)
	if within != (media.Span{}) {
		// Both ends are times of the container, and the first is a wish: the
		// walk begins at a key frame before it.
		from := ""
		if within.Start > 0 {
			from = seconds(within.Start + start)
		}
		args = append(args, "-read_intervals", from+"%"+seconds(max(0, within.End)+start))
	}
	return append(args, "-select_streams", "V:0",
		"-show_entries", "packet=pts_time,dts_time,size,flags", "-of", "compact=p=0", "file:"+path)
}

// parsePackets reads lines such as
// "pts_time=0.060000|dts_time=-0.020000|size=3682|flags=K_".
func parsePackets(r io.Reader, start media.Micros, fn func(packet) error) error {
	lines := bufio.NewReader(r)
	for {
		line, err := lines.ReadSlice('\n')
		if errors.Is(err, bufio.ErrBufferFull) {
			continue // side data that nobody asked for
		}
		if p, ok := parsePacket(string(line)); ok {
			p.At, p.decode = p.At-start, p.decode-start
			if err := fn(p); err != nil {
				return err
			}
		}
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
	}
}

// parsePacket reads one line; ok is false for a line without time and size. A
// container that keeps no presentation times (AVI) gives its decoding times.
func parsePacket(line string) (p packet, ok bool) {
	var shown, sized bool
	for field := range strings.SplitSeq(strings.TrimSpace(line), "|") {
		key, value, _ := strings.Cut(field, "=")
		switch key {
		case "pts_time":
			p.At, shown = parseSeconds(value)
		case "dts_time":
			p.decode, p.timed = parseSeconds(value)
		case "size":
			n, err := strconv.Atoi(value)
			p.Size, sized = n, err == nil && n >= 0
		case "flags":
			p.Key, p.hidden = strings.Contains(value, "K"), strings.Contains(value, "D")
		}
	}
	if !shown {
		p.At = p.decode
	}
	if !p.timed {
		p.decode = p.At - reorder/2 // MKV, at its beginning and after a seek
	}
	return p, (shown || p.timed) && sized
}

// seconds writes a time as the tools read it: "-1.000250".
func seconds(m media.Micros) string {
	sign := ""
	if m < 0 {
		sign, m = "-", -m
	}
	whole, part := m/media.Second, strconv.Itoa(int(m%media.Second))
	return sign + strconv.FormatInt(int64(whole), 10) + "." + strings.Repeat("0", 6-len(part)) + part
}
