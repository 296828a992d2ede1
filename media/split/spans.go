package split

import (
	"context"

	"netreel/media"
)

// How much of the session belongs to a ball, from contact or passing.
const (
	leadIn = 2 * media.Second
	after  = 1300 * media.Second / 1000
)

func (s *session) look(ctx context.Context, f Footage, progress func(float64)) error {
	s.learn()
	return ctx.Err()
}

// result turns the chosen moments into balls.
func (s *session) result() Result {
	var r Result
	for _, m := range s.moments {
		if !m.chosen || m.here < 0.5 {
			continue
		}
		at := media.FromSeconds(m.at)
		if at < 0 || at >= s.probe.Duration {
			continue
		}
		b := Ball{Passing: at}
		b.Confidence = m.here
		if m.struck {
			b.Contact = &at
		}
		b.Start, b.End = max(at-leadIn, 0), min(at+after, s.probe.Duration)
		r.Balls = append(r.Balls, b)
	}
	for i := 1; i < len(r.Balls); i++ {
		a, b := &r.Balls[i-1], &r.Balls[i]
		if a.End > b.Start {
			// The run-in of the next ball matters more than the end of this one.
			cut := max(b.Start, a.Passing+(b.Passing-a.Passing)*4/10)
			a.End, b.Start = min(a.End, cut), max(b.Start, min(a.End, cut))
		}
	}
	for _, b := range r.Balls {
		r.Deliveries = append(r.Deliveries, b.Delivery)
	}
	r.Motion = s.motionTrace()
	if s.heard != nil {
		r.Sound = media.Trace{Step: traceStep, Values: stretch(s.heard.env.values, 15)}
	}
	return r
}

func (s *session) motionTrace() media.Trace {
	v := make([]byte, len(s.motion))
	for i, m := range s.motion {
		v[i] = byte(min(max((m+3)*255/9, 0), 255))
	}
	return media.Trace{Step: traceStep, Values: stretch(v, 15)}
}
