package main

import (
	"context"
	"fmt"

	"github.com/google/uuid"

	"netreel/media"
	"netreel/media/scene/space"
)

// What the coach of the demo calls narrow and too wide, in centimetres.
const (
	demoNarrow = 60
	demoWide   = 85
)

type demoPoint struct {
	X float64 `json:"x"`
	Y float64 `json:"y"`
}

// seenAt is where a place of the lane, in metres, is in the film's picture.
func (f demoFilm) seenAt(x, y, z float64) demoPoint {
	set := f.truth.Setting
	p, _, _ := f.truth.Camera.Project(space.V{X: x, Y: y, Z: z})
	return demoPoint{p.X / float64(set.Width), p.Y / float64(set.Height)}
}

// measure calibrates the film's camera on its own creases and measures the
// struck balls that are coded, as a coach's clicks would: with the feet where
// the truth file has them, on the line of the middle stump. What is measured
// already stays.
func (d *demo) measure(ctx context.Context, session int64, film demoFilm) error {
	lane, err := d.lane(ctx, session)
	if err != nil {
		return err
	}
	recording := fmt.Sprintf("/api/recordings/%d/calibration", lane.Recordings[0].ID)
	var sheet struct {
		Calibration *struct{}
		Marks       []struct {
			Key    string
			Set    string
			Weak   bool
			Along  float64 `json:"along_m"`
			Across float64 `json:"across_m"`
			Up     float64 `json:"up_m"`
		}
	}
	if err := d.coach.get(ctx, recording, &sheet); err != nil {
		return err
	}
	if sheet.Calibration == nil {
		type click struct {
			Mark string `json:"mark"`
			demoPoint
		}
		var clicks []click
		for _, m := range sheet.Marks {
			if m.Set == "strikers-end" && !m.Weak {
				clicks = append(clicks, click{m.Key, film.seenAt(m.Along, m.Across, m.Up)})
			}
		}
		if err := d.coach.put(ctx, recording, map[string]any{"at_us": 0, "clicks": clicks}, nil); err != nil {
			return err
		}
		for _, player := range d.cast.players {
			limits := map[string]any{"narrow_below_cm": demoNarrow, "wide_from_cm": demoWide}
			if err := d.coach.put(ctx, fmt.Sprintf("/api/players/%d/yardsticks", player), limits, nil); err != nil {
				return err
			}
		}
	}
	var there []struct {
		BallID int64 `json:"ball_id"`
	}
	if err := d.coach.get(ctx, fmt.Sprintf("/api/sessions/%d/readings", session), &there); err != nil {
		return err
	}
	measured := map[int64]bool{}
	for _, r := range there {
		measured[r.BallID] = true
	}
	law := film.truth.Laws
	for _, t := range film.truth.Balls[:max(0, len(film.truth.Balls)-demoLeft)] {
		b, ok := lane.ballOf(media.Span{Start: media.FromSeconds(t.Release), End: media.FromSeconds(t.End)})
		if !ok || t.Contact == nil || measured[b.ID] {
			continue
		}
		front := law.PoppingFromBowling + t.Body.CreaseDepth
		back := front - t.Body.Base
		points := map[string]demoPoint{"front-heel": film.seenAt(front, 0, 0), "back-heel": film.seenAt(back, 0, 0)}
		if err := d.coach.post(ctx, "/api/readings", map[string]any{
			"uuid": uuid.NewSHA1(uuid.NameSpaceOID, fmt.Appendf(nil, "measured %d", b.ID)), "ball_id": b.ID, "recording_id": lane.Recordings[0].ID,
			"status": "accepted", "sights": map[string]any{"contact": map[string]any{"at_us": media.FromSeconds(*t.Contact), "points": points}},
		}, nil); err != nil {
			return err
		}
	}
	return nil
}
