package scene

import (
	"math"

	"netreel/media/scene/body"
	"netreel/media/scene/paint"
	"netreel/media/scene/sound"
	"netreel/media/scene/space"
)

// feed adds the feeder's movement and noises for one ball.
func (p *planner) feed(b Block, start, release float64, from space.V) {
	switch b.Feed {
	case "throw-down", "side-arm":
		body.Throw(&p.coach.track, start, release, from, b.Feed == "side-arm")
		p.noise(sound.Foot, release-0.1, from, 1, false, space.V{})
	case "machine":
		body.Serve(&p.helper.track, start, release, feeds["machine"].from)
		p.noise(sound.Launch, release, from, 1, false, space.V{})
	case "bowler":
		body.Bowl(&p.bowlers[p.nth%2].track, release, from, bowlerMark(p.nth%2))
		for k := range 7 {
			at := release - 0.1 - 0.33*float64(6-k)
			p.noise(sound.Foot, at, space.V{X: from.X + 2.9*(release-at), Y: from.Y}, 1.1, false, space.V{})
		}
	}
}

// holder is who has the ball before it is let go.
func (p *planner) holder(b Block) *actor {
	switch b.Feed {
	case "machine":
		return p.helper
	case "bowler":
		return p.bowlers[p.nth%2]
	}
	return p.coach
}

// hiddenIn is how long before the release the ball is out of sight.
func hiddenIn(b Block) float64 {
	if b.Feed == "machine" {
		return 0.2
	}
	return 0
}

// besideFeed is how balls come in the next net: gently, from near by.
var besideFeed = feedKind{from: space.V{X: 7.4, Y: 0.12, Z: 1.72}, pace: 11.5, spread: 0.6, lead: 1.2, keptPace: 0.8, bounce: [2]float64{0.4, 0.75}}

// besideShift is where the first neighbour plays: the next net on the leg
// side, with stumps set up further down the lane.
var besideShift = space.V{X: 3.55, Y: -laneWidth}

// neighbour plans another net until the end of the film. Only the first is
// seen.
func (p *planner) neighbour(index int, seconds float64) {
	own := *p
	own.r = newLuck(p.set.Seed, 100+uint64(index))
	shift := besideShift
	if index > 0 {
		shift = space.V{X: 1.5 * float64(index), Y: -laneWidth * float64(1+index)}
	}
	batter := &actor{look: besideLook(), shift: shift, to: math.Inf(1)}
	feeder := &actor{look: besideFeederLook(), shift: shift, to: math.Inf(1)}
	batter.track.Add(0, body.Easy(0.4))
	at := besideFeed.from
	feeder.track.Add(0, body.Stand(space.V{X: at.X + 0.42, Y: at.Y + 0.26}, math.Pi))
	free := 0.3
	for now := 1 + 3*own.r.Float64(); now+4 < seconds; {
		now = max(now, free-0.4)
		release := now + besideFeed.lead
		in := besideIntent(own.r)
		m := aim(own.r, p.law, besideFeed, in, release)
		own.batter = batter
		play := own.meetingFor(&m, body.FullBat)
		play.Ready = max(free+0.2, release-0.8)
		play.Ball = m.ballAt()
		body.Relax(&batter.track, free, play.Ready, play.Base)
		free = body.Play(&batter.track, play)
		body.Throw(&feeder.track, now, release, besideFeed.from, false)
		if len(m.way) > 1 {
			own.noise(sound.Bounce, m.way[1].at, m.way[1].from, 0.8, true, shift)
		}
		if struck(in.contact) {
			p.truth.Others.NeighbourHits = append(p.truth.Others.NeighbourHits, m.at)
		}
		way, dead := own.after(&m, shift, true)
		if index == 0 {
			p.others = append(p.others, ball{holder: feeder, from: now, way: way, shift: shift, gone: dead + 8})
		}
		if own.r.chance(p.set.Talk * 0.3) {
			own.say(free, 0.5+own.r.Float64(), space.V{X: 3, Z: 1.5}.Add(shift))
		}
		now = max(now+4.5+4*own.r.Float64(), dead)
	}
	if index == 0 {
		p.beside = append(p.beside, batter, feeder)
	}
}

