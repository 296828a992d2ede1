package split

import (
	"math"
	"slices"
	"sort"
)

// Where balls can be seen in flight, all of a session come the same way: along
// one line, about as fast, about as large, one at a time. That way is the
// surest sign of a ball that there is, and no shadow shot has it.
const (
	wayTime     = 0.07 // s: a shorter flight says nothing,
	wayLast     = 1.2  // and one that takes longer rolls, or goes up: the slowest ball is with the batter by then
	wayGrows    = 0.2  // log of its mass that a ball wins that comes towards the camera
	wayTurn     = 0.9  // cosine of the greatest angle to the way,
	wayMeet     = 0.3  // and between two that fall to the same place:
	wayGround   = 30.0 // pixels between their ends
	wayUp       = 0.25 // part of its direction that is up: what comes does not rise,
	waySteep    = 0.6  // but for what has bounced unseen: what rises as steeply as this
	wayRises    = 0.4  // counts so much
	wayBeyond   = 0.25 // of the picture's width from its middle: the batter is seldom farther
	wayBeside   = 14.0 // pixels beside it
	wayOnward   = 0.5  // s for which a ball may fly unseen on its way from where one was seen to where another is
	wayPace     = 1.8  // times faster or slower
	wayMass     = 3.0  // times larger or smaller
	wayAlike    = 1.8  // ... than most on it
	wayRough    = 2.5  // pixels off a smooth curve: more is noise
	roughTime   = 0.5  // s: a longer flight may be off by as many times more
	wayLong     = 60.0 // pixels: longer says no more
	wayLeast    = 4    // flights that make a way
	waySeeds    = 1200 // flights compared
	wayApart    = 1.5  // s between two balls on it
	wayPiece    = 0.4  // s between two pieces of one flight
	waySlant    = 0.2  // of their mean pace by which balls get faster or slower in the picture that are not seen from the side
	waySide     = 0.95 // part of its direction that is level: more is seen from the side,
	wayLevel    = 0.35 // and less is a steep way
	meetLeast   = 3    // flights by which the batter's place is known
	meetDeep    = 0.8  // share of turns that lie no farther than where a ball has passed
	meetLost    = 0.06 // s before it that a ball is lost before the batter
	meetSlower  = 3.0  // times slower a ball is in the picture from where it was last seen to where it is met, at most
	passReach   = 0.12 // s by which a passing may be mistaken
	passFar     = 0.35 // s from which it is another's
	flightMost  = 4.5  // log odds
	flightFewer = -3.0
	wayStruck   = 0.6 // share of balls that may be seen where only those that go are
	wayItself   = 0.3 // how much a ball that wasn't heard tells of how often balls are seen on it
	speaksAlike = 1.0 // log odds: two ways that say so nearly the same of the balls are told apart by their bounces
	wayBat      = 0.2 // what a group is worth to which something comes from elsewhere
)

// way is how this session's balls come.
type way struct {
	ux, uy  float64 // direction
	ax, ay  float64 // axis on which places are told: level, unless the way is steep
	x, y    float64 // a point on it
	meet    float64 // pixels along the axis from that point, where the batter meets the ball
	deep    float64 // ... and where he still does now and then: who uses his feet meets it here and there
	flights int
	group   []arc    // by which it was found; nil if balls are only seen to go
	known   bool     // an earlier session's path led to it
	passes  []pass   // ascending, each its own ball
	bounced []bounce // that were seen on it, ascending, one a ball
	slant   bool     // balls are seen slantwise: they get faster or slower in the picture
	climbs  bool     // balls go up the picture from the bounce to the batter
	warm    bool     // its flights were followed by colour
	mute    bool     // there is no sound: where balls are met is told by their flights alone
	worth   float64  // how much its flights say together
	leave   float64  // share of passes after which a ball was seen to go
	shown   float64  // share of balls that are seen on it
	stray   float64  // probability that something else is, at a moment
}

// aim sets the direction and with it the axis. A bounce turns a ball upwards and
// lets it go on as it came in the level, which is why places are told there.
func (w *way) aim(ux, uy float64) {
	w.ux, w.uy, w.ax, w.ay = ux, uy, ux, uy
	if math.Abs(ux) > wayLevel {
		w.ax, w.ay = math.Copysign(1, ux), 0
	}
}

// on is how far a point lies along the axis.
func (w *way) on(p flightPoint) float64 { return (p.x-w.x)*w.ax + (p.y-w.y)*w.ay }

// level is how fast a flight goes along the axis, over all of it.
func (w *way) level(a arc) float64 { return a.vx*w.ax + a.vy*w.ay }

