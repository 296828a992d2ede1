// Package export writes what was seen on balls in open formats: WebVTT for
// players, CSV for spreadsheets.
//
// It is pure: it writes to an io.Writer what it is handed. It must not know
// where reels are kept, which of it a person may see, or how a film is made.
package export

import (
	"cmp"
	"slices"
	"strings"
	"unicode/utf8"

	"netreel/media"
	"netreel/tagging"
	"netreel/tagging/measure"
)

// Cue is a text that is shown for a while.
type Cue struct {
	Span     media.Span
	Text     string // lines are parted by \n
	Measured bool   // figures, rather than what somebody saw
}

// Shown for how long: a term for ShownFor, a longer text for as long as it
// takes to read at readingSpeed (common practice for captions, no source).
const (
	ShownFor     = 2 * media.Second
	readingSpeed = 15 // characters a second
)

// Shown is the clip of a ball that a reel plays: the first that has a file,
// else the first. There is none when no recording covers the ball.
func Shown(b tagging.Ball) (tagging.Clip, bool) {
	for _, c := range b.Clips {
		if _, f := c.Best(); f != nil {
			return c, true
		}
	}
	if len(b.Clips) == 0 {
		return tagging.Clip{}, false
	}
	return b.Clips[0], true
}

// BallCues is what was seen on a ball, on the clock of one of its clips: zero
// is the clip's chosen start. Terms and notes appear at their time; those of
// the ball as a whole at the start; what was measured at contact, or at the
// start where nothing was struck. Cues are ascending and may overlap; drawings
// have no words and give none.
func BallCues(b tagging.Ball, c tagging.Clip) []Cue {
	length := c.Span.Length()
	var cues []Cue
	for _, o := range b.Seen {
		text := wording(o)
		if text == "" {
			continue
		}
		var span media.Span
		if o.At != nil {
			span.Start = c.Clock.ToRecording(*o.At) - c.Span.Start
		}
		span.End = span.Start + readable(text)
		if o.Until != nil {
			span.End = c.Clock.ToRecording(*o.Until) - c.Span.Start
		}
		if span, ok := within(span, length); ok {
			cues = append(cues, Cue{Span: span, Text: text})
		}
	}
	if text := measured(b, c.RecordingID); text != "" {
		var span media.Span
		if b.Contact != nil {
			span.Start = c.Clock.ToRecording(*b.Contact) - c.Span.Start
		}
		span.End = span.Start + readable(text)
		if span, ok := within(span, length); ok {
			cues = append(cues, Cue{Span: span, Text: text, Measured: true})
		}
	}
	slices.SortStableFunc(cues, byStart)
	return joinSame(cues)
}

// mostMeasured is how many measures a cue says: more would hide the picture
// that they explain.
const mostMeasured = 5

// measured is what was measured of a ball, a line for each: "Base: 62 ± 3 cm".
// Shares repeat what a length has said, and are left out.
func measured(b tagging.Ball, recording int64) string {
	var lines []string
	for _, m := range b.MeasuredOn(recording) {
		name, value := measure.Of(m.Measure, m.Value, m.Sigma, nil)
		if value.Unit != measure.Percent && len(lines) < mostMeasured {
			lines = append(lines, name+": "+value.String())
		}
	}
	return strings.Join(lines, "\n")
}

// ReelCues is what was seen on the balls of a reel, on the clock of their
// clips played in a row, each from its chosen start to its end. A ball's title
// and note in the reel open it. Balls that no recording covers take no time.
func ReelCues(p tagging.Playlist) []Cue {
	var cues []Cue
	var at media.Micros
	for _, item := range p.Items {
		c, ok := Shown(item.Ball)
		if !ok {
			continue
		}
		length := c.Span.Length()
		if text := opening(item.ReelBall); text != "" {
			cues = append(cues, Cue{Span: media.Span{Start: at, End: at + min(length, readable(text))}, Text: text})
		}
		for _, cue := range BallCues(item.Ball, c) {
			cue.Span = media.Span{Start: at + cue.Span.Start, End: at + cue.Span.End}
			cues = append(cues, cue)
		}
		at += length
	}
	slices.SortStableFunc(cues, byStart)
	return cues
}

func byStart(a, b Cue) int { return cmp.Compare(a.Span.Start, b.Span.Start) }

// joinSame makes one cue of those that are shown over the same stretch, and
// says a thing that several coders saw once.
func joinSame(cues []Cue) []Cue {
	var out []Cue
	for _, c := range cues {
		i := slices.IndexFunc(out, func(o Cue) bool { return o.Span == c.Span && o.Measured == c.Measured })
		switch {
		case i < 0:
			out = append(out, c)
		case !slices.Contains(strings.Split(out[i].Text, "\n"), c.Text):
			out[i].Text += "\n" + c.Text
		}
	}
	return out
}

// within cuts a span to [0, length). A span that lies outside gives false, one
// that only touches an edge keeps a moment there.
func within(s media.Span, length media.Micros) (media.Span, bool) {
	s.Start, s.End = max(s.Start, 0), min(s.End, length)
	return s, s.Start < s.End
}

func readable(text string) media.Micros {
	return max(ShownFor, media.Micros(utf8.RuneCountInString(text))*media.Second/readingSpeed)
}

func wording(o tagging.Observation) string {
	switch o.Kind {
	case tagging.TermKind:
		return groupName(o.Group) + ": " + cmp.Or(o.Wording, o.Term)
	case tagging.NoteKind:
		return oneLine(o.Body)
	}
	return ""
}

func opening(b tagging.ReelBall) string {
	var lines []string
	for _, s := range []string{b.Title, b.Note} {
		if s = oneLine(s); s != "" {
			lines = append(lines, s)
		}
	}
	return strings.Join(lines, "\n")
}

// groupName makes a label of a group's key, which is made of its first name
// and, unlike that, never changes: "back-lift" gives "Back lift".
func groupName(key string) string {
	s := strings.ReplaceAll(key, "-", " ")
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// oneLine joins the lines and blanks of a text that a person typed.
func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }
