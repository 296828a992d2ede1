package export

import (
	"encoding/csv"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"netreel/media"
	"netreel/tagging"
	"netreel/tagging/vocabulary"
)

// byteOrderMark makes spreadsheet programs read the file as UTF-8 (common
// practice, no source).
const byteOrderMark = "\uFEFF"

// CSV writes a row for every ball of a reel (RFC 4180, with a header line):
// where it is, what was seen in each group of the vocabulary, and the notes.
// What a person typed never becomes a formula in a spreadsheet.
func CSV(w io.Writer, p tagging.Playlist, v vocabulary.Edition) error {
	if _, err := io.WriteString(w, byteOrderMark); err != nil {
		return err
	}
	out := csv.NewWriter(w)
	out.UseCRLF = true
	groups := columns(p, v)
	head := []string{"Order", "Date", "Session", "Block", "Player", "Ball", "Start", "Contact", "End", "Title", "Remark"}
	for _, g := range groups {
		head = append(head, harmless(g.Name))
	}
	head = append(head, "Notes", "Coders")
	if err := out.Write(head); err != nil {
		return err
	}
	for i, item := range p.Items {
		if err := out.Write(row(i+1, item, groups)); err != nil {
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

func row(order int, item tagging.PlaylistItem, groups []vocabulary.Group) []string {
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
	notes := listOf(b.Seen, func(o tagging.Observation) (string, bool) { return oneLine(o.Body), o.Kind == tagging.NoteKind })
	coders := listOf(b.Seen, func(o tagging.Observation) (string, bool) { return o.Coder, true })
	return append(cells, harmless(notes), harmless(coders))
}

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
