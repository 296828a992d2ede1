package main

import (
	"context"
	"fmt"
	"time"

	"netreel/media"
)

// demoLane is what the demo reads of a lane.
type demoLane struct {
	Recordings []demoRecording `json:"recordings"`
	Balls      []demoBall      `json:"balls"`
}

type demoRecording struct {
	ID       int64  `json:"id"`
	State    string `json:"state"`
	Problem  string `json:"problem"`
	OffsetUS int64  `json:"offset_us"`
}

type demoBall struct {
	ID        int64         `json:"id"`
	Number    int           `json:"number"`
	Revision  int           `json:"revision"`
	StartUS   media.Micros  `json:"start_us"`
	ContactUS *media.Micros `json:"contact_us"`
	EndUS     media.Micros  `json:"end_us"`
	Origin    string        `json:"origin"`
	State     string        `json:"state"`
}

func (b demoBall) span() media.Span { return media.Span{Start: b.StartUS, End: b.EndUS} }

// found is what the split alone found, whatever people did with it since.
func (l demoLane) found() []media.Delivery {
	var all []media.Delivery
	for _, b := range l.Balls {
		if b.Origin == "split" {
			all = append(all, media.Delivery{Start: b.StartUS, Contact: b.ContactUS, End: b.EndUS})
		}
	}
	return all
}

// ballOf is the ball that shows a true delivery: the one that overlaps it
// most, and by more than half a second.
func (l demoLane) ballOf(truth media.Span) (demoBall, bool) {
	var best demoBall
	most := media.Second / 2
	for _, b := range l.Balls {
		if o := b.span().Overlap(truth); o > most && b.State != "discarded" {
			best, most = b, o
		}
	}
	return best, most > media.Second/2
}

// demoEdit is a BallEdit of the API.
type demoEdit struct {
	ID        int64         `json:"id,omitempty"`
	Revision  int           `json:"revision,omitempty"`
	StartUS   media.Micros  `json:"start_us"`
	ContactUS *media.Micros `json:"contact_us"`
	EndUS     media.Micros  `json:"end_us"`
	State     string        `json:"state"`
}

// checkAgainst is what an analyst who knows the truth would change.
func (l demoLane) checkAgainst(film demoFilm) []demoEdit {
	var edits []demoEdit
	right := map[int64]bool{}
	for _, t := range film.deliveries() {
		b, ok := l.ballOf(t.Span())
		if !ok {
			edits = append(edits, demoEdit{StartUS: t.Start, ContactUS: t.Contact, EndUS: t.End, State: "accepted"})
			continue
		}
		right[b.ID] = true
	}
	for _, b := range l.Balls {
		state := "discarded"
		if right[b.ID] {
			state = "accepted"
		}
		if b.State != state {
			edits = append(edits, demoEdit{b.ID, b.Revision, b.StartUS, b.ContactUS, b.EndUS, state})
		}
	}
	return edits
}

// demoPoll is how often the demo looks whether the server has got on.
const demoPoll = 300 * time.Millisecond

// poll asks until done says so, or ctx ends.
func poll(ctx context.Context, done func() (bool, error)) error {
	tick := time.NewTicker(demoPoll)
	defer tick.Stop()
	for {
		if ok, err := done(); ok || err != nil {
			return err
		}
		select {
		case <-ctx.Done():
			return context.Cause(ctx)
		case <-tick.C:
		}
	}
}

func (d *demo) lane(ctx context.Context, session int64) (demoLane, error) {
	var l demoLane
	err := d.analyst.get(ctx, fmt.Sprintf("/api/sessions/%d/lane", session), &l)
	return l, err
}

// waitForSplit waits until the session's recording has been split.
func (d *demo) waitForSplit(ctx context.Context, session int64) (demoLane, error) {
	var l demoLane
	err := poll(ctx, func() (ok bool, err error) {
		if l, err = d.lane(ctx, session); err != nil || len(l.Recordings) == 0 {
			return false, err
		}
		switch r := l.Recordings[0]; r.State {
		case "failed", "cancelled":
			return false, fmt.Errorf("the recording came to nothing: %s", r.Problem)
		case "split", "ready":
			return true, nil
		}
		return false, nil
	})
	return l, err
}

// clips lays the film's blocks on the lane and waits until every ball has a
// clip that can be watched.
func (d *demo) clips(ctx context.Context, session int64, film demoFilm) error {
	if err := d.blocks(ctx, session, film); err != nil {
		return err
	}
	return poll(ctx, func() (bool, error) {
		var balls []struct {
			Clips []struct {
				File    *struct{} `json:"file"`
				Problem string    `json:"problem"`
			} `json:"clips"`
		}
		if err := d.analyst.get(ctx, fmt.Sprintf("/api/sessions/%d/balls", session), &balls); err != nil {
			return false, err
		}
		d.sum.Clips = 0
		for _, b := range balls {
			for _, c := range b.Clips {
				if c.Problem != "" {
					return false, fmt.Errorf("a clip could not be cut: %s", c.Problem)
				}
				if c.File != nil {
					d.sum.Clips++
				}
			}
		}
		return len(balls) > 0 && d.sum.Clips == len(balls), nil
	})
}

// blocks lays the blocks of the truth file on the lane, once.
func (d *demo) blocks(ctx context.Context, session int64, film demoFilm) error {
	var lane struct {
		Blocks []struct{} `json:"blocks"`
	}
	if err := d.analyst.get(ctx, fmt.Sprintf("/api/sessions/%d/lane", session), &lane); err != nil || len(lane.Blocks) > 0 {
		return err
	}
	return d.analyst.put(ctx, fmt.Sprintf("/api/sessions/%d/blocks", session), film.blocks(d.cast.players), nil)
}
