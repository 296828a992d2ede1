package split

import (
	"context"
	"math"
	"sort"
)

// Without sound nothing is sure to begin with. But what a session repeats most
// often is a ball: stretches in which much moves are compared with each other,
// and the largest group that is alike is taken for balls.
const (
	discoverMost  = 48  // stretches compared
	discoverSlack = 8   // steps by which one may lie off another
	discoverApart = 1.6 // s between two
	discoverLeast = 4   // alike stretches that make a group
	groupsMost    = 4
	alikeLeast    = 0.25 // correlation: less is never alike
)

// discover finds the first anchors by pictures alone and learns from them.
func (s *session) discover(ctx context.Context, f Footage, e *eye, work *course) error {
	busy := s.firstLooks()
	if len(busy) < discoverLeast {
		return nil
	}
	if _, err := s.gazeAt(ctx, f, busy, work); err != nil {
		return err
	}
	anchors, examples := s.seenComing()
	if anchors == nil && !s.audible() {
		anchors, examples = s.seenAlike(busy)
	}
	if anchors == nil {
		return nil
	}
	s.discovered = true
	s.sight = learnSight(channelsOf(e), examples)
	s.judge(anchors)
	return nil
}

// firstSure and firstNot are the probabilities given to what discovery takes
// for balls and for none.
const (
	firstSure = 0.8
	firstNot  = 0.1

	firstUnsure = 0.3 // of one that comes where others come, but is not seen to go
)

// seenComing takes for balls what flies the way that balls come.
func (s *session) seenComing() (anchors []anchor, examples []example) {
	// What is not sure may be the next net's, whose balls may be seen as well.
	var sure []anchor
	for _, a := range s.anchors() {
		if a.p > doubtTo {
			sure = append(sure, a)
		}
	}
	way := s.learnWay(sure)
	if way == nil || s.audible() && way.outward() {
		return nil, nil
	}
	for _, p := range way.passes {
		a := anchor{p.at, firstSure, false}
		if p.gone == nil && !p.turned && !p.onward && way.leave > leaveMost {
			a.p = firstUnsure
		}
		if o := s.strikeNear(p.at); o >= 0 {
			a.at, a.heard = s.onsets[o].at, true
		}
		anchors = append(anchors, a)
		if v := s.viewOf(a.at); v != nil {
			examples = append(examples, example{v, a.at, a.p})
		}
	}
	for v, t := range s.watched(watchStep) {
		free := true
		for _, a := range anchors {
			free = free && math.Abs(a.at-t) > discoverApart
		}
		if free {
			examples = append(examples, example{v, t, firstNot})
		}
	}
	return anchors, examples
}

// seenAlike takes for balls the largest group of stretches that look alike.
func (s *session) seenAlike(busy []float64) (anchors []anchor, examples []example) {
	var all []*sighting
	for _, t := range busy {
		if v := s.viewOf(t); v != nil {
			all = append(all, newSighting(v, t))
		}
	}
	group, late := ballGroup(all)
	if group == nil {
		return nil, nil
	}
	if by, ok := s.byEar(all, group); ok {
		late = by
	}
	for i, sg := range all {
		at := sg.at + float64(group[i].shift)*stirStep + late
		p := firstNot
		if group[i].in {
			p = firstSure
			if o := s.strikeNear(at); o >= 0 {
				at = s.onsets[o].at
			}
			anchors = append(anchors, anchor{at, p, false})
		}
		if s.viewOf(at) != nil {
			examples = append(examples, example{sg.view, at, p})
		}
	}
	return anchors, examples
}

// byEar gives how far the shot lies from the middle of a group's sightings by
// the bats heard near them; ok if there are a few and they agree.
func (s *session) byEar(all []*sighting, group []member) (late float64, ok bool) {
	const (
		reach = 1.2  // s
		agree = 0.15 // s
		few   = 3
	)
	var lags []float64
	for i, sg := range all {
		if !group[i].in {
			continue
		}
		at := sg.at + float64(group[i].shift)*stirStep
		for _, m := range s.moments {
			if m.chosen && m.struck && m.here > 0.5 && math.Abs(m.at-at) < reach {
				lags = append(lags, m.at-at)
			}
		}
	}
	if len(lags) < few {
		return 0, false
	}
	mid := middle(lags)
	near := 0
	for _, l := range lags {
		if math.Abs(l-mid) <= agree {
			near++
		}
	}
	return mid, near >= few && 2*near > len(lags)
}

// strikeNear is the onset most like a bat's within a quarter of a second of t,
// -1 if none is likelier than not.
func (s *session) strikeNear(t float64) int {
	best, odds := -1, 0.0
	for i := range within(s.onsets, t-0.25, t+0.25) {
		if s.first[i] > odds {
			best, odds = i, s.first[i]
		}
	}
	return best
}

// busiest lists up to n times at which most moves, apart from each other.
func (s *session) busiest(n int) []float64 {
	list := s.stirred(nil)
	sort.SliceStable(list, func(i, j int) bool {
		a, b := s.motion.step(list[i]), s.motion.step(list[j])
		return s.motion.burst(a) > s.motion.burst(b)
	})
	var out []float64
	for _, t := range list {
		free := t > viewBefore && t < s.seconds-viewAfter
		for _, o := range out {
			free = free && math.Abs(o-t) >= discoverApart
		}
		if free {
			if out = append(out, t); len(out) == n {
				break
			}
		}
	}
	sort.Float64s(out)
	return out
}
