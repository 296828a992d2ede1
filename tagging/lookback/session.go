package lookback

import (
	"slices"

	"netreel/tagging"
	"netreel/tagging/compare"
	"netreel/tagging/find"
	"netreel/tagging/vocabulary"
)

// Session is what a look-back is made of.
type Session struct {
	ID         int64
	Player     int64 // whose balls; 0 for all
	Blocks     []tagging.Block
	Balls      []Ball  // in the order played: the player's, where one is chosen
	Coders     []Coder // who coded, with their names
	Coder      int64   // whose terms count; 0 for everybody's together
	Vocabulary vocabulary.Edition
	Rules      Rules // of the player
	Felt       []Felt
	Earlier    []Earlier // challenges of the players before this session, latest first
}

// Lookback is a session in numbers.
type Lookback struct {
	Overall    Part
	Blocks     []Part
	Missing    []string // names of the groups that nobody coded, without which parts stay empty
	Decisions  Decisions
	Crosses    []Cross // base, balance, hands
	Pitch      PitchMap
	Places     []Place
	Forms      []Form
	Challenges []Card
	Felt       FeltTable
}

// Part is the whole session or a block, in its main numbers.
type Part struct {
	Block *tagging.Block // nil for the whole, and for balls of no block
	Balls Cell
	Coded Cell // balls whose contact is known
	Left  Cell
	Evade Cell
	Feeds []Feed // how the balls were fed: they are counted together here
	Rates []Rate

	Measures []Measured
}

// Window is how many balls a running rate is of.
const Window = 8

// Look puts a session into numbers.
func Look(in Session) Lookback {
	q := find.Question{Sessions: []int64{in.ID}}
	if in.Player != 0 {
		q.Players = []int64{in.Player}
	}
	s, e := NewSet(q, in.Balls, in.Coder), in.Vocabulary
	l := Lookback{Overall: s.part(e, in.Rules), Decisions: s.decisions(e, in.Rules), Pitch: s.pitch(e), Places: s.places(e)}
	for _, g := range []string{groupBase, groupBalance, groupHands} {
		if _, ok := e.Group(g); ok {
			l.Crosses = append(l.Crosses, s.cross(e, g))
		}
	}
	for _, b := range in.Blocks {
		set := s.of(b.ID)
		if set.Len() == 0 {
			continue
		}
		p := set.part(e, in.Rules)
		p.Block = &b
		l.Blocks = append(l.Blocks, p)
		l.Forms = append(l.Forms, set.form(b))
		if b.Challenge {
			l.Challenges = append(l.Challenges, set.card(e, b, in.Earlier))
		}
	}
	for _, g := range []string{groupContact, groupShot, groupDecision, groupHeight, groupLength, groupLine, groupPlacement} {
		if !slices.ContainsFunc(s.balls, func(b seen) bool { return len(b.terms[g]) > 0 }) {
			group, _ := e.Group(g)
			l.Missing = append(l.Missing, group.Name)
		}
	}
	l.Felt = s.felt(e, in.Felt, in.Blocks)
	return l
}

func (s Set) part(e vocabulary.Edition, rules Rules) Part {
	p := Part{
		Balls: s.cell(func(seen) bool { return true }),
		Coded: s.cell(func(b seen) bool { return b.contact != Unsaid || b.split }, faced(e)...),
		Left:  s.cell(func(b seen) bool { return b.terms.has(groupShot, termLeave) }, only(groupShot, termLeave)),
		Evade: s.cell(func(b seen) bool { return b.terms.has(groupShot, termEvade) }, only(groupShot, termEvade)),
	}
	p.Feeds, p.Measures = s.feeds(e), s.measures()
	for _, o := range Outcomes(rules) {
		p.Rates = append(p.Rates, s.rate(e, o))
	}
	return p
}

// Form is how control ran through a block, so that tiring or settling in
// shows.
type Form struct {
	Block  int64
	Name   string
	Balls  []FormBall
	Points []compare.FormPoint // of the last Window balls that count; none when the block has fewer
}

// FormBall is a ball that counts in control of balls faced.
type FormBall struct {
	Number    int
	InControl bool
	Cell
}

