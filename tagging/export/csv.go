package export

import (
	"encoding/csv"
	"fmt"
	"io"
	"maps"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"netreel/media"
	"netreel/tagging"
	"netreel/tagging/measure"
	"netreel/tagging/vocabulary"
)

// byteOrderMark makes spreadsheet programs read the file as UTF-8 (common
// practice, no source).
const byteOrderMark = "\uFEFF"

// CSV writes a row for every ball of a reel (RFC 4180, with a header line):
// where it is, what was seen in each group of the vocabulary, what was measured
// with its standard deviation, and the notes.
// What a person typed never becomes a formula in a spreadsheet.
func CSV(w io.Writer, p tagging.Playlist, v vocabulary.Edition) error {
	if _, err := io.WriteString(w, byteOrderMark); err != nil {
		return err
	}
	out := csv.NewWriter(w)
	out.UseCRLF = true
	groups, measures := columns(p, v), measuresOf(p)
	head := []string{"Order", "Date", "Session", "Block", "Player", "Ball", "Start", "Contact", "End", "Title", "Remark"}
	for _, g := range groups {
		head = append(head, harmless(g.Name))
	}
	for _, key := range measures {
		name, value := measure.Of(key, 0, 0, nil)
		head = append(head, harmless(strings.TrimSuffix(name+", "+string(value.Unit), ", ")), harmless(name+", ±"))
	}
	head = append(head, "Notes", "Coders")
	if err := out.Write(head); err != nil {
		return err
	}
	for i, item := range p.Items {
		if err := out.Write(row(i+1, item, groups, measures)); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

// columns are the groups that are offered or that somebody used, in the
// vocabulary's order.
func columns(p tagging.Playlist, v vocabulary.Edition) []vocabulary.Group {
	used := map[string]bool{}
	for _, item := range p.Items {
		for _, o := range item.Ball.Seen {
			used[o.Group] = used[o.Group] || o.Kind == tagging.TermKind
		}
	}
	var groups []vocabulary.Group
	for _, g := range v.Groups {
		if used[g.Key] || !g.Retired {
			groups = append(groups, g)
		}
	}
	return groups
}

func row(order int, item tagging.PlaylistItem, groups []vocabulary.Group, measures []string) []string {
	b := item.Ball
	cells := []string{
		strconv.Itoa(order), item.HeldOn, harmless(item.Session), harmless(item.Block), harmless(item.Player),
		strconv.Itoa(b.Number), clock(&b.Span.Start), clock(b.Contact), clock(&b.Span.End),
		harmless(oneLine(item.Title)), harmless(oneLine(item.Note)),
	}
	for _, g := range groups {
		cells = append(cells, harmless(listOf(b.Seen, func(o tagging.Observation) (string, bool) {
			return o.Wording, o.Kind == tagging.TermKind && o.Group == g.Key
		})))
	}
	cells = append(cells, measuredCells(b, measures)...)
	notes := listOf(b.Seen, func(o tagging.Observation) (string, bool) { return oneLine(o.Body), o.Kind == tagging.NoteKind })
	coders := listOf(b.Seen, func(o tagging.Observation) (string, bool) { return o.Coder, true })
	return append(cells, harmless(notes), harmless(coders))
}

// measuresOf lists the measures that were taken of any ball, by key.
func measuresOf(p tagging.Playlist) []string {
	taken := map[string]bool{}
	for _, item := range p.Items {
		for _, m := range item.Ball.Measured {
			taken[m.Measure] = true
		}
	}
	return slices.Sorted(maps.Keys(taken))
}

// measuredCells are the value and the standard deviation of each measure, as
// surely as it was read on any picture.
func measuredCells(b tagging.Ball, measures []string) []string {
	cells := make([]string, 2*len(measures))
	for _, m := range b.MeasuredOn(0) {
		i := slices.Index(measures, m.Measure)
		cells[2*i], cells[2*i+1] = decimal(m.Value), decimal(m.Sigma)
	}
	return cells
}

func decimal(v float64) string { return strconv.FormatFloat(v, 'f', 2, 64) }

// listOf joins what pick takes of each observation, each thing once.
func listOf(seen []tagging.Observation, pick func(tagging.Observation) (string, bool)) string {
	var parts []string
	for _, o := range seen {
		if s, ok := pick(o); ok && s != "" && !slices.Contains(parts, s) {
			parts = append(parts, s)
		}
	}
	return strings.Join(parts, "; ")
}

// clock prints a time as m:ss.mmm, "" for none. A session's clock may begin
// before zero when a camera ran early.
func clock(at *media.Micros) string {
	if at == nil {
		return ""
	}
	ms, sign := millis(*at), ""
	if *at < 0 {
		ms, sign = millis(-*at), "'-"
	}
	return fmt.Sprintf("%s%d:%02d.%03d", sign, ms/60_000, ms/1000%60, ms%1000)
}

// harmless puts an apostrophe before what a spreadsheet would take for a
// formula: a cell that begins with one of = + - @, tab or line end (OWASP,
// "CSV Injection"; full-width forms are taken for the plain ones by some).
func harmless(s string) string {
	first, _ := utf8.DecodeRuneInString(strings.TrimLeft(s, " \u00a0"))
	if s != "" && strings.ContainsRune("=+-@\t\r\n＝＋－＠", first) {
		return "'" + s
	}
	return s
}
