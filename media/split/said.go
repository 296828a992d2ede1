package split

import (
	"math"
	"sort"
)

// word is what a person said of a time in the file.
type word struct {
	at       float64 // s: contact or passing, if it is known
	from, to float64 // s: the stretch, if at is not known
	known    bool
	struck   bool
	ball     bool
}

const (
	saidScore = 12.0 // log odds of what a person said
	saidReach = 0.9  // s around a word that it speaks of
)

// hear takes what is known beforehand.
func (s *session) hear(h Hints) {
	for _, d := range h.Balls {
		w := word{from: d.Start.Seconds(), to: d.End.Seconds(), ball: true}
		if d.Contact != nil {
			w.at, w.known, w.struck = d.Contact.Seconds(), true, true
		}
		s.words = append(s.words, w)
	}
	for _, d := range h.Discarded {
		w := word{from: d.Start.Seconds(), to: d.End.Seconds()}
		if d.Contact != nil {
			w.at, w.known = d.Contact.Seconds(), true
		}
		s.words = append(s.words, w)
	}
	sort.SliceStable(s.words, func(i, j int) bool { return s.words[i].middle() < s.words[j].middle() })
	if h.Profile != nil {
		s.learnFrom(*h.Profile)
	}
}

// middle is the word's time, roughly if it is not known.
func (w word) middle() float64 {
	if w.known {
		return w.at
	}
	return w.to - after // as the split itself lays stretches out
}

// speaksOf says whether a word is about a moment.
func (w word) speaksOf(t float64) bool {
	if w.known {
		return math.Abs(t-w.at) <= saidReach
	}
	return t >= w.from && t <= w.to
}

// obey makes the moments agree with what was said: a said ball is one, at its
// own time, and what was discarded is none.
func (s *session) obey() {
	for _, w := range s.words {
		best := -1
		for i := range s.moments {
			m := &s.moments[i]
			if !w.speaksOf(m.at) {
				continue
			}
			if best < 0 || m.score > s.moments[best].score {
				best = i
			}
		}
		at := w.middle()
		if w.ball && !w.known && best >= 0 {
			at = s.moments[best].at
		}
		for i := range s.moments {
			if w.speaksOf(s.moments[i].at) {
				s.moments[i].score = min(s.moments[i].score, 0) - saidScore
			}
		}
		if w.ball && at >= 0 && at < s.seconds {
			m := moment{at: at, struck: w.struck, onset: -1, said: true, score: saidScore, clues: s.cluesAt(at, 0)}
			if w.struck {
				m.onset = s.onsetNear(at, ownSound)
			}
			s.moments = append(s.moments, m)
		}
	}
}

// saidAnchors are the said balls whose time is known.
func (s *session) saidAnchors() []anchor {
	var out []anchor
	for _, w := range s.words {
		if w.ball && w.known {
			out = append(out, anchor{w.at, 1, w.struck})
		}
	}
	return out
}