func (s Set) form(b tagging.Block) Form {
	f := Form{Block: b.ID, Name: b.Name}
	var held []bool
	for _, ball := range s.balls {
		if v := controlFaced.judge(ball.terms); v == hit || v == miss {
			held = append(held, v == hit)
			f.Balls = append(f.Balls, FormBall{ball.Number, v == hit, s.single(ball)})
		}
	}
	f.Points = compare.Form(held, Window)
	return f
}

// single opens one ball.
func (s Set) single(b seen) Cell {
	return Cell{1, find.Question{Balls: []int64{b.ID}}.String()}
}

// Card is a challenge: so many balls that count, effective or not.
type Card struct {
	Block     tagging.Block
	Balls     []CardBall // those that count: as many as were aimed at, where that was said
	Effective Rate
	Best      Cell // the longest run of effective balls
	Now       int  // the run that the last ball is part of
	Open      Cell // balls of the card that are not coded yet
	Earlier   []Past
}

// CardBall is one ball of a card.
type CardBall struct {
	Number int
	State  CardState
	Cell
}

// CardState is what a ball of a card is.
type CardState string

// The states.
const (
	BallEffective CardState = "effective"
	BallNot       CardState = "not"
	BallOpen      CardState = "open"
)

// Earlier is a challenge of an earlier session.
type Earlier struct {
	Session       int64
	Title, HeldOn string
	Block         tagging.Block
	Balls         []Ball
}

// mainCoder is who coded most of some balls.
func mainCoder(balls []Ball) int64 {
	if who := Coders(balls); len(who) > 0 {
		return who[0].ID
	}
	return 0
}

// Past is an earlier card in short.
type Past struct {
	Session       int64
	Title, HeldOn string
	Name          string
	Aim           int
	Effective     Rate
	Best          int
}

// card counts a challenge's balls: the first ones, as many as were aimed at.
func (s Set) card(e vocabulary.Edition, b tagging.Block, earlier []Earlier) Card {
	if b.Aim > 0 && len(s.balls) > b.Aim {
		s.balls = s.balls[:b.Aim]
		s = newSet(find.Question{Balls: s.ids()}, s.balls, s.Coder)
	}
	c := Card{Block: b, Effective: s.rate(e, effective)}
	var held []bool
	var counted []seen
	for _, ball := range s.balls {
		state := BallOpen
		switch effective.judge(ball.terms) {
		case hit:
			state = BallEffective
		case miss:
			state = BallNot
		case out, disputed:
		}
		c.Balls = append(c.Balls, CardBall{ball.Number, state, s.single(ball)})
		if state != BallOpen {
			held, counted = append(held, state == BallEffective), append(counted, ball)
		}
	}
	best, now := compare.BestStreak(held)
	c.Now = now.Length
	if best.Length > 0 {
		run := map[int64]bool{}
		for _, ball := range counted[best.First-1:][:best.Length] {
			run[ball.ID] = true
		}
		c.Best = s.cell(func(b seen) bool { return run[b.ID] })
	}
	c.Open = s.cell(func(b seen) bool { v := effective.judge(b.terms); return v == out || v == disputed })
	for _, p := range earlier {
		if len(s.balls) > 0 && len(p.Balls) > 0 && p.Balls[0].PlayerID == s.balls[0].PlayerID {
			c.Earlier = append(c.Earlier, p.past(e))
		}
	}
	return c
}

func (p Earlier) past(e vocabulary.Edition) Past {
	q := find.Question{Sessions: []int64{p.Session}, Blocks: []int64{p.Block.ID}}
	card := NewSet(q, p.Balls, mainCoder(p.Balls)).card(e, p.Block, nil)
	return Past{
		Session: p.Session, Title: p.Title, HeldOn: p.HeldOn, Name: p.Block.Name, Aim: p.Block.Aim,
		Effective: card.Effective, Best: card.Best.N,
	}
}

func (s Set) ids() []int64 {
	ids := make([]int64, len(s.balls))
	for i, b := range s.balls {
		ids[i] = b.ID
	}
	return ids
}

// feed is how a ball was fed, in a key: as the chosen coder has it, else as
// anybody or its block has; "" when nobody said.
func (b seen) feed() string {
	for _, t := range []Terms{b.terms, b.all} {
		if len(t[groupFeed]) > 0 {
			return t[groupFeed][0]
		}
	}
	return ""
}
