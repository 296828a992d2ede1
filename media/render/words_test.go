package render

import (
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"

	"netreel/media"
)

func TestClean(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ name, in, want string }{
		{"plain", "Head still", "Head still"},
		{"line breaks", "a\r\nb\rc\u2028d", "a\nb\nc\nd"},
		{"empty lines", "\n\n a \n \n b\n", "a\nb"},
		{"control signs", "a\x00b\x1b[31mc", "ab[31mc"},
		{"spaces", "a \t b\u00a0c", "a b c"},
		{"direction override", "safe\u202egnp.exe", "safegnp.exe"},
		{"joined emoji", "👩\u200d🏏\ufe0f", "👩🏏"},
		{"right to left", "שלום", "שלום"},
		{"broken UTF-8", "a\xffb", "a?b"},
		{"nothing", " \n\t", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			if got := clean(c.in); got != c.want {
				t.Errorf("got %q, want %q", got, c.want)
			}
		})
	}
}

// TestFlatten holds flattened captions against a look at every moment.
func TestFlatten(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		time := rapid.Custom(func(t *rapid.T) media.Micros { return media.Micros(rapid.IntRange(0, 20).Draw(t, "time")) })
		captions := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Caption {
			return Caption{Span: media.Span{Start: time.Draw(t, "start"), End: time.Draw(t, "end")}, Text: rapid.SampledFrom([]string{"a", "b", "c", ""}).Draw(t, "text")}
		}), 0, 6).Draw(t, "captions")
		from := time.Draw(t, "from")
		shown := media.Span{Start: from, End: from + time.Draw(t, "length")}
		cues := flatten(captions, shown)
		for i, c := range cues {
			if c.Span.Length() <= 0 || c.Span.End > shown.Length() || i > 0 && c.Span.Start < cues[i-1].Span.End {
				t.Fatalf("cue %d of %v is out of order or place", i, cues)
			}
		}
		for at := range shown.Length() {
			var want []string
			for _, c := range captions {
				if c.Text != "" && c.Span.Contains(shown.Start+at) && !slices.Contains(want, c.Text) {
					want = append(want, c.Text)
				}
			}
			got := ""
			for _, c := range cues {
				if c.Span.Contains(at) {
					got = c.Text
				}
			}
			if got != strings.Join(want, "\n") {
				t.Fatalf("at %d: %q, want %q", at, got, want)
			}
		}
	})
}

func TestWebVTT(t *testing.T) {
	t.Parallel()
	got := string(webVTT([]Cue{
		{media.Span{Start: 0, End: 1_234_567}, "a & b\n<c>"},
		{media.Span{Start: 3_723_000_000, End: 3_723_000_500}, `{\i}`},
	}))
	const want = "WEBVTT\n\n00:00:00.000 --> 00:00:01.235\na &amp; b\n&lt;c&gt;\n\n01:02:03.000 --> 01:02:03.001\n(\u29f5i)\n"
	if got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

// TestWrap: no line is wider than the limit, and nothing is lost as long as
// there is room.
func TestWrap(t *testing.T) {
	t.Parallel()
	face, err := openFont("DejaVuSans.ttf")
	if err != nil {
		t.Fatal(err)
	}
	rapid.Check(t, func(t *rapid.T) {
		b := block{face: face, size: rapid.IntRange(8, 40).Draw(t, "size"), lines: rapid.IntRange(1, 30).Draw(t, "lines")}
		b.text = clean(rapid.StringOfN(rapid.RuneFrom([]rune("aWi .,é漢\n ש")), 0, 80, -1).Draw(t, "text"))
		limit := rapid.IntRange(60, 400).Draw(t, "limit")
		lines := b.wrap(limit)
		if len(lines) > b.lines {
			t.Fatalf("%d lines, allowed %d", len(lines), b.lines)
		}
		for _, l := range lines {
			if b.measure(l) > limit && utf8.RuneCountInString(l) > 1 {
				t.Fatalf("line %q is %d wide, allowed %d", l, b.measure(l), limit)
			}
		}
		squeeze := func(s string) string { return strings.Join(strings.Fields(s), "") }
		all := squeeze(strings.Join(lines, ""))
		if cut := strings.HasSuffix(all, "…"); !cut && all != squeeze(b.text) || !strings.HasPrefix(squeeze(b.text), strings.TrimSuffix(all, "…")) {
			t.Fatalf("%q became %q", b.text, lines)
		}
	})
}

func TestWrapLong(t *testing.T) {
	t.Parallel()
	face, err := openFont("DejaVuSans.ttf")
	if err != nil {
		t.Fatal(err)
	}
	b := block{face: face, size: 24, text: strings.Repeat("x", 1<<20), lines: 3}
	if got := b.wrap(600); len(got) != 3 || !strings.HasSuffix(got[2], "…") {
		t.Errorf("got %d lines", len(got))
	}
}

func TestDrawable(t *testing.T) {
	t.Parallel()
	face, err := openFont("DejaVuSans.ttf")
	if err != nil {
		t.Fatal(err)
	}
	if got := face.drawable("Out! 🏏 漢 → ok"); got != "Out!  漢 → ok" {
		t.Errorf("got %q", got)
	}
}
