package scene

import (
	"math"

	"netreel/media/laws"
	"netreel/media/scene/body"
	"netreel/media/scene/sound"
	"netreel/media/scene/space"
)

// bases are the widths between the feet that the words stand for, metres.
var bases = map[string]float64{"narrow": 0.29, "sound": 0.45, "wide": 0.64}

// placements are the directions in which a ball is hit, radians from straight
// back to the bowler, positive on the off side.
var placements = map[string]float64{
	"straight": 0.02, "mid-off": 0.26, "cover": 0.80, "point": 1.45, "third": 2.45,
	"mid-on": -0.26, "midwicket": -0.90, "square-leg": -1.50, "fine-leg": -2.40,
}

// meeting is a delivery worked out up to the batter.
type meeting struct {
	in    intent
	d     delivery
	way   path // up to the batter
	on    path // as it would go on by itself
	point space.V
	at    float64
}

// aim works out a delivery that suits an intent: bounce, line and the height
// at which it is met.
func aim(r *luck, law laws.Edition, f feedKind, in intent, release float64) meeting {
	m := meeting{in: in}
	for try := range 80 {
		d := delivery{
			release: release, from: f.from, keptPace: f.keptPace, turn: f.turn,
			pace: f.pace + f.spread*r.normal(), pitch: r.between(in.pitch), lineY: r.between(in.line),
		}
		d.from = d.from.Add(space.V{Y: 0.05 * r.NormFloat64(), Z: 0.03 * r.NormFloat64()})
		d.bounce = r.between(f.bounce)
		if d.pitch > in.meetX+0.05 {
			// The bounce that brings it to the wanted height.
			t1 := (d.from.X - d.pitch) / d.pace
			down := gravity*t1 - ((ballRadius-d.from.Z)/t1 + gravity*t1/2)
			u := (d.pitch - in.meetX) / (d.pace * d.keptPace)
			d.bounce = (r.between(in.meetZ) - ballRadius + gravity*u*u/2) / (down * u)
		}
		fits := d.bounce >= f.bounce[0] && d.bounce <= f.bounce[1]
		d.bounce = min(f.bounce[1], max(f.bounce[0], d.bounce))
		m.d, m.on = d, d.solve(law)
		m.way = m.on
		m.at = m.way.reaches(in.meetX)
		if m.at < m.way[len(m.way)-1].at {
			m.at = m.way[:1].reaches(in.meetX)
			m.way = m.way[:1]
		}
		m.point, _ = m.way.pos(m.at)
		if fits && m.point.Z >= in.meetZ[0]-0.02 && m.point.Z <= in.meetZ[1]+0.02 || try == 79 {
			return m
		}
	}
	return m
}

// ball plans one ball of a block.
func (p *planner) ball(index int, b Block) {
	f := feeds[b.Feed]
	start := p.now
	release := start + f.lead + 0.15*p.r.Float64()
	in := drills[b.Drill](p.r)
	if share := p.set.LeftShare; share >= 0 {
		for range 40 {
			if in.contact != "none" {
				break
			}
			in = drills[b.Drill](p.r)
		}
		if p.r.chance(share) {
			in.letGo(p.r, b.Feed == "machine")
		}
	}
	m := aim(p.r, p.law, f, in, release)
	bat := body.FullBat
	if b.Bat == "narrow" {
		bat = body.NarrowBat
	}
	p.batterBat(start-2, bat)

	play := p.meetingFor(&m, bat)
	play.Ready = max(p.free+0.25, release-1.1)
	if wait := play.Ready - (release - 0.35); wait > 0 {
		// She is not ready: the feeder waits.
		start, release = start+wait, release+wait
		m.delay(wait)
		play.Release, play.At, play.Ready = play.Release+wait, play.At+wait, play.Ready+wait
	}
	play.Ball = m.ballAt()
	t := &p.batter.track
	body.Relax(t, max(p.free, t.End()), play.Ready, play.Base)
	p.free = body.Play(t, play)
	p.feed(b, start, release, m.d.from)

	tb := TruthBall{
		Block: index, Start: start, Release: release, Passing: m.at, Pace: m.d.pace, Met: m.point,
		Terms: p.terms(b, f, &m),
	}
	if len(m.way) > 1 {
		at, pos := m.way[1].at, m.way[1].from
		tb.Bounce, tb.Pitched = &at, &pos
		p.noise(sound.Bounce, at, pos, min(1.4, m.way[1].speed.Z/4), false, space.V{})
	}
	if struck(in.contact) {
		at, heard := m.at, m.at+m.point.Sub(p.camera.Eye).Len()/SoundSpeed
		tb.Contact, tb.Heard = &at, &heard
	}
	tb.Body = p.measure(release, m.at)
	p.noise(sound.Foot, m.at-0.10, space.V{X: 1.6}, 0.8, false, space.V{})

	way, dead := p.after(&m, space.V{}, false)
	p.clearPitch(start)
	p.balls = append(p.balls, ball{holder: p.holder(b), stick: b.Feed == "side-arm", from: start, hidden: hiddenIn(b), way: way, gone: math.Inf(1)})
	tb.End = max(m.at+1.15, min(m.at+2.0, dead))
	p.truth.Balls = append(p.truth.Balls, tb)
	p.next(b, start, tb.End)
}

