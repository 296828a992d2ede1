package measure

// Line is a line of the pitch as the calibration sees it, to be drawn over the
// picture.
type Line struct {
	Name   string  `json:"name"`
	Points []Pixel `json:"points"` // of the picture as shown; bent where the lens bends
}

// drawStep lies between the points of a drawn line, metres.
const drawStep = 0.1

// Lines gives the fixed edges of the creases of both ends and the stumps, as far
// as they are in front of the camera. Points may lie outside the picture.
func (c *Calibration) Lines() []Line {
	e, far := c.Pitch.Laws, c.Pitch.length()
	pop, ret, tip, bowl := e.PoppingFromBowling, e.ReturnHalfGap, e.PoppingFromBowling-e.ReturnBehind, e.BowlingCrease/2
	type edge struct {
		name string
		a, b vec
	}
	var edges []edge
	end := func(prefix string, at func(x float64) float64) {
		add := func(name string, x0, y0, x1, y1 float64) {
			edges = append(edges, edge{prefix + name, vec{at(x0), y0}, vec{at(x1), y1}})
		}
		add("bowling crease", 0, -bowl, 0, bowl)
		add("popping crease", pop, -e.PoppingHalfLength, pop, e.PoppingHalfLength)
		add("return crease, leg side", tip, -ret, pop, -ret)
		add("return crease, off side", tip, ret, pop, ret)
		for _, s := range e.Stumps() {
			edges = append(edges, edge{prefix + s.Name, vec{at(s.X), s.Y}, vec{at(s.X), s.Y, e.StumpHeight}})
		}
	}
	end("", func(x float64) float64 { return x })
	end("far ", func(x float64) float64 { return far - x })
	for _, m := range c.Pitch.Own {
		edges = append(edges,
			edge{m.Name, vec{m.X - ownCross, m.Y}, vec{m.X + ownCross, m.Y}},
			edge{m.Name, vec{m.X, m.Y - ownCross}, vec{m.X, m.Y + ownCross}})
	}
	v := c.view()
	var lines []Line
	for _, e := range edges {
		if e.b[2] > 0 && c.Camera == nil {
			continue
		}
		if l := v.draw(e.a, e.b); len(l) > 1 {
			lines = append(lines, Line{e.name, l})
		}
	}
	return lines
}

// ownCross is half the arm of the cross that marks an own point, metres.
const ownCross = 0.1

// draw gives the points of a straight line of the space as they are seen.
func (v *view) draw(a, b vec) []Pixel {
	d := b.add(a, -1)
	n := max(1, int(d.length()/drawStep+0.5))
	var line []Pixel
	for i := range n + 1 {
		at := a.add(d, float64(i)/float64(n))
		p, ok := v.pixel(at[0], at[1])
		if at[2] > 0 || d[2] > 0 {
			var depth float64
			p.X, p.Y, depth = v.project(at)
			ok = depth > 0
			if ok {
				p, ok = v.lens.bent(p)
			}
		}
		if ok {
			line = append(line, p)
		}
	}
	return line
}
