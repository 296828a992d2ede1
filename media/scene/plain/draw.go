package plain

import (
	"math"
	"math/rand/v2"
	"sort"
)

// Picture draws picture i as yuv420p into buf, which has room for
// Width*Height*3/2 bytes, in the size that Stored gives.
func (w *World) Picture(i int, buf []byte) {
	t := float64(i) / w.FPS
	n := w.Width * w.Height
	c := canvas{w: w.Width, h: w.Height, px: buf[:n]}
	if w.Rotate == 90 {
		c.px = make([]byte, n)
	}
	jx, jy := w.jolt(t)
	w.drawGround(&c, t, jx, jy)
	c.dx, c.dy = -jx, -jy
	light := 0.0
	if w.Flicker > 0 {
		light = w.Flicker * (math.Sin(2*math.Pi*9.7*t) + 0.7*math.Sin(t*0.9+float64(w.Seed)))
	}
	for k, o := range w.others {
		w.drawNet(&c, o, t, k)
	}
	for _, k := range w.walks {
		if t >= k.from && t < k.to {
			w.drawWalk(&c, k, t)
		}
	}
	w.drawOwn(&c, t)
	w.develop(c.px, light, uint64(i))
	if w.Rotate == 90 {
		for y := range c.h {
			for x := range c.w {
				buf[(c.w-1-x)*c.h+y] = c.px[y*c.w+x]
			}
		}
	}
	for j := range buf[n:] {
		buf[n+j] = 128
	}
}

// drawOwn draws the net that counts: feeder, batter, ball.
func (w *World) drawOwn(c *canvas, t float64) {
	wide := w.aspect()
	tall := 0.35 * w.Size
	batX, batFoot, feedX, feedFoot, feedTall := 0.72*wide, 0.8, 0.16*wide, 0.82, 0.33*w.Size
	switch w.View {
	case BehindArm:
		tall = 0.2 * w.Size
		batX, batFoot, feedX, feedFoot, feedTall = 0.5*wide, 0.55, 0.5*wide-0.08*w.Size, 0.95, 0.5*w.Size
	case BehindBatter:
		tall = 0.5 * w.Size
		batX, batFoot, feedX, feedFoot, feedTall = 0.42*wide, 0.95, 0.53*wide, 0.5, 0.16*w.Size
	}
	if w.Whole {
		batX, feedX = 0.88*wide, 0.1*wide
	}
	toward := -1.0 // the way the batter faces
	if feedX > batX {
		toward = 1
	}
	angle, lunge := batter(w.strokes, t)
	arm, away := w.arm(t)
	from := [2]float64{feedX - toward*0.1*feedTall, feedFoot - 1.05*feedTall}
	at := [2]float64{batX + toward*0.3*tall, batFoot - 0.35*tall}
	draw := func(x float64) float64 {
		if w.Mirror {
			return wide - x
		}
		return x
	}
	side := toward
	if w.Mirror {
		side = -toward
	}
	feedAt := feedX
	if w.View == Side {
		feedAt += toward * 0.3 * away
	} else {
		feedAt += 0.03 * away
		feedTall *= 1 + 0.15*away*map[View]float64{BehindArm: 1, BehindBatter: -1}[w.View]
	}
	if w.Feed == Machine {
		c.rect(draw(feedX-toward*0.12*feedTall)-0.1*feedTall, feedFoot-0.55*feedTall, 0.2*feedTall, 0.55*feedTall, 90)
	}
	w.figure(c, draw(feedAt), feedFoot, feedTall, -side, math.Sin(away*40)*0.5*min(away*4, 1), arm+math.Pi, 0, 55)
	w.figure(c, draw(batX)+side*lunge*tall, batFoot, tall, side, lunge*1.5, 0.5-angle*0.35, 0, 40)
	// The bat hangs from the hands and swings back, away from the feeder.
	hx, hy := draw(batX)+side*(lunge*tall+0.12*tall), batFoot-0.5*tall
	bx, by := hx-side*math.Sin(angle)*0.5*tall, hy+math.Cos(angle)*0.5*tall
	c.line(hx, hy, bx, by, 0.04*tall, 205)
	if w.View == Side { // stumps
		for k := range 3 {
			c.rect(draw(batX-toward*0.25*tall)+0.025*tall*float64(k), batFoot-0.35*tall, 0.012*tall, 0.35*tall, 190)
		}
	}
	if w.Ball == 0 {
		return
	}
	i := sort.Search(len(w.Balls), func(i int) bool { return w.Balls[i].Passing > t-1 })
	for ; i < len(w.Balls) && w.Balls[i].Release <= t; i++ {
		p, size, ok := w.flight(w.Balls[i], t, from, at, max(batFoot, feedFoot)-0.01)
		if !ok {
			continue
		}
		shade := 245.0
		if w.Dark {
			shade = 15
		}
		c.disc(draw(p[0]), p[1], w.Ball*size, shade)
	}
}

