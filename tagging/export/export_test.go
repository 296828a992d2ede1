package export_test

import (
	"bytes"
	"encoding/csv"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"netreel/media"
	"netreel/tagging"
	"netreel/tagging/export"
	"netreel/tagging/measure"
	"netreel/tagging/vocabulary"
)

func at(seconds float64) *media.Micros {
	m := media.FromSeconds(seconds)
	return &m
}

func span(start, end float64) media.Span {
	return media.Span{Start: media.FromSeconds(start), End: media.FromSeconds(end)}
}

func term(group, wording string, when *media.Micros) tagging.Observation {
	return tagging.Observation{Kind: tagging.TermKind, Group: group, Term: "x", Wording: wording, At: when, Coder: "Asha"}
}

// ball has a clip of four seconds on a recording that began two seconds after
// the session did.
func ball(seen ...tagging.Observation) tagging.Ball {
	return tagging.Ball{Number: 7, Span: span(12, 16), Seen: seen, Clips: []tagging.Clip{{
		ID: 1, Span: span(10, 14), Clock: media.Clock{Offset: 2 * media.Second},
	}}}
}

func TestBallCues(t *testing.T) {
	t.Parallel()
	note := tagging.Observation{Kind: tagging.NoteKind, Body: "Head  over\nthe ball", At: at(13)}
	span4 := term("balance", "Falling to off", at(13))
	span4.Until = at(14.5)
	for name, tc := range map[string]struct {
		seen []tagging.Observation
		want []export.Cue
	}{
		"a term at its time":         {[]tagging.Observation{term("shot", "Pull", at(13.5))}, []export.Cue{{Span: span(1.5, 3.5), Text: "Shot: Pull"}}},
		"a span":                     {[]tagging.Observation{span4}, []export.Cue{{Span: span(1, 2.5), Text: "Balance: Falling to off"}}},
		"of the ball as a whole":     {[]tagging.Observation{term("bat", "Narrow bat", nil)}, []export.Cue{{Span: span(0, 2), Text: "Bat: Narrow bat"}}},
		"a note, on one line":        {[]tagging.Observation{note}, []export.Cue{{Span: span(1, 3), Text: "Head over the ball"}}},
		"cut at the clip's end":      {[]tagging.Observation{term("shot", "Cut", at(15.5))}, []export.Cue{{Span: span(3.5, 4), Text: "Shot: Cut"}}},
		"two coders of one mind":     {[]tagging.Observation{term("shot", "Cut", at(13)), term("shot", "Cut", at(13))}, []export.Cue{{Span: span(1, 3), Text: "Shot: Cut"}}},
		"two terms at the same time": {[]tagging.Observation{term("shot", "Cut", at(13)), term("feet", "Back", at(13))}, []export.Cue{{Span: span(1, 3), Text: "Shot: Cut\nFeet: Back"}}},
		"in order":                   {[]tagging.Observation{term("shot", "Cut", at(14)), term("feet", "Back", at(13))}, []export.Cue{{Span: span(1, 3), Text: "Feet: Back"}, {Span: span(2, 4), Text: "Shot: Cut"}}},
		"outside of the clip":        {[]tagging.Observation{term("shot", "Cut", at(40)), term("shot", "Cut", at(3))}, nil},
		"a drawing has no words":     {[]tagging.Observation{{Kind: tagging.DrawingKind, At: at(13)}}, nil},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			b := ball(tc.seen...)
			assert.Equal(t, tc.want, export.BallCues(b, b.Clips[0]))
		})
	}
}

func TestBallCuesSayWhatWasMeasured(t *testing.T) {
	t.Parallel()
	b := ball(term("shot", "Drive", at(13.5)))
	b.Contact = at(13.5)
	b.Clips[0].RecordingID = 4
	b.Measured = []tagging.Measured{
		{Measure: "base-width", RecordingID: 9, Value: 58, Sigma: 1},
		{Measure: "base-width", RecordingID: 4, Value: 62.3, Sigma: 3},
		{Measure: "base-share", RecordingID: 4, Value: 36, Sigma: 2},
		{Measure: "front-knee", RecordingID: 4, Value: 141.2, Sigma: 4},
	}
	const text = "Base: 62 ± 3 cm\nFront knee: 141 ± 4°"
	assert.Equal(t, []export.Cue{
		{Span: span(1.5, 3.5), Text: "Shot: Drive"},
		{Span: media.Span{Start: 1_500_000, End: 1_500_000 + media.Micros(utf8.RuneCountInString(text))*media.Second/15}, Text: text, Measured: true},
	}, export.BallCues(b, b.Clips[0]), "off the picture that is shown, at contact, for as long as it takes to read")

	b.Contact = nil
	assert.Equal(t, media.Micros(0), export.BallCues(b, b.Clips[0])[0].Span.Start, "nothing was struck: from the start")
	for _, key := range []string{"stride", "crease-depth", "trunk-lean", "bat-angle"} {
		b.Measured = append(b.Measured, tagging.Measured{Measure: key, Value: 12, Sigma: 4})
	}
	assert.Equal(t, 4, strings.Count(export.BallCues(b, b.Clips[0])[0].Text, "\n"), "five lines and no more")
}

