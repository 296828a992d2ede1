package split

// What an earlier session taught is where this one begins. It must be met with
// before it is believed, and no more than adds to what is seen and heard now.
const (
	taughtShare = 0.2 // of the sounds that may be bats must sound like the bat that is known
	taughtFirst = 0.5 // of what is known of its sound is believed at first: the rest comes with what is learnt
	taughtLeast = 2   // flights must come the known way, or go from the known place,
	taughtAs    = 3   // and then count as so many more
)

// learnFrom takes what an earlier session from the same camera position taught.
func (s *session) learnFrom(p Profile) {
	p, ok := p.usable()
	if !ok {
		return
	}
	s.taught = p
	s.first = s.guess()
	for i, v := range s.familiar() {
		s.first[i] += taughtFirst * v
	}
}

// familiar is the log likelihood ratio of each sound to be the bat as it is known
// to sound here. Where hardly any sound that may be a bat's sounds so, the
// microphone stands elsewhere by now, and what is known of it is dropped.
func (s *session) familiar() []float64 {
	out := make([]float64, len(s.onsets))
	if len(s.taught.Bat) == 0 {
		return out
	}
	c := learnColour(s.onsets, make([]float64, len(s.onsets)), s.taught)
	var alike, all float64
	for i, o := range s.onsets {
		out[i] = c.evidence(o, 0)
		p := sigmoid(s.first[i])
		all += p
		if out[i] > 0 {
			alike += p
		}
	}
	if alike < taughtShare*all {
		s.taught.Bat, s.taught.Heard = nil, 0
		clear(out)
	}
	return out
}

// knownFlight is a flight on the path that is known, ok if there is one that was
// followed in the same way.
func (s *session) knownFlight(warm bool) (_ arc, ok bool) {
	p := s.taught.Path
	if p == nil || p.Warm != warm {
		return arc{}, false
	}
	wide, high := eyeSize(s.probe.Width, s.probe.Height)
	a := arc{to: flightPoint{t: p.Seconds}, mass: p.Mass * float64(wide*high), points: flightLeast}
	a.from.x, a.from.y = s.pixels(p.From)
	a.to.x, a.to.y = s.pixels(p.To)
	a.vx, a.vy = (a.to.x-a.from.x)/p.Seconds, (a.to.y-a.from.y)/p.Seconds
	a.begX, a.begY, a.endX, a.endY = a.vx, a.vy, a.vx, a.vy
	return a, true
}

// knownGroup lists the flights on the path that is known and how much they say,
// nil if there are too few, or if they come after others as what is struck does:
// then it leads elsewhere by now.
func (s *session) knownGroup(f air, warm bool, anchors []anchor) ([]arc, float64) {
	known, ok := s.knownFlight(warm)
	if !ok {
		return nil, 0
	}
	group, score := s.follow(f, known, anchors)
	if len(group) < taughtLeast || order(f.arcs, group) < 0 {
		return nil, 0
	}
	return group, score * moreFor(len(group))
}

// moreFor is by how much n flights say more for agreeing with what is known.
func moreFor(n int) float64 { return float64(n+taughtAs) / float64(max(n, 1)) }

// knownHit is the place where bats are known to meet balls, with what goes from
// there now, and how much that says: 0 if too little does.
func (s *session) knownHit(all, list []arc, anchors []anchor) (*source, float64) {
	if s.taught.Hit == nil {
		return nil, 0
	}
	x, y := s.pixels(*s.taught.Hit)
	p := &source{x: x, y: y, leaves: leavings(list, x, y)}
	p.known = len(p.leaves) < sourceLeast
	return p, moreFor(len(p.leaves)) * worthOf(p.leaves, anchors, taughtLeast) * inTurn(-order(all, flightsOf(p.leaves)))
}

// pixels is where a kept place lies in the eye's picture.
func (s *session) pixels(p Place) (x, y float64) {
	wide, high := eyeSize(s.probe.Width, s.probe.Height)
	return p.X * float64(wide), p.Y * float64(high)
}

// knownMeeting is how far along a way the batter is known to meet the ball.
func (s *session) knownMeeting(w *way) float64 {
	x, y := s.pixels(s.taught.Path.Meet)
	return w.on(flightPoint{x: x, y: y})
}
