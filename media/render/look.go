package render

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"netreel/media"
	"netreel/media/fault"
)

// look is how words are laid out in a film's picture. All sizes follow from the
// picture's, so that a film looks the same at any.
type look struct {
	width, height int
	plain, bold   *typeface
	margin        int // free space at the picture's edges
}

func newLook(width, height int) (*look, error) {
	plain, err := openFont("DejaVuSans.ttf")
	if err != nil {
		return nil, err
	}
	bold, err := openFont("DejaVuSans-Bold.ttf")
	if err != nil {
		return nil, err
	}
	return &look{width, height, plain, bold, min(width, height) / 24}, nil
}

// setter lays out the words of one strip and writes each line to its file.
type setter struct {
	*look
	prefix string // of the files
	files  int
	strip  *media.Strip
}

// put sets one line.
func (s *setter) put(l media.Letter, b block, text string) error {
	l.File = fmt.Sprintf("%s-%d.txt", s.prefix, s.files)
	s.files++
	l.Font, l.Size = b.face.path, b.size
	if err := os.WriteFile(l.File, []byte(text), 0o600); err != nil {
		return fault.Wrap(err, fault.Unavailable, "render.Reel", "The film's words could not be stored. Free some disk space, then try again.")
	}
	s.strip.Letters = append(s.strip.Letters, l)
	return nil
}

// card sets a title card: the title above the lines, all in the middle.
func (s *setter) card(c Card) error {
	blocks := []block{{s.bold, s.height / 13, clean(c.Title), 3}}
	for _, line := range c.Lines {
		blocks = append(blocks, block{s.plain, s.height / 24, clean(line), 2})
	}
	type row struct {
		block
		text string
	}
	var rows []row
	tall := 0
	for _, b := range blocks {
		for _, text := range b.wrap(s.width - 4*s.margin) {
			if tall+b.step() > s.height-2*s.margin {
				break
			}
			rows = append(rows, row{b, text})
			tall += b.step()
		}
	}
	y := (s.height - tall) / 2
	for _, r := range rows {
		y += r.step()
		at := media.Letter{Centre: true, X: s.width / 2, Baseline: y - r.size*3/10}
		if err := s.put(at, r.block, r.text); err != nil {
			return err
		}
	}
	return nil
}

// heading sets a ball's title and note in the top left corner, in less than half
// the width: the picture is what people came for.
func (s *setter) heading(title, note string) error {
	return s.panel(media.Span{}, topLeft, s.half(), []block{
		{s.bold, s.height / 26, title, 1},
		{s.plain, s.height / 30, note, 3},
	})
}

// captionLines is how many lines a caption may have: more would hide the batter.
const captionLines = 4

// caption sets words at the bottom, in the middle. What would take too many
// lines stands in a row, and smaller.
func (s *setter) caption(c Cue) error {
	text, size := c.Text, s.height/24
	if strings.Count(text, "\n") >= captionLines {
		text, size = strings.ReplaceAll(text, "\n", " · "), s.height/34
	}
	return s.panel(c.Span, bottom, s.width-2*s.margin, []block{{s.plain, size, text, captionLines}})
}

// aside sets words in the top right corner.
func (s *setter) aside(c Cue) error {
	return s.panel(c.Span, topRight, s.half(), []block{{s.plain, s.height / 36, c.Text, 6}})
}

// half is the width that one of two corners may take.
func (s *setter) half() int { return (s.width - 3*s.margin) / 2 }

// corner is where a panel stands.
type corner int

const (
	topLeft corner = iota
	topRight
	bottom // in the middle
)

// panel sets blocks on a dark panel no wider than widest.
func (s *setter) panel(within media.Span, where corner, widest int, blocks []block) error {
	pad := s.margin / 2
	wide, tall := 0, 0
	set := make([][]string, len(blocks))
	for i, b := range blocks {
		set[i] = b.wrap(widest - 2*pad)
		for _, line := range set[i] {
			wide = max(wide, b.measure(line))
		}
		tall += len(set[i]) * b.step()
	}
	if tall == 0 {
		return nil
	}
	p := media.Panel{X: s.margin, Y: s.margin, Width: wide + 2*pad, Height: tall + pad, Within: within}
	switch where {
	case topRight:
		p.X = s.width - s.margin - p.Width
	case bottom:
		p.X, p.Y = (s.width-p.Width)/2, s.height-s.margin-p.Height
	}
	s.strip.Panels = append(s.strip.Panels, p)
	y := p.Y + pad/2
	for i, b := range blocks {
		for _, line := range set[i] {
			y += b.step()
			at := media.Letter{X: p.X + pad, Baseline: y - b.size*3/10, Within: within}
			if where == bottom {
				at.Centre, at.X = true, s.width/2
			}
			if err := s.put(at, b, line); err != nil {
				return err
			}
		}
	}
	return nil
}

// letter lays out the words of strip i.
func (r *reel) letter(i int) (media.Strip, error) {
	p := r.strips[i]
	s := setter{look: r.look, prefix: filepath.Join(r.dir, fmt.Sprintf("%04d", i)), strip: &p.Strip}
	if p.card != nil {
		err := s.card(*p.card)
		return p.Strip, err
	}
	if !r.Burn {
		return p.Strip, nil
	}
	if err := s.heading(p.title, p.note); err != nil {
		return p.Strip, err
	}
	for _, c := range p.captions {
		if err := s.caption(c); err != nil {
			return p.Strip, err
		}
	}
	for _, c := range p.asides {
		if err := s.aside(c); err != nil {
			return p.Strip, err
		}
	}
	return p.Strip, nil
}
