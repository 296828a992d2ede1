package ffmpeg

import (
	"bufio"
	"errors"
	"io"
	"strconv"
	"strings"

	"netreel/media"
)

// meter turns ffmpeg's -progress lines into a share of the whole.
type meter struct {
	total media.Micros  // length of what is written
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

// line takes one line: "out_time_us=1480000" or "progress=end".
func (m *meter) line(s string) {
	key, value, _ := strings.Cut(strings.TrimSpace(s), "=")
	switch key {
	case "out_time_us":
		done, err := strconv.ParseInt(value, 10, 64)
		if err != nil || m.total <= 0 { // "N/A" before the first packet
			return
		}
		m.report(float64(done) / float64(m.total))
	case "progress":
		if value == "end" {
			m.report(1)
		}
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
