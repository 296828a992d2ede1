package scene

import (
	"math"

	"netreel/media/laws"
	"netreel/media/scene/body"
	"netreel/media/scene/sound"
	"netreel/media/scene/space"
)

// after follows the ball once it has reached the batter, with its noises, and
// returns its whole way and when it is dead. shift is where the net is;
// muffled noises are those of another net.
func (p *planner) after(m *meeting, shift space.V, muffled bool) (path, float64) {
	last := m.way[len(m.way)-1]
	way := append(path{}, m.way...)
	until := m.at + 5
	var touches []touch
	in := m.in
	if struck(in.contact) {
		kind, loud := strikeSound(in)
		p.noise(kind, m.at, m.point, loud, muffled, shift)
		way, touches = way.loose(leg{at: m.at, from: m.point, speed: p.hit(m, last.velocity(m.at))}, until)
	} else {
		way = append(path{}, m.on...)
		last = way[len(way)-1]
		if last.at > m.at {
			p.noise(sound.Bounce, last.at, last.from, 1, muffled, shift)
		}
		if at, pos, hit := m.hitsWicket(p.law); hit && in.contact == "missed" {
			v := last.velocity(at)
			way, touches = way.loose(leg{at: at, from: pos, speed: space.V{X: v.X * 0.3, Y: v.Y + 0.8, Z: 1.2}}, until)
			touches = append(touches, touch{at, touchStumps, pos, -v.X})
			if !muffled {
				p.wickets = append(p.wickets, wicketHit{at, min(1, -v.X/20)})
			}
		} else {
			way, touches = way[:len(way)-1].loose(last, until)
		}
	}
	dead := m.at + 1.2
	for _, t := range touches {
		if t.at < m.at && t.kind == touchGround {
			continue // the bounce before the batter is told of elsewhere
		}
		kinds := map[touchKind]sound.Kind{
			touchGround: sound.Bounce, touchNet: sound.Net, touchCanvas: sound.Canvas, touchStumps: sound.Stumps,
		}
		loud := min(1.2, t.hard/6)
		if t.kind == touchNet || t.kind == touchCanvas || t.kind == touchStumps {
			loud = min(1.3, t.hard/14)
			dead = max(dead, t.at+0.4)
		}
		if loud > 0.06 {
			p.noise(kinds[t.kind], t.at, t.pos, loud, muffled, shift)
		}
	}
	return way, dead
}

// hit gives the velocity of the ball off the bat.
func (p *planner) hit(m *meeting, coming space.V) space.V {
	r, in := p.r, m.in
	pace := -coming.X
	dir := placements[in.place] + 0.10*r.NormFloat64()
	speed, climb := pace*(0.75+0.3*r.Float64()), 0.02+0.10*r.Float64()
	switch in.shot {
	case body.ForwardDefence, body.BackDefence:
		speed, climb = 2.2+1.5*r.Float64(), -0.25
	case body.Loft:
		climb = 0.5 + 0.15*r.Float64()
	case body.Pull:
		climb = 0.12 * r.NormFloat64()
	case body.Sweep, body.Cut:
		climb = 0.05 * r.NormFloat64()
	}
	if m.point.Z < 0.4 && climb < 0 {
		climb *= 0.5
	}
	switch in.contact {
	case "mistimed":
		speed *= 0.42
		dir += 0.35 * r.NormFloat64()
		climb += 0.25 * r.NormFloat64()
	case "outside-edge":
		return space.V{X: -pace * 0.72, Y: pace * (0.25 + 0.2*r.Float64()), Z: coming.Z*0.6 + 1.5*r.NormFloat64()}
	case "inside-edge":
		return space.V{X: -pace * 0.66, Y: -pace * (0.18 + 0.2*r.Float64()), Z: coming.Z*0.5 - 0.8}
	case "top-edge":
		return space.V{X: -pace * 0.20, Y: -pace * 0.18 * r.Float64(), Z: 6.5 + 2*r.Float64()}
	case "glove-or-body":
		return space.V{X: 0.4 + r.Float64(), Y: 0.6 * r.NormFloat64(), Z: 0.4}
	}
	flat := space.Heading(dir).Mul(speed * math.Cos(climb))
	flat.Z = speed * math.Sin(climb)
	return flat
}

func strikeSound(in intent) (sound.Kind, float64) {
	soft := 1.0
	if in.shot == body.ForwardDefence || in.shot == body.BackDefence {
		soft = 0.6
	}
	switch in.contact {
	case "mistimed":
		return sound.Mistimed, soft
	case "inside-edge", "outside-edge", "top-edge":
		return sound.Edge, 1
	case "glove-or-body":
		return sound.Body, 1
	}
	return sound.Bat, soft
}

// noise adds an event.
func (p *planner) noise(kind sound.Kind, at float64, pos space.V, loud float64, muffled bool, shift space.V) {
	p.events = append(p.events, sound.Event{
		At: at, From: pos.Add(shift), Kind: kind, Loud: loud, Muffled: muffled, Seed: p.r.Uint64(),
	})
}

// terms are what a coach would say about the ball.
func (p *planner) terms(b Block, f feedKind, m *meeting) map[string][]string {
	in := m.in
	line := m.d.lineY
	t := map[string][]string{
		"bowling":  {b.Bowling},
		"feed":     {b.Feed},
		"length":   {laws.ZoneOf(lengths[f.spin], m.d.pitch)},
		"line":     {laws.ZoneOf(lines, line)},
		"height":   {laws.ZoneOf(laws.Heights(), m.point.Z/p.batter.look.Build.Height)},
		"shot":     {string(in.shot)},
		"feet":     {in.feet},
		"base":     {in.base},
		"balance":  {in.balance},
		"decision": {in.right},
		"contact":  {in.contact},
		"result":   {p.result(m)},
		"bat":      {b.Bat},
	}
	if len(in.hands) > 0 {
		t["hands"] = in.hands
	}
	if struck(in.contact) {
		t["placement"] = []string{placed(in)}
	}
	return t
}

// placed is where the ball went, which for an edge is not where it was meant.
func placed(in intent) string {
	switch in.contact {
	case "outside-edge":
		return "third"
	case "inside-edge":
		return "fine-leg"
	case "top-edge":
		return "fine-leg"
	}
	return in.place
}

// result is what the ball would have brought in a match, as a coach calls it
// in a net.
func (p *planner) result(m *meeting) string {
	in, r := m.in, p.r
	switch in.contact {
	case "none":
		return "dot"
	case "missed":
		if _, _, hit := m.hitsWicket(p.law); hit {
			return "out"
		}
		return "dot"
	case "glove-or-body":
		return "struck"
	case "top-edge", "outside-edge":
		return r.pick(odds{{"out", 4}, {"dot", 2}, {"run", 3}})
	case "inside-edge":
		return r.pick(odds{{"run", 3}, {"dot", 3}})
	case "mistimed":
		return r.pick(odds{{"dot", 5}, {"run", 4}, {"out", 1.4}})
	}
	if in.shot == body.ForwardDefence || in.shot == body.BackDefence {
		return "dot"
	}
	return r.pick(odds{{"boundary", 4}, {"run", 5}, {"dot", 1}})
}