// clearPitch takes away, before the next ball, what lies where people play.
func (p *planner) clearPitch(at float64) {
	for i := range p.balls {
		b := &p.balls[i]
		pos, _ := b.way.pos(at)
		if math.Abs(pos.Y) < 1.45 && pos.X > -1.6 {
			b.gone = min(b.gone, at-0.2)
		}
	}
}

// next moves on to the time of the next ball, with talk and shadow shots
// between.
func (p *planner) next(b Block, start, end float64) {
	every := p.set.Every * (0.9 + 0.22*p.r.Float64())
	if b.Feed == "bowler" {
		every += 1.0
	}
	next := max(end+0.35, start+every)
	if p.r.chance(p.set.ShadowShots) {
		at := p.free + 1.35
		shot := body.Meeting{
			Build: p.batter.look.Build, Shot: body.Drive, Ready: p.free + 0.8, Release: at - 0.5, At: at,
			Point: space.V{X: 2.1, Y: 0.25, Z: 0.4}, Towards: 0.4, Base: bases["sound"],
		}
		body.Relax(&p.batter.track, p.free, shot.Ready, shot.Base)
		p.free = body.Play(&p.batter.track, shot)
		p.truth.Others.ShadowShots = append(p.truth.Others.ShadowShots, at)
		next = max(next, p.free+0.9)
	}
	if p.r.chance(p.set.Talk * 0.8) {
		room := next - end
		at := end + 0.1 + 0.4*p.r.Float64()
		from := space.V{X: 11.5, Y: 0.3, Z: 1.6}
		if p.r.chance(0.4) {
			from = space.V{X: 1.3, Y: 0, Z: 1.5}
		}
		p.say(at, 0.5+0.6*p.r.Float64()+0.3*room, from)
	}
	p.now = next
}

// delay moves a meeting to a later time.
func (m *meeting) delay(by float64) {
	for i := range m.on { // way is the beginning of on
		m.on[i].at += by
	}
	m.at += by
	m.d.release += by
}

// hitsWicket says whether and when the ball hits the stumps if nobody stops it.
func (m *meeting) hitsWicket(law laws.Edition) (at float64, pos space.V, hit bool) {
	at = m.on.reaches(0)
	pos, _ = m.on.pos(at)
	hit = math.Abs(pos.Y) < law.WicketWidth/2+ballRadius && pos.Z > ballRadius && pos.Z < law.StumpHeight+ballRadius
	return at, pos, hit
}

func (m *meeting) ballAt() func(float64) space.V {
	return func(t float64) space.V {
		if t < m.d.release {
			return m.d.from
		}
		p, _ := m.way.pos(t)
		return p
	}
}

func struck(contact string) bool { return contact != "missed" && contact != "none" }

// meetingFor says how the batter is to meet a ball so that the contact is what
// the intent wants.
func (p *planner) meetingFor(m *meeting, bat float64) body.Meeting {
	in := m.in
	play := body.Meeting{
		Build: p.batter.look.Build, Shot: in.shot, Release: m.d.release, At: m.at, Point: m.point,
		Towards: placements[in.place], Base: bases[in.base], Down: in.down,
		Trigger: p.r.chance(0.75), Soft: in.contact == "middled",
	}
	const clear = ballRadius + 0.035
	switch in.contact {
	case "mistimed":
		play.Along = 0.10 * p.r.sign()
	case "inside-edge":
		play.Aside = -(bat/2 - 0.008)
	case "outside-edge", "top-edge":
		play.Aside = bat/2 - 0.008
	case "missed":
		play.Aside = bat/2 + clear + 0.05*p.r.Float64()
	case "glove-or-body":
		play.Aside = -(bat/2 + 0.07)
	}
	switch in.balance {
	case "falling-off":
		play.Fall = space.V{X: 0.03, Y: 0.26}
	case "leaning-back":
		play.Fall = space.V{X: -0.24, Y: -0.03}
	case "toppling-forward":
		play.Fall = space.V{X: 0.24, Y: 0.06}
	}
	return play
}

// batterBat gives the batter a bat of a width; she keeps it for the block.
func (p *planner) batterBat(from, width float64) {
	a := p.batter
	if a.look.BatWidth == 0 {
		a.look.BatWidth = width
	}
	if a.look.BatWidth != width {
		// The same person with another bat from here on.
		next := *a
		next.look.BatWidth = width
		next.from = from
		a.to = from
		p.batter = &next
		p.lane = append(p.lane, &next)
	}
}

// measure reads the batter's body.
func (p *planner) measure(release, passing float64) Measures {
	before, s := p.batter.skeleton(release), p.batter.skeleton(passing)
	return Measures{
		StanceBase:   before.Base(),
		Base:         s.Base(),
		CreaseDepth:  s.Ankle[0].X - p.law.PoppingFromBowling,
		HeadOverBase: s.Head.X - (s.Ankle[0].X+s.Ankle[1].X)/2,
		Stride:       s.Ankle[0].X - before.Ankle[0].X,
	}
}
