package split

import "math"

// Colour is how this session's bat sounds in this session's microphone: how
// loud, how bright, how fast it dies. The next net's bat is the same kind of
// sound, but from farther off.
const colourSize = 7

func colourOf(o onset) [colourSize]float64 {
	return [...]float64{
		o.peak.high(),
		float64(o.peak[bandCrack] - o.peak[bandBody]),
		float64(o.peak[bandBright] - o.peak[bandCrack]),
		float64(o.peak[bandBody] - o.peak[bandThud]),
		o.fall,
		o.fade,
		10 * math.Log1p(max(o.rise, 0)),
	}
}

// leastSpread keeps a few alike sounds from being taken for a law, in dB.
const leastSpread = 2.0

type colour struct{ yes, no [colourSize]moments }

// learnColour learns from onsets, each with its probability to be the bat, and
// from what an earlier session taught.
func learnColour(onsets []onset, p []float64, taught Profile) colour {
	var c colour
	for k, m := range taught.Bat {
		c.yes[k] = m.as(taught.Heard)
	}
	for i, o := range onsets {
		for k, v := range colourOf(o) {
			c.yes[k].add(v, p[i])
			c.no[k].add(v, 1-p[i])
		}
	}
	return c
}

// evidence is the log likelihood ratio of the sound's colour. The features
// hang together, so their sum is believed by half; own is the weight with
// which the sound itself was learnt from.
func (c *colour) evidence(o onset, own float64) float64 {
	n := c.yes[0].n - own
	if n < 1 {
		return 0
	}
	var llr float64
	for k, v := range colourOf(o) {
		yes := c.yes[k]
		yes.add(v, -own)
		s1 := math.Sqrt(yes.variance()) + leastSpread
		s0 := math.Sqrt(c.no[k].variance()) + leastSpread
		z1, z0 := (v-yes.mean())/s1, (v-c.no[k].mean())/s0
		llr += min(max((z0*z0-z1*z1)/2+math.Log(s0/s1), -3), 1.5)
	}
	return min(max(llr/2, -5), 4) * n / (n + doubt)
}