func besideIntent(r *luck) intent {
	in := intent{base: "sound", balance: "balanced", feet: "forward"}
	in.drive(r, [2]float64{-0.1, 0.35})
	in.pitch = [2]float64{3.0, 3.9}
	if r.chance(0.3) {
		in.shot, in.meetX = body.ForwardDefence, 2.0
	}
	in.contact = r.pick(odds{{"middled", 7}, {"mistimed", 2}, {"missed", 1}})
	return in
}

// The kit: all invented.
var (
	teal   = paint.RGB(24, 112, 118)
	coral  = paint.RGB(240, 142, 96)
	navy   = paint.RGB(38, 50, 80)
	white  = paint.RGB(238, 240, 240)
	ivory  = paint.RGB(242, 240, 232)
	helmet = paint.RGB(30, 62, 88)
	plum   = paint.RGB(116, 72, 116)
	slate  = paint.RGB(92, 106, 120)
	sand   = paint.RGB(208, 186, 140)
	haze   = paint.RGB(186, 194, 194)
)

// batterLook dresses one of our batters: who it is decides skin, hair and
// height, the same in every scene.
func batterLook(player string) body.Look {
	n := 0
	for _, c := range player {
		n = (n*31 + int(c)) % 997
	}
	tones := []paint.Colour{paint.RGB(222, 174, 142), paint.RGB(150, 102, 74), paint.RGB(196, 142, 106), paint.RGB(112, 76, 58)}
	hairs := []paint.Colour{paint.RGB(92, 60, 40), paint.RGB(36, 28, 28), paint.RGB(164, 116, 66)}
	return body.Look{
		Build: body.Build{Height: 1.66 + 0.02*float64(n%4)}, SkinTone: tones[n%4], Hair: hairs[n%3],
		Shirt: teal, Sleeve: teal, Cuff: coral, Trousers: navy, Shoes: white,
		HeadWear: body.Helmet, HeadColour: helmet, Pads: true, PadColour: ivory, GloveColour: white, Ponytail: true,
	}
}

func coachLook() body.Look {
	return body.Look{
		Build: body.Build{Height: 1.74}, SkinTone: paint.RGB(206, 156, 122), Hair: paint.RGB(70, 58, 52),
		Shirt: navy, Sleeve: navy, LongSleeves: true, Trousers: paint.RGB(44, 48, 58), Shoes: white,
		HeadWear: body.Cap, HeadColour: coral, Ponytail: true,
	}
}

func helperLook() body.Look {
	return body.Look{
		Build: body.Build{Height: 1.69}, SkinTone: paint.RGB(140, 96, 70), Hair: paint.RGB(30, 26, 28),
		Shirt: coral, Sleeve: coral, Cuff: navy, Trousers: navy, Shoes: white, Ponytail: true,
	}
}

func bowlerLook(i int) body.Look {
	l := body.Look{
		Build: body.Build{Height: 1.72}, SkinTone: paint.RGB(216, 168, 134), Hair: paint.RGB(176, 128, 74),
		Shirt: teal, Sleeve: teal, Cuff: coral, Trousers: navy, Shoes: white, Ponytail: true,
	}
	if i == 1 {
		l.Build.Height, l.SkinTone, l.Hair = 1.66, paint.RGB(126, 86, 62), paint.RGB(34, 28, 26)
	}
	return l
}

func besideLook() body.Look {
	return body.Look{
		Build: body.Build{Height: 1.64}, SkinTone: paint.RGB(200, 150, 118), Hair: paint.RGB(60, 46, 40),
		Shirt: plum, Sleeve: plum, Cuff: sand, Trousers: slate, Shoes: white, HeadWear: body.Helmet, HeadColour: slate,
		Pads: true, PadColour: ivory, GloveColour: white, Ponytail: true, BatWidth: body.FullBat, Dim: 0.30, Haze: haze,
	}
}

func besideFeederLook() body.Look {
	return body.Look{
		Build: body.Build{Height: 1.7}, SkinTone: paint.RGB(214, 166, 136), Hair: paint.RGB(150, 108, 64),
		Shirt: plum, Sleeve: plum, LongSleeves: true, Trousers: slate, Shoes: white, Ponytail: true, Dim: 0.30, Haze: haze,
	}
}