// playlist has a titled ball, one that no recording covers, and one more.
func playlist() tagging.Playlist {
	return tagging.Playlist{Reel: tagging.Reel{Title: "Short & wide"}, Items: []tagging.PlaylistItem{
		{ReelBall: tagging.ReelBall{Title: "Early hands", Note: "Watch the <grip>"}, Ball: ball(term("shot", "Pull", at(13.5))),
			Session: "Winter nets", HeldOn: "2026-01-17", Block: "Machine", Player: "Asha"},
		{Ball: tagging.Ball{Number: 8, Span: span(20, 24), Seen: []tagging.Observation{term("shot", "Hook", at(21))}}},
		{Ball: ball(term("shot", "Cut", at(12)))},
	}}
}

func TestReelCuesRunOnTheClockOfClipsInARow(t *testing.T) {
	t.Parallel()
	assert.Equal(t, []export.Cue{
		{Span: span(0, 2), Text: "Early hands\nWatch the <grip>"},
		{Span: span(1.5, 3.5), Text: "Shot: Pull"},
		{Span: span(4, 6), Text: "Shot: Cut"},
	}, export.ReelCues(playlist()))
}

func TestWebVTT(t *testing.T) {
	t.Parallel()
	var b strings.Builder
	require.NoError(t, export.WebVTT(&b, "Short --> wide\nreel", []export.Cue{
		{Span: span(4, 6), Text: "a & b --> <i>c</i>\n\n\r\nd\x00"},
		{Span: span(0.0005, 3599.9999), Text: "first"},
		{Span: span(5, 5.0001), Text: "no length"},
		{Span: span(7, 8), Text: " \n "},
	}))
	assert.Equal(t, "WEBVTT Short -> wide reel\n\n00:00:00.001 --> 01:00:00.000\nfirst\n\n"+
		"00:00:04.000 --> 00:00:06.000\na &amp; b --&gt; &lt;i&gt;c&lt;/i&gt;\nd\uFFFD\n", b.String())
}

// TestWebVTTKeepsItsGrammar checks what is written of any text against the
// syntax of W3C WebVTT, section 4.1: signature and header line, blocks parted
// by blank lines, timestamps of two digits and thousandths, an end after each
// start, starts that never go back, no "-->" in a payload, and no bare & or <.
func TestWebVTTKeepsItsGrammar(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.OneOf(rapid.String(), rapid.StringMatching(`[-<>&\r\n\x00 a]{0,20}`))
		cues := rapid.SliceOf(rapid.Custom(func(t *rapid.T) export.Cue {
			start := rapid.Int64Range(-1e7, 1e11).Draw(t, "start")
			return export.Cue{Text: text.Draw(t, "text"), Span: media.Span{Start: media.Micros(start),
				End: media.Micros(start + rapid.Int64Range(-1000, 1e8).Draw(t, "length"))}}
		})).Draw(t, "cues")
		var b strings.Builder
		require.NoError(t, export.WebVTT(&b, text.Draw(t, "title"), cues))
		blocks := strings.Split(strings.TrimSuffix(b.String(), "\n"), "\n\n")
		require.Regexp(t, `^WEBVTT( [^\n\r]*)?$`, blocks[0])
		require.NotContains(t, blocks[0], "-->")
		last := ""
		for _, block := range blocks[1:] {
			timing, payload, ok := strings.Cut(block, "\n")
			require.True(t, ok, "a cue without a payload")
			require.Regexp(t, `^\d{2,}:[0-5]\d:[0-5]\d\.\d{3} --> \d{2,}:[0-5]\d:[0-5]\d\.\d{3}$`, timing)
			start, end, _ := strings.Cut(timing, " --> ")
			require.Less(t, start, end) // texts of equal length compare like times
			require.LessOrEqual(t, last, start)
			last = start
			require.NotContains(t, payload, "-->")
			require.NotRegexp(t, `<|&(?:[^agl]|$)|\r|\x00|(?:^|\n)(?:\n|$)`, payload)
		}
	})
}

