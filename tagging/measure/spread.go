package measure

// sizes of the parts of a row of Calibration.Spread.
const (
	groundLen     = 9
	projectionLen = 12
	rowLen        = groundLen + 1 + projectionLen
)

// flat lists the numbers of a solution in the order of a row of Spread.
func (s *solution) flat() []float64 {
	row := append(make([]float64, 0, rowLen), s.ground[:]...)
	row = append(row, s.lens.bend)
	if s.camera != nil {
		m := s.camera.matrix(s.middleX, s.middleY)
		row = append(row, m[:]...)
	}
	return row
}

// spread gives how the solution moves when each input moves by its standard
// deviation, to first order: a row an input. Since the inputs are independent,
// the rows' outer products add up to the covariance.
func (in inputs) spread(s *solution) ([][]float64, error) {
	const small = 0.02 // of a standard deviation: a derivative, but far above rounding
	var rows [][]float64
	add := func(sigma float64, move func(in *inputs, by float64)) error {
		if sigma == 0 {
			return nil
		}
		ends := make([][]float64, 2)
		for i, by := range []float64{-small * sigma, small * sigma} {
			moved := in
			moved.marked = append([]marked(nil), in.marked...)
			move(&moved, by)
			t, err := moved.solve(s)
			if err != nil {
				return err
			}
			ends[i] = t.flat()
		}
		row := make([]float64, len(s.flat()))
		if len(ends[0]) != len(row) || len(ends[1]) != len(row) {
			return errDegenerate
		}
		for k := range row {
			row[k] = (ends[1][k] - ends[0][k]) / (2 * small)
		}
		rows = append(rows, row)
		return nil
	}
	for i, m := range in.marked {
		if m.Use == Check {
			continue
		}
		for _, axis := range []func(p *Pixel) *float64{
			func(p *Pixel) *float64 { return &p.X },
			func(p *Pixel) *float64 { return &p.Y },
		} {
			if err := add(m.sigma, func(in *inputs, by float64) { *axis(&in.marked[i].pixel) += by }); err != nil {
				return nil, err
			}
		}
	}
	if err := add(in.bendSigma, func(in *inputs, by float64) { in.bend += by }); err != nil {
		return nil, err
	}
	if s.camera == nil {
		return rows, nil
	}
	long := float64(max(in.width, in.height))
	for _, o := range []struct {
		sigma float64
		move  func(in *inputs, by float64)
	}{
		{axisSpread * long, func(in *inputs, by float64) { in.cx += by }},
		{axisSpread * long, func(in *inputs, by float64) { in.cy += by }},
		{focalSpread, func(in *inputs, by float64) { in.usual += by }},
	} {
		if err := add(o.sigma, o.move); err != nil {
			return nil, err
		}
	}
	return rows, nil
}
