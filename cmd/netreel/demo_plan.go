package main

import (
	"context"
	"fmt"
	"time"

	"github.com/google/uuid"

	"netreel/media"
	"netreel/tagging/plan"
)

const demoPlanTitle = "Next: short ball, then full"

// demoMark is a MarkInput of the API.
type demoMark struct {
	UUID uuid.UUID `json:"uuid"`
	Kind string    `json:"kind"`
	Made int64     `json:"made_ms"`
	Body string    `json:"body,omitempty"`
}

// plan makes a plan for the next session, once, and the presses of a coach who
// stood at the net of this one. Presses have UUIDs made of the ball, so that a
// second run adds none.
func (d *demo) plan(ctx context.Context, session int64) error {
	var there []struct {
		Title string `json:"title"`
	}
	if err := d.coach.get(ctx, "/api/plans", &there); err != nil {
		return err
	}
	if len(there) == 0 {
		if err := d.coach.post(ctx, "/api/plans", d.nextSession(), nil); err != nil {
			return err
		}
	}
	var held struct {
		HeldOn string `json:"held_on"`
	}
	if err := d.coach.get(ctx, fmt.Sprintf("/api/sessions/%d", session), &held); err != nil {
		return err
	}
	zero, err := time.Parse(time.DateOnly, held.HeldOn)
	if err != nil {
		return err
	}
	zero = zero.Add(18 * time.Hour)
	lane, err := d.lane(ctx, session)
	if err != nil {
		return err
	}
	if err := d.coach.post(ctx, "/api/net", map[string]any{"session_id": session, "marks": lane.pressed(zero)}, nil); err != nil {
		return err
	}
	return d.coach.put(ctx, fmt.Sprintf("/api/sessions/%d/net-clock", session), map[string]any{"by": "hand", "zero_at": zero}, nil)
}

func (d *demo) nextSession() map[string]any {
	return map[string]any{
		"title": demoPlanTitle, "player_id": d.cast.players[d.cast.first], "minutes": 30, "helmets": true,
		"work_on": []string{"shot=pull", "base=narrow"},
		"blocks": []plan.Block{{
			Name: "Settle in", Feed: "throw-down", Feeder: demoCoach, Pace: 20, Pause: 60, Order: plan.Blocked,
			Types: []plan.Type{{Name: "Short", Length: "short", Balls: 12}},
		}, {
			Name: "Short or full", Feed: "side-arm", Feeder: demoCoach, SpeedKPH: 105, Pace: 25, Order: plan.Random, Alike: 2,
			Types: []plan.Type{{Name: "Short", Length: "short", Height: "chest", Balls: 14}, {Name: "Full", Length: "full", Balls: 10}, {Name: "Yorker", Length: "yorker", Balls: 6}},
		}},
	}
}

// pressed is what a coach would have pressed after some of the balls.
func (l demoLane) pressed(zero time.Time) []demoMark {
	mark := func(b demoBall, kind, body string) demoMark {
		after := b.EndUS
		if b.ContactUS != nil {
			after = *b.ContactUS + 6*media.Second/5
		}
		id := uuid.NewSHA1(uuid.NameSpaceOID, fmt.Appendf(nil, "pressed %d %s", b.ID, kind))
		return demoMark{UUID: id, Kind: kind, Made: zero.Add(after.Duration()).UnixMilli(), Body: body}
	}
	marks := []demoMark{}
	for _, b := range l.Balls {
		switch {
		case b.State == "discarded":
		case b.Number%9 == 4:
			marks = append(marks, mark(b, "look", ""))
		case b.Number%7 == 3:
			marks = append(marks, mark(b, "good", ""))
		case b.Number == 12:
			marks = append(marks, mark(b, "word", "Off balance"))
		}
	}
	return marks
}