func (w *World) drawNet(c *canvas, o net, t float64, k int) {
	var list []stroke
	i := sort.Search(len(o.balls), func(i int) bool { return o.balls[i].Passing > t-2.5 })
	for ; i < len(o.balls) && o.balls[i].Passing < t+2; i++ {
		b := o.balls[i]
		list = append(list, stroke{at: b.Passing, what: hit, back: 1.2, down: 1.2 + b.line, lunge: 0.1, quick: 0.17})
	}
	angle, lunge := batter(list, t)
	tall, side := 0.35*o.size, 1.0
	if k%2 == 1 {
		side = -1
	}
	w.figure(c, o.x+side*lunge*tall, o.y+tall*0.5, tall, side, lunge, 0.5-angle*0.35, 0, 75)
	hx, hy := o.x+side*(lunge*tall+0.12*tall), o.y
	c.line(hx, hy, hx-side*math.Sin(angle)*0.5*tall, hy+math.Cos(angle)*0.5*tall, 0.04*tall, 190)
}

func (w *World) drawWalk(c *canvas, k walk, t float64) {
	u := (t - k.from) / (k.to - k.from)
	phase := 2 * math.Pi * k.pace * (t - k.from) / 2
	w.figure(c, k.x0+(k.x1-k.x0)*u, k.foot, k.tall, 1, 0, 0.6*math.Sin(phase), 0.35*math.Sin(phase), k.shade)
}

// figure draws a person: feet at x, foot; lean and stride in rad, the arm's
// angle from hanging down.
func (w *World) figure(c *canvas, x, foot, tall, side, lean, arm, stride, shade float64) {
	hipX, hipY := x, foot-0.48*tall
	shX, shY := hipX+side*math.Sin(lean*0.6)*0.32*tall, foot-0.48*tall-math.Cos(lean*0.6)*0.32*tall
	handX, handY := shX+side*math.Sin(arm)*0.33*tall, shY+math.Cos(arm)*0.33*tall
	spread := 0.1 + math.Abs(stride)*0.6
	sign := 1.0
	if stride < 0 {
		sign = -1
	}
	switch w.Style {
	case Blocks:
		c.rect(hipX-0.1*tall, hipY, 0.2*tall, 0.48*tall, shade)
		c.rect(min(shX, hipX)-0.12*tall, shY, 0.24*tall+math.Abs(shX-hipX), hipY-shY, shade+45)
		c.rect(shX-0.07*tall, shY-0.17*tall, 0.14*tall, 0.15*tall, 170)
		c.line(shX, shY+0.03*tall, handX, handY, 0.05*tall, shade+70)
	default:
		thick := 0.018 * tall
		if w.Style == Limbs {
			thick = 0.055 * tall
		}
		c.line(hipX, hipY, hipX-sign*spread*tall, foot, thick, shade)
		c.line(hipX, hipY, hipX+sign*spread*tall, foot, thick, shade+12)
		c.line(hipX, hipY, shX, shY, thick*1.6, shade+30)
		c.line(shX, shY, handX, handY, thick, shade+60)
		c.disc(shX, shY-0.09*tall, 0.075*tall, 165)
	}
}

// develop adds light and grain.
func (w *World) develop(px []byte, light float64, seed uint64) {
	at := int(rand.New(rand.NewPCG(w.Seed, seed)).Uint32()) % len(grain)
	g, l := float32(w.Grain), float32(light)
	if g == 0 && l == 0 {
		return
	}
	for i, v := range px {
		x := float32(v) + l + g*grain[at]
		if at++; at == len(grain) {
			at = 0
		}
		px[i] = byte(min(max(x, 0), 255))
	}
}

// grain is a table of normally distributed values: drawing them for each pixel
// would take longer than all else.
var grain = func() []float32 {
	r := rand.New(rand.NewPCG(3, 4))
	out := make([]float32, 99991)
	for i := range out {
		out[i] = float32(r.NormFloat64())
	}
	return out
}()
