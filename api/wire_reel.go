package api

import (
	"time"

	"netreel/tagging"
	"netreel/tagging/find"
)

type wireReelBall struct {
	BallID int64  `json:"ball_id"`
	Title  string `json:"title"`
	Note   string `json:"note"`
}

type wireReel struct {
	ID       int64          `json:"id"`
	Title    string         `json:"title"`
	Note     string         `json:"note"`
	Question *string        `json:"question"`
	MadeBy   string         `json:"made_by"`
	Revision int            `json:"revision"`
	Players  []int64        `json:"players"`
	Balls    []wireReelBall `json:"balls"`
	Count    int            `json:"count"`
	Updated  time.Time      `json:"updated"`
}

func toReel(r tagging.Reel) wireReel {
	return wireReel{ID: r.ID, Title: r.Title, Note: r.Note, Question: r.Question, MadeBy: r.MadeBy, Revision: r.Revision,
		Players: append([]int64{}, r.Players...), Count: r.Count, Updated: r.Updated.UTC(),
		Balls: each(r.Balls, func(b tagging.ReelBall) wireReelBall { return wireReelBall(b) })}
}

type wireReelInput struct {
	Title    string         `json:"title"`
	Note     string         `json:"note"`
	Question *string        `json:"question"`
	Players  []int64        `json:"players"`
	Balls    []wireReelBall `json:"balls"`
	Revision int            `json:"revision"`
}

func (r wireReelInput) input() tagging.ReelInput {
	return tagging.ReelInput{Title: r.Title, Note: r.Note, Question: r.Question, Players: r.Players, Revision: r.Revision,
		Balls: each(r.Balls, func(b wireReelBall) tagging.ReelBall { return tagging.ReelBall(b) })}
}

type wirePlaylistItem struct {
	Title   string   `json:"title"`
	Note    string   `json:"note"`
	Ball    wireBall `json:"ball"`
	Session string   `json:"session"`
	HeldOn  string   `json:"held_on"`
	Block   string   `json:"block"`
	Player  string   `json:"player"`
}

func (l links) item(i tagging.PlaylistItem) wirePlaylistItem {
	return wirePlaylistItem{Title: i.Title, Note: i.Note, Ball: l.ball(i.Ball), Session: i.Session, HeldOn: i.HeldOn, Block: i.Block, Player: i.Player}
}

type wirePlaylist struct {
	Reel  wireReel           `json:"reel"`
	Squad string             `json:"squad"`
	Items []wirePlaylistItem `json:"items"`
}

func (l links) playlist(p tagging.Playlist) wirePlaylist {
	return wirePlaylist{toReel(p.Reel), p.Squad, each(p.Items, l.item)}
}

type wireFound struct {
	Question string             `json:"question"`
	Total    int                `json:"total"`
	Items    []wirePlaylistItem `json:"items"`
	Facets   []wireFacet        `json:"facets"`
}

type wireFacet struct {
	Key     string       `json:"key"`
	Choices []wireChoice `json:"choices"`
}

type wireChoice struct {
	Value string `json:"value"`
	Name  string `json:"name"`
	Count int    `json:"count"`
}

func toFound(q find.Question, f find.Found) wireFound {
	return wireFound{q.String(), f.Total, each(f.Items, ownLinks.item), each(f.Facets, func(f find.Facet) wireFacet {
		return wireFacet{f.Key, each(f.Choices, func(c find.Choice) wireChoice { return wireChoice(c) })}
	})}
}

type wireShare struct {
	ID      int64     `json:"id"`
	MadeBy  string    `json:"made_by"`
	Created time.Time `json:"created"`
	Expires time.Time `json:"expires"`
	Revoked bool      `json:"revoked"`
	Opened  int       `json:"opened"`
}

func toShare(s tagging.Share) wireShare {
	return wireShare{ID: s.ID, MadeBy: s.MadeBy, Created: s.Created.UTC(), Expires: s.Expires.UTC(), Revoked: s.Revoked, Opened: s.Opened}
}

type wireShareInput struct {
	Days int64 `json:"days"`
}

type wireNewShare struct {
	Share wireShare `json:"share"`
	Link  string    `json:"link"`
}

type wireExport struct {
	ID       int64     `json:"id"`
	Burn     bool      `json:"burn"`
	State    string    `json:"state"`
	Progress float64   `json:"progress"`
	Problem  string    `json:"problem"`
	Created  time.Time `json:"created"`
}

func toExport(e tagging.Export) wireExport {
	return wireExport{ID: e.ID, Burn: e.Burn, State: string(e.State), Progress: e.Progress, Problem: e.Problem, Created: e.Created.UTC()}
}

type wireExportInput struct {
	Burn bool `json:"burn"`
}
