package main

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"netreel/media"
	"netreel/media/split"
)

// demoSeed is the seed of the demo's footage and of its observations.
const demoSeed = 20260131

// demoSummary is what `netreel demo --once` prints.
type demoSummary struct {
	Recordings   int                `json:"recordings"`
	Deliveries   demoDeliveries     `json:"deliveries"`
	Clips        int                `json:"clips"`
	Observations int                `json:"observations"`
	Reels        int                `json:"reels"`
	Seconds      map[string]float64 `json:"seconds"`
}

type demoDeliveries struct {
	Found          int     `json:"found"`
	True           int     `json:"true"`
	Recall         float64 `json:"recall"`
	Precision      float64 `json:"precision"`
	ContactErrorMS float64 `json:"contact_error_ms"` // median
}

// runDemo starts a server with an invented squad, takes its footage the real
// way (upload, split, clips, codes, reels) and goes on serving, or with
// --once prints a summary and ends. Run again on the same folder it finds
// what is there and goes on from it.
func runDemo(ctx context.Context, c call) error {
	fs, finish := newFlags("demo", c.getenv, c.stderr)
	once := fs.Bool("once", false, "print a summary as JSON and end")
	if f := fs.Lookup("data"); f.Value.Set("data/demo") == nil {
		f.DefValue = "data/demo"
	}
	cfg, err := finish(c.args)
	if err != nil {
		return err
	}
	app, err := New(ctx, cfg, c.log)
	if err != nil {
		return err
	}
	d := &demo{app: app, out: c.stderr, dir: filepath.Join(cfg.Data, "footage"), sum: demoSummary{Seconds: map[string]float64{}}}
	return app.runWhile(ctx, func(ctx context.Context) error {
		if err := d.make(ctx); err != nil {
			return err
		}
		if *once {
			enc := json.NewEncoder(c.stdout)
			enc.SetIndent("", "  ")
			return enc.Encode(d.sum)
		}
		links, err := d.links(ctx)
		if err != nil {
			return err
		}
		fmt.Fprint(c.stdout, links)
		<-ctx.Done()
		return nil
	})
}

// demo is one making of the demo.
type demo struct {
	app            *App
	out            io.Writer
	dir            string // where the film and its truth lie
	cast           demoCast
	coach, analyst *client
	sum            demoSummary
}

// make brings everything up, step by step; each step finds what an earlier run
// has done.
func (d *demo) make(ctx context.Context) error {
	begun := time.Now()
	var film demoFilm
	var session int64
	steps := []struct {
		name, says string
		do         func() error
	}{
		{"render", "Rendering a net session of about four minutes", func() (err error) {
			film, err = d.render(ctx)
			return err
		}},
		{"people", "The squad and its people", func() error { return d.people(ctx, film) }},
		{"upload", "Uploading it", func() (err error) {
			session, err = d.upload(ctx, film)
			return err
		}},
		{"split", "Finding the deliveries", func() error { return d.split(ctx, session, film) }},
		{"clips", "Cutting the clips", func() error { return d.clips(ctx, session, film) }},
		{"coding", "Coding them as the truth file says", func() error { return d.code(ctx, session, film) }},
		{"measures", "Calibrating the camera and measuring", func() error { return d.measure(ctx, session, film) }},
		{"look-back", "What the coach wants of each, and how it felt", func() error { return d.lookback(ctx, session, film) }},
		{"plan", "What was pressed at the net, and a plan for the next session", func() error { return d.plan(ctx, session) }},
		{"reels", "Making the reels", func() error { return d.reels(ctx) }},
	}
	for _, s := range steps {
		from := time.Now()
		fmt.Fprintf(d.out, "%s ...\n", s.says)
		if err := s.do(); err != nil {
			return fmt.Errorf("demo, %s: %w", s.name, err)
		}
		d.sum.Seconds[s.name] = seconds(from)
	}
	d.sum.Seconds["total"] = seconds(begun)
	return nil
}

func seconds(from time.Time) float64 { return float64(time.Since(from).Milliseconds()) / 1000 }

func (d *demo) people(ctx context.Context, film demoFilm) error {
	secret, err := d.app.coachLink(ctx, demoSquad, demoCoach)
	if err != nil {
		return err
	}
	d.cast, d.coach, d.analyst, err = castDemo(ctx, d.app, secret, film.batters())
	return err
}

// links makes a fresh sign-in link for each of the three.
func (d *demo) links(ctx context.Context) (string, error) {
	var b strings.Builder
	fmt.Fprintf(&b, "\nnetreel is at %s. One-time sign-in links, good for seven days:\n", d.app.URL())
	for _, who := range []struct {
		role string
		id   int64
	}{{"analyst", d.cast.analyst}, {"coach", d.cast.coach}, {"player", d.cast.player}} {
		secret, err := d.app.store.NewLinkFor(ctx, who.id, 7*24*time.Hour)
		if err != nil {
			return "", err
		}
		fmt.Fprintf(&b, "  %-8s %s/join/%s\n", who.role, d.app.URL(), secret)
	}
	b.WriteString("\nPress Ctrl+C to stop.\n")
	return b.String(), nil
}

// split waits for the split, scores it against the truth, and does what an
// analyst would: discards what is no ball, adds what was missed, accepts.
func (d *demo) split(ctx context.Context, session int64, film demoFilm) error {
	lane, err := d.waitForSplit(ctx, session)
	if err != nil {
		return err
	}
	d.sum.Recordings = len(lane.Recordings)
	truth := film.deliveries()
	score := split.Score(lane.found(), truth, 500*media.Second/1000)
	d.sum.Deliveries = demoDeliveries{
		Found: len(lane.found()), True: len(truth), Recall: score.Recall, Precision: score.Precision,
		ContactErrorMS: float64(score.ContactMedian) / 1000,
	}
	edit := lane.checkAgainst(film)
	if len(edit) == 0 {
		return nil
	}
	return d.analyst.post(ctx, fmt.Sprintf("/api/sessions/%d/lane-edits", session), map[string]any{"balls": edit}, nil)
}

// truthFile is where the truth of a film lies.
func truthFile(film string) string {
	return strings.TrimSuffix(film, filepath.Ext(film)) + ".truth.json"
}

func exists(path string) bool {
	_, err := os.Stat(path)
	return err == nil
}
