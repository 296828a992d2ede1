package split

import (
	"context"
	"math"
)

// Where too few balls are sure by ear, what a ball is is first told by pictures
// alone, or by sounds that are hardly heard; where enough are, they may be other nets'.
// Either may mislead. So such a session is read in more than one way, and another
// reading is believed only where the pictures bear it out.
const (
	rereadMore  = 1.0 // balls by which a reading must find more,
	rereadTells = 0.9 // and how many times as surely pictures must tell them, at least
)

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
	lentTells   = 7.0 // common standard deviations by which pictures tell them from other moments, where none flies
)

// reread goes through a session in which sounds or pictures may have misled once more,
// in each way that may help, with what was seen so far. It gives the reading that is to
// be believed.
func (s *session) reread(ctx context.Context, f Footage, work *course) (*session, error) {
	best, views := s, s.views
	try := func(again *session, believed func(best *session) bool) error {
		if err := again.read(ctx, f, work); err != nil {
			return err
		}
		if believed(best) {
			best = again
		}
		views = again.views
		return nil
	}
	if s.discovered && !s.silent() {
		ears := s.anew(0, views)
		ears.earFirst = true
		if err := try(ears, ears.outdoes); err != nil {
			return nil, err
		}
	}
	if !s.silent() && (best.takenNextDoor() || best.apart() < siftBelow) && len(s.saidAnchors()) == 0 && s.moves() {
		eyes := s.anew(0, views)
		eyes.sifting = true
		if err := try(eyes, eyes.clearer); err != nil {
			return nil, err
		}
	}
	if lent := s.wanting(); lent > 0 {
		again := s.anew(lent, views)
		if err := try(again, again.bearsOutMore); err != nil {
			return nil, err
		}
	}
	return best, nil
}

// outdoes says whether a reading by ear is to be believed rather than another: if it
// finds more balls nearly as surely, and the pictures tell them from other moments, or
// show them to fly where most are seen to bounce. What is found where the other saw the next
// net's balls must be told as surely as bats that need no sifting.
func (s *session) outdoes(other *session) bool {
	if other.takenNextDoor() && s.apart() < siftBelow {
		return false
	}
	return s.against == against{} && (!s.mostBounce() || s.borneOut()) && s.findsMore(other)
}

// findsMore says whether a reading finds more balls than another, and pictures tell them
// nearly as surely.
func (s *session) findsMore(other *session) bool {
	return s.likely() > other.likely()+rereadMore && s.telling() >= rereadTells*other.telling()
}

// clearer says whether a reading whose bats were sifted is to be believed rather than
// another: if it leaves out many of that one's balls, and the pictures tell its own from
// other moments more surely, or if they do so by far.
func (s *session) clearer(other *session) bool {
	more := siftByFar
	if other.shares(s) < siftAlike {
		more = siftMore
	}
	return s.against == against{} && s.likely() >= siftLeast && s.telling() > more*other.telling()
}

// shares is how many of a reading's balls another has found as well: 0 to 1.
func (s *session) shares(other *session) float64 {
	balls := s.anchors()
	return float64(len(balls)-missing(balls, other.anchors(), siftReach)) / float64(max(len(balls), 1))
}

// telling is how surely the pictures tell a reading's balls from other moments, in
// standard errors.
func (s *session) telling() float64 { return s.apart() * math.Sqrt(s.likely()) }

// bearsOutMore says whether a reading whose sounds were lent something is to be believed
// rather than another: if its balls are seen to fly, or are told from other moments beyond
// doubt, and it finds a ball more.
func (s *session) bearsOutMore(other *session) bool {
	return (s.borneOut() || s.likely() >= borneLeast && s.against == against{} && s.apart() > lentTells) && s.findsMore(other)
}

// anew is a session of which nothing is learnt yet, with what was heard, all sounds
// lent so many log odds, and what was seen.
func (s *session) anew(lent float64, seen views) *session {
	again := &session{probe: s.probe, seconds: s.seconds, onsets: s.onsets, crack: s.crack, motion: s.motion,
		heard: s.heard, packets: s.packets, words: s.words, taught: s.taught, views: seen}
	for _, odds := range s.first {
		again.first = append(again.first, odds+lent)
	}
	return again
}

// read learns by ear, and then by pictures.
func (s *session) read(ctx context.Context, f Footage, work *course) error {
	s.learn()
	return s.look(ctx, f, work)
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
