package split

import "math"

// clues is all evidence on one moment, each a log likelihood ratio; only crack
// is the log odds that the session's sound gave at first (guess).
type clues struct {
	crack   float64 // it sounds like a bat (any bat, any net)
	colour  float64 // it sounds like this session's bat
	company float64 // bounce, feed and net are heard where they usually are
	feed    float64 // what moves before it
	shot    float64 // what moves at it
	seen    bool    // the picture was looked at:
	feedIn  float64 // what it shows before the moment
	shotIn  float64 // and at it
	flight  float64 // whether a ball was seen to come to the batter at the moment
}

const clueCount = 9

func (c clues) list() [clueCount]float64 {
	return [...]float64{1, c.crack, c.colour, c.company, c.feed, c.shot, c.feedIn, c.shotIn, c.flight}
}

// weights of the clues, struck and not struck.
var (
	struckWeights   = [clueCount]float64{-2.5, 0.4, 1.4, 0.4, 0.3, 0.75, 0, 0, 0}
	unstruckWeights = [clueCount]float64{-3.8, 0, 0, 0.8, 0.6, 0.05, 0, 0, 0}
	struckSeen      = [clueCount]float64{-2.0, 0.45, 1.5, 0.2, 0, 0.4, 0.2, 1.2, 0.5}
	unstruckFlies   = [clueCount]float64{-3.0, 0, 0, 0.8, 0.3, 0, 0.9, 0.5, 1}
	unstruckSeen    = [clueCount]float64{-3.0, 0, 0, 0.8, 0.3, 0, 1.6, 0.5, 1}
)

// unlearnt is the log odds of a ball that nothing was heard of, before anything
// is learnt.
const unlearnt = -4.0

// weigh is the log odds of a ball by its clues. The less the session has taught
// so far, the more what was guessed at first is believed.
func (s *session) weigh(c clues, struck bool) float64 {
	guess := unlearnt
	if struck {
		guess = c.crack
	}
	k := s.trust()
	if struck {
		c.flight = s.missed(c.flight)
	}
	score := (1-k)*guess + k*sum(c, struck, s.way != nil && !s.way.outward() && s.way.shown > wayShown)
	if !struck && s.silent() {
		score += allMute
	}
	if s.sifting {
		score = s.amongOthers(score, c, struck)
	}
	unheard := 1.0
	if struck {
		unheard = sigmoid(1.5 * (heardLeast - c.crack))
	}
	if s.way != nil && len(s.way.group) >= wayLeast { // what was seen to come need not be heard
		unheard *= 1 - min(max(c.flight/flightTells, 0), 1)
	}
	return score - s.silence*unheard - s.against.odds()
}

// missed is what a flight says of a bat's sound: that none was seen says more where the
// balls' way is sure.
func (s *session) missed(flight float64) float64 {
	if s.wayTells() && flight < 0 {
		return flight * flightMissed
	}
	return flight
}

// flightSays is the part of a struck ball's log odds that its flight gives.
func (s *session) flightSays(c clues) float64 {
	return s.trust() * struckSeen[clueCount-1] * s.missed(c.flight)
}

// trust is how far what was learnt is believed rather than what was guessed at first:
// 0 to 1.
func (s *session) trust() float64 { return s.learnt / (s.learnt + doubt/2) }

// What a sure way says: one on which balls were seen to bounce.
const (
	flightUnlikely = -1.0 // log odds from which a ball was probably not seen on it,
	flightTells    = 3.0  // and from which one surely was
	flightMissed   = 3.0  // times as much it says against a bat's sound that none was
	bounceMostly   = 0.4  // share of its balls from which they need not look alike
)

// wayTells says whether the balls' way is sure.
func (s *session) wayTells() bool { return s.way != nil && s.way.sure() }

// mostBounce says whether of the balls that were seen to come most were seen to bounce,
// nearly.
func (s *session) mostBounce() bool {
	return s.wayTells() && float64(len(s.way.bounced)) >= bounceMostly*float64(len(s.way.passes))
}

// noShot is as much as no shot says against a ball that was not struck, in log
// odds, and unstruckFlight by how much more it says that one was seen.
const (
	noShot         = -1.0
	unstruckFlight = 1.4

	allMute = 0.8 // and how much likelier one is where struck balls are not heard either
)

// wayShown is the share of balls seen in flight from which it is expected that
// one is.
const wayShown = 0.55

func sum(c clues, struck, flies bool) float64 {
	var weights [clueCount]float64
	switch {
	case !struck && c.seen && flies:
		weights = unstruckFlies
	case struck && c.seen:
		weights = struckSeen
	case struck:
		weights = struckWeights
	case c.seen:
		weights = unstruckSeen
	default:
		weights = unstruckWeights
	}
	if !struck { // a ball that is left alone shows no shot, and need not be seen
		c.shotIn = max(c.shotIn, noShot)
		c.flight = max(c.flight, c.flight*unstruckFlight)
	}
	var sum float64
	for i, v := range c.list() {
		sum += v * weights[i]
	}
	return sum
}

// A session's balls look alike: what the pictures show around them differs from
// what they show elsewhere, whoever bats and wherever the camera stands. Where
// it does not, what was taken for balls are sounds from elsewhere.
const (
	blankLeast = 4.0 // balls from which that can be told,
	blankElse  = 8.0 // and moments without one
	blankBelow = 2.0 // common standard deviations by which both parts together differ at least
	blankMost  = 5.0 // log odds against balls that differ by nothing
)

// against is what speaks against all that looks like balls, in log odds: that the
// pictures do not tell them from other moments, that they are the next net's, and, at the
// end only, that pictures hardly tell what is heard.
type against struct{ blank, nextDoor, untold float64 }

// odds are the log odds against a ball.
func (a against) odds() float64 { return max(a.blank, a.nextDoor, a.untold) }

// speaksAgainst is what speaks against all balls found so far. Too few balls leave it as
// it was: else what is doubted for it would free itself by being doubted.
func (s *session) speaksAgainst(e *eye) against {
	f := s.sight.fits[feedPart]
	few := s.takenNextDoor() && len(s.anchors()) < besideLeast
	if few || f.yes.n < besideLeast || f.no.n < blankElse || !s.moves() {
		return s.against
	}
	beside := besideMost * s.beside(e)
	if f.yes.n < blankLeast {
		return against{blank: s.against.blank, nextDoor: max(s.against.nextDoor, beside)}
	}
	alike := 0.0
	if !s.mostBounce() { // what is seen to come and bounce is a ball, however differently it is met
		alike = max(1-s.apart()/blankBelow, 0)
	}
	return against{blank: blankMost * alike, nextDoor: beside}
}

// apart is by how many common standard deviations what the pictures show at balls
// differs from what they show elsewhere, before and at contact together.
func (s *session) apart() float64 {
	if s.sight == nil { // nothing could be learnt
		return 0
	}
	return s.sight.fits[feedPart].apart() + s.sight.fits[shotPart].apart()
}

// tooSilent are the log odds against balls with no bat sound: where the sound
// tells something, most balls are struck.
func (s *session) tooSilent(anchors []anchor) float64 {
	const weight = 5
	if s.silent() {
		return 0
	}
	struck, not := 1.0, 1.0
	for _, a := range anchors {
		if a.heard {
			struck += a.p
		} else {
			not += a.p
		}
	}
	return weight * max(math.Log(not/struck), 0)
}
