package split

import (
	"math"
	"sort"

	"netreel/media"
)

// session is everything known of one file while it is being split.
type session struct {
	probe      media.Probe
	seconds    float64
	onsets     []onset
	crack      []float64 // log odds of each onset to be a bat's sound
	first      []float64 // log odds of each onset to be a contact, before learning, with what was lent
	bat        []float64 // log odds of each onset to be the bat, if there is a ball
	motion     curve
	heard      *ear
	packets    *stir
	moments    []moment
	pattern    pattern
	company    company
	colour     colour
	delay      moments // s from bounce to passing
	passedBy   float64 // and what is usual
	views      views
	sight      *sight
	way        *way     // nil if no ball was seen in flight
	doubts     float64  // balls expected to be judged wrongly as things stand, or to hide in long gaps
	heeded     bool     // before the first look, balls enough to learn from were heard
	earFirst   bool     // what pictures alone take for balls is not believed
	own        []anchor // what sifting took for the session's bats
	sifting    bool     // which of the bats heard are the session's is told by pictures
	discovered bool     // pictures alone showed what is like a ball
	heedless   bool     // the balls are found by their looks, since they are not heard or were seen to come
	silence    float64  // log odds against balls that nothing was heard of, where too many are
	against    against  // what speaks against all balls
	learnt     float64  // balls that all this was learnt from
	words      []word   // what people said, ascending
	taught     Profile  // by an earlier session; the zero value if by none
}

func newSession(p media.Probe, heard *ear, seen *stir) *session {
	s := &session{probe: p, seconds: p.Duration.Seconds(), heard: heard, packets: seen}
	if heard != nil {
		s.onsets = heard.onsets
		s.crack = make([]float64, len(s.onsets))
		for i, o := range s.onsets {
			s.crack[i] = crackOdds(o)
		}
	}
	s.motion = seen.curve(int(s.seconds/stirStep) + 1)
	s.first = s.guess()
	return s
}

const rounds = 4

// learn finds the balls by turns: what is sure teaches what balls are like in
// this session, which makes more of them sure.
func (s *session) learn() {
	s.judge(s.firstAnchors())
	for range rounds - 1 {
		s.judge(s.anchors())
	}
}

// judge says anew of every moment how likely it is a ball, by what anchors teach.
func (s *session) judge(anchors []anchor) {
	s.study(anchors)
	s.weighAnew()
}

// weighAnew says it anew by what has been learnt.
func (s *session) weighAnew() {
	s.propose()
	decide(s.moments)
}

// anchors are the balls found so far.
func (s *session) anchors() []anchor {
	var out []anchor
	for _, m := range s.moments {
		if m.chosen && m.here > 0.5 {
			out = append(out, anchor{m.at, s.teaches(m), m.onset >= 0 && s.first[m.onset] > heardLeast})
		}
	}
	return out
}

// teaches is how much a moment teaches of what balls are like: as much as it is
// likely to be one, but less where the balls' way is sure and none was seen on it.
// The next net's bats would else make their own case.
func (s *session) teaches(m moment) float64 {
	if s.wayTells() && m.clues.seen && !m.said && m.clues.flight < flightUnlikely {
		return m.here * unsureTeacher
	}
	return m.here
}

// heardLeast is the log odds, by sound and before learning, from which a ball's
// bat counts as heard.
const heardLeast = -2.0

// loudCrack is how loud the louder of the session's cracks are, in dB.
func (s *session) loudCrack() float64 {
	var list []struct{ level, p float64 }
	var all float64
	for i, o := range s.onsets {
		if s.crack[i] > -2 {
			p := sigmoid(s.crack[i])
			list = append(list, struct{ level, p float64 }{o.peak.high(), p})
			all += p
		}
	}
	sort.Slice(list, func(i, j int) bool { return list[i].level > list[j].level })
	var sum float64
	for _, c := range list {
		if sum += c.p; sum >= 0.15*all {
			return c.level
		}
	}
	return silenceDB
}

