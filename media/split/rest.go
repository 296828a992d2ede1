package split

import "math"

// From behind the arm it is hard to see when a ball gets to the bat, but where it
// bounced is seen well: the lower in the picture, the shorter it was pitched, and
// the longer it still takes. How long is guessed by what is usual, and by how long balls fell
// from the hand, or else by those that are seen to rise: what rises is followed on beyond the
// bat, so that it tells less. When the batter moves does not tell: one steps and lifts the bat
// long before, another late.
const (
	restLeast = 3      // balls whose bounce must be told
	restLong  = 0.45   // s from the bounce to the bat at most, for the usual length
	restStep  = 0.01   // s
	restUsual = 0.18   // s for the usual length: 4 m at 90 km/h (common practice, no source),
	restOff   = 0.12   // and by how much it differs
	restSlope = 0.0165 // s a pixel of the picture's height that is usual,
	restTimes = 0.5    // and the spread of its logarithm: cameras stand higher and lower (invented scenes)
	restRise  = 0.05   // s by which what is seen to rise, or to go, may be mistaken,
	restRose  = 2.0    // and as many log odds as it says

	restFalls  = 0.2  // s from the hand to the bounce, at least, where balls are seen from the hand on,
	restUnseen = 0.05 // s after they left it;
	restSpread = 0.08 // s by which sessions differ, where how long balls fell tells as well (invented scenes)

	swingWide = 40.0 // pixels from where the bat meets the ball in which the batter's swing is seen
)

// ground is where and when a ball touched it, or was lost just before.
type ground struct{ y, at float64 }

// rest is how long balls take from the bounce to the bat, s: usual where most bounce,
// and slope for each pixel lower than that.
type rest struct{ usual, slope, y float64 }

// meets is when a ball meets the bat that touched the ground.
func (r rest) meets(g ground) float64 {
	return g.at + min(max(r.usual+r.slope*(g.y-r.y), 0), bounceLong)
}

// fromGround sets when the balls of a way that climbs meet the bat. The passes stay where
// they are, in order or not.
func (w *way) fromGround() {
	var balls []*pass
	var low []float64
	rose := 0 // balls; where few are seen to, the place where they are lost is not the bat's
	for i := range w.passes {
		p := &w.passes[i]
		if p.ground == nil {
			continue
		}
		balls, low = append(balls, p), append(low, p.ground.y)
		if !p.fell {
			rose++
		}
	}
	if len(balls) < restLeast {
		return
	}
	r := rest{restUsual, restSlope, middle(low)}
	if fell, ok := fallTime(balls); ok {
		r.usual = afterFall(fell)
	} else if rose >= meetLeast {
		r = r.likeliest(balls)
	}
	for _, p := range balls {
		if !p.turned {
			p.at = r.meets(*p.ground)
		}
	}
}

// fallTime is how long balls take from the hand to the bounce; ok if most are seen to.
func fallTime(balls []*pass) (fell float64, ok bool) {
	var falls []float64
	for _, p := range balls {
		if p.bowled() {
			falls = append(falls, p.ground.at-p.first.t)
		}
	}
	fell = middle(falls) + restUnseen
	return fell, 2*len(falls) > len(balls) && fell > restFalls
}

// paces are how long balls take from the hand to the bat, s, by how much that differs between
// sessions, and the share of sessions: 17.7 m at about 30, 20 or 15 m/s (common practice, no
// source; how much and how many by invented scenes). Lengths differ more than paces: where
// balls fall soon they were pitched short rather than bowled fast.
var paces = [...]struct{ took, off, share float64 }{
	{0.585, 0.045, 0.62}, // pace
	{0.87, 0.04, 0.33},   // spin
	{1.15, 0.1, 0.05},    // children, and what is lobbed
}

// afterFall is how long balls take from the bounce to the bat that fell for so long from the
// hand, s: what they take in all less that, and what is usual, each by how sure it is, for
// each pace by how likely it is.
func afterFall(fell float64) float64 {
	var sum, all float64
	for _, p := range paces {
		left, off := p.took-fell, math.Hypot(p.off, restSpread)
		d := (left - restUsual) / off
		likely := p.share * math.Exp(-d*d/2) / off
		sum += likely * midway(left, p.off, restUsual, restSpread)
		all += likely
	}
	return max(sum/all, 0)
}

// likeliest is how long balls take by what is usual and by those that are seen to rise.
func (r rest) likeliest(balls []*pass) rest {
	best, top := r, math.Inf(-1)
	for i := 0; float64(i)*restStep <= restLong; i++ {
		r.usual = float64(i) * restStep
		for j := -15; j <= 15; j++ {
			k := float64(j) / 10
			r.slope = restSlope * math.Exp(k*restTimes)
			off := (r.usual - restUsual) / restOff
			sum := -(k*k + off*off) / 2
			for _, p := range balls {
				if !p.fell {
					off := (r.meets(*p.ground) - p.at) / restRise
					sum += restRose * math.Exp(-off*off/2)
				}
			}
			if sum > top {
				best, top = r, sum
			}
		}
	}
	return best
}

// atBat leaves of the weights of a picture's cells those near where the bat meets
// the ball: in front of the camera a bowler moves much more than a far batter.
func (w *way) atBat(cells []float64, wide float64) {
	x, y := w.spot(w.meet)
	across := int(wide) / cellSide
	for c := range cells {
		off := math.Hypot((float64(c%across)+0.5)*cellSide-x, (float64(c/across)+0.5)*cellSide-y) / swingWide
		cells[c] *= max(1-off*off, 0)
	}
}
