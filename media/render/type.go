package render

import (
	"os"
	"path/filepath"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/image/font"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/font/sfnt"

	"netreel/media/fault"
)

// fontFolders are where systems keep the DejaVu fonts.
var fontFolders = []string{
	"/usr/share/fonts/truetype/dejavu", "/usr/share/fonts/dejavu-sans-fonts", "/usr/share/fonts/dejavu", "/usr/share/fonts/TTF",
}

// typeface is a font as a file and as measures.
type typeface struct {
	path string
	font *opentype.Font
}

func openFont(name string) (*typeface, error) {
	const op, missing = "render.Reel", "The font DejaVu Sans is not installed: run deploy/setup.sh"
	for _, dir := range fontFolders {
		path := filepath.Join(dir, name)
		data, err := os.ReadFile(path)
		if err != nil {
			continue
		}
		f, err := opentype.Parse(data)
		if err != nil {
			return nil, fault.Wrap(err, fault.Unavailable, op, missing)
		}
		return &typeface{path, f}, nil
	}
	return nil, fault.New(fault.Unavailable, op, missing)
}

// drawable is a text without the symbols that the font lacks, such as most
// emoji. Letters that it lacks stay: an empty box tells that something is there.
func (t *typeface) drawable(text string) string {
	var buf sfnt.Buffer
	return strings.Map(func(r rune) rune {
		if unicode.IsSymbol(r) {
			if g, err := t.font.GlyphIndex(&buf, r); err != nil || g == 0 {
				return -1
			}
		}
		return r
	}, text)
}

// block is some text to be set: its lines, in order, in one size.
type block struct {
	face  *typeface
	size  int // pixels
	text  string
	lines int // at most so many; the rest is cut off with an ellipsis
}

// step is the distance from one line to the next.
func (b block) step() int { return b.size * 13 / 10 }

// measure is a line's width in pixels, or a little more: what draws it rounds
// each letter to whole pixels.
func (b block) measure(text string) int {
	face, err := opentype.NewFace(b.face.font, &opentype.FaceOptions{Size: float64(b.size), DPI: 72, Hinting: font.HintingNone})
	if err != nil {
		return len(text) * b.size / 2 // only a size of zero does that
	}
	defer func() { _ = face.Close() }()
	return font.MeasureString(face, text).Ceil() * 103 / 100
}

// wrap breaks a text into lines no wider than a limit. A word that is too long
// is broken; what does not fit into the block's lines is cut off.
func (b block) wrap(limit int) []string {
	var lines []string
	for paragraph := range strings.SplitSeq(b.face.drawable(b.text), "\n") {
		line := ""
		for word := range strings.FieldsSeq(paragraph) {
			if len(lines) > b.lines {
				break // hidden anyway, and texts may be long
			}
			if line != "" && b.measure(line+" "+word) <= limit {
				line += " " + word
				continue
			}
			if line != "" {
				lines = append(lines, line)
			}
			for line = word; len(lines) <= b.lines && b.measure(line) > limit; {
				head := b.head(line, limit)
				lines, line = append(lines, head), line[len(head):]
			}
		}
		if line != "" {
			lines = append(lines, line)
		}
	}
	if len(lines) > b.lines {
		lines = lines[:b.lines]
		last := lines[b.lines-1]
		for last != "" && b.measure(last+"…") > limit {
			_, n := utf8.DecodeLastRuneInString(last)
			last = last[:len(last)-n]
		}
		lines[b.lines-1] = strings.TrimRight(last, " ") + "…"
	}
	return lines
}

// head is as much of a word as fits, at least one letter.
func (b block) head(word string, limit int) string {
	end := 0
	for i, r := range word {
		next := i + len(string(r))
		if end > 0 && b.measure(word[:next]) > limit {
			break
		}
		end = next
	}
	return word[:end]
}
