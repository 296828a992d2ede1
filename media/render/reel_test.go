package render_test

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"netreel/media"
	"netreel/media/fault"
	"netreel/media/ffmpeg"
	"netreel/media/ffmpeg/fftest"
	"netreel/media/render"
)

func TestMain(m *testing.M) { os.Exit(fftest.Run(m)) }

func newTool(t *testing.T) *ffmpeg.Tool {
	t.Helper()
	tool, err := ffmpeg.Find(slog.New(slog.NewTextHandler(t.Output(), nil)))
	if err != nil {
		t.Fatal(err)
	}
	return tool
}

const hostile = "it's 100%: {\\an8} %{localtime}\n\n<b>[x], y;</b> --> \\N שלום مرحبا 🏏 \u202e\x00\x1b"

func job(t *testing.T, dir string) render.Job {
	t.Helper()
	const s = media.Second
	return render.Job{
		Card: render.Card{Title: hostile, Lines: []string{"Indoor hall", hostile}},
		Pieces: []render.Piece{
			{Src: fftest.Make(t, fftest.Film{Seconds: 3, BFrames: 2}), From: 300_000, To: 2 * s, Title: "Ball 1", Note: hostile, Captions: []render.Caption{
				{Span: media.Span{Start: 0, End: s}, Text: "Pull"},
				{Span: media.Span{Start: 700_000, End: 5 * s}, Text: hostile},
				{Span: media.Span{Start: 2_500_000, End: 3 * s}, Text: "never shown"},
			}},
			{Src: fftest.Make(t, fftest.Film{Seconds: 3, Turned: true}), From: 0, To: s},
			{Src: fftest.Make(t, fftest.Film{Seconds: 3, FPS: 25, Sound: "none"}), From: s, To: 9 * s, Title: "Ball 3"},
		},
		Width: 640, Height: 360, FPS: 50,
		Dst: filepath.Join(dir, "film.mp4"),
	}
}

