package api

import (
	"time"

	"netreel/media"
	"netreel/tagging"
	"netreel/tagging/vocabulary"
)

// The wire types are the schemas of openapi.yaml, field for field. Here are
// those of people, vocabulary and sessions; wire_ball.go and wire_reel.go have
// the rest.

type wireMe struct {
	ID          int64  `json:"id"`
	Name        string `json:"name"`
	Role        string `json:"role"`
	Squad       string `json:"squad"`
	PlayerID    *int64 `json:"player_id"`
	HasPassword bool   `json:"has_password"`
	Email       string `json:"email"`
}

func toMe(a tagging.Account) wireMe {
	return wireMe{ID: a.ID, Name: a.Name, Role: string(a.Role), Squad: a.Squad, PlayerID: orNull(a.PlayerID),
		HasPassword: a.HasLogin, Email: a.Email}
}

type wireSignIn struct {
	Email    string `json:"email"`
	Password string `json:"password"`
}

type wirePassword struct {
	Password string `json:"password"`
}

type wireLinkInfo struct {
	Name        string `json:"name"`
	Squad       string `json:"squad"`
	Role        string `json:"role"`
	Email       string `json:"email"`
	HasPassword bool   `json:"has_password"`
}

type wireUseLink struct {
	Password string `json:"password"`
	Name     string `json:"name"`
	Squad    string `json:"squad"`
}

type wireAccount struct {
	ID          int64     `json:"id"`
	Name        string    `json:"name"`
	Email       string    `json:"email"`
	Role        string    `json:"role"`
	PlayerID    *int64    `json:"player_id"`
	Disabled    bool      `json:"disabled"`
	HasPassword bool      `json:"has_password"`
	Created     time.Time `json:"created"`
}

func toAccount(a tagging.Account) wireAccount {
	return wireAccount{ID: a.ID, Name: a.Name, Email: a.Email, Role: string(a.Role), PlayerID: orNull(a.PlayerID),
		Disabled: a.Disabled, HasPassword: a.HasLogin, Created: a.Created.UTC()}
}

type wireInvitation struct {
	Name     string `json:"name"`
	Email    string `json:"email"`
	Role     string `json:"role"`
	PlayerID int64  `json:"player_id"`
}

type wireInvited struct {
	Account wireAccount `json:"account"`
	Link    string      `json:"link"`
	Expires time.Time   `json:"expires"`
}

type wireAccountChange struct {
	Name     string  `json:"name"`
	Email    *string `json:"email"` // nil leaves it
	Disabled bool    `json:"disabled"`
}

type wireSquad struct {
	Name string `json:"name"`
}

type wirePlayer struct {
	ID int64 `json:"id"`
	wirePlayerInput
}

type wirePlayerInput struct {
	Name     string   `json:"name"`
	Bats     string   `json:"bats"`
	HeightCM *float64 `json:"height_cm"`
	Note     string   `json:"note"`
	Retired  bool     `json:"retired"`
}

func toPlayer(p tagging.Player) wirePlayer {
	return wirePlayer{p.ID, wirePlayerInput{Name: p.Name, Bats: string(p.Bats), HeightCM: orNull(p.HeightCM), Note: p.Note, Retired: p.Retired}}
}

func (p wirePlayerInput) player(id int64) tagging.Player {
	return tagging.Player{ID: id, Name: p.Name, Bats: tagging.Hand(p.Bats), HeightCM: orZero(p.HeightCM), Note: p.Note, Retired: p.Retired}
}

// toVocabulary makes absent lists empty ones: the page maps over them.
func toVocabulary(e vocabulary.Edition) vocabulary.Edition {
	groups := make([]vocabulary.Group, len(e.Groups))
	for i, g := range e.Groups {
		g.Terms = append([]vocabulary.Term{}, g.Terms...)
		groups[i] = g
	}
	e.Groups = groups
	return e
}

type wireSession struct {
	ID         int64        `json:"id"`
	Title      string       `json:"title"`
	HeldOn     string       `json:"held_on"`
	Place      string       `json:"place"`
	Note       string       `json:"note"`
	Focus      []string     `json:"focus"`
	Players    []wirePlayer `json:"players"`
	Recordings int          `json:"recordings"`
	Balls      int          `json:"balls"`
	Coded      int          `json:"coded"`
}

func toSession(s tagging.Session) wireSession {
	return wireSession{ID: s.ID, Title: s.Title, HeldOn: s.HeldOn, Place: s.Place, Note: s.Note,
		Focus: each(s.Focus, func(k string) string { return k }), Players: each(s.Players, toPlayer),
		Recordings: s.Recordings, Balls: s.Balls, Coded: s.Coded}
}

type wireSessionInput struct {
	Title   string   `json:"title"`
	HeldOn  string   `json:"held_on"`
	Place   string   `json:"place"`
	Note    string   `json:"note"`
	Focus   []string `json:"focus"`
	Players []int64  `json:"players"`
}

func (s wireSessionInput) input() tagging.SessionInput { return tagging.SessionInput(s) }

type wireBlock struct {
	ID       int64        `json:"id"`
	Name     string       `json:"name"`
	Start    media.Micros `json:"start_us"`
	End      media.Micros `json:"end_us"`
	PlayerID *int64       `json:"player_id"`
	Bowling  string       `json:"bowling"`
	Feed     string       `json:"feed"`
	Bat      string       `json:"bat"`
	Aim      *int         `json:"aim"`

	Challenge bool     `json:"challenge"`
	Feeder    string   `json:"feeder"`
	SpeedKPH  *float64 `json:"speed_kph"`
	PlanID    *int64   `json:"plan_id"` // told, not taken: only a plan makes blocks of a plan
	PlanBlock int      `json:"plan_block"`
}

func toBlock(b tagging.Block) wireBlock {
	return wireBlock{ID: b.ID, Name: b.Name, Start: b.Span.Start, End: b.Span.End, PlayerID: orNull(b.PlayerID),
		Bowling: b.Bowling, Feed: b.Feed, Bat: b.Bat, Aim: orNull(b.Aim), Challenge: b.Challenge,
		Feeder: b.Feeder, SpeedKPH: orNull(b.SpeedKPH), PlanID: orNull(b.PlanID), PlanBlock: b.PlanBlock}
}

func (b wireBlock) block() tagging.Block {
	return tagging.Block{ID: b.ID, Name: b.Name, Span: media.Span{Start: b.Start, End: b.End}, PlayerID: orZero(b.PlayerID),
		Bowling: b.Bowling, Feed: b.Feed, Bat: b.Bat, Aim: orZero(b.Aim), Challenge: b.Challenge,
		Feeder: b.Feeder, SpeedKPH: orZero(b.SpeedKPH)}
}

// each maps a list; an absent one becomes an empty one, which JSON writes as [].
func each[A, B any](list []A, fn func(A) B) []B {
	out := make([]B, len(list))
	for i, a := range list {
		out[i] = fn(a)
	}
	return out
}

// orNull is nil for what the domain leaves at zero when it is not said.
func orNull[T comparable](v T) *T {
	var zero T
	if v == zero {
		return nil
	}
	return &v
}

// orZero is the reverse of orNull.
func orZero[T any](p *T) T {
	if p == nil {
		var zero T
		return zero
	}
	return *p
}
