package split

import (
	"math"

	"netreel/media"
)

// said is the strength from which a clue is worth a word.
const said = 0.7

// evidence puts into words what a moment rests on.
func (s *session) evidence(m moment) []string {
	var out []string
	say := func(yes bool, words string) {
		if yes {
			out = append(out, words)
		}
	}
	heard := m.onset >= 0
	say(heard, "bat sound")
	say(heard && m.clues.colour > 2*said, "like the other bat sounds")
	say(s.heard != nil && !heard, "no bat sound")
	say(s.bounceBefore(m.at) >= 0, "bounce heard")
	say(m.clues.company > 2*said, "other sounds where they usually are")
	if m.clues.seen {
		say(m.clues.flight > said, "ball seen in flight")
		say(m.clues.flight < -said, "no ball seen in flight")
		say(m.clues.feedIn > said, "feed seen")
		say(m.clues.shotIn > said, "batter's movement seen")
		say(m.clues.feedIn < -said, "no feed seen")
		say(m.clues.shotIn < -said, "no batter's movement seen")
	} else {
		say(m.clues.feed > said, "movement before it")
		say(m.clues.shot > said, "movement at it")
	}
	return out
}

// bounce is when the ball was heard to bounce before a moment, nil if it was
// not.
func (s *session) bounce(m moment) *media.Micros {
	i := s.bounceBefore(m.at)
	if i < 0 {
		return nil
	}
	at := media.FromSeconds(s.onsets[i].at)
	return &at
}

// release is when the ball was first seen to fly before a moment, nil if it was
// not.
func (s *session) release(m moment) *media.Micros {
	if s.way == nil || m.clues.flight <= 0 {
		return nil
	}
	p := s.way.near(m.at)
	if p == nil || math.Abs(p.at-m.at) > passFar || p.release < 0 || p.release >= m.at {
		return nil
	}
	at := media.FromSeconds(p.release)
	return &at
}
