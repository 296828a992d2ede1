package compare

import "math"

// Chart is a p-chart: rates of sessions in their order against the limits
// within which they lie while nothing changes. A point outside is worth a
// look; by itself it does not say that anything is better.
type Chart struct {
	Centre Figure // the rate of all balls together
	Points []ChartPoint
}

// ChartPoint is one session of a chart.
type ChartPoint struct {
	Rate             Rate
	Value, Low, High float64
	Outside          bool
	Gap              Gap // no balls: no point
}

// PChart draws the chart of proportions with limits at three standard errors,
// of each session's own number of balls (NIST/SEMATECH e-Handbook of
// Statistical Methods, section 6.3.3.2).
func PChart(rates []Rate) Chart {
	var all Rate
	for _, r := range rates {
		if r.Gap() == None {
			all = all.Add(r)
		}
	}
	c := Chart{Centre: Figure{Gap: all.Gap()}}
	if c.Centre.Known() {
		c.Centre.Value = all.value()
	}
	for _, r := range rates {
		p := ChartPoint{Rate: r, Gap: r.Gap()}
		if p.Gap == None {
			p.Value = r.value()
			p.Low, p.High = band(c.Centre.Value, r.Of, 3)
			p.Outside = p.Value < p.Low-tiny || p.Value > p.High+tiny
		}
		c.Points = append(c.Points, p)
	}
	return c
}

// band is a rate give or take some standard errors of n balls, within [0, 1].
func band(p float64, n int, errors float64) (low, high float64) {
	half := errors * math.Sqrt(p*(1-p)/float64(n))
	return math.Max(0, p-half), math.Min(1, p+half)
}

// FormPoint is the rate of the last few balls.
type FormPoint struct {
	Ball             int // of the last of them, counted from 1
	Rate             Rate
	Value, Low, High float64
	Outside          bool
}

// Form is how a rate runs through a block: of every window balls in a row,
// against the band in which 95 of 100 such stretches lie when form does not
// change (normal approximation). Neighbouring points share balls, and the more
// there are the likelier one is outside: a point outside is worth a look, no
// more. There are none when the block is shorter than the window.
func Form(held []bool, window int) []FormPoint {
	if window < 1 || len(held) < window {
		return nil
	}
	var all, last Rate
	for _, h := range held {
		all = all.Add(Rate{one(h), 1})
	}
	points := make([]FormPoint, 0, len(held)-window+1)
	low, high := band(all.value(), window, z)
	for i, h := range held {
		last = last.Add(Rate{one(h), 1})
		if i >= window {
			last = last.Add(Rate{-one(held[i-window]), -1})
		}
		if i < window-1 {
			continue
		}
		v := last.value()
		points = append(points, FormPoint{
			Ball: i + 1, Rate: last, Value: v, Low: low, High: high, Outside: v < low-tiny || v > high+tiny,
		})
	}
	return points
}

// Streak is balls in a row on which something held.
type Streak struct {
	First  int // counted from 1; 0 when there is none
	Length int
}

// BestStreak is the longest, the first of several that are as long; Now is the
// one that the last ball is part of.
func BestStreak(held []bool) (best, now Streak) {
	for i, h := range held {
		if !h {
			now = Streak{}
			continue
		}
		if now.Length == 0 {
			now.First = i + 1
		}
		now.Length++
		if now.Length > best.Length {
			best = now
		}
	}
	return best, now
}
