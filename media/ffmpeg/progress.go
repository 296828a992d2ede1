package ffmpeg

import (
	"bufio"
	"errors"
	"io"
	"strconv"
	"strings"
)

// meter turns ffmpeg's -progress lines into a share of the whole.
//
// It counts the pictures of the first output. Of all that ffmpeg tells this
// alone can be relied on: its out_time depends on the clock that is kept, and
// with many outputs each report is cut off in the middle, at about a thousand
// bytes. The count is what every report begins with.
type meter struct {
	total int           // pictures
	fn    func(float64) // gets a share from 0 to 1 that never falls; may be nil
	last  float64
}

// read reads progress lines until the end.
func (m *meter) read(r io.Reader) error {
	lines := bufio.NewReader(r)
	for {
		line, err := lines.ReadSlice('\n')
		if errors.Is(err, bufio.ErrBufferFull) {
			continue // no line of ours is that long: the pieces match nothing
		}
		m.line(string(line))
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
	}
}

// line takes one line: "frame=74", or "stream_5frame=74" where the report
// before was cut off.
func (m *meter) line(s string) {
	const key = "frame="
	at := strings.LastIndex(s, key)
	if at < 0 || m.total <= 0 {
		return
	}
	if done, err := strconv.Atoi(strings.TrimSpace(s[at+len(key):])); err == nil {
		m.report(float64(done) / float64(m.total))
	}
}

func (m *meter) report(share float64) {
	share = min(1, max(0, share))
	if m.fn == nil || share <= m.last {
		return
	}
	m.last = share
	m.fn(share)
}
