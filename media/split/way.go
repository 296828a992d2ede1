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
	wayTime     = 0.07 // s: a shorter flight says nothing
	wayTurn     = 0.9  // cosine of the greatest angle to the way
	wayBeside   = 14.0 // pixels beside it
	wayPace     = 1.8  // times faster or slower
	wayMass     = 3.0  // times larger or smaller
	wayRough    = 2.5  // pixels off a smooth curve: more is noise
	wayLong     = 60.0 // pixels: longer says no more
	wayLeast    = 4    // flights that make a way
	waySeeds    = 1200 // flights compared
	wayApart    = 1.5  // s between two balls on it
	wayPiece    = 0.4  // s between two pieces of one flight
	wayLevel    = 0.35 // part of its direction that is level: less is a steep way
	meetLeast   = 3    // flights by which the batter's place is known
	meetLost    = 0.06 // s before it that a ball is lost before the batter
	passReach   = 0.12 // s by which a passing may be mistaken
	passFar     = 0.35 // s from which it is another's
	flightMost  = 4.5  // log odds
	flightFewer = -3.0
	wayStruck   = 0.6 // share of balls that may be seen where only those that go are
	wayBat      = 0.2 // what a group is worth to which something comes from elsewhere
)

// way is how this session's balls come.
type way struct {
	ux, uy  float64 // direction
	ax, ay  float64 // axis on which places are told: level, unless the way is steep
	x, y    float64 // a point on it
	meet    float64 // pixels along the axis from that point, where the batter meets the ball
	flights int
	group   []arc   // by which it was found; nil if balls are only seen to go
	known   bool    // an earlier session's path led to it
	passes  []pass  // ascending, each its own ball
	leave   float64 // share of passes after which a ball was seen to go
	shown   float64 // share of balls that are seen on it
	stray   float64 // probability that something else is, at a moment
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

// pace is how fast a flight goes along the axis at its end. In the level nothing
// but the air slows it: its mean is surer there than the end of a curve.
func (w *way) pace(a arc) float64 {
	if w.ay == 0 {
		return w.level(a)
	}
	return a.endX*w.ax + a.endY*w.ay
}

// comparable lists the flights that may belong to a way.
func (s *session) comparable() []arc {
	var all []arc
	for _, v := range s.views {
		for _, a := range v.arcs {
			if a.to.t-a.from.t >= wayTime && a.rough <= wayRough && a.mass > 0 {
				all = append(all, a)
			}
		}
	}
	if len(all) > waySeeds { // the clearest
		slices.SortStableFunc(all, func(a, b arc) int { return -int(math.Copysign(1, a.worth()-b.worth())) })
		all = all[:waySeeds]
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].to.t < all[j].to.t })
	return all
}

// sized says whether two flights may be of one ball.
func (a arc) sized(b arc) bool { return a.mass <= wayMass*b.mass && b.mass <= wayMass*a.mass }

// like says whether two flights go the same way.
func (a arc) like(b arc) bool {
	if a.along(b) < wayTurn || !a.sized(b) {
		return false
	}
	va, vb := math.Hypot(a.vx, a.vy), math.Hypot(b.vx, b.vy)
	if va > wayPace*vb || vb > wayPace*va {
		return false
	}
	beside := func(a, b arc) float64 {
		mx, my := (b.from.x+b.to.x)/2-a.from.x, (b.from.y+b.to.y)/2-a.from.y
		v := math.Hypot(a.vx, a.vy)
		return math.Abs(mx*a.vy-my*a.vx) / v
	}
	return beside(a, b) < wayBeside && beside(b, a) < wayBeside
}

// learnWay finds the way that balls come, nil if they can't be seen. What is
// known of balls by ear says which of several it is, and where the batter is.
func (s *session) learnWay(anchors []anchor) *way {
	all := s.comparable()
	place := s.findSource(all, anchors)
	var best []arc
	var top float64
	for _, seed := range all {
		group, score := s.follow(all, seed, anchors)
		if len(group) >= wayLeast && score > top && place.aimed(all, group) {
			best, top = group, score
		}
	}
	group, score := s.knownGroup(all, anchors)
	known := score > top
	if known {
		best = group
	}
	if place != nil && !known && 4*len(place.leaves) > 5*len(best) {
		w := place.way()
		s.weighWay(w, anchors)
		return w
	}
	if best == nil {
		return nil
	}
	w := &way{flights: len(best), group: best, known: known}
	for _, a := range best {
		n := math.Hypot(a.vx, a.vy)
		w.ux, w.uy = w.ux+a.vx/n, w.uy+a.vy/n
		w.x, w.y = w.x+(a.from.x+a.to.x)/2/float64(len(best)), w.y+(a.from.y+a.to.y)/2/float64(len(best))
	}
	n := math.Hypot(w.ux, w.uy)
	w.aim(w.ux/n, w.uy/n)
	w.meet = s.meeting(w, best, anchors)
	w.passes = s.passes(w, s.members(all, best))
	for _, p := range w.passes {
		if p.gone != nil {
			w.leave += 1 / float64(len(w.passes))
		}
	}
	s.weighWay(w, anchors)
	return w
}

