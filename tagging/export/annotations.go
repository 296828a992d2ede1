package export

import (
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"time"

	"netreel/media"
	"netreel/tagging"
)

// Annotations writes every observation of a session as W3C Web Annotations in
// JSON-LD (Web Annotation Data Model, Recommendation of 23 February 2017): one
// AnnotationCollection with one AnnotationPage. A target is a recording, or the
// clip where source names one, with a Media Fragments time (W3C, Media
// Fragments URI 1.0) on that file's own clock; a drawing refines it by an SVG
// selector in shares of the picture. What was superseded or taken back is not
// part of it.
func Annotations(w io.Writer, s Session, source Source) error {
	id := fmt.Sprintf("%s/api/sessions/%d/export/annotations.jsonld", s.Home, s.ID)
	page := annotationPage{ID: id + "#page", Type: "AnnotationPage", PartOf: id, Items: []annotation{}}
	for _, b := range s.Balls {
		for _, o := range b.Seen {
			page.Items = append(page.Items, s.annotation(b, o, source))
		}
	}
	out := json.NewEncoder(w)
	out.SetEscapeHTML(false)
	return out.Encode(annotationCollection{
		Context: "http://www.w3.org/ns/anno.jsonld", ID: id, Type: "AnnotationCollection",
		Label: strings.TrimSpace(s.Title + " " + s.HeldOn), Total: len(page.Items), First: page,
	})
}

// Source says which file shows a clip: its IRI, which may be relative to the
// annotations, and where that file's zero lies on the recording's clock.
type Source func(tagging.Clip) (iri string, zero media.Micros)

// Originals are the recordings as they came in, at the server's address.
func (s Session) Originals(c tagging.Clip) (iri string, zero media.Micros) {
	return fmt.Sprintf("%s/api/recordings/%d/original", s.Home, c.RecordingID), 0
}

type annotationCollection struct {
	Context string         `json:"@context"`
	ID      string         `json:"id"`
	Type    string         `json:"type"`
	Label   string         `json:"label"`
	Total   int            `json:"total"`
	First   annotationPage `json:"first"`
}

type annotationPage struct {
	ID         string       `json:"id"`
	Type       string       `json:"type"`
	PartOf     string       `json:"partOf"`
	StartIndex int          `json:"startIndex"`
	Items      []annotation `json:"items"`
}

type annotation struct {
	ID         string   `json:"id"`
	Type       string   `json:"type"`
	Motivation string   `json:"motivation"`
	Created    string   `json:"created"`
	Creator    person   `json:"creator"`
	Body       []body   `json:"body,omitempty"`
	Target     []target `json:"target"`
}

type person struct {
	ID       string `json:"id"`
	Type     string `json:"type"`
	Name     string `json:"name,omitempty"`
	Nickname string `json:"nickname,omitempty"`
}

type body struct {
	Type    string `json:"type"`
	Purpose string `json:"purpose"`
	Format  string `json:"format"`
	Value   string `json:"value"`
}

type target struct {
	Type     string    `json:"type"`
	Source   string    `json:"source"`
	Scope    string    `json:"scope"` // the ball's page
	Selector *selector `json:"selector,omitempty"`
}

type selector struct {
	Type       string    `json:"type"`
	ConformsTo string    `json:"conformsTo"`
	Value      string    `json:"value"`
	RefinedBy  *selector `json:"refinedBy,omitempty"`
}

const (
	mediaFragments = "http://www.w3.org/TR/media-frags/"
	svg            = "http://www.w3.org/TR/SVG/"
)

func (s Session) annotation(b tagging.Ball, o tagging.Observation, source Source) annotation {
	a := annotation{
		ID: "urn:uuid:" + o.UUID.String(), Type: "Annotation", Created: o.Made.UTC().Format(time.RFC3339),
		Creator: person{ID: fmt.Sprintf("%s/#coder-%d", s.Home, o.AccountID), Type: "Person"},
		Target:  s.targets(b, o, source),
	}
	if s.Names {
		a.Creator.Name = o.Coder
	} else {
		a.Creator.Nickname = s.coder(o)
	}
	text := func(purpose, value string) body { return body{"TextualBody", purpose, "text/plain", value} }
	switch o.Kind {
	case tagging.TermKind:
		a.Motivation = "tagging"
		a.Body = []body{text("tagging", o.Group+":"+o.Term), text("describing", wording(o))}
	case tagging.NoteKind:
		a.Motivation = "commenting"
		a.Body = []body{text("commenting", o.Body)}
	default:
		a.Motivation = "highlighting" // a drawing is all selector
	}
	return a
}

// targets are the files that show the observation; without one it is about the
// ball's page alone.
func (s Session) targets(b tagging.Ball, o tagging.Observation, source Source) []target {
	scope := fmt.Sprintf("%s/sessions/%d/code/%d", s.Home, s.ID, b.ID)
	var out []target
	for _, c := range b.Clips {
		if o.Drawing != nil && c.RecordingID != o.RecordingID {
			continue
		}
		iri, zero := source(c)
		sel := &selector{Type: "FragmentSelector", ConformsTo: mediaFragments, Value: fragment(moment(c, o), zero)}
		if o.Drawing != nil {
			sel.RefinedBy = &selector{Type: "SvgSelector", ConformsTo: svg, Value: drawn(*o.Drawing)}
		}
		out = append(out, target{Type: "SpecificResource", Source: iri, Scope: scope, Selector: sel})
	}
	if len(out) == 0 {
		out = []target{{Type: "SpecificResource", Source: scope, Scope: scope}}
	}
	return out
}

// moment is when an observation holds, on the recording's clock: all of the
// ball when it has no time.
func moment(c tagging.Clip, o tagging.Observation) media.Span {
	if o.At == nil {
		return c.Span
	}
	span := media.Span{Start: c.Clock.ToRecording(*o.At)}
	if o.Until != nil {
		span.End = c.Clock.ToRecording(*o.Until)
	}
	return span
}

// fragment prints a stretch in seconds. The format has no instants: one is a
// thousandth long, the least that it can say.
func fragment(span media.Span, zero media.Micros) string {
	start := max(0, millis(span.Start-zero))
	end := max(start+1, millis(span.End-zero))
	return fmt.Sprintf("t=%d.%03d,%d.%03d", start/1000, start%1000, end/1000, end%1000)
}

// drawn is a drawing as SVG over the whole picture, whose sides are 1.
func drawn(d tagging.Drawing) string {
	var b strings.Builder
	b.WriteString(`<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 1 1" preserveAspectRatio="none">`)
	for _, s := range d.Strokes {
		b.WriteString(`<polyline fill="none" points="`)
		for i, p := range s.Points {
			if i > 0 {
				b.WriteByte(' ')
			}
			fmt.Fprintf(&b, "%.4f,%.4f", p[0], p[1])
		}
		b.WriteString(`"/>`)
	}
	b.WriteString(`</svg>`)
	return b.String()
}
