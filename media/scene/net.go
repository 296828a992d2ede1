package scene

import (
	"math"

	"netreel/media/scene/paint"
	"netreel/media/scene/space"
)

// netting is one hanging net: a plane across x or y.
type netting struct {
	acrossX  bool    // true: the plane x = at, else y = at
	at       float64 // m
	from, to float64 // extent along the other ground axis
	strength float64 // opacity of the twine, 0..1
	blurred  bool    // out of focus: a haze without a mesh
}

const (
	mesh  = 0.05   // side of a diamond
	twine = 0.0028 // thickness
)

var netColour = paint.RGB(58, 70, 78)

// nettings sorts the hall's nets by what hangs between the camera and whom:
// behind everybody, between the neighbours and our lane, in front of our lane.
func (h *hall) nettings(eye space.V) (behind, between, front []netting) {
	behind = append(behind, netting{acrossX: true, at: backNet, from: h.y0, to: h.y1, strength: 0.34})
	for i := -3; i <= 3; i++ {
		at := (float64(i) + 0.5) * laneWidth
		if at <= h.y0+0.1 || at >= h.y1 {
			continue
		}
		n := netting{at: at, from: backNet, to: netEnd, strength: 0.30}
		inside := func(y float64) bool { return (at > y) != (at > eye.Y) }
		switch {
		case inside(0):
			n.strength = 0.055 // the camera is focused behind it
			front = append(front, n)
		case inside(-laneWidth):
			between = append(between, n)
		default:
			n.strength, n.blurred = 0.3, true
			behind = append(behind, n)
		}
	}
	return behind, between, front
}

// veil renders nets to a veil, four rays a pixel.
func veil(nets []netting, cam space.Camera, width, height int) *paint.Veil {
	if len(nets) == 0 {
		return nil
	}
	cover := make([]float32, width*height)
	for y := range height {
		for x := range width {
			sum := 0.0
			for i := range 4 {
				ray := cam.Ray(space.P{X: float64(x) + 0.25 + 0.5*float64(i%2), Y: float64(y) + 0.25 + 0.5*float64(i/2)})
				through := 1.0
				for _, n := range nets {
					through *= 1 - n.cover(cam, ray)
				}
				sum += 1 - through
			}
			cover[y*width+x] = float32(sum / 4)
		}
	}
	return paint.NewVeil(width, height, netColour, cover)
}

// cover gives how much of a ray's footprint is twine.
func (n netting) cover(cam space.Camera, ray space.V) float64 {
	d, e := ray.Y, cam.Eye.Y
	if n.acrossX {
		d, e = ray.X, cam.Eye.X
	}
	if d == 0 {
		return 0
	}
	t := (n.at - e) / d
	p := cam.Eye.Along(ray, t)
	u := p.X
	if n.acrossX {
		u = p.Y
	}
	if t <= 0.1 || p.Z <= 0 || p.Z > netTop || u < n.from || u > n.to {
		return 0
	}
	// A net hangs in soft folds.
	v := p.Z + 0.012*math.Sin(u*1.9) + 0.02*math.Sin(u*0.7+1)
	u += 0.02 * math.Sin(p.Z*1.7+u*0.6)
	foot := t / cam.Focal / math.Sqrt2 / 2
	foot *= 1 + ray.Len()/math.Abs(d)
	if n.blurred {
		foot = max(foot, mesh)
	}
	a := stripes((u+v)/math.Sqrt2, foot)
	b := stripes((u-v)/math.Sqrt2, foot)
	hem := 0.0
	if p.Z < 0.05 || p.Z > netTop-0.06 {
		hem = 0.8
	}
	return n.strength * max(hem, 1-(1-a)*(1-b))
}

// stripes gives the share of the interval x ± foot that lines of the twine's
// width, a mesh apart, cover.
func stripes(x, foot float64) float64 {
	sum := func(x float64) float64 {
		cell := math.Floor(x / mesh)
		return cell*twine + min(twine, x-cell*mesh)
	}
	return (sum(x+foot) - sum(x-foot)) / (2 * foot)
}