// follow lists the flights like seed, the longest of each ball, and how much
// they say together.
func (s *session) follow(all []arc, seed arc, anchors []anchor) ([]arc, float64) {
	var group []arc
	crowd := 0.0 // those that come too soon after another: a walker's feet
	for _, a := range all {
		if !seed.like(a) {
			continue
		}
		if n := len(group); n > 0 && a.to.t-group[n-1].to.t < wayApart {
			if a.from.t > group[n-1].to.t+wayPiece {
				crowd++
			}
			if a.length() > group[n-1].length() {
				group[n-1] = a
			}
			continue
		}
		group = append(group, a)
	}
	const before, most, after = 0.25, 0.5, 0.12 // s around a contact in which a ball is lost as a rule, and at most before it
	var score, near float64
	for _, a := range group {
		score += a.worth()
		for _, k := range anchors {
			if d := a.to.t - k.at; d > -most && d < after {
				near += k.p * min((most+d)/(most-before), 1)
				break
			}
		}
	}
	score *= max(1-2*crowd/float64(max(len(group), 1)), 0) * inTurn(order(all, group))
	if 2*approached(all, group) > 1 {
		score *= wayBat
	}
	if len(anchors) >= wayLeast {
		score *= 0.1 + near/float64(max(len(group), 1))
	}
	return group, score
}

// order says whether a group's flights are the first of each ball, 1, or the
// last, -1: balls that come are followed by others that go, and no flight comes
// before them. It tells the way in from the ways out.
func order(all, group []arc) float64 {
	const reach = 0.6 // s
	var after, before float64
	for _, a := range group {
		var next, last bool
		i := sort.Search(len(all), func(i int) bool { return all[i].to.t >= a.from.t-reach })
		for ; i < len(all) && all[i].to.t < a.to.t+2*reach; i++ {
			b := all[i]
			if a.along(b) > wayTurn || !a.sized(b) {
				continue
			}
			next = next || b.from.t > a.to.t-0.05 && b.from.t < a.to.t+reach
			last = last || b.to.t < a.from.t+0.05 && b.to.t > a.from.t-reach
		}
		if next {
			after++
		}
		if last {
			before++
		}
	}
	return (after - before) / float64(max(len(group), 1))
}

// approached is the share of a group's flights to which another comes from
// elsewhere as they end or a little later: a bat that is lifted moves alike each
// time as well, and the ball comes to it.
func approached(all, group []arc) float64 {
	const (
		early, late = 0.1, 0.4 // s
		elsewhere   = 25.0     // pixels from its end
		nearer      = 0.7      // of how far it was when it was first seen
	)
	n := 0
	for _, a := range group {
		x, y := (a.from.x+a.to.x)/2, (a.from.y+a.to.y)/2
		i := sort.Search(len(all), func(i int) bool { return all[i].to.t >= a.to.t-early })
		for ; i < len(all) && all[i].to.t < a.to.t+2*late; i++ {
			b := all[i]
			if b.from.t < a.to.t-early || b.from.t > a.to.t+late || 2*b.worth() < a.worth() ||
				math.Hypot(b.from.x-a.to.x, b.from.y-a.to.y) < elsewhere {
				continue
			}
			if math.Hypot(b.to.x-x, b.to.y-y) < nearer*math.Hypot(b.from.x-x, b.from.y-y) {
				n++
				break
			}
		}
	}
	return float64(n) / float64(max(len(group), 1))
}

// inTurn is the weight of a group by its order, 0.2 to 1.
func inTurn(order float64) float64 { return 0.2 + 0.8*min(max(0.5+order, 0), 1) }

// worth is how much a flight says: noise makes short, faint ones of few
// pictures.
func (a arc) worth() float64 {
	return min(a.length(), wayLong) * min(float64(a.points-2), 8) * math.Log1p(a.mass/10)
}

// members are all flights like any of a group.
func (s *session) members(all, group []arc) []arc {
	var out []arc
	for _, a := range all {
		if slices.ContainsFunc(group, func(g arc) bool { return g.like(a) }) {
			out = append(out, a)
		}
	}
	return out
}

// meeting is where along a way the batter meets the ball: where balls were when
// a bat was heard, or where they turn, or a little beyond where most are lost.
func (s *session) meeting(w *way, group []arc, anchors []anchor) float64 {
	var heard, turned, ends, late []float64
	for _, first := range group {
		v := s.viewOf(first.to.t)
		if v == nil {
			continue
		}
		a := w.onwards(v, first)
		on, speed := w.on(a.to), w.pace(a)
		if !v.leaves(a) {
			ends = append(ends, on)
		}
		for _, k := range anchors {
			if d := k.at - a.to.t; k.heard && k.p > 0.5 && d > -0.15 && d < 0.5 {
				heard = append(heard, on+speed*d)
				break
			}
		}
		if at, ok := w.turns(v, a); ok {
			turned = append(turned, on+speed*(at-a.to.t))
			late = append(late, speed*(at-a.to.t))
		} else {
			late = append(late, speed*meetLost)
		}
	}
	for _, list := range [][]float64{heard, turned} {
		if len(list) >= meetLeast {
			slices.Sort(list)
			return list[len(list)/2]
		}
	}
	if w.known {
		return s.knownMeeting(w)
	}
	if len(ends) == 0 {
		return 0
	}
	slices.Sort(ends)
	slices.Sort(late)
	return ends[len(ends)*8/10] + late[len(late)/2]
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
		of += a.p
		if p := w.near(a.at); p != nil && math.Abs(p.at-a.at) < passFar {
			seen += a.p
		}
	}
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
	w.stray = min(max((stray*0.5+0.3)*2*passFar/max(watched-2*float64(len(anchors)), 10), 0.005), 0.3)
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

// evidence is the log likelihood ratio of what was seen on the way about t, for
// a ball that meets the batter then.
func (w *way) evidence(t float64) float64 {
	none := math.Log((1 - w.shown) / (1 - w.stray))
	p := w.near(t)
	if p == nil {
		return max(none, flightFewer)
	}
	d := math.Abs(p.at - t)
	share := 1 - min(max((d-passReach)/(passFar-passReach), 0), 1)
	there := math.Log(w.shown / w.stray)
	if p.gone == nil && !p.onward && w.leave > leaveMost {
		there -= leaveNone
	}
	return min(max(none+(there-none)*share, flightFewer), flightMost)
}
