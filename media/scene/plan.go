package scene

import (
	"math"

	"netreel/media/scene/body"
	"netreel/media/scene/sound"
	"netreel/media/scene/space"
)

// planner writes a show from the first ball to the last.
type planner struct {
	*Show
	r       *luck
	now     float64 // s: nothing is planned after this yet
	batter  *actor
	player  string
	free    float64 // s: when the batter is out of her last shot
	coach   *actor
	bowlers [2]*actor
	helper  *actor // at the machine
	nth     int    // balls of the block so far
}

// restAt is where the coach stands while others feed.
var restAt = space.V{X: 13.9, Y: -1.55}

func (p *planner) session() {
	for i, b := range p.set.Blocks {
		if i == 0 {
			p.begin(b)
		} else {
			p.gap(i)
		}
		block := TruthBlock{Block: b, Start: p.now, First: len(p.truth.Balls)}
		p.nth = 0
		for range b.Balls {
			p.ball(i, b)
			p.nth++
		}
		block.End = p.now
		p.truth.Blocks = append(p.truth.Blocks, block)
	}
	p.leaveNet(p.now, p.now+60)
}

// begin puts everybody in place before the first ball.
func (p *planner) begin(b Block) {
	p.player = b.Player
	p.batter = p.newBatter(0)
	p.batter.track.Add(0, body.Easy(0.44))
	p.free = 0
	p.coach = &actor{look: coachLook(), to: math.Inf(1)}
	p.coach.track.Add(0, body.Stand(p.coachSpot(b), math.Pi))
	p.lane = append(p.lane, p.coach)
	p.staff(b, 0)
}

// coachSpot is where the coach is during a block.
func (p *planner) coachSpot(b Block) space.V {
	if b.Feed == "throw-down" || b.Feed == "side-arm" {
		f := feeds[b.Feed].from
		return space.V{X: f.X + 0.42, Y: f.Y + 0.26}
	}
	return restAt
}

// staff brings the machine or the bowlers that a block needs, ready by at.
func (p *planner) staff(b Block, at float64) {
	from := at - 9
	if at == 0 {
		from = 0
	}
	switch b.Feed {
	case "machine":
		spot := feeds["machine"].from
		spot.Z = 0
		store := space.V{X: spot.X + 1.2, Y: -3.2}
		if p.helper == nil {
			p.helper = &actor{look: helperLook(), to: math.Inf(1)}
			p.machine = &prop{}
			p.lane = append(p.lane, p.helper)
			p.helper.track.Add(0, body.Stand(store.Add(space.V{X: 0.7}), math.Pi))
			p.machine.at, p.machine.place = []float64{0}, []space.V{store}
		}
		p.wheel(from, at-1, spot)
	case "bowler":
		for i := range p.bowlers {
			if p.bowlers[i] == nil {
				p.bowlers[i] = &actor{look: bowlerLook(i), to: math.Inf(1)}
				p.lane = append(p.lane, p.bowlers[i])
			}
			mark := bowlerMark(i)
			side := mark.Add(space.V{X: 1, Y: 4})
			t := &p.bowlers[i].track
			if at == 0 {
				t.Add(0, body.Stand(mark, math.Pi))
				continue
			}
			t.Add(from, body.Stand(side, -math.Pi/2))
			end := body.Walking.Go(t, side, mark, from+0.5+0.8*float64(i))
			body.TurnTo(t, mark, math.Pi, end+0.05, end+0.6)
		}
	}
}

// wheel moves the machine and the one who pushes it.
func (p *planner) wheel(from, to float64, spot space.V) {
	m := p.machine
	last := m.place[len(m.place)-1]
	m.at = append(m.at, from, max(from+0.01, to))
	m.place = append(m.place, last, spot)
	beside := space.V{X: 0.62, Y: 0.22}
	if to <= from {
		p.helper.track = nil
		p.helper.track.Add(to, body.Stand(spot.Add(beside), math.Pi))
		return
	}
	way := spot.Sub(last)
	g := body.Walking
	g.Speed = way.Len() / (to - from)
	g.Stride = min(g.Stride, max(0.5, g.Speed))
	p.helper.track.Add(from-0.7, body.Stand(last.Add(beside), math.Pi))
	g.Go(&p.helper.track, last.Add(beside), spot.Add(beside), from)
	body.TurnTo(&p.helper.track, spot.Add(beside), math.Pi, to+0.05, to+0.7)
}

func bowlerMark(i int) space.V {
	f := feeds["bowler"].from
	return space.V{X: f.X + 5.85, Y: f.Y + 0.47 + 0.7*float64(i)}
}

func (p *planner) newBatter(from float64) *actor {
	a := &actor{look: batterLook(p.player), from: from, to: math.Inf(1)}
	p.lane = append(p.lane, a)
	return a
}