func TestCSV(t *testing.T) {
	t.Parallel()
	words := vocabulary.Edition{Groups: []vocabulary.Group{
		{Key: "shot", Name: "Shot"}, {Key: "feet", Name: "=Feet", Retired: false}, {Key: "old", Name: "Old", Retired: true},
	}}
	p := playlist()
	p.Items[0].Ball.Contact = at(13.25)
	p.Items[0].Ball.Seen = append(p.Items[0].Ball.Seen,
		tagging.Observation{Kind: tagging.TermKind, Group: "shot", Wording: "Hook", Coder: "=cmd|' /C calc'!A0"},
		tagging.Observation{Kind: tagging.NoteKind, Body: "@late, \"very\"\nlate", Coder: "Asha"})
	var b bytes.Buffer
	require.NoError(t, export.CSV(&b, p, words))
	require.True(t, bytes.HasPrefix(b.Bytes(), []byte("\xEF\xBB\xBF")), "the mark by which spreadsheets know UTF-8")
	assert.Contains(t, b.String(), "\r\n", "RFC 4180, section 2: lines end with CRLF")
	rows, err := csv.NewReader(bytes.NewReader(b.Bytes()[3:])).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 4)
	assert.Equal(t, []string{"Order", "Date", "Session", "Block", "Player", "Ball", "Start", "Contact", "End", "Title", "Remark",
		"Shot", "'=Feet", "Notes", "Coders"}, rows[0])
	assert.Equal(t, []string{"1", "2026-01-17", "Winter nets", "Machine", "Asha", "7", "0:12.000", "0:13.250", "0:16.000",
		"Early hands", "Watch the <grip>", "Pull; Hook", "", "'@late, \"very\" late", "Asha; =cmd|' /C calc'!A0"}, rows[1])
}

func TestCSVSaysWhatWasMeasured(t *testing.T) {
	t.Parallel()
	p := playlist()
	p.Items[0].Ball.Measured = []tagging.Measured{
		{Measure: "base-width", RecordingID: 1, Value: 62.1, Sigma: 3}, {Measure: "base-width", RecordingID: 2, Value: 58, Sigma: 9},
		{Measure: "an-older-one", RecordingID: 1, Value: -4, Sigma: .5},
	}
	var b bytes.Buffer
	require.NoError(t, export.CSV(&b, p, vocabulary.Edition{}))
	rows, err := csv.NewReader(bytes.NewReader(b.Bytes()[3:])).ReadAll()
	require.NoError(t, err)
	name, _ := measure.Of("base-width", 0, 0, nil)
	assert.Equal(t, []string{"an-older-one", "an-older-one, ±", name + ", cm", name + ", ±", "Notes", "Coders"}, rows[0][11:])
	assert.Equal(t, []string{"-4.00", "0.50", "62.10", "3.00"}, rows[1][11:15])
	assert.Equal(t, []string{"", "", "", ""}, rows[2][11:15])
}

// TestCSVHoldsNoFormula is OWASP's list of what a spreadsheet takes for one.
func TestCSVHoldsNoFormula(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		evil := rapid.StringMatching(`[ ]{0,2}[=+\-@\t\r\n＝＋－＠].{0,8}`).Draw(t, "evil")
		p := playlist()
		p.Items[0].Title, p.Items[0].Note, p.Items[0].Player, p.Items[0].Block, p.Items[0].Session = evil, evil, evil, evil, evil
		p.Items[0].Ball.Seen = []tagging.Observation{{Kind: tagging.NoteKind, Body: evil, Coder: evil}, term("shot", evil, nil)}
		var b bytes.Buffer
		require.NoError(t, export.CSV(&b, p, vocabulary.Default()))
		rows, err := csv.NewReader(bytes.NewReader(b.Bytes()[3:])).ReadAll()
		require.NoError(t, err)
		for _, row := range rows {
			for _, cell := range row {
				require.NotRegexp(t, `^\s*[=+\-@\t\r＝＋－＠]`, cell)
			}
		}
	})
}
