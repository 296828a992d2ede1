package ffmpeg

import (
	"context"
	"fmt"
	"io"
	"strings"

	"netreel/media"
	"netreel/media/fault"
)

// Compose makes one strip of a film: H.264 and plain PCM in a MOV, always with
// sound (silence if the clip has none), of exactly as many pictures as the
// strip says. Strips of one size and frame rate can be joined. On failure no
// file is left.
func (t *Tool) Compose(ctx context.Context, s media.Strip, dst string, onProgress func(float64)) error {
	const op = "ffmpeg.Compose"
	if s.Width < 2 || s.Height < 2 || s.Width%2 != 0 || s.Height%2 != 0 || !(s.FPS >= 1 && s.FPS <= 240) || s.Span.Length() <= 0 {
		return fault.New(fault.Invalid, op, "A film needs an even width and height, 1 to 240 pictures a second and some length.")
	}
	args := cardArgs(s, dst)
	if s.Src != "" {
		src, err := t.source(ctx, s.Src)
		if err != nil {
			return err
		}
		if err := checkSpan(op, s.Span, src); err != nil {
			return err
		}
		part, err := t.stretch(ctx, op, s.Src, s.Span)
		if err != nil {
			return err
		}
		args = stripArgs(s, src, part, dst)
	}
	if err := t.run(ctx, op, args, &meter{total: s.Pictures(), fn: onProgress}, process{}); err != nil {
		return discard(err, dst)
	}
	return t.finish(ctx, op, dst, s.Length(), media.FromSeconds(1/s.FPS))
}

// Join makes one MP4 of strips that Compose made, in order. lengths are theirs.
// subtitles is the path of a WebVTT file that goes in as a track of its own, or
// "". On failure no file is left.
func (t *Tool) Join(ctx context.Context, strips []string, lengths []media.Micros, subtitles, dst string, onProgress func(float64)) error {
	const op = "ffmpeg.Join"
	if len(strips) == 0 || len(strips) != len(lengths) {
		return fault.New(fault.Invalid, op, "There is nothing to join.")
	}
	whole := media.Micros(0)
	for _, l := range lengths {
		whole += l
	}
	first, err := t.Probe(ctx, strips[0])
	if err != nil {
		return err
	}
	pictures := int(whole.Seconds() * first.FrameRate)
	list := joinList(strips, lengths)
	feed := func(w io.Writer) error {
		_, err := io.WriteString(w, list)
		return err
	}
	if err := t.run(ctx, op, joinArgs(subtitles, dst), &meter{total: pictures, fn: onProgress}, process{stdin: feed}); err != nil {
		return discard(err, dst)
	}
	return t.finish(ctx, op, dst, whole, media.Second/10)
}

// joinList writes the script of ffmpeg's concat demuxer.
func joinList(strips []string, lengths []media.Micros) string {
	var list strings.Builder
	list.WriteString("ffconcat version 1.0\n")
	for i, s := range strips {
		fmt.Fprintf(&list, "file '%s'\nduration %s\n", strings.ReplaceAll("file:"+s, "'", `'\''`), seconds(lengths[i]))
	}
	return list.String()
}

// contain returns the largest even size with a picture's shape that fits into
// a frame.
func contain(width, height, frameWidth, frameHeight int) (w, h int) {
	scale := min(float64(frameWidth)/float64(width), float64(frameHeight)/float64(height))
	even := func(side int, limit int) int {
		return min(limit/2*2, max(2, 2*int(float64(side)*scale/2+0.5)))
	}
	return even(width, frameWidth), even(height, frameHeight)
}

// escape makes a path one value in a filter's options: first against the
// option's own signs, then against those of the filter graph.
func escape(path string) string {
	option := strings.NewReplacer(`\`, `\\`, `'`, `\'`, `:`, `\:`)
	graph := strings.NewReplacer(`\`, `\\`, `'`, `\'`, `[`, `\[`, `]`, `\]`, `,`, `\,`, `;`, `\;`)
	return graph.Replace(option.Replace(path))
}
