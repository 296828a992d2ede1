package export

import (
	"bufio"
	"fmt"
	"io"
	"slices"
	"strings"

	"netreel/media"
)

// WebVTT writes cues as a WebVTT file (W3C, "WebVTT: The Web Video Text Tracks
// Format", section 4, syntax). The title goes into the header. Cues are put in
// order; one that is empty or has no length is left out.
func WebVTT(w io.Writer, title string, cues []Cue) error {
	out := bufio.NewWriter(w)
	header := "WEBVTT"
	if t := strings.ReplaceAll(oneLine(clean(title)), "-->", "->"); t != "" {
		header += " " + t
	}
	fmt.Fprintln(out, header)
	cues = slices.Clone(cues)
	slices.SortStableFunc(cues, byStart)
	for _, c := range cues {
		start, end := millis(c.Span.Start), millis(c.Span.End)
		text := payload(c.Text)
		if start < 0 || end <= start || text == "" {
			continue
		}
		fmt.Fprintf(out, "\n%s --> %s\n%s\n", timestamp(start), timestamp(end), text)
	}
	return out.Flush()
}

// millis rounds to the format's thousandths.
func millis(m media.Micros) int64 { return int64((m + 500) / 1000) }

func timestamp(ms int64) string {
	return fmt.Sprintf("%02d:%02d:%02d.%03d", ms/3_600_000, ms/60_000%60, ms/1000%60, ms%1000)
}

var escaper = strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;")

// payload escapes a cue's text and drops empty lines, which would end the cue.
func payload(text string) string {
	var lines []string
	for line := range strings.SplitSeq(clean(text), "\n") {
		if line = strings.TrimSpace(line); line != "" {
			lines = append(lines, escaper.Replace(line))
		}
	}
	return strings.Join(lines, "\n")
}

// clean makes any text one that the format can carry: valid UTF-8 without NUL,
// with \n as the only line end.
func clean(s string) string {
	s = strings.ToValidUTF8(s, "\uFFFD")
	return strings.NewReplacer("\x00", "\uFFFD", "\r\n", "\n", "\r", "\n").Replace(s)
}
