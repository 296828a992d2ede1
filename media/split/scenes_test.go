package split

import "math/rand/v2"

// Invented sessions. The seeds and settings of tuningScene were looked at
// while the split's constants were chosen; those of judgingScene never were:
// its ranges are wider and its seeds are its own. A change to the split may be
// tried on the first as often as one likes and is judged on the second.
const (
	tuningSeed  = 1
	judgingSeed = 5000
)

func between(r *rand.Rand, a, b float64) float64 { return a + (b-a)*r.Float64() }

func tuningScene(i int) setting { return drawScene(tuningSeed+uint64(i), 0) }

func judgingScene(i int) setting { return drawScene(judgingSeed+uint64(i), 0.2) }

// drawScene draws a session at random; wider stretches every range.
func drawScene(seed uint64, wider float64) setting {
	r := rand.New(rand.NewPCG(seed, 1234))
	lo, hi := 1-wider, 1+wider
	s := setting{
		seed: seed, minutes: 3,
		gap:      between(r, 6*lo, 12*hi),
		left:     between(r, 0, 0.3*hi),
		distance: between(r, 3*lo, 20*hi),
		noise:    between(r, -50, -32+5*wider),
		echo:     between(r, 0, 0.8*hi),
		fps:      []float64{25, 30, 50, 60, 100}[r.IntN(5)],
		grain:    between(r, 0, 4*hi),
		behind:   r.IntN(3) == 0,
		portrait: r.IntN(6) == 0,
		vary:     r.IntN(6) == 0,
		flat:     r.IntN(8) == 0,
	}
	switch r.IntN(3) {
	case 0:
		s.machine = true
	case 1:
		s.bowler = true
	}
	if r.IntN(2) == 0 {
		s.neighbours = 1 + r.IntN(3)
		s.down = between(r, 9-10*wider, 22)
	}
	if r.IntN(3) > 0 {
		s.talk = between(r, 0.1, 0.5*hi)
		s.talkLevel = between(r, -20, -2+10*wider)
	}
	if r.IntN(3) == 0 {
		s.dull = between(r, 1800*lo, 5000)
	}
	if r.IntN(3) == 0 {
		s.shadows = between(r, 0.1, 0.5*hi)
	}
	if r.IntN(3) == 0 {
		s.shake = between(r, 2, 12*hi)
	}
	if r.IntN(4) == 0 {
		s.claps = 1 + r.IntN(4)
	}
	s.burst = r.IntN(6) == 0
	s.wind = r.IntN(6) == 0
	s.clip = r.IntN(8) == 0
	return s
}
