package export

import (
	"archive/zip"
	"fmt"
	"io"
	"strings"
	"time"

	"netreel/media"
	"netreel/tagging"
)

// OpenClip opens one of a clip's files ("smooth" or "quick").
type OpenClip func(c tagging.Clip, which string) (io.ReadCloser, error)

// Archive writes a session as one ZIP file, entry by entry, so that an hour of
// clips needs no room: the balls as CSV, the observations as Web Annotations,
// captions on the session clock and on each recording's, and with open the
// clips; the annotations then point to them. A clip that can't be read is named
// in missing.txt rather than losing the rest. made is the time of the entries.
func Archive(w io.Writer, s Session, made time.Time, open OpenClip) error {
	a := &archive{zip: zip.NewWriter(w), made: made}
	source := s.Originals
	var clips []clipEntry
	if open != nil {
		clips = entries(s.Balls)
		source = inArchive(clips, s.Originals)
	}
	a.file("readme.txt", func(w io.Writer) error { _, err := io.WriteString(w, readme(s, open != nil)); return err })
	a.file("balls.csv", func(w io.Writer) error { return CSV(w, s.Playlist(), s.Words) })
	a.file("annotations.jsonld", func(w io.Writer) error { return Annotations(w, s, source) })
	a.file("captions/session.vtt", func(w io.Writer) error { return WebVTT(w, s.Title, s.SessionCues()) })
	for _, r := range s.Lane.Recordings {
		name := fmt.Sprintf("captions/recording-%d-%s.vtt", r.ID, r.Camera)
		a.file(name, func(w io.Writer) error { return WebVTT(w, s.Title, s.RecordingCues(r.ID)) })
	}
	var missing []string
	for _, e := range clips {
		if a.err != nil {
			break
		}
		file, err := open(e.clip, e.which)
		if err != nil {
			missing = append(missing, e.name)
			continue
		}
		a.film(e.name, file)
	}
	if len(missing) > 0 {
		text := "These clips could not be read when the archive was made. Take it out again later.\n\n" + strings.Join(missing, "\n") + "\n"
		a.file("missing.txt", func(w io.Writer) error { _, err := io.WriteString(w, text); return err })
	}
	if a.err != nil {
		return a.err
	}
	return a.zip.Close()
}

// archive keeps the first error, after which it writes no more.
type archive struct {
	zip  *zip.Writer
	made time.Time
	err  error
}

func (a *archive) file(name string, write func(io.Writer) error) {
	a.entry(&zip.FileHeader{Name: name, Method: zip.Deflate, Modified: a.made}, write)
}

// film keeps a film as it is: it does not get smaller.
func (a *archive) film(name string, file io.ReadCloser) {
	defer func() { _ = file.Close() }()
	a.entry(&zip.FileHeader{Name: name, Method: zip.Store, Modified: a.made}, func(w io.Writer) error {
		_, err := io.Copy(w, file)
		return err
	})
}

func (a *archive) entry(h *zip.FileHeader, write func(io.Writer) error) {
	if a.err != nil {
		return
	}
	w, err := a.zip.CreateHeader(h)
	if err == nil {
		err = write(w)
	}
	if err != nil {
		a.err = fmt.Errorf("%s: %w", h.Name, err)
	}
}

type clipEntry struct {
	name, which string
	clip        tagging.Clip
	lead        media.Micros
}

// entries names the clips that have a file.
func entries(balls []tagging.Ball) []clipEntry {
	var out []clipEntry
	taken := map[string]bool{}
	for _, b := range balls {
		for _, c := range b.Clips {
			which, file := c.Best()
			if file == nil {
				continue
			}
			name := fmt.Sprintf("clips/ball-%03d-%s.mp4", b.Number, c.Camera)
			if taken[name] {
				name = fmt.Sprintf("clips/ball-%03d-%s-%d.mp4", b.Number, c.Camera, c.RecordingID)
			}
			taken[name] = true
			out = append(out, clipEntry{name, which, c, file.Lead})
		}
	}
	return out
}

// inArchive points to the clips in the archive. A clip's chosen start lies
// lead after its file's first frame.
func inArchive(clips []clipEntry, otherwise Source) Source {
	byID := map[int64]clipEntry{}
	for _, e := range clips {
		byID[e.clip.ID] = e
	}
	return func(c tagging.Clip) (string, media.Micros) {
		if e, ok := byID[c.ID]; ok {
			return e.name, c.Span.Start - e.lead
		}
		return otherwise(c)
	}
}

func readme(s Session, clips bool) string {
	var b strings.Builder
	line := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	line("%s, %s", oneLine(s.Title), s.HeldOn)
	line("%d balls", len(s.Balls))
	line("")
	line("balls.csv           every ball with what was seen on it; times are m:ss on the session clock")
	line("annotations.jsonld  every observation as a W3C Web Annotation")
	line("captions/           what was seen as WebVTT: session.vtt on the session clock, the others on their recording's")
	if clips {
		line("clips/              one film a ball and camera; the annotations' times are on the clips' own clocks")
	} else {
		line("")
		line("The annotations' times are on the clocks of the recordings, as they came in.")
	}
	line("")
	if !s.Names {
		line("Players and coders are given by number. Notes and the names of blocks are as they were typed.")
	}
	line("Footage of people is personal data: keep it safe, and no longer than it is needed.")
	return b.String()
}
