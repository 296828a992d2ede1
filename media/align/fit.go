package align

import "math"

// fitted is a line through points: off = offset + slope*at.
type fitted struct {
	offset, slope       float64
	offsetErr, slopeErr float64 // standard errors
	count               int     // points that have a say
}

const (
	usualRate = 60e-6  // standard deviation of rates of two clocks (20 to 50 ppm a clock, from memory)
	leastDev  = 0.0002 // s: no scatter is believed to be less
)

// fit draws a line through points by least squares with Tukey's biweight, so
// that sounds from elsewhere, which reach the two microphones in another order,
// lose their say. Few points close together can't tell a rate: it is held near
// that of usual clocks, of which guessed is taken off already. start is where it
// begins.
func fit(points []point, start bright, guessed float64) fitted {
	f := fitted{offset: start.offset, slope: start.slope}
	dev := 0.0015
	for range 12 {
		var w, wx, wy, wxx, wxy, wrr float64
		f.count = 0
		for _, p := range points {
			r := (p.off - f.offset - f.slope*p.at) / (4 * dev)
			if math.Abs(r) >= 1 {
				continue
			}
			weight := p.weight * (1 - r*r) * (1 - r*r)
			w, wx, wy = w+weight, wx+weight*p.at, wy+weight*p.off
			wxx, wxy = wxx+weight*p.at*p.at, wxy+weight*p.at*p.off
			f.count++
		}
		if f.count < 2 {
			break
		}
		mean, middle := wy/w, wx/w
		share := float64(f.count) / w // so that the weights' mean is one
		spread := (wxx - wx*middle) * share
		hold := dev * dev / (usualRate * usualRate)
		f.slope = ((wxy-wx*mean)*share - hold*guessed) / (spread + hold)
		f.offset = mean - f.slope*middle
		for _, p := range points {
			r := p.off - f.offset - f.slope*p.at
			if math.Abs(r) < 4*dev {
				wrr += min(r*r, dev*dev*4)
			}
		}
		dev = max(leastDev, math.Sqrt(wrr/float64(max(1, f.count-2))))
		f.slopeErr = dev / math.Sqrt(spread+hold)
		f.offsetErr = math.Hypot(dev/math.Sqrt(float64(f.count)), f.slopeErr*middle)
	}
	return f
}
