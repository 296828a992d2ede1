package main

import (
	"context"
	"fmt"
	"strings"

	"netreel/tagging"
)

// The demo's people and places are invented.
const (
	demoSquad   = "Larkmere Vale Women"
	demoCoach   = "Perrin Halloway-Dace"
	demoAnalyst = "Odalys Finchtarn"
	demoPlace   = "Larkmere indoor hall, lane 2"
	demoTitle   = "Winter nets: base and the short ball"
)

// demoBench are players of the squad who are not in the footage.
var demoBench = []string{"Bryony Eskdrake", "Noor Tavenhall"}

// demoCast is the people of the demo, by account.
type demoCast struct {
	coach, analyst, player int64            // accounts
	players                map[string]int64 // by name
	first                  string           // the batter with an account
}

// castDemo makes the squad's people where they are missing, and signs the
// coach and the analyst in. The first batter gets an account.
func castDemo(ctx context.Context, a *App, firstCoach string, batters []string) (demoCast, *client, *client, error) {
	var cast demoCast
	coach, err := signIn(ctx, a.URL(), firstCoach)
	if err != nil {
		return cast, nil, nil, err
	}
	var me struct {
		ID int64 `json:"id"`
	}
	if err := coach.get(ctx, "/api/me", &me); err != nil {
		return cast, nil, nil, err
	}
	cast.coach = me.ID

	cast.first = batters[0]
	if cast.players, err = demoPlayers(ctx, coach, append(batters, demoBench...)); err != nil {
		return cast, nil, nil, err
	}
	var analystLink string
	if cast.analyst, analystLink, err = demoAccount(ctx, coach, demoAnalyst, tagging.Analyst, 0); err != nil {
		return cast, nil, nil, err
	}
	if cast.player, _, err = demoAccount(ctx, coach, batters[0], tagging.PlayerRole, cast.players[batters[0]]); err != nil {
		return cast, nil, nil, err
	}
	analyst, err := signIn(ctx, a.URL(), secretOf(analystLink))
	return cast, coach, analyst, err
}

func demoPlayers(ctx context.Context, coach *client, names []string) (map[string]int64, error) {
	type player struct {
		ID   int64  `json:"id"`
		Name string `json:"name"`
	}
	var there []player
	if err := coach.get(ctx, "/api/players", &there); err != nil {
		return nil, err
	}
	ids := map[string]int64{}
	for _, p := range there {
		ids[p.Name] = p.ID
	}
	for i, name := range names {
		if ids[name] != 0 {
			continue
		}
		var made player
		in := map[string]any{"name": name, "bats": "right", "height_cm": 166 + 3*i}
		if err := coach.post(ctx, "/api/players", in, &made); err != nil {
			return nil, err
		}
		ids[name] = made.ID
	}
	return ids, nil
}

// demoAccount invites somebody, or makes a new link for who is there already.
func demoAccount(ctx context.Context, coach *client, name string, role tagging.Role, player int64) (id int64, link string, err error) {
	type account struct {
		ID   int64  `json:"id"`
		Name string `json:"name"`
	}
	var there []account
	if err := coach.get(ctx, "/api/accounts", &there); err != nil {
		return 0, "", err
	}
	var made struct {
		Account account `json:"account"`
		Link    string  `json:"link"`
	}
	for _, a := range there {
		if a.Name == name {
			err = coach.post(ctx, fmt.Sprintf("/api/accounts/%d/link", a.ID), struct{}{}, &made)
			return made.Account.ID, made.Link, err
		}
	}
	in := map[string]any{"name": name, "role": role}
	if player != 0 {
		in["player_id"] = player
	}
	err = coach.post(ctx, "/api/accounts", in, &made)
	return made.Account.ID, made.Link, err
}

// secretOf is the secret at the end of a sign-in link.
func secretOf(link string) string { return link[strings.LastIndexByte(link, '/')+1:] }
