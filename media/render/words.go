package render

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"unicode"

	"netreel/media"
)

// clean makes text fit for a picture: line breaks stay, other control and
// format signs (which can turn the direction of what follows) go, and runs of
// spaces become one.
func clean(text string) string {
	text = strings.NewReplacer("\r\n", "\n", "\r", "\n", "\u2028", "\n", "\u2029", "\n").Replace(strings.ToValidUTF8(text, "?"))
	var lines []string
	for line := range strings.SplitSeq(text, "\n") {
		line = strings.Map(func(r rune) rune {
			switch {
			case unicode.IsSpace(r):
				return ' '
			case unicode.IsControl(r), unicode.Is(unicode.Cf, r), unicode.Is(unicode.Variation_Selector, r), unicode.Is(unicode.Co, r):
				return -1
			}
			return r
		}, line)
		if line = strings.Join(strings.Fields(line), " "); line != "" {
			lines = append(lines, line)
		}
	}
	return strings.Join(lines, "\n")
}

// flatten puts captions on the clock of the piece that shows a span of their
// clip, as cues that do not overlap: where captions do, their texts stand one
// below the other in the order in which they were given.
func flatten(captions []Caption, shown media.Span) []Cue {
	var live []Cue
	var edges []media.Micros
	for _, c := range captions {
		cue := Cue{Text: clean(c.Text), Span: media.Span{
			Start: max(c.Span.Start, shown.Start) - shown.Start,
			End:   min(c.Span.End, shown.End) - shown.Start,
		}}
		if cue.Text == "" || cue.Span.Length() <= 0 {
			continue
		}
		live, edges = append(live, cue), append(edges, cue.Span.Start, cue.Span.End)
	}
	slices.Sort(edges)
	edges = slices.Compact(edges)
	var flat []Cue
	for i := 1; i < len(edges); i++ {
		part := media.Span{Start: edges[i-1], End: edges[i]}
		var texts []string
		for _, c := range live {
			if c.Span.Overlap(part) > 0 && !slices.Contains(texts, c.Text) {
				texts = append(texts, c.Text)
			}
		}
		if len(texts) > 0 {
			flat = append(flat, Cue{part, strings.Join(texts, "\n")})
		}
	}
	return merge(flat)
}

// merge joins neighbours that say the same.
func merge(cues []Cue) []Cue {
	var merged []Cue
	for _, c := range cues {
		if n := len(merged); n > 0 && merged[n-1].Span.End == c.Span.Start && merged[n-1].Text == c.Text {
			merged[n-1].Span.End = c.Span.End
			continue
		}
		merged = append(merged, c)
	}
	return merged
}

// onFilm gives a strip's words on the film's clock, where the strip begins at a
// time: its title and note all along, its captions below them.
func onFilm(p planned, begin, length media.Micros) []Cue {
	heading := strings.TrimSpace(p.title + "\n" + p.note)
	shown := media.Span{Start: 0, End: length}
	var all []Caption
	if heading != "" {
		all = append(all, Caption{Span: shown, Text: heading})
	}
	for _, c := range slices.Concat(p.captions, p.asides) {
		all = append(all, Caption{Span: c.Span, Text: c.Text})
	}
	cues := flatten(all, shown)
	for i := range cues {
		cues[i].Span.Start += begin
		cues[i].Span.End += begin
	}
	return cues
}

// webVTT writes cues as a WebVTT file (W3C WebVTT, section 4.1) for the video
// tool. On its way into an MP4 a backslash or a brace would be taken for a
// command of another subtitle format, so each is replaced by its like.
func webVTT(cues []Cue) []byte {
	escape := strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `\`, "\u29f5", "{", "(", "}", ")")
	var b bytes.Buffer
	b.WriteString("WEBVTT\n")
	for _, c := range cues {
		fmt.Fprintf(&b, "\n%s --> %s\n%s\n", stamp(c.Span.Start), stamp(c.Span.End), escape.Replace(c.Text))
	}
	return b.Bytes()
}

// stamp writes a time as WebVTT does: hours, minutes, seconds, milliseconds.
func stamp(m media.Micros) string {
	ms := (m + 500) / 1000
	return fmt.Sprintf("%02d:%02d:%02d.%03d", ms/3_600_000, ms/60_000%60, ms/1000%60, ms%1000)
}
