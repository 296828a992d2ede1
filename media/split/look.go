package split

import (
	"context"
	"iter"
	"math"
	"runtime"
	"slices"
	"sort"
)

// The second pass decodes pictures where the first is in doubt.
const (
	doubtFrom   = 0.04 // a moment with this probability is worth a look ...
	doubtTo     = 0.95 // ... up to this
	sureLeast   = 5    // fewer sure balls: the pictures must show what a ball is,
	likelyLeast = 8.0  // unless of all that are likely so many are expected, and none is seen to come
	sureWanted  = 12   // sure balls to learn from
	emptyWanted = 8    // stretches without a ball to learn from
	lookRounds  = 12
	roundLeast  = 64  // windows of one round; later ones may double what was seen
	vainMost    = 40  // stretches in rounds, one after the other, that changed nothing,
	vainLong    = 20  // and in long footage, in which each costs, changed no more than ...
	vainShare   = 0.2 // ... this share of the balls expected to be judged wrongly
	settleReach = 6   // steps
)

const unsureTeacher = 0.4 // how much a ball that only looks like one teaches

// look goes on from what the first pass found, with pictures of what is in
// doubt and of some of what is not, to compare it with.
func (s *session) look(ctx context.Context, f Footage, work *course) error {
	e := newEye(s.probe.Width, s.probe.Height)
	s.heeded = s.audible()
	s.heedless = s.silent()
	switch {
	case s.sifting:
		if err := s.sift(ctx, f, e, work); err != nil || s.own == nil {
			return err
		}
	case s.sure() < sureLeast:
		if !s.earFirst {
			if err := s.discover(ctx, f, e, work); err != nil {
				return err
			}
		}
		s.heedless = s.heedless || !s.heeded || s.way != nil && !s.way.outward()
	}
	before, vain := verdict{}, 0
	for round := range lookRounds {
		s.doubts = s.expectedErrors()
		want := s.unsure()
		if round == 0 {
			want = append(s.samples(), want...)
		} else {
			places, hidden := s.overlooked()
			want = append(want, places...)
			s.doubts += hidden
		}
		want = want[:min(len(want), s.affordable(), max(roundLeast, len(s.views)))]
		seen, err := s.gazeAt(ctx, f, want, work)
		if err != nil {
			return err
		}
		if round > 0 && seen == 0 {
			break
		}
		for range rounds {
			if !s.sifting {
				s.sight = learnSight(channelsOf(e), s.examples())
			}
			s.judge(s.anchors())
		}
		if against := s.speaksAgainst(e); against != s.against {
			s.against = against
			s.weighAnew()
		}
		vain += seen
		now := verdict{s.anchors(), s.expectedErrors()}
		enough, allowed := vainMost, 0.0
		if s.seconds > lookShort && !s.heedless {
			enough, allowed = vainLong, vainShare*now.wrong
		}
		if !now.same(before, allowed) {
			before, vain = now, 0
		}
		if vain >= enough {
			break
		}
	}
	return ctx.Err()
}

// verdict is what looking is for: which balls there are, and how many are
// expected to be judged wrongly.
type verdict struct {
	balls []anchor
	wrong float64
}

// same says whether two verdicts differ by nothing that it was worth looking for: by no
// more balls than are allowed, one instead of another counted twice.
func (v verdict) same(o verdict, allowed float64) bool {
	apart := missing(v.balls, o.balls, aboutHere) + missing(o.balls, v.balls, aboutHere)
	return math.Abs(v.wrong-o.wrong) < max(allowed, 0.5) && float64(apart) <= allowed
}

// missing counts the balls that lie within reach, in s, of none of the others.
func missing(balls, others []anchor, reach float64) int {
	n := 0
	for _, a := range balls {
		if !slices.ContainsFunc(others, func(b anchor) bool { return math.Abs(a.at-b.at) < reach }) {
			n++
		}
	}
	return n
}

// sure counts the balls that are beyond doubt.
func (s *session) sure() int {
	n := 0
	for _, m := range s.moments {
		if m.chosen && m.here > doubtTo {
			n++
		}
	}
	return n
}

