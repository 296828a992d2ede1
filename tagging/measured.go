package tagging

// MeasuredOn is what was measured of a ball, each measure once, in the order of
// Measured: off the picture of a recording where it was read there, else as it
// stands first, which is surest. The recording 0 is none.
func (b Ball) MeasuredOn(recording int64) []Measured {
	var out []Measured
	place := map[string]int{}
	for _, m := range b.Measured {
		i, known := place[m.Measure]
		switch {
		case !known:
			place[m.Measure] = len(out)
			out = append(out, m)
		case m.RecordingID == recording && out[i].RecordingID != recording:
			out[i] = m
		}
	}
	return out
}