// film is a reel's picture as a test sees it.
func film(t *testing.T, tool *ffmpeg.Tool, path string) (numbers []int, clicks []float64) {
	t.Helper()
	err := tool.Pictures(t.Context(), path, ffmpeg.PictureSpec{Width: fftest.Width, Height: fftest.Height}, func(p ffmpeg.Picture) error {
		numbers = append(numbers, fftest.Number(p.Grey))
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	const rate = 16000
	var samples []float32
	err = tool.Sound(t.Context(), path, ffmpeg.SoundSpec{Rate: rate}, func(s []float32) error {
		samples = append(samples, s...)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return numbers, fftest.Clicks(samples, rate)
}

func TestReel(t *testing.T) {
	t.Parallel()
	tool := newTool(t)
	// A folder whose name holds every sign that the filters' language knows.
	dir := filepath.Join(t.TempDir(), `it's; [a],b:c=%d "x"\y`)
	if err := os.Mkdir(dir, 0o700); err != nil {
		t.Fatal(err)
	}
	j := job(t, dir)
	last := 0.0
	cues, err := render.Reel(t.Context(), tool, j, func(p float64) {
		if p < last || p > 1 {
			t.Errorf("progress went from %v to %v", last, p)
		}
		last = p
	})
	if err != nil {
		t.Fatal(err)
	}
	if last != 1 {
		t.Errorf("progress ended at %v", last)
	}
	left, err := os.ReadDir(dir)
	if err != nil || len(left) != 1 {
		t.Errorf("folder holds %v, want the film alone (%v)", left, err)
	}
	// Card 3 s, then 1.7 s, 1 s and 2 s at 50 pictures a second.
	numbers, clicks := film(t, tool, j.Dst)
	if len(numbers) != 150+85+50+100 {
		t.Fatalf("film has %d pictures", len(numbers))
	}
	for i := range 85 {
		if got := numbers[150+i]; got != 15+i {
			t.Fatalf("picture %d of the first ball is %d, want %d", i, got, 15+i)
		}
	}
	for i := range 100 {
		if got := numbers[150+85+50+i]; got != 25+i/2 {
			t.Fatalf("picture %d of the third ball is %d, want %d", i, got, 25+i/2)
		}
	}
	// The clicks of the first clip at 0.5 and 1.5 s, of the second at 0.5 s.
	want := []float64{3 + 0.2, 3 + 1.2, 4.7 + 0.5}
	for i, at := range want {
		if len(clicks) != len(want) || max(clicks[i]-at, at-clicks[i]) > 0.02 {
			t.Fatalf("clicks at %v, want %v", clicks, want)
		}
	}
	checkTrack(t, j.Dst, cues)
}

// checkTrack reads the subtitle track back by ffmpeg, which writes it as SRT.
func checkTrack(t *testing.T, path string, cues []render.Cue) {
	t.Helper()
	srt, err := exec.CommandContext(t.Context(), "ffmpeg", "-nostdin", "-v", "error", "-i", "file:"+path, "-map", "0:s:0", "-f", "srt", "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	like := strings.NewReplacer(`\`, "\u29f5", "{", "(", "}", ")")
	var want strings.Builder
	for i, c := range cues {
		fmt.Fprintf(&want, "%d\n%s --> %s\n%s\n\n", i+1, srtTime(c.Span.Start), srtTime(c.Span.End), like.Replace(c.Text))
	}
	if got := strings.ReplaceAll(string(srt), "\r", ""); strings.TrimSpace(got) != strings.TrimSpace(want.String()) {
		t.Errorf("track holds\n%s\nwant\n%s", got, want.String())
	}
	if strings.Contains(string(srt), "never shown") {
		t.Error("a caption outside its piece is in the film")
	}
}

func srtTime(m media.Micros) string {
	ms := m / 1000
	return fmt.Sprintf("%02d:%02d:%02d,%03d", ms/3_600_000, ms/60_000%60, ms/1000%60, ms%1000)
}

func TestReelBurned(t *testing.T) {
	t.Parallel()
	tool := newTool(t)
	j := job(t, t.TempDir())
	j.Burn, j.Pieces = true, j.Pieces[:1]
	j.Pieces[0].Captions = append(j.Pieces[0].Captions, render.Caption{
		Span: media.Span{Start: media.Second, End: 2 * media.Second}, Text: "Base: 74 ± 3 cm\nFront knee: 141 ± 4°", Aside: true,
	})
	cues, err := render.Reel(t.Context(), tool, j, nil)
	if err != nil {
		t.Fatal(err)
	}
	if len(cues) == 0 {
		t.Error("no cues")
	}
	p, err := exec.CommandContext(t.Context(), "ffprobe", "-v", "error", "-show_entries", "stream=codec_type", "-of", "csv=p=0", j.Dst).Output()
	if err != nil || string(p) != "video\naudio\n" {
		t.Errorf("streams are %q (%v)", p, err)
	}
	// White letters: on the card, in the corner, at the bottom from the first
	// caption's time on, and in the other corner from the figures' time on.
	lit := map[string]int{}
	err = tool.Pictures(t.Context(), j.Dst, ffmpeg.PictureSpec{Width: 640, Height: 360}, func(p ffmpeg.Picture) error {
		switch p.At {
		case media.Second:
			lit["card"] = bright(p.Grey, 100, 260)
		case 3_100_000:
			lit["corner"], lit["first caption"] = bright(p.Grey, 45, 150), bright(p.Grey, 300, 360)
			lit["no figures yet"] = brightIn(p.Grey, 400, 640, 15, 60)
		case 4_660_000:
			lit["second caption"] = bright(p.Grey, 270, 360)
			lit["figures"] = brightIn(p.Grey, 400, 640, 15, 60)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	for _, where := range []string{"card", "corner", "first caption", "second caption", "figures"} {
		if lit[where] < 50 {
			t.Errorf("%s has %d bright points: no letters", where, lit[where])
		}
	}
	if lit["no figures yet"] >= lit["figures"] {
		t.Errorf("the figures stand there before their time: %v", lit)
	}
	if lit["second caption"] < 2*lit["first caption"] {
		t.Errorf("the long caption is no larger than the short one: %v", lit)
	}
}

// bright counts the bright points in some rows of a picture 640 wide.
func bright(grey []byte, from, to int) int { return brightIn(grey, 0, 640, from, to) }

// brightIn counts those in some of its columns too.
func brightIn(grey []byte, left, right, from, to int) int {
	n := 0
	for y := from; y < to; y++ {
		for _, v := range grey[y*640+left : y*640+right] {
			if v > 200 {
				n++
			}
		}
	}
	return n
}

func TestReelFaults(t *testing.T) {
	t.Parallel()
	tool := newTool(t)
	for _, c := range []struct {
		name   string
		change func(*render.Job)
		kind   fault.Kind
		says   string
	}{
		{"no balls", func(j *render.Job) { j.Pieces = nil }, fault.Invalid, "no balls yet"},
		{"clip missing", func(j *render.Job) { j.Pieces[1].Src += "x" }, fault.NotFound, "Ball 2"},
		{"nothing shown", func(j *render.Job) { j.Pieces[2].From = 8 * media.Second }, fault.Invalid, "Ball 3"},
		{"no folder", func(j *render.Job) { j.Dst = filepath.Join(filepath.Dir(j.Dst), "none", "film.mp4") }, fault.Unavailable, "disk space"},
		{"odd size", func(j *render.Job) { j.Width = 641 }, fault.Invalid, "even"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			dir := t.TempDir()
			j := job(t, dir)
			c.change(&j)
			_, err := render.Reel(t.Context(), tool, j, nil)
			if fault.KindOf(err) != c.kind || !strings.Contains(fault.Message(err), c.says) {
				t.Errorf("got %v: %q", fault.KindOf(err), fault.Message(err))
			}
			if left, _ := os.ReadDir(dir); len(left) > 0 {
				t.Errorf("left behind: %v", left)
			}
		})
	}
}

func TestReelStops(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	ctx, cancel := context.WithCancelCause(t.Context())
	enough := errors.New("enough")
	_, err := render.Reel(ctx, newTool(t), job(t, dir), func(float64) { cancel(enough) })
	if !errors.Is(err, enough) {
		t.Errorf("got %v", err)
	}
	left, _ := os.ReadDir(dir)
	if names := slices.Collect(func(yield func(string) bool) {
		for _, e := range left {
			if !yield(e.Name()) {
				return
			}
		}
	}); len(names) > 0 {
		t.Errorf("left behind: %v", names)
	}
}
