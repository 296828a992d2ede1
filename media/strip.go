package media

// Strip is a piece of film that is made here, to be joined with others: a
// stretch of a clip, or a plain card, fitted into the film's picture with
// lettering on it.
type Strip struct {
	Src           string // the clip; "" for a plain card
	Span          Span   // which stretch of the clip, on its own clock; of a card only the length counts
	Width, Height int    // the film's picture in pixels, both even
	FPS           float64
	Panels        []Panel  // drawn over the picture, in order
	Letters       []Letter // drawn over the panels
}

// Pictures is how many pictures the strip has: its length to the nearest
// picture, at least one.
func (s Strip) Pictures() int { return max(1, int(s.Span.Length().Seconds()*s.FPS+0.5)) }

// Length is how long the strip is in the film: whole pictures.
func (s Strip) Length() Micros { return FromSeconds(float64(s.Pictures()) / s.FPS) }

// Panel is a half-transparent dark rectangle behind lettering.
type Panel struct {
	X, Y, Width, Height int  // pixels from the top left
	Within              Span // when it is there, on the strip's clock; zero: always
}

// Letter is one line of text. The text is in a file of its own, so that no
// letter of it can be taken for a command.
type Letter struct {
	File     string // path of a UTF-8 text file
	Font     string // path of a font file
	Size     int    // height of the font in pixels
	Centre   bool   // X is the line's middle rather than its left end
	X        int    // pixels from the left
	Baseline int    // pixels from the top
	Within   Span   // when it is there, on the strip's clock; zero: always
}
