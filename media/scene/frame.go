package scene

import (
	"math"
	"math/rand/v2"

	"netreel/media/scene/body"
	"netreel/media/scene/paint"
	"netreel/media/scene/space"
)

// Filmer paints frames of a show. Each goroutine needs one of its own.
type Filmer struct {
	show    *Show
	stage   *stage
	canvas  *paint.Canvas // what is painted on; larger than a frame when it shakes
	frame   *paint.Canvas // what is handed out
	painter *paint.Painter
	model   paint.Model
}

// NewFilmer makes a filmer. The hall is painted when a show's first one is
// made, which takes a moment.
func (s *Show) NewFilmer() *Filmer {
	s.once.Do(func() { s.stage = s.newStage() })
	f := &Filmer{show: s, stage: s.stage}
	f.frame = paint.NewCanvas(s.set.Width, s.set.Height)
	f.canvas = f.frame
	if m := f.stage.margin; m > 0 {
		f.canvas = paint.NewCanvas(s.set.Width+2*m, s.set.Height+2*m)
	}
	f.painter = paint.NewPainter(f.canvas)
	return f
}

// Frame paints frame i (0 is the first, shown at time 0) and returns it as
// planes of YUV 4:2:0; the bytes are valid until the next call.
func (f *Filmer) Frame(i int) []byte {
	s := f.show
	t := float64(i) / s.set.FPS
	cam := f.stage.camera
	f.canvas.CopyFrom(f.stage.room)
	if f.anybody(s.beside, t) {
		f.canvas.CopyFrom(f.stage.empty)
		f.model.Reset(cam)
		f.people(s.beside, s.others, t, cam)
		f.model.Paint(f.painter)
		f.canvas.Hang(f.stage.between)
	}
	f.model.Reset(cam)
	shadow(f.painter, cam, space.V{X: 0.02}, 0.24, 0.25)
	wicket(&f.model, space.V{}, s.tilt(t))
	if s.machine != nil {
		at := s.machine.pos(t)
		shadow(f.painter, cam, at, 0.6, 0.25)
		drawMachine(&f.model, at)
	}
	f.people(s.lane, s.balls, t, cam)
	f.model.Paint(f.painter)
	f.canvas.Hang(f.stage.front)
	if f.stage.margin > 0 {
		f.shake(t)
	}
	if s.set.Grain > 0 {
		f.grain(i)
	}
	if s.set.FrameCode {
		writeCode(f.frame, i)
	}
	return f.frame.Pix
}

func (f *Filmer) anybody(who []*actor, t float64) bool {
	for _, a := range who {
		if a.seen(t) {
			return true
		}
	}
	return false
}

// people adds everybody of a net and their balls.
func (f *Filmer) people(who []*actor, balls []ball, t float64, cam space.Camera) {
	bodies := make(map[*actor]*body.Skeleton, len(who))
	for _, a := range who {
		if !a.seen(t) {
			continue
		}
		k := a.skeleton(t)
		bodies[a] = k
		stand(f.painter, &f.model, cam, k, &a.look)
	}
	red := paint.Skin{Colour: paint.RGB(186, 40, 44), Lit: 22}
	for i := range balls {
		b := &balls[i]
		if t < b.from || t > b.gone {
			continue
		}
		red.Opacity = min(1, (b.gone-t)/0.4+0.01) // it is picked up: it fades
		release := b.way[0].at
		at, flying := b.way.pos(t)
		at = at.Add(b.shift)
		if !flying {
			k := bodies[b.holder]
			if k == nil || t > release-b.hidden {
				continue
			}
			at = k.Hand[1].Along(k.Hand[1].Sub(k.Elbow[1]).Unit(), 0.06)
			if b.stick {
				tip := k.Hand[1].Along(k.Hand[1].Sub(k.Elbow[1]).Unit(), 0.42)
				f.model.Capsule(k.Hand[1], 0.012, tip, 0.010, paint.Skin{Colour: paint.RGB(60, 70, 96), Lit: 4})
				at = tip
			}
		} else {
			strength := 0.5 / (1 + 3*max(0, at.Z))
			shadow(f.painter, cam, at, 0.06+0.05*at.Z, strength*red.Opacity)
		}
		f.model.Capsule(at, ballRadius, at, ballRadius, red)
	}
}

// shake copies the frame out of the larger canvas, moved as a hand moves: a
// slow drift and a small tremor.
func (f *Filmer) shake(t float64) {
	s := f.show.set
	amp := s.Shake * float64(s.Height) / 720
	phase := float64(s.Seed%97) * 0.37
	dx := amp * (11*math.Sin(0.9*t+phase) + 6*math.Sin(2.3*t+2*phase) + 1.6*math.Sin(13.1*t) + 0.9*math.Sin(21.7*t+1))
	dy := amp * (8*math.Sin(0.7*t+1.7*phase) + 5*math.Sin(1.9*t+phase) + 1.4*math.Sin(11.3*t+2) + 0.9*math.Sin(24.1*t))
	m := float64(f.stage.margin)
	dx, dy = max(-m+2, min(m-2, dx)), max(-m+2, min(m-2, dy))
	shift(f.frame.Y, s.Width, s.Height, f.canvas.Y, f.canvas.Width, m+dx, m+dy)
	shift(f.frame.U, s.Width/2, s.Height/2, f.canvas.U, f.canvas.Width/2, (m+dx)/2, (m+dy)/2)
	shift(f.frame.V, s.Width/2, s.Height/2, f.canvas.V, f.canvas.Width/2, (m+dx)/2, (m+dy)/2)
}

// shift copies a plane from (x, y) of a larger one, between samples by
// bilinear weights.
func shift(to []byte, w, h int, from []byte, stride int, x, y float64) {
	ix, iy := int(x), int(y)
	fx, fy := uint32((x-float64(ix))*256), uint32((y-float64(iy))*256)
	for row := range h {
		a := from[(iy+row)*stride+ix:][:w+1]
		b := from[(iy+row+1)*stride+ix:][:w+1]
		out := to[row*w:][:w]
		for i := range out {
			top := uint32(a[i])*(256-fx) + uint32(a[i+1])*fx
			low := uint32(b[i])*(256-fx) + uint32(b[i+1])*fx
			out[i] = byte((top*(256-fy) + low*fy + 1<<15) >> 16)
		}
	}
}

// grain adds the noise of a sensor to the luma.
func (f *Filmer) grain(i int) {
	s := f.show
	s.grainOnce.Do(func() {
		r := rand.New(rand.NewPCG(uint64(s.set.Seed), 9))
		s.grains = make([]int8, 1<<17+s.set.Width)
		for k := range s.grains {
			s.grains[k] = int8(max(-120, min(120, math.Round(r.NormFloat64()*s.set.Grain))))
		}
	})
	r := rand.New(rand.NewPCG(uint64(s.set.Seed), uint64(i)))
	for y := range s.set.Height {
		noise := s.grains[r.IntN(1<<17):]
		row := f.frame.Y[y*s.set.Width:][:s.set.Width]
		for x := range row {
			row[x] = byte(max(16, min(235, int(row[x])+int(noise[x]))))
		}
	}
}