// pace is how fast a flight goes along the axis at its end. Seen from the side nothing
// but the air slows it in the level: its mean is surer there than the end of a curve.
// Slantwise it gets faster or slower in the picture, which matters little where there is
// sound: bats that are heard tell where balls are met by the same pace.
func (w *way) pace(a arc) float64 {
	if w.ay == 0 && !w.slantwise(a) {
		return w.level(a)
	}
	end := a.endX*w.ax + a.endY*w.ay
	if w.ay == 0 { // a curve may end too soon, but no ball stops
		return max(end, w.level(a)/2)
	}
	return end
}

// slantwise says whether a flight is believed to get faster or slower in the picture because
// of where it is seen from.
func (w *way) slantwise(a arc) bool {
	return w.ay == 0 && w.mute && !w.fromSide() && a.points >= curvePoints
}

// wayBy is the way by flights that were followed by colour, or by brightness.
func (s *session) wayBy(anchors []anchor, warm bool) *way {
	f := s.comparable(warm)
	place := s.findSource(f.arcs, anchors)
	most, theirs := s.leading(f, place, anchors)
	known, score := s.knownGroup(f, warm, anchors)
	group := most.group
	w := &way{warm: warm, worth: max(most.worth, score), known: score > most.worth, mute: s.silent()}
	if w.known {
		group = known
	}
	switch {
	case place != nil && !w.known && len(bouncesOf(group, f.bounces)) == 0 && place.outdoes(f.arcs, group, s.silent()):
		w = place.way()
		w.warm, w.mute, w.worth = warm, s.silent(), place.worth(f.arcs)
	case group == nil:
		return nil
	default:
		w.group = group
		s.lay(w, f, place, anchors)
		w.flights = len(w.group)
	}
	if !w.known && (s.nextNets(w.bounced) || w.after(theirs)) {
		return nil
	}
	s.weighWay(w, anchors)
	return w
}

// leading is the group of flights that is most likely the way in, none if there is none;
// and the bounces of those that are the next nets'.
func (s *session) leading(f air, place *source, anchors []anchor) (most led, theirs map[bounce]bool) {
	theirs = map[bounce]bool{} // many seeds lead to the same
	var drops led
	var all []led
	for _, seed := range f.arcs {
		group, score := s.follow(f, seed, anchors)
		if score <= most.worth/nearerWorth {
			continue
		}
		list := bouncesOf(group, f.bounces)
		if s.nextNets(list) {
			if score > most.worth {
				for _, b := range list {
					theirs[b] = true
				}
			}
			continue
		}
		n := len(list)
		if n < bounceTells && (len(group) < wayLeast || n == 0 && !looms(group) && !place.aimed(f.arcs, group)) {
			if score > drops.worth && s.drops(group) {
				drops = led{group, score}
			}
			continue
		}
		l := led{group, score}
		if all = append(all, l); score > most.worth {
			most = l
		}
	}
	if len(bouncesOf(most.group, f.bounces)) < bounceTells && drops.worth > dropMore*most.worth {
		return drops, theirs
	}
	if len(s.saidAnchors()) == 0 {
		most = nearest(most, all)
	}
	return most, theirs
}

// lay sets a way's direction, place and passes by its group.
func (s *session) lay(w *way, f air, place *source, anchors []anchor) {
	members := s.members(f, w.group)
	list := bouncesOf(members, f.bounces)
	switch {
	case w.known:
	case ascends(list):
		if n := s.partAcross(list); n != nil && s.knowsNearest(n, anchors) {
			w.group, list, members = n.ownAcross(w.group), n.near, n.ownAcross(members)
		}
	default:
		if n := partNets(f.alongside(w.group)); n != nil && s.knowsNearest(n, anchors) {
			w.group, list = n.balls(), n.near
			members = n.ownOnly(s.members(f, w.group), f.bounces)
		}
	}
	var struck []arc
	switch w.bounced = list; {
	case ascends(list):
		s.climb(w, members, list, anchors)
	case len(list) < bounceTells && !looms(w.group) && !place.aimed(f.arcs, w.group) && s.drops(w.group):
		w.drop(members)
	default:
		struck = f.unbounced(list)
		w.point(w.group)
		w.aim(w.ux, w.uy)
		w.slant = w.slants(members)
		w.meet, w.deep = s.meeting(w, w.group, struck, anchors)
		w.passes = s.passes(w, members)
		if lost, ok := w.passedAll(); ok {
			w.meet, w.deep = lost, lost
			w.passes = s.passes(w, members)
		}
	}
	w.leave = leaveShare(w.passes)
	if !w.climbs {
		w.addHits(struck)
	}
}

// point sets a way's direction and place to the mean of flights.
func (w *way) point(flights []arc) {
	for _, a := range flights {
		dx, dy := a.direction()
		w.ux, w.uy = w.ux+dx, w.uy+dy
		w.x, w.y = w.x+(a.from.x+a.to.x)/2/float64(len(flights)), w.y+(a.from.y+a.to.y)/2/float64(len(flights))
	}
	n := math.Hypot(w.ux, w.uy)
	w.ux, w.uy = w.ux/n, w.uy/n
}