// byFirst are the balls of the best chain of sounds by their first log odds and
// what is lent to them, of those that have more than least then.
func (s *session) byFirst(lent, least float64) []anchor {
	var list []moment
	for i, odds := range s.first {
		if odds+lent > least {
			list = append(list, moment{at: s.onsets[i].at, score: odds + lent})
		}
	}
	decide(list)
	var out []anchor
	for _, m := range list {
		if m.chosen {
			out = append(out, anchor{m.at, m.p, true})
		}
	}
	return out
}

// firstLeastOdds is the log odds from which a sound may teach at first.
const firstLeastOdds = -1.5

// firstAnchors are the sounds most like a bat's, and if there are few, the
// greatest movements.
func (s *session) firstAnchors() []anchor {
	out := append(s.byFirst(0, firstLeastOdds), s.saidAnchors()...)
	sort.Slice(out, func(i, j int) bool { return out[i].at < out[j].at })
	if len(out) >= 3 {
		return out
	}
	for _, m := range s.stirred(nil) {
		out = append(out, anchor{m, 0.5, false})
	}
	sort.Slice(out, func(i, j int) bool { return out[i].at < out[j].at })
	return out
}

// stirred gives the moments at which the picture moves most, by the session's
// pattern or, if there is none yet, by the plain amount.
func (s *session) stirred(p *pattern) []float64 {
	value := make(curve, len(s.motion))
	for k := range value {
		if p == nil {
			value[k] = float32(s.motion.burst(k))
			continue
		}
		e := p.evidence((float64(k)+0.5)*stirStep, 0)
		value[k] = float32(e[feedPart] + e[shotPart])
	}
	const apart = 8 // steps
	least := float32(0)
	if p == nil && len(value) > 0 {
		least = value.quantile(0.85)
	}
	var out []float64
	for k, v := range value {
		if v <= least {
			continue
		}
		top := true
		for d := -apart; d <= apart && top; d++ {
			if j := k + d; j >= 0 && j < len(value) && (value[j] > v || value[j] == v && d < 0) {
				top = false
			}
		}
		if top {
			out = append(out, (float64(k)+0.5)*stirStep)
		}
	}
	return out
}

// study learns the session's pattern, company and colour from anchors.
func (s *session) study(anchors []anchor) {
	var elsewhere []float64
	k := 0
	for t := 0.25; t < s.seconds; t += 0.5 {
		for k < len(anchors) && anchors[k].at < t-1.2 {
			k++
		}
		if k == len(anchors) || anchors[k].at > t+1.2 {
			elsewhere = append(elsewhere, t)
		}
	}
	s.pattern = learnPattern(s.motion, anchors, elsewhere)
	s.company = learnCompany(s.onsets, anchors, s.seconds, s.taught)
	p := make([]float64, len(s.onsets))
	for _, a := range anchors {
		if i := s.onsetNear(a.at, 0.002); i >= 0 {
			p[i] = a.p
		}
	}
	s.colour = learnColour(s.onsets, p, s.taught)
	s.way = s.learnWay(anchors)
	if s.sifting && s.way != nil && !s.onOwn(s.way) {
		s.way = nil
	}
	s.learnt = 0
	for _, a := range anchors {
		s.learnt += a.p
	}
	if s.way != nil {
		s.learnt = max(s.learnt, float64(s.way.flights))
	}
	if s.taught.Bat != nil || s.way != nil && s.way.known {
		s.learnt += counts(s.taught.Balls)
	}
	s.silence = s.tooSilent(anchors)
	s.delay = moments{}
	if m := s.taught.Bounce; m != nil {
		s.delay = m.as(s.taught.Balls)
	}
	for _, a := range anchors {
		if i := s.bounceBefore(a.at); i >= 0 {
			s.delay.add(a.at-s.onsets[i].at, a.p)
		}
	}
	s.passedBy = 0.28
	if s.delay.n >= 3 {
		s.passedBy = s.delay.mean()
	}
}

// silent says whether there is no sound to go by.
func (s *session) silent() bool { return s.heard == nil || s.heard.loudest < silentBelow }

// onsetNear is the index of the first onset within d seconds of t, or -1.
func (s *session) onsetNear(t, d float64) int {
	for i := range within(s.onsets, t-d, t+d) {
		return i
	}
	return -1
}

