package split

import "context"

// Where a hall echoes, or a microphone is far, dull or overdriven, no bat sounds
// much like one. Then every sound is lent so much that about as many balls are
// expected as a net has, and the session is gone through once more. What comes of
// it is believed only where the pictures bear it out: talk lent as much would be
// balls as well, but nothing flies then.
const (
	lendGap  = 14.0 // s from one expected ball to the next, at most
	lendMost = 4.0  // log odds lent, at most,
	lendStep = 0.25 // in such steps

	borneLeast  = 4   // balls that can be borne out
	borneFlight = 1.0 // mean log likelihood ratio by which they are seen to fly
)

// lend goes through a session in which too little is heard once more, with what
// was seen so far, and gives the one of both that is to be believed.
func (s *session) lend(ctx context.Context, f Footage, progress func(float64)) (*session, error) {
	lent := s.wanting()
	if lent == 0 {
		return s, nil
	}
	again := &session{probe: s.probe, seconds: s.seconds, onsets: s.onsets, crack: s.crack, motion: s.motion,
		heard: s.heard, packets: s.packets, words: s.words, taught: s.taught, views: s.views}
	for _, odds := range s.first {
		again.first = append(again.first, odds+lent)
	}
	again.learn()
	if err := again.look(ctx, f, progress); err != nil {
		return nil, err
	}
	if again.borneOut() && again.likely() > s.likely() {
		return again, nil
	}
	return s, nil
}

// wanting is by how much the log odds of all sounds must rise for as many balls
// to be expected as a net has, at most lendMost: 0 where so many are heard, or
// enough to learn from, or nothing is.
func (s *session) wanting() float64 {
	if s.silent() || s.heeded || len(s.first) == 0 {
		return 0
	}
	for lent := 0.0; lent < lendMost; lent += lendStep {
		balls := 0.0
		for _, a := range s.byFirst(lent, unlearnt) {
			balls += a.p
		}
		if balls*lendGap >= s.seconds {
			return lent
		}
	}
	return lendMost
}

// borneOut says whether the balls found are seen to fly. That their batters are seen
// is not enough: the next net's are as well.
func (s *session) borneOut() bool {
	balls, flight := 0, 0.0
	for _, m := range s.moments {
		if m.chosen && m.here > 0.5 {
			balls++
			flight += m.clues.flight
		}
	}
	return balls >= borneLeast && flight > borneFlight*float64(balls)
}