// weighWay learns how often a ball is seen on its way, and how often something
// else is.
func (s *session) weighWay(w *way, anchors []anchor) {
	const prior = 2
	seen, of := 0.6*prior, float64(prior)
	if w.known && !w.outward() {
		n := counts(s.taught.Path.Flights)
		seen, of = seen+n*s.taught.Path.Shown, of+n
	}
	for _, a := range anchors {
		if s.viewOf(a.at) == nil {
			continue
		}
		told := a.p
		if !a.heard { // it may have been found by this way alone
			told *= wayItself
		}
		of += told
		if w.passAt(a.at) != nil {
			seen += told
		}
	}
	of += s.missedBy(anchors)
	if len(anchors) < wayLeast { // nothing else is known: all that comes is a ball
		seen, of = seen+float64(len(w.passes)), of+float64(len(w.passes))*1.2
	}
	var watched float64
	for _, v := range s.views {
		watched += v.to - v.from
	}
	stray := 0.0
	for _, p := range w.passes {
		near := false
		for _, a := range anchors {
			near = near || math.Abs(a.at-p.at) < 1
		}
		if !near {
			stray++
		}
	}
	if len(anchors) < wayLeast {
		stray = 0
	}
	w.shown = min(seen/of, 0.92)
	if w.outward() { // only balls that were struck are seen to go
		w.shown = min(w.shown, wayStruck)
	}
	_, far := w.reach()
	w.stray = min(max((stray*0.5+0.3)*2*far/max(watched-2*float64(len(anchors)), 10), 0.005), 0.3)
}

// missedBy is how many balls are expected of what is heard like one, but is not taken
// for one because nothing was seen on the way: else a way would seem to show every
// ball, since those that it doesn't show are none.
func (s *session) missedBy(anchors []anchor) float64 {
	sum, last := 0.0, math.Inf(-1)
	for i := range s.moments {
		m := &s.moments[i]
		if m.chosen || !m.struck || !m.clues.seen || m.clues.flight >= 0 || m.at-last < wayApart {
			continue
		}
		if slices.ContainsFunc(anchors, func(a anchor) bool { return math.Abs(a.at-m.at) < wayApart }) {
			continue
		}
		sum += sigmoid(m.score - s.flightSays(m.clues))
		last = m.at
	}
	return sum
}

// reach is by how many seconds a passing may be mistaken, and from how many it is
// another's.
func (w *way) reach() (sure, far float64) {
	if w.climbs {
		return climbReach, climbFar
	}
	return passReach, passFar
}

// near is the pass next to t, nil if there is none.
func (w *way) near(t float64) *pass {
	i := sort.Search(len(w.passes), func(i int) bool { return w.passes[i].at >= t })
	var best *pass
	for _, j := range []int{i - 1, i} {
		if j >= 0 && j < len(w.passes) && (best == nil || math.Abs(w.passes[j].at-t) < math.Abs(best.at-t)) {
			best = &w.passes[j]
		}
	}
	return best
}

// passAt is the pass of a ball at t, nil if none was seen.
func (w *way) passAt(t float64) *pass {
	p := w.near(t)
	if _, far := w.reach(); p == nil || math.Abs(p.at-t) >= far {
		return nil
	}
	return p
}

// evidence is the log likelihood ratio of what was seen on the way about t, for
// a ball that meets the batter then.
func (w *way) evidence(t float64) float64 {
	none := math.Log((1 - w.shown) / (1 - w.stray))
	p := w.near(t)
	if p == nil {
		return max(none, flightFewer)
	}
	d := math.Abs(p.at - t)
	reach, far := w.reach()
	share := 1 - min(max((d-reach)/(far-reach), 0), 1)
	there := math.Log(w.shown / w.stray)
	if p.gone == nil && !p.turned && !p.onward && w.leave > leaveMost {
		there -= leaveNone
	}
	return min(max(none+(there-none)*share, flightFewer), flightMost)
}

// fromSide says whether balls are seen from the side.
func (w *way) fromSide() bool { return math.Abs(w.ux) > waySide && !w.slant }

// slants says whether most flights, of those long enough to tell, get faster or slower along
// the axis: seen from the side none does by much.
func (w *way) slants(flights []arc) bool {
	var ends []float64 // pace at the end, as a share of that over all of it
	for _, a := range flights {
		if level := w.level(a); a.points >= curvePoints && level > 0 {
			ends = append(ends, (a.endX*w.ax+a.endY*w.ay)/level)
		}
	}
	return len(ends) >= meetLeast && math.Abs(middle(ends)-1) > waySlant
}

// grow says whether flights come towards the camera.
func grow(flights []arc) bool {
	var sum float64
	for _, a := range flights {
		sum += math.Log(a.to.mass / a.from.mass)
	}
	return sum > wayGrows*float64(len(flights))
}
