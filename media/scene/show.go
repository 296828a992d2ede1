package scene

import (
	"math"
	"sort"
	"sync"

	"netreel/media/laws"
	"netreel/media/scene/body"
	"netreel/media/scene/sound"
	"netreel/media/scene/space"
)

// Show is a planned session: everything that will be seen and heard is fixed.
// It does not change any more, so several goroutines may film it at once.
type Show struct {
	set    Setting
	law    laws.Edition
	camera space.Camera
	truth  Truth
	hall   *hall

	lane    []*actor // our lane
	beside  []*actor // the next net
	balls   []ball
	others  []ball // the next net's
	wickets []wicketHit
	machine *prop
	events  []sound.Event

	once      sync.Once // paints the stage
	stage     *stage
	grainOnce sync.Once
	grains    []int8
}

// actor is somebody who is seen.
type actor struct {
	look  body.Look
	track body.Track
	shift space.V // moves all of the track
	from  float64 // s: seen from here
	to    float64 // s: until here
}

func (a *actor) seen(t float64) bool { return t >= a.from && t < a.to && len(a.track) > 0 }

func (a *actor) skeleton(t float64) *body.Skeleton {
	p := a.track.At(t).Shift(a.shift)
	return body.Solve(&p, a.look.Build)
}

// ball is one ball that is seen: in a hand, in the air, on the ground.
type ball struct {
	holder *actor
	stick  bool    // the holder has it in a side-arm's stick
	from   float64 // s: in the hand from here
	hidden float64 // s before the release in which it is inside a machine
	way    path
	shift  space.V
	gone   float64 // s: picked up
}

// wicketHit is the ball's blow on the stumps, which spring back.
type wicketHit struct{ at, hard float64 }

// prop is something that is wheeled about: places at times.
type prop struct {
	at    []float64
	place []space.V
}

func (p *prop) pos(t float64) space.V {
	after := sort.SearchFloat64s(p.at, t)
	switch {
	case after == 0:
		return p.place[0]
	case after == len(p.at):
		return p.place[after-1]
	}
	from := after - 1
	return space.Mix(p.place[from], p.place[after], (t-p.at[from])/(p.at[after]-p.at[from]))
}

// New plans a scene. It gives fault.Invalid for a setting that can't be.
func New(s Setting) (*Show, error) {
	if err := s.check(); err != nil {
		return nil, err
	}
	if s.Preset == "" {
		s.Preset = "superfast"
	}
	if s.MicGain == 0 {
		s.MicGain = 1
	}
	law := laws.Code2017()
	show := &Show{set: s, law: law, camera: place(s, law), hall: newHall(law, s.Seed)}
	p := &planner{Show: show, r: newLuck(s.Seed, 1), now: 2.4}
	p.session()
	end := p.now + 1.5
	show.truth.Frames = int(math.Ceil(end * s.FPS))
	show.truth.Seconds = float64(show.truth.Frames) / s.FPS
	for i := range s.Neighbours {
		p.neighbour(i, show.truth.Seconds)
	}
	show.truth.Setting, show.truth.Laws = s, law
	crease := space.V{X: law.PoppingFromBowling}
	far := crease.Sub(show.camera.Eye)
	show.truth.Camera = Camera{
		Camera: show.camera, Matrix: show.camera.Matrix(),
		SoundDelay: far.Len() / SoundSpeed, Batter: far.Len(),
		Pixels: show.camera.Scale(far.Dot(show.camera.Forward)),
	}
	return show, nil
}

// Truth gives what is known of the scene. The slices are the show's own.
func (s *Show) Truth() Truth { return s.truth }

// Frames is the number of frames of the film.
func (s *Show) Frames() int { return s.truth.Frames }

// place sets up the camera of a view. The picture is framed for 16:9; a
// portrait keeps the height of what is seen.
func place(s Setting, law laws.Edition) space.Camera {
	crease := law.PoppingFromBowling
	eye, at, focal := space.V{X: crease + 1.28, Y: 8.0, Z: 1.62}, space.V{X: crease + 1.28, Y: 0, Z: 0.93}, 1600.0
	switch s.View {
	case BehindTheArm:
		eye, at, focal = space.V{X: law.PitchLength + 7.4, Y: 0.12, Z: 4.4}, space.V{X: crease + 1, Y: 0, Z: 0.75}, 3800.0
	case Oblique:
		eye, at, focal = space.V{X: crease + 6.2, Y: 6.4, Z: 2.1}, space.V{X: crease + 0.5, Y: 0, Z: 0.9}, 1640.0
	}
	if s.Height > s.Width {
		at.X = crease + 0.35
		if s.View == SideOn {
			eye.X = at.X
		}
	}
	return space.LookAt(eye, at, focal*float64(s.Height)/720, s.Width, s.Height)
}

// Sound gives the sound track, or nil for a silent film.
func (s *Show) Sound() *sound.Track {
	if s.set.Silent {
		return nil
	}
	t := &sound.Track{
		Seconds: s.truth.Seconds, Ear: s.camera.Eye, Air: SoundSpeed, Events: s.events,
		Hall: s.set.Noise, Wind: s.set.Wind, Gain: s.set.MicGain, Dull: s.set.MicDull, Seed: uint64(s.set.Seed),
		At: feeds["machine"].from,
	}
	for _, b := range s.truth.Blocks {
		if b.Feed == "machine" {
			t.Machine = append(t.Machine, sound.Span{From: max(0, b.Start-2.5), To: b.End + 1})
		}
	}
	return t
}