// bounceBefore is the index of the dullest sound where a bounce would be, or -1.
func (s *session) bounceBefore(t float64) int {
	best := -1
	var top float32
	for i, o := range within(s.onsets, t-0.6, t-0.07) {
		if kindOf(o) == 0 && o.lift[bandThud] > top {
			best, top = i, o.lift[bandThud]
		}
	}
	return best
}

// propose lists every moment worth a decision, with its clues.
func (s *session) propose() {
	known := map[float64]float64{} // what the session was taught by, with its weight
	for _, m := range s.moments {
		if m.chosen && m.here > 0.5 {
			known[m.at] = m.here
		}
	}
	s.moments = s.moments[:0]
	s.weighBats(known)
	for i, o := range s.onsets {
		own := known[o.at]
		m := moment{at: o.at, struck: true, onset: i}
		m.clues = s.cluesAt(o.at, own)
		m.clues.crack = s.first[i]
		m.clues.colour = s.colour.evidence(o, own)
		// Either the sound is sure to be a contact, or there is a ball about
		// here and the sound is its bat.
		m.score = logAdd(s.weigh(m.clues, true), s.weigh(m.clues, false)+logSigmoid(s.bat[i]))
		if m.score > -6 {
			s.moments = append(s.moments, m)
		}
	}
	var times []float64
	for _, at := range s.stirred(&s.pattern) {
		times = append(times, s.settle(at))
	}
	for _, o := range s.onsets {
		if kindOf(o) == 0 {
			times = append(times, s.settle(o.at+s.passedBy))
		}
	}
	if s.sight != nil {
		for _, v := range s.views {
			times = append(times, s.sight.peaks(v)...)
		}
	}
	if s.way != nil {
		for _, p := range s.way.passes {
			times = append(times, p.at)
		}
	}
	sort.Float64s(times)
	last := math.Inf(-1)
	for _, at := range times {
		if at-last > stirStep/2 { // many sounds settle on one place
			s.passing(at, known[at])
			last = at
		}
	}
	s.obey()
}

// passing proposes a ball that went by unstruck at time at. A sound like that
// of the bat nearby speaks against it.
func (s *session) passing(at, own float64) {
	const nearby = 0.35 // s
	bat := math.Inf(-1)
	for i := range within(s.onsets, at-nearby, at+nearby) {
		bat = max(bat, s.bat[i])
	}
	m := moment{at: at, onset: -1, clues: s.cluesAt(at, own)}
	m.score = s.weigh(m.clues, false) + logSigmoid(-bat)
	if m.score > -4 {
		s.moments = append(s.moments, m)
	}
}

// batWeights are of: nothing, the crack's odds, 10 dB below the session's
// louder cracks, and its colour.
var batWeights = [4]float64{2, 0.5, -2.5, 1.2}

// weighBats sets for each sound the log odds that it is the bat, if a ball is
// played at that moment.
func (s *session) weighBats(known map[float64]float64) {
	loud := s.loudCrack()
	s.bat = make([]float64, len(s.onsets))
	for i, o := range s.onsets {
		below := max(loud-o.peak.high(), 0) / 10
		for k, v := range [...]float64{1, s.crack[i], below, s.colour.evidence(o, known[o.at])} {
			s.bat[i] += batWeights[k] * v
		}
	}
}

func (s *session) cluesAt(at, own float64) clues {
	motion := s.pattern.evidence(at, own)
	c := clues{feed: motion[feedPart], shot: motion[shotPart]}
	if len(s.onsets) > 0 {
		c.company = s.company.evidence(at, own)
	}
	if v := s.viewOf(at); v != nil && s.sight != nil {
		look := s.sight.evidence(v, at)
		c.seen, c.feedIn, c.shotIn = true, look[feedPart], look[shotPart]
		if s.way != nil {
			c.flight = s.way.evidence(at)
			if s.way.outward() && !s.silent() && c.flight < 0 {
				c.flight = 0 // one that was not struck is not seen to go
			}
		}
	}
	return c
}
