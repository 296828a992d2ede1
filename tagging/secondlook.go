package tagging

import "time"

// SecondLook is a sample of a session's coded balls that somebody codes once
// more without seeing what was said the first time: another coach, or the same
// one after a gap. What is said in it is not part of the ledger.
type SecondLook struct {
	ID, SessionID int64
	FirstID       int64 // whose coding is looked at again
	First         string
	SecondID      int64 // who looks again
	Second        string
	MadeBy        string
	Groups        []string // keys of the groups that are coded
	Spread        string   // key of the group by whose terms the sample was spread; "" for none
	Seed          int64
	FirstCoded    time.Time // when the first coder last spoke of one of the balls
	Created       time.Time
	Begun         *time.Time // when the second coder first said something
	Finished      *time.Time // from then on what the first coder said may be seen
	Done, Count   int        // balls looked at, and all
	Balls         []LookBall // in the order to be looked at; lists leave them out
}

// LookBall is one ball of a second look. Its Ball bears nothing that anybody
// saw or measured.
type LookBall struct {
	Ball          Ball
	First, Second Codes // First only once the look is finished
	Done          bool
}

// Codes is what one coder said of a ball: the terms of each group by key.
type Codes map[string][]string

// LookInput is what a person fills in to have a second look drawn.
type LookInput struct {
	FirstID, SecondID int64
	Groups            []string
	Spread            string
	Balls             int // how many to draw
}

// MaxLook is how many balls a second look may have.
const MaxLook = 200
