package split

import (
	"math"
	"slices"

	"netreel/media"
)

// How much of the session belongs to a ball, from contact or passing.
const (
	leadIn     = 2.2 // s, at least
	leadInMost = 4.0 // s, where the session's run-in is seen to begin earlier
	after      = 1.3 // s
	keep       = 0.4 // of a gap too short for both: to the ball before
	surest     = 0.995
)

// lead is how long before contact a ball begins: where, on average over the
// session's balls, the movement before it rises.
func (s *session) lead() float64 {
	anchors := s.anchors()
	if len(anchors) < doubt || len(s.motion) == 0 {
		return leadIn
	}
	const steps = int(leadInMost / stirStep)
	var mean [steps + 1]float64 // of the steps before contact
	for _, a := range anchors {
		k := s.motion.step(a.at)
		for i := range mean {
			mean[i] += s.motion.near(k-i) / float64(len(anchors))
		}
	}
	// Rest is the quietest half second that far back; the lead-in begins where
	// it is last left.
	const window = 10
	level := func(i int) float64 {
		var sum float64
		for j := i; j < min(i+window, len(mean)); j++ {
			sum += mean[j]
		}
		return sum / float64(min(window, len(mean)-i))
	}
	const from = 16 // steps: the flight itself takes 0.8 s
	rest, top := level(from), mean[0]
	for i := range mean {
		top = max(top, mean[i])
		if i >= from && i+window <= len(mean) {
			rest = min(rest, level(i))
		}
	}
	for i := from; i+window <= len(mean); i++ {
		if level(i) <= rest+0.15*(top-rest) {
			return min(max(float64(i)*stirStep+0.3, leadIn), leadInMost)
		}
	}
	return leadInMost
}

// What the joint decision gives is turned into what is stated by a line through
// log odds, fitted to what held (Platt 1999, Probabilistic outputs for support
// vector machines) over candidates of scenes by two makers, each maker's
// counting the same.
const (
	plattSlope = 1.05
	plattShift = 0.33
)

func stated(p float64) float64 {
	return min(sigmoid(plattSlope*math.Log(p/(1-min(p, surest)))+plattShift), surest)
}

// result turns the moments into balls.
func (s *session) result() Result {
	s.strike()
	s.swings()
	lead, end := media.FromSeconds(s.lead()), s.probe.Duration
	r := Result{Cut: usualCut, Notes: s.notes(), Profile: s.taught}
	for i, m := range s.moments {
		at := media.FromSeconds(m.at)
		if m.here < leastSure || at < 0 || at >= end || !s.speaks(i) {
			continue
		}
		b := Ball{Passing: at, Struck: s.struck(i), Release: s.release(m), Bounce: s.bounce(m), Evidence: s.evidence(m)}
		b.Confidence = stated(m.here)
		if m.said {
			b.Confidence = 1
		}
		if m.struck {
			b.Contact = &at
		}
		b.Start, b.End = max(at-lead, 0), min(at+media.FromSeconds(after), end)
		r.Balls = append(r.Balls, b)
	}
	if len(s.views) > 0 { // before anything was looked at, nothing need be sure
		r.Cut = cutOf(r.Balls, end)
	}
	if r.Cut > usualCut && len(r.Above(usualCut)) > 0 {
		r.Notes = append(r.Notes, "Nothing is surely a ball: what may be one is left out. Move the slider towards more to see it.")
	}
	above := r.Above(r.Cut)
	for _, b := range above {
		r.Deliveries = append(r.Deliveries, b.Delivery)
	}
	if len(above) > 0 { // else nothing was found that it could be learnt from
		r.Profile = s.profile()
	}
	r.Breaks = breaks(above)
	r.Motion = media.Trace{Step: traceStep, Values: stretch(s.motion.bytes(), traceLeast)}
	if s.heard != nil {
		values := s.heard.env.values
		r.Sound = media.Trace{Step: traceStep, Values: stretch(values[:min(len(values), s.motion.step(s.seconds)+1)], traceLeast)}
	}
	return r
}

// asHeard is the result as it stands before anything was looked at. It leaves
// the session as it is: what comes after must not depend on who asks.
func (s *session) asHeard() Result {
	draft := *s
	draft.moments = slices.Clone(s.moments)
	return draft.result()
}

// speaks says whether moment i stands for those about it: it is chosen, or the
// likeliest where none is.
func (s *session) speaks(i int) bool {
	m := s.moments[i]
	if m.chosen {
		return true
	}
	speaks := true
	s.about(i, func(o moment, later bool) {
		if o.chosen || o.p > m.p || o.p == m.p && !later {
			speaks = false
		}
	})
	return speaks
}

// struck is the probability that the bat was hit in the ball that moment i
// stands for.
func (s *session) struck(i int) float64 {
	var yes, all float64
	count := func(o moment) {
		all += o.p
		if o.struck {
			yes += o.p
		}
	}
	count(s.moments[i])
	s.about(i, func(o moment, _ bool) { count(o) })
	if s.moments[i].said || all == 0 {
		yes, all = 0, 1
		if s.moments[i].struck {
			yes = 1
		}
	}
	return yes / all
}

// about calls fn with each moment that may be the same ball as moment i.
func (s *session) about(i int, fn func(o moment, later bool)) {
	for j := i - 1; j >= 0 && s.moments[i].at-s.moments[j].at <= aboutHere; j-- {
		fn(s.moments[j], false)
	}
	for j := i + 1; j < len(s.moments) && s.moments[j].at-s.moments[i].at <= aboutHere; j++ {
		fn(s.moments[j], true)
	}
}
