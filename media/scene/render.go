package scene

import (
	"bufio"
	"context"
	"errors"
	"io"
	"os"
	"sync"

	"netreel/media/fault"
	"netreel/media/scene/sound"
)

// Film is what an encoder has to make: frames of YUV 4:2:0 (planar, BT.709,
// limited range) of a size and rate, with a sound file beside them.
type Film struct {
	Width, Height int
	FPS           float64
	Sound         string // path of a WAVE file, "" for a film without sound
	Dst           string // path of the MP4 to write
	Preset        string // x264 preset
}

// Encoder turns frames into a film. pictures writes every frame, one after the
// other, to w; EncodeRaw returns when the film is complete.
type Encoder interface {
	EncodeRaw(ctx context.Context, f Film, pictures func(w io.Writer) error) error
}

// Render plans a scene and films it to dst. progress, which may be nil, is told
// the share that is done, 0 to 1. On any error nothing of worth is at dst.
func Render(ctx context.Context, enc Encoder, s Setting, dst string, progress func(float64)) (Truth, error) {
	const op = "scene.Render"
	show, err := New(s)
	if err != nil {
		return Truth{}, err
	}
	film := Film{Width: s.Width, Height: s.Height, FPS: s.FPS, Dst: dst, Preset: show.set.Preset}
	if track := show.Sound(); track != nil {
		if film.Sound, err = writeSound(track); err != nil {
			return Truth{}, fault.Wrap(err, fault.Unavailable, op, "The sound could not be written: free some disk space and try again.")
		}
		// It lies among temporary files; if it stays, nothing breaks.
		defer func() { _ = os.Remove(film.Sound) }()
	}
	err = enc.EncodeRaw(ctx, film, func(w io.Writer) error { return show.Film(ctx, w, progress) })
	if err != nil {
		return Truth{}, fault.At(op, err)
	}
	return show.Truth(), nil
}

// writeSound writes a track to a temporary file and gives its path. A file that
// could not be finished is removed.
func writeSound(track *sound.Track) (path string, err error) {
	file, err := os.CreateTemp("", "netreel-scene-*.wav")
	if err != nil {
		return "", err
	}
	w := bufio.NewWriterSize(file, 1<<16)
	err = errors.Join(track.WriteWAV(w), w.Flush(), file.Close())
	if err != nil {
		return "", errors.Join(err, os.Remove(file.Name()))
	}
	return file.Name(), nil
}

// filmers is how many goroutines paint.
const filmers = 2

// Film writes every frame in order to w, painted by two goroutines at once.
func (s *Show) Film(ctx context.Context, w io.Writer, progress func(float64)) error {
	ctx, stop := context.WithCancel(ctx)
	var wait sync.WaitGroup
	defer wait.Wait()
	defer stop()
	// Goroutine k paints frames k, k+2, ...; each has two buffers under way, so
	// that it paints one while the other is written.
	ready := make([]chan []byte, filmers)
	spare := make([]chan []byte, filmers)
	for k := range filmers {
		ready[k], spare[k] = make(chan []byte, 2), make(chan []byte, 2)
		size := s.set.Width * s.set.Height * 3 / 2
		spare[k] <- make([]byte, size)
		spare[k] <- make([]byte, size)
		wait.Go(func() {
			f := s.NewFilmer()
			for i := k; i < s.Frames(); i += filmers {
				select {
				case buf := <-spare[k]:
					copy(buf, f.Frame(i))
					ready[k] <- buf
				case <-ctx.Done():
					return
				}
			}
		})
	}
	for i := range s.Frames() {
		select {
		case buf := <-ready[i%filmers]:
			if _, err := w.Write(buf); err != nil {
				return err
			}
			spare[i%filmers] <- buf
		case <-ctx.Done():
			return context.Cause(ctx)
		}
		if progress != nil && (i%25 == 24 || i+1 == s.Frames()) {
			progress(float64(i+1) / float64(s.Frames()))
		}
	}
	return nil
}
