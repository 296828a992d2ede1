package main

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"netreel/media"
	"netreel/media/ffmpeg"
	"netreel/media/scene"
)

// demoFilm is the rendered footage with its truth.
type demoFilm struct {
	path  string
	truth scene.Truth
}

// filmer lets a scene be encoded by the house's ffmpeg.
type filmer struct{ tool *ffmpeg.Tool }

func (f filmer) EncodeRaw(ctx context.Context, film scene.Film, pictures func(io.Writer) error) error {
	return f.tool.EncodeRaw(ctx, ffmpeg.Raw(film), pictures)
}

// renderFilm renders a scene into a folder, or finds it there. The film is
// there only when its truth file is: that one is written last.
func renderFilm(ctx context.Context, tool *ffmpeg.Tool, s scene.Setting, dir string, progress func(float64)) (demoFilm, error) {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return demoFilm{}, err
	}
	film := demoFilm{path: filepath.Join(dir, fmt.Sprintf("winter-nets-%d.mp4", s.Seed))}
	if raw, err := os.ReadFile(truthFile(film.path)); err == nil {
		if json.Unmarshal(raw, &film.truth) == nil && exists(film.path) {
			return film, nil
		}
	}
	truth, err := scene.Render(ctx, filmer{tool}, s, film.path, progress)
	if err != nil {
		return film, err
	}
	film.truth = truth
	raw, err := json.MarshalIndent(truth, "", " ")
	if err != nil {
		return film, err
	}
	return film, os.WriteFile(truthFile(film.path), raw, 0o644)
}

func (d *demo) render(ctx context.Context) (demoFilm, error) {
	told := 0
	return renderFilm(ctx, d.app.tool, scene.WinterSession(demoSeed), d.dir, func(share float64) {
		if tenth := int(share * 10); tenth > told {
			told = tenth
			fmt.Fprintf(d.out, "  %d %%\n", tenth*10)
		}
	})
}

// deliveries is the truth as the split should find it. What counts as a
// ball's stretch is the split's to say; for matching, release to end serves.
func (f demoFilm) deliveries() []media.Delivery {
	all := make([]media.Delivery, len(f.truth.Balls))
	for i, b := range f.truth.Balls {
		all[i] = media.Delivery{Start: media.FromSeconds(b.Release), End: media.FromSeconds(b.End)}
		if b.Contact != nil {
			c := media.FromSeconds(*b.Contact)
			all[i].Contact = &c
		}
	}
	return all
}

// demoBlock is a Block of the API.
type demoBlock struct {
	Name     string       `json:"name"`
	StartUS  media.Micros `json:"start_us"`
	EndUS    media.Micros `json:"end_us"`
	PlayerID int64        `json:"player_id"`
	Bowling  string       `json:"bowling"`
	Feed     string       `json:"feed"`
	Bat      string       `json:"bat"`
	Aim      int          `json:"aim"`

	Challenge bool   `json:"challenge"`
	Feeder    string `json:"feeder"`
}

func (f demoFilm) blocks(players map[string]int64) []demoBlock {
	all := make([]demoBlock, len(f.truth.Blocks))
	for i, b := range f.truth.Blocks {
		all[i] = demoBlock{
			Name: b.Name, StartUS: media.FromSeconds(b.Start), EndUS: media.FromSeconds(b.End), PlayerID: players[b.Player],
			Bowling: b.Bowling, Feed: b.Feed, Bat: b.Bat, Aim: b.Balls, Challenge: b.Drill == scene.LastOvers,
		}
		if b.Feed != "machine" {
			all[i].Feeder = demoCoach
		}
	}
	return all
}

// batters are the players of the film, each once, in order.
func (f demoFilm) batters() []string {
	var names []string
	known := map[string]bool{}
	for _, b := range f.truth.Blocks {
		if !known[b.Player] {
			known[b.Player] = true
			names = append(names, b.Player)
		}
	}
	return names
}

// upload makes the session and sends the film up as the analyst would, once.
func (d *demo) upload(ctx context.Context, film demoFilm) (session int64, err error) {
	var there []struct {
		ID    int64  `json:"id"`
		Title string `json:"title"`
	}
	if err := d.analyst.get(ctx, "/api/sessions", &there); err != nil {
		return 0, err
	}
	for _, s := range there {
		if s.Title == demoTitle {
			session = s.ID
		}
	}
	if session == 0 {
		var made struct {
			ID int64 `json:"id"`
		}
		var players []int64
		for _, name := range film.batters() {
			players = append(players, d.cast.players[name])
		}
		in := map[string]any{"title": demoTitle, "held_on": "2026-01-31", "place": demoPlace, "players": players,
			"note": "Throw-downs to get the front foot going, then the machine short, off spin, and twelve balls to finish with the narrow bat. Helmets on for the machine."}
		if err := d.analyst.post(ctx, "/api/sessions", in, &made); err != nil {
			return 0, err
		}
		session = made.ID
	}
	lane, err := d.lane(ctx, session)
	if err != nil || len(lane.Recordings) > 0 {
		return session, err
	}
	return session, d.analyst.upload(ctx, film.path, session, string(media.SideOn))
}
