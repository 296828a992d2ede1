package main

import (
	"context"
	"fmt"
	"net/url"
)

// demoReel is a ReelInput of the API.
type demoReel struct {
	Title    string         `json:"title"`
	Note     string         `json:"note"`
	Question *string        `json:"question,omitempty"`
	Players  []int64        `json:"players"`
	Balls    []demoReelBall `json:"balls,omitempty"`
}

type demoReelBall struct {
	BallID int64  `json:"ball_id"`
	Title  string `json:"title"`
	Note   string `json:"note"`
}

// reels makes the demo's reels, each once: two from questions, one
// hand-picked.
func (d *demo) reels(ctx context.Context) error {
	var there []struct {
		Title string `json:"title"`
	}
	if err := d.coach.get(ctx, "/api/reels", &there); err != nil {
		return err
	}
	have := map[string]bool{}
	for _, r := range there {
		have[r.Title] = true
	}
	wanted, err := d.wantedReels(ctx)
	if err != nil {
		return err
	}
	for _, r := range wanted {
		if have[r.Title] {
			continue
		}
		if err := d.coach.post(ctx, "/api/reels", r, nil); err != nil {
			return err
		}
	}
	d.sum.Reels = len(wanted)
	return nil
}

func (d *demo) wantedReels(ctx context.Context) ([]demoReel, error) {
	first := d.cast.players[d.cast.first]
	pulls := url.Values{"shot": {"pull"}, "base": {"narrow"}}.Encode()
	middled := url.Values{"contact": {"middled"}}.Encode()
	keep := demoReel{Title: "Drives to keep", Note: "Watch the front foot and the head. Then the same tomorrow.", Players: []int64{first}}
	var found struct {
		Items []struct {
			Ball struct {
				ID int64 `json:"id"`
			} `json:"ball"`
		} `json:"items"`
	}
	drives := url.Values{"shot": {"drive"}, "contact": {"middled"}, "player": {fmt.Sprint(first)}}.Encode()
	if err := d.coach.get(ctx, "/api/find?limit=5&"+drives, &found); err != nil {
		return nil, err
	}
	for i, it := range found.Items {
		keep.Balls = append(keep.Balls, demoReelBall{BallID: it.Ball.ID, Title: fmt.Sprintf("Drive %d", i+1)})
	}
	return []demoReel{
		{Title: "Pulls with a narrow base", Note: "What happens when the feet are close together.", Question: &pulls, Players: []int64{first}},
		{Title: "Out of the middle", Note: "Every ball you middled this winter.", Question: &middled},
		keep,
	}, nil
}