// audible says whether enough balls are heard to learn from them.
func (s *session) audible() bool { return s.sure() >= sureLeast || s.likely() >= likelyLeast }

// likely is how many balls are expected of those that are likelier than not.
func (s *session) likely() float64 {
	n := 0.0
	for _, a := range s.anchors() {
		n += a.p
	}
	return n
}

// eyesMost is how many stretches are looked at at a time: each is decoded on
// one core.
const eyesMost = 4

// gazeAt decodes what has not been seen yet around times, and says how many
// stretches that were.
func (s *session) gazeAt(ctx context.Context, f Footage, times []float64, work *course) (int, error) {
	todo := s.views.stretches(times, s.seconds, s.begins)
	if len(todo) == 0 {
		return 0, nil
	}
	progress := work.step(gazeShare)
	ctx, stop := context.WithCancelCause(ctx)
	defer stop(nil)
	spans, seen := make(chan [2]float64, len(todo)), make(chan *view)
	for _, span := range todo {
		spans <- span
	}
	close(spans)
	for range min(runtime.GOMAXPROCS(0), eyesMost, len(todo)) {
		go func() {
			for span := range spans {
				v, err := gaze(ctx, f, s.probe, span[0], span[1])
				if err != nil {
					stop(err)
				}
				seen <- v
			}
		}()
	}
	for i := range todo {
		s.views = s.views.add(<-seen)
		progress(float64(i+1) / float64(len(todo)))
	}
	return len(todo), context.Cause(ctx)
}

// begins is from when on to look where pictures from t on are wanted. Decoding begins at
// a key frame: in long footage that must be searched by eye, all that is decoded is used.
func (s *session) begins(t float64) float64 {
	if s.seconds <= lookShort || !s.heedless {
		return t
	}
	return max(s.packets.start(t), 0)
}

// viewOf is the view that shows t with what comes before and after, or nil.
func (s *session) viewOf(t float64) *view {
	const least = 0.25 // the slack that settling needs
	return s.views.at(max(t-viewBefore+2*least, 0), min(t+viewAfter-2*least, s.seconds))
}

// watchStep is between two moments of those watched for examples without a ball.
const watchStep = 0.4 // s

// watched are moments so many seconds apart, each with the view that shows it with what
// comes before and after.
func (s *session) watched(step float64) iter.Seq2[*view, float64] {
	return func(yield func(*view, float64) bool) {
		for _, v := range s.views {
			for t := v.from + viewBefore; t <= v.to-viewAfter; t += step {
				if s.viewOf(t) == v && !yield(v, t) {
					return
				}
			}
		}
	}
}

// settle moves a time to where the picture says that the ball passed.
func (s *session) settle(t float64) float64 {
	if s.sight == nil {
		return t
	}
	best, at := 0.0, t
	for i := -settleReach; i <= settleReach; i++ {
		u := t + float64(i)*stirStep
		v := s.viewOf(u)
		if v == nil || u < v.from {
			continue
		}
		k := int(math.Round((u - v.from) / stirStep))
		if line := s.sight.line(v); k < len(line) && line[k] > best {
			best, at = line[k], v.from+float64(k)*stirStep
		}
	}
	return at
}

// examples are what has been seen so far: balls, and stretches in which there
// is none.
func (s *session) examples() []example {
	var out []example
	for _, m := range s.moments {
		v := s.viewOf(m.at)
		if v == nil || !m.chosen && m.here > 0.5 {
			continue
		}
		p := s.teaches(m)
		switch {
		case !m.chosen:
			p = min(p, 0.2)
		case !m.struck && m.clues.flight <= 0 && !m.said && !s.silent():
			// Nothing was heard and nothing seen to fly: what rests on the grid
			// alone must not teach it.
			p = min(p, m.here*unsureTeacher)
		}
		out = append(out, example{v, m.at, p})
	}
	for v, t := range s.watched(watchStep) {
		i := sort.Search(len(s.moments), func(i int) bool { return s.moments[i].at > t-1 })
		free := true
		for ; i < len(s.moments) && s.moments[i].at < t+1 && free; i++ {
			free = s.moments[i].here < doubtFrom
		}
		if free {
			out = append(out, example{v, t, 0})
		}
	}
	return out
}
