package lookback

import "netreel/tagging/vocabulary"

// Keys of the usual vocabulary that a look-back understands. A squad may
// rename a term and add others; keys never change.
const (
	groupFeed      = "feed"
	groupLength    = "length"
	groupLine      = "line"
	groupHeight    = "height"
	groupShot      = "shot"
	groupBase      = "base"
	groupBalance   = "balance"
	groupHands     = "hands"
	groupDecision  = "decision"
	groupContact   = "contact"
	groupResult    = "result"
	groupPlacement = "placement"

	termLeave      = "leave"
	termEvade      = "evade"
	termMiddled    = "middled"
	termMistimed   = "mistimed"
	termMissed     = "missed"
	termNone       = "none"
	termLate       = "late"
	termRight      = "right"
	termRightLeave = "right-leave"
	termWrongLeave = "wrong-leave"
	termOut        = "out"
	termStruck     = "struck"
	termRun        = "run"
	termBoundary   = "boundary"
)

// terms lists the terms of a group in their order, retired ones too: old balls
// bear them.
func terms(e vocabulary.Edition, group string) []vocabulary.Term {
	g, _ := e.Group(group)
	return g.Terms
}

// allBut lists the keys of a group's terms less some.
func allBut(e vocabulary.Edition, group string, less ...string) []string {
	var keys []string
	for _, t := range terms(e, group) {
		if !(Terms{group: less}).has(group, t.Key) {
			keys = append(keys, t.Key)
		}
	}
	return keys
}

// name is a term's name, else its key.
func name(e vocabulary.Edition, group, key string) string {
	if t, ok := e.Term(group, key); ok {
		return t.Name
	}
	return key
}