// gap plans the time between block i-1 and block i: people talk, change over,
// the coach comes up to the batter.
func (p *planner) gap(i int) {
	before, after := p.set.Blocks[i-1], p.set.Blocks[i]
	start := p.now
	length := p.set.Gap * (0.9 + 0.2*p.r.Float64())
	stroll := body.Walking
	stroll.Speed = 1.75
	switch {
	case before.Player != after.Player:
		length = max(length, 11)
		p.player = after.Player
		p.leaveNet(start, start+length)
		p.enterNet(start + 1.2)
		p.coachTo(start+1, p.coachSpot(after), stroll)
	case length >= 8:
		from := p.coach.track.Last()[body.Hip]
		from.Z = 0
		meet := space.V{X: 2.95, Y: 0.55}
		body.TurnTo(&p.coach.track, from, math.Pi, start, start+0.2)
		there := stroll.Go(&p.coach.track, from, meet, start+0.4)
		talk := 3.2 + 0.8*p.r.Float64()
		p.chat(there+0.2, talk)
		away := there + 0.4 + talk
		p.coach.track.Add(away, p.coach.track.Last())
		home := p.coachSpot(after)
		back := stroll.Go(&p.coach.track, meet, home, away+0.7)
		body.TurnTo(&p.coach.track, home, math.Pi, back+0.05, back+0.75)
		length = max(length, back+1-start)
	default:
		p.coachTo(start, p.coachSpot(after), stroll)
	}
	for at := start + 0.8; at < start+length-2.5; at += 1.6 + 2*p.r.Float64() {
		if p.r.chance(p.set.Talk) {
			p.say(at, 0.7+1.3*p.r.Float64(), space.V{X: 3, Y: 0.4, Z: 1.5})
		}
	}
	p.now = start + length
	if before.Feed == "machine" && after.Feed != "machine" {
		p.wheel(start+1, start+6, space.V{X: 18.8, Y: -3.2})
	}
	if before.Feed == "bowler" && after.Feed != "bowler" {
		for k, a := range p.bowlers {
			mark := bowlerMark(k)
			body.Walking.Go(&a.track, mark, mark.Add(space.V{X: 1, Y: 4}), start+4+float64(k))
		}
	}
	p.staff(after, p.now)
	for k := range p.balls {
		p.balls[k].gone = min(p.balls[k].gone, start+length*0.6)
	}
	p.free = max(p.free, start)
}

func (p *planner) coachTo(start float64, spot space.V, g body.Gait) {
	from := p.coach.track.Last()[body.Hip]
	from.Z = 0
	if spot.Sub(from).Len() < 0.3 {
		return
	}
	p.coach.track.Add(start, p.coach.track.Last())
	end := g.Go(&p.coach.track, from, spot, start+0.7)
	body.TurnTo(&p.coach.track, spot, math.Pi, end+0.05, end+0.75)
}

// chat is the coach in front of the batter, hands talking.
func (p *planner) chat(from, length float64) {
	at := p.coach.track.Last()[body.Hip]
	at.Z = 0
	base := body.Stand(at, math.Pi*0.98)
	p.coach.track.Add(from, base)
	for t := from + 0.35; t < from+length-0.3; t += 0.45 + 0.35*p.r.Float64() {
		q := base
		for _, hand := range []int{body.HandL, body.HandR} {
			q[hand] = q[hand].Add(space.V{X: -0.22 - 0.1*p.r.Float64(), Z: 0.16 + 0.3*p.r.Float64()})
		}
		p.coach.track.Add(t, q)
	}
	p.coach.track.Add(from+length, base)
	if p.set.Talk > 0 {
		for t := from; t < from+length-0.8; t += 1.5 {
			p.say(t, 1.1, space.V{X: at.X, Y: at.Y, Z: 1.55})
		}
	}
	// The batter stands easy and listens.
	easy := body.Easy(0.44)
	easy[body.Gaze] = space.V{X: 1, Y: 0.25, Z: 0}
	t := &p.batter.track
	body.Relax(t, p.free, p.free+2.2, 0.44)
	t.Add(max(p.free+2.4, from-1), easy)
	t.Add(max(p.free+2.6, from+length), easy)
	p.free = max(p.free+2.7, from+length)
}

// leaveNet sends the batter out with her bat under way before end.
func (p *planner) leaveNet(start, end float64) {
	t := &p.batter.track
	body.Relax(t, max(p.free, start-1), max(p.free, start-1)+1.4, 0.44)
	g := body.Walking
	g.Bat = true
	g.Speed = 1.7
	a, b := space.V{X: 1.25, Y: -0.12}, space.V{X: 13.6, Y: 1.0}
	mid := g.Go(t, a, b, t.End()+0.5)
	p.batter.to = min(g.Go(t, b, space.V{X: 14.4, Y: 4.6}, mid), end+20)
}

// enterNet brings the next batter in.
func (p *planner) enterNet(start float64) {
	p.batter = p.newBatter(start)
	t := &p.batter.track
	g := body.Walking
	g.Bat = true
	g.Speed = 1.75
	in := space.V{X: 13.9, Y: -0.5}
	mid := g.Go(t, space.V{X: 14.4, Y: -3.5}, in, start)
	there := g.Go(t, in, space.V{X: 1.25, Y: -0.12}, mid)
	t.Add(there+0.8, body.Easy(0.44))
	p.free = there + 0.8
}

// say adds a phrase.
func (p *planner) say(at, seconds float64, from space.V) {
	p.events = append(p.events, sound.Event{
		At: at, From: from, Kind: sound.Talk, Seconds: seconds, Seed: p.r.Uint64(),
		Loud: (0.22 + 0.85*p.set.Talk) * (0.7 + 0.3*p.r.Float64()),
	})
	p.truth.Others.Talk = append(p.truth.Others.Talk, at)
}
