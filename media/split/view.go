package split

import (
	"context"
	"math"
	"slices"
	"sort"

	"netreel/media"
)

// A view is what the eye saw in one stretch of the file. For each picture it
// has a row of channels: how much each cell changed, in which cells something
// flew, and in which directions.
type view struct {
	from, to      float64   // s: the stretch that was asked for
	times         []float64 // of the pictures, ascending
	width, height float64   // pixels
	cells         int
	channels      int
	rows          []byte // times x channels
	grey, warm    air    // what flew, followed by its brightness and by its colour
	lightest      byte   // of all its pixels
}

func channelsOf(e *eye) int { return 2*e.cells() + flightWays }

// What is decoded around a moment.
const (
	viewBefore = 1.5 // s
	viewAfter  = 1.1
)

// gaze decodes one stretch. What it sees does not depend on other stretches.
func gaze(ctx context.Context, f Footage, p media.Probe, from, to float64) (*view, error) {
	e := newEye(p.Width, p.Height)
	v := &view{from: from, to: to, width: float64(e.width), height: float64(e.height), cells: e.cells(), channels: channelsOf(e)}
	var bright, warm flights
	area := e.width * e.height
	row := make([]byte, v.channels)
	within := media.Span{Start: media.FromSeconds(max(from, 0)), End: media.FromSeconds(to)}
	err := f.Pictures(ctx, within, e.width, e.height, eyeFPS, func(at media.Micros, grey, blue, red []byte) error {
		if len(grey) < area {
			return nil // a torn last picture
		}
		v.lightest = max(v.lightest, slices.Max(grey[:area]))
		t := at.Seconds()
		if e.see(grey, blue, red, row) && (len(v.times) == 0 || t > v.times[len(v.times)-1]) {
			v.times = append(v.times, t)
			v.rows = append(v.rows, row...)
			bright.follow(t, len(v.times)-1, e.grey.spots(), func(fl *flight, fresh int) { v.mark(fl, fresh, e) })
			if e.coloured {
				warm.follow(t, len(v.times)-1, e.warm.spots(), func(*flight, int) {})
			}
		}
		return nil
	})
	v.grey, v.warm = newAir(bright.finish()), newAir(warm.finish())
	return v, err
}

// mark writes a flight's points from index fresh on into the channels, and
// half as strongly into the cells around them: two balls never fly quite alike.
func (v *view) mark(fl *flight, fresh int, e *eye) {
	way := 2*v.cells + fl.way()
	for _, p := range fl.points[fresh:] {
		row := v.rows[p.row*v.channels : (p.row+1)*v.channels]
		row[way] = flightMark
		cx, cy := int(p.x)/cellSide, int(p.y)/cellSide
		for y := max(cy-1, 0); y <= min(cy+1, e.down-1); y++ {
			for x := max(cx-1, 0); x <= min(cx+1, e.across-1); x++ {
				c := &row[v.cells+y*e.across+x]
				if x == cx && y == cy {
					*c = flightMark
				} else {
					*c = max(*c, flightMark/2)
				}
			}
		}
	}
}

// air is what flew, followed by its colour or by its brightness.
func (v *view) air(warm bool) air {
	if warm {
		return v.warm
	}
	return v.grey
}

// leaves says whether a flight ends because it leaves the picture.
func (v *view) leaves(a arc) bool {
	const ahead = 0.06 // s
	x, y := a.to.x+a.endX*ahead, a.to.y+a.endY*ahead
	return x < 0 || y < 0 || x > v.width || y > v.height
}

// row is the mean of all channels over the step that begins at t, over
// its pictures, or the picture nearest to it; nil if there is none near.
func (v *view) row(t float64, into []float32) []float32 {
	i := sort.SearchFloat64s(v.times, t)
	j := i
	for j < len(v.times) && v.times[j] < t+stirStep {
		j++
	}
	if i == j {
		mid := t + stirStep/2
		if i == len(v.times) || i > 0 && mid-v.times[i-1] < v.times[i]-mid {
			i--
		}
		if i < 0 || math.Abs(v.times[i]-mid) > 3*stirStep {
			return nil
		}
		j = i + 1
	}
	into = into[:v.channels]
	clear(into)
	for k := i; k < j; k++ {
		for c, b := range v.rows[k*v.channels : (k+1)*v.channels] {
			into[c] += float32(b)
		}
	}
	for c := range into {
		into[c] /= float32(j - i)
	}
	return into
}

// views are all stretches seen so far, ascending, none within another.
type views []*view

// at is the view that covers [from, to], or nil.
func (v views) at(from, to float64) *view {
	i := sort.Search(len(v), func(i int) bool { return v[i].to >= to-1e-6 })
	if i < len(v) && v[i].from <= from+1e-6 {
		return v[i]
	}
	return nil
}

// add puts a view in its place and swallows those that it covers.
func (v views) add(n *view) views {
	out := v[:0:0]
	for _, o := range v {
		if o.from < n.from || o.to > n.to {
			out = append(out, o)
		}
	}
	out = append(out, n)
	sort.Slice(out, func(i, j int) bool { return out[i].to < out[j].to })
	return out
}

// unseen is the earliest time from begin on that no view shows up to t.
func (v views) unseen(begin, t float64) float64 {
	for _, o := range v {
		if o.from < t && o.to > begin {
			begin = min(o.to, t)
		}
	}
	return begin
}

// stretches joins the windows around times into stretches to decode, leaving
// out what has been seen. Each begins where looking begins, by begins.
func (v views) stretches(times []float64, end float64, begins func(float64) float64) [][2]float64 {
	sort.Float64s(times)
	var out [][2]float64
	for _, t := range times {
		from, to := max(t-viewBefore, 0), min(t+viewAfter, end)
		if v.at(from, to) != nil || to-from < 0.3 {
			continue
		}
		from = v.unseen(begins(from), from)
		// A short gap is not worth a second start.
		if n := len(out); n > 0 && from <= out[n-1][1]+0.5 {
			out[n-1][1] = to
			continue
		}
		out = append(out, [2]float64{from, to})
	}
	return out
}
