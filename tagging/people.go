// Package tagging is the domain: sessions, players, balls, what people saw on
// them, and the reels they watch. It is pure: plain types and rules, no SQL,
// no HTTP, no files. Times are on the session clock (media.Micros).
package tagging

import "time"

// Role is what an account may do.
type Role string

// The roles. A coach may do everything in the squad; an analyst everything but
// manage people and the vocabulary; a player sees their own balls and what was
// shared with them.
const (
	Coach      Role = "coach"
	Analyst    Role = "analyst"
	PlayerRole Role = "player"
)

// Valid says whether r is one of the three roles.
func (r Role) Valid() bool { return r == Coach || r == Analyst || r == PlayerRole }

// Staff says whether r sees the whole squad.
func (r Role) Staff() bool { return r == Coach || r == Analyst }

// Account is somebody who can sign in.
type Account struct {
	ID       int64
	SquadID  int64
	Squad    string // the squad's name
	Name     string
	Email    string // "" when the account signs in by link only
	Role     Role
	PlayerID int64 // of a player's account; else 0
	Disabled bool
	HasLogin bool // a password is set
	Created  time.Time
}

// NewAccount is what an invitation says.
type NewAccount struct {
	Name     string
	Email    string // "" for none
	Role     Role
	PlayerID int64 // with role player
}

// Hand is the side a batter bats on.
type Hand string

// The two hands.
const (
	Right Hand = "right"
	Left  Hand = "left"
)

// Player is a batter of the squad.
type Player struct {
	ID       int64
	Name     string
	Bats     Hand
	HeightCM float64 // 0 when not known
	Note     string
	Retired  bool
}

// Viewer is who asks. Stores take it so that nobody sees what is not theirs:
// a thing of another squad, or of another player, is fault.NotFound.
type Viewer struct {
	AccountID int64
	SquadID   int64
	Role      Role
	PlayerID  int64
}
