package split

import "netreel/media"

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

// result turns the chosen moments into balls.
func (s *session) result() Result {
	s.swings()
	lead, end := media.FromSeconds(s.lead()), s.probe.Duration
	r := Result{Notes: s.notes()}
	for _, m := range s.moments {
		at := media.FromSeconds(m.at)
		if !m.chosen || m.here < 0.5 || at < 0 || at >= end {
			continue
		}
		b := Ball{Passing: at, Bounce: s.bounce(m), Evidence: s.evidence(m)}
		b.Confidence = min(m.here, surest)
		if m.struck {
			b.Contact = &at
		}
		b.Start, b.End = max(at-lead, 0), min(at+media.FromSeconds(after), end)
		if n := len(r.Balls); n > 0 {
			// The run-in of the next ball matters more than the end of this one.
			if a := &r.Balls[n-1]; a.End > b.Start {
				cut := max(b.Start, a.Passing+media.Micros(keep*float64(b.Passing-a.Passing)))
				a.End, b.Start = min(a.End, cut), min(a.End, cut)
			}
		}
		r.Balls = append(r.Balls, b)
	}
	for _, b := range r.Balls {
		r.Deliveries = append(r.Deliveries, b.Delivery)
	}
	r.Motion = media.Trace{Step: traceStep, Values: stretch(s.motion.bytes(), traceLeast)}
	if s.heard != nil {
		values := s.heard.env.values
		r.Sound = media.Trace{Step: traceStep, Values: stretch(values[:min(len(values), s.motion.step(s.seconds)+1)], traceLeast)}
	}
	return r
}
