package split

import "netreel/media"

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
	say(s.bounceSeen(m.at) != nil, "bounce seen")
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

// bounce is when the ball was seen to bounce before a moment, or else heard to;
// nil if neither.
func (s *session) bounce(m moment) *media.Micros {
	var at media.Micros
	if b := s.bounceSeen(m.at); b != nil {
		at = media.FromSeconds(b.at())
	} else if i := s.bounceBefore(m.at); i >= 0 {
		at = media.FromSeconds(s.onsets[i].at)
	} else {
		return nil
	}
	return &at
}

// bounceSeen is the bounce that was seen on the way of a ball which meets the
// batter at t, nil if there was none.
func (s *session) bounceSeen(t float64) *bounce {
	if s.way == nil {
		return nil
	}
	for i := range s.way.bounced {
		if b := &s.way.bounced[i]; b.at() < t && b.at() > t-bounceLong {
			return b
		}
	}
	return nil
}

// release is when the ball was first seen to fly before a moment, nil if it was
// not.
func (s *session) release(m moment) *media.Micros {
	if s.way == nil || m.clues.flight <= 0 {
		return nil
	}
	p := s.way.passAt(m.at)
	if p == nil || !p.bowled() || p.first.t >= m.at {
		return nil
	}
	at := media.FromSeconds(p.first.t)
	return &at
}
