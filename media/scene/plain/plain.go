// Package plain makes plain footage of net sessions for measuring the split:
// simple figures before a rough ground, with the sounds of real blows and talk
// where they are installed. It is quick and it is meant to differ: in view,
// size, noise, light, shake, frame rate, tempo and in what else goes on. It
// shares nothing with the scenes of the demo, so that what holds on both is
// not a habit of one painter.
//
// It must not know the split, ffmpeg or files other than the recorded sounds:
// it gives pictures, samples and the truth, and somebody else encodes them.
package plain

import (
	"math"
	"math/rand/v2"
)

// Setting says what a scene is like. The zero value of a field means "none".
// Levels in dB are relative to the peak of a middling bat sound.
type Setting struct {
	Name    string
	Seed    uint64
	Seconds float64
	Gap     float64 // s between balls on average; 0: no balls
	Burst   int     // balls that come 2.5 s apart before a longer wait
	Pause   int     // balls between long breaks of half a minute
	Left    float64 // share of balls that are left alone or missed
	Flight  float64 // s from release to the batter on average, 0.6 if 0

	// Picture.
	Width, Height int // as shown
	Rotate        int // degrees clockwise by which a player turns the film: 0 or 90
	FPS           float64
	Drop          float64 // share of pictures left out at random: a variable rate
	Bitrate       int     // bits a second that the encoder holds; 0: it holds the quality
	View          View
	Mirror        bool
	Whole         bool // side-on from so far that the pitch is seen in its whole length, the batter at one side
	Style         Style
	Size          float64 // of the figures, 1: the batter fills 0.35 of the height
	Feed          Feed
	Shake         float64 // share of the height by which a hand shakes
	Grain         float64 // grey levels of noise
	Flicker       float64 // grey levels of the light
	Walkers       int     // people who walk through
	Trees         bool    // the ground itself moves in the wind
	Ball          float64 // radius of the ball as a share of the height; 0: not to be seen
	Dark          bool    // the ball is darker than the ground

	// Sound.
	Mute       bool
	Silent     bool    // a sound track with nothing on it
	Bat        Kind    // what the bat sounds like
	Spread     float64 // dB by which blows differ
	Distance   float64 // m from the bat to the microphone
	Dull       float64 // Hz above which the microphone hears little; 0: all
	Gain       float64 // dB; clips at full scale
	Noise      float64 // dB of the background
	Hum        bool    // a machine runs
	Wind       float64 // dB of gusts; 0: none
	Echo       float64 // s until the hall is quiet
	Neighbours int     // nets beside this one
	Down       float64 // dB by which their bats are quieter
	Talk       float64 // share of the time
	TalkLevel  float64 // dB of its peaks
	Claps      float64 // a minute
	Shadows    float64 // shots without a ball, for each ball; with no balls: a minute
	Taps       float64 // taps of the bat on the ground before a ball
}

// View is where the camera stands.
type View int

// The views.
const (
	Side View = iota
	BehindArm
	BehindBatter
)

// Style is how figures are drawn.
type Style int

// The styles.
const (
	Sticks Style = iota
	Limbs
	Blocks
)

// Feed is who feeds the balls.
type Feed int

// The feeds.
const (
	Thrower Feed = iota
	Bowler
	Machine
)

// Ball is one true ball; times in seconds on the file's clock.
type Ball struct {
	Release, Bounce, Passing, End float64
	Struck                        bool
	stroke                        stroke
	line                          float64 // -1 to 1: where it goes afterwards
}

// World is a scene that has been thought out; it draws and sounds the same
// each time.
type World struct {
	Setting
	Balls   []Ball
	strokes []stroke // of the batter, shadow shots and taps too, ascending
	others  []net
	walks   []walk
	ground  []float32
	rng     *rand.Rand
	sounds  *Library
}

// net is a neighbouring net.
type net struct {
	balls []Ball
	x, y  float64 // where its batter stands
	size  float64
}

// New thinks a scene out. Its sounds are taken from lib, which may be empty.
func New(s Setting, lib *Library) *World {
	if s.Size == 0 {
		s.Size = 1
	}
	if s.Flight == 0 {
		s.Flight = 0.6
	}
	w := &World{Setting: s, rng: rand.New(rand.NewPCG(s.Seed, 9)), sounds: lib}
	w.Balls = w.schedule(s.Gap, true)
	w.choreograph()
	for range s.Neighbours {
		n := net{balls: w.schedule(between(w.rng, 5, 11), false), y: between(w.rng, 0.35, 0.5), size: between(w.rng, 0.3, 0.55)}
		n.x = between(w.rng, 0.02, 0.98) * w.aspect()
		w.others = append(w.others, n)
	}
	w.walk()
	w.paintGround()
	return w
}

func (w *World) aspect() float64 { return float64(w.Width) / float64(w.Height) }

// Stored is the size of the pictures as they are stored, before a player turns
// them.
func (w *World) Stored() (width, height int) {
	if w.Rotate == 90 {
		return w.Height, w.Width
	}
	return w.Width, w.Height
}

// Frames is how many pictures the scene has at its frame rate.
func (w *World) Frames() int { return int(w.Seconds * w.FPS) }

func (w *World) schedule(gap float64, own bool) []Ball {
	if gap <= 0 {
		return nil
	}
	r := w.rng
	var out []Ball
	for t := between(r, 3, 6); t < w.Seconds-2.5; {
		b := Ball{Passing: t, Struck: !own || r.Float64() >= w.Left, line: between(r, -1, 1)}
		flight := w.Flight * math.Exp(0.12*r.NormFloat64())
		b.Release, b.Bounce, b.End = t-flight, t-flight*between(r, 0.15, 0.4), t+between(r, 0.6, 1.1)
		out = append(out, b)
		n := len(out)
		wait := max(gap*math.Exp(0.3*r.NormFloat64()), 3)
		if own && w.Burst > 0 {
			wait = between(r, 2.45, 2.7)
			if n%w.Burst == 0 {
				wait = max(gap, 5) * between(r, 0.8, 1.3)
			}
		}
		if own && w.Pause > 0 && n%w.Pause == 0 {
			wait += between(r, 25, 40)
		}
		t += wait
	}
	return out
}

func between(r *rand.Rand, a, b float64) float64 { return a + (b-a)*r.Float64() }

// ease goes smoothly from 0 at from to 1 at to.
func ease(t, from, to float64) float64 {
	u := min(max((t-from)/(to-from), 0), 1)
	return u * u * (3 - 2*u)
}

func dB(x float64) float64 { return math.Pow(10, x/20) }
