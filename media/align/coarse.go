package align

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/dsp/fourier"
)

const (
	piece     = 96 * fps // frames of the shorter recording that are looked for at a time
	transform = 1 << 16  // frames of the longer that are searched at a time, at most
	perPiece  = 10       // offsets of each piece that are worth remembering
	candidate = 4        // lines that are worth a closer look
	near      = 0.05     // s: two offsets as close as this are the same
	fastest   = 250e-6   // the largest believable difference of two clocks' rates
)

// match is one piece's likely place: the piece's middle on the shorter
// recording's clock, how much later that is on the longer's, and how far the
// correlation there stands out of its usual scatter.
type match struct {
	piece          int
	at, lag, score float64
}

// coarse finds the most likely lines, best first.
func coarse(a, b heard) []line {
	// Each piece of the shorter one is looked for in the whole of the longer
	// one: a piece is short enough for drift not to smear it.
	if b.frames() > a.frames() {
		lines := coarse(b, a)
		for i, l := range lines { // the other way round
			lines[i] = line{lag: -l.lag / (1 + l.rate), rate: 1/(1+l.rate) - 1, score: l.score}
		}
		return lines
	}
	s := newSearch(a, min(piece, b.frames()))
	var found []match
	pieces := 0
	for start := 0; ; start += s.piece / 2 {
		start = min(start, b.frames()-s.piece)
		found = append(found, s.find(b, start, pieces)...)
		pieces++
		if start+s.piece >= b.frames() {
			break
		}
	}
	return agree(found, pieces)
}

// search looks for pieces in one recording, whose spectra it keeps.
type search struct {
	fft     *fourier.FFT
	size    int
	piece   int
	places  int // offsets: from the piece's end at the start to its start at the end
	spectra [][len(bands)][]complex64
	energy  []float64 // of what lies under the piece, for each offset
	product []complex128
	padded  []float64
	scores  []float64
}

func newSearch(a heard, piece int) *search {
	s := &search{size: 1 << 12, piece: piece, places: a.frames() + piece - 1}
	for s.size < transform && s.size < s.places+piece {
		s.size *= 2
	}
	s.fft = fourier.NewFFT(s.size)
	s.padded = make([]float64, s.size)
	s.product = make([]complex128, s.size/2+1)
	s.scores = make([]float64, s.places)
	for from := 0; from < s.places; from += s.step() {
		var spectra [len(bands)][]complex64
		for b, rises := range a.rises {
			s.pad(rises, from-(piece-1))
			spectra[b] = narrow(s.fft.Coefficients(nil, s.padded))
		}
		s.spectra = append(s.spectra, spectra)
	}
	s.energy = slide(a, piece)
	return s
}

// step is how many offsets one transform tells.
func (s *search) step() int { return s.size - s.piece + 1 }

// pad copies what there is of rises[from:from+size].
func (s *search) pad(rises []float32, from int) {
	for i := range s.padded {
		s.padded[i] = 0
		if at := from + i; at >= 0 && at < len(rises) {
			s.padded[i] = float64(rises[at])
		}
	}
}

func narrow(c []complex128) []complex64 {
	n := make([]complex64, len(c))
	for i, v := range c {
		n[i] = complex64(v)
	}
	return n
}

// slide sums the energy of a under a piece at each offset, never less than a
// tenth of the average: a corner of a piece proves little.
func slide(a heard, piece int) []float64 {
	n := a.frames()
	sums := make([]float64, n+1)
	for i := range n {
		sums[i+1] = sums[i]
		for _, rises := range a.rises {
			sums[i+1] += float64(rises[i]) * float64(rises[i])
		}
	}
	least := sums[n]/float64(n)*float64(piece)/10 + 1e-9
	energy := make([]float64, n+piece-1)
	for i := range energy {
		energy[i] = max(least, sums[min(n, i+1)]-sums[max(0, i+1-piece)])
	}
	return energy
}

// find correlates the piece of b that begins at a frame with the recording.
func (s *search) find(b heard, start, number int) []match {
	var spectra [len(bands)][]complex128
	for i, rises := range b.rises {
		s.pad(rises[start:start+s.piece], 0)
		spectra[i] = s.fft.Coefficients(nil, s.padded)
	}
	for c, known := range s.spectra {
		for k := range s.product {
			var sum complex128
			for i := range known {
				v := spectra[i][k]
				sum += complex128(known[i][k]) * complex(real(v), -imag(v))
			}
			s.product[k] = sum
		}
		s.fft.Sequence(s.padded, s.product)
		from := c * s.step()
		for i := range min(s.step(), s.places-from) {
			s.scores[from+i] = s.padded[i] / math.Sqrt(s.energy[from+i])
		}
	}
	return s.peaks(float64(start), number)
}

// peaks picks the offsets that stand out.
func (s *search) peaks(start float64, number int) []match {
	usual := scatter(s.scores)
	if usual == 0 {
		return nil
	}
	const apart = 6 // frames: 48 ms
	var found []match
	for i, v := range s.scores {
		if v < 3*usual || !highest(s.scores, i, apart) {
			continue
		}
		// Offset i puts the piece's first frame on frame i-(piece-1).
		lag := float64(i-(s.piece-1)) + vertex(s.scores, i) - start
		found = append(found, match{
			piece: number, at: (start + float64(s.piece)/2) / fps, lag: lag / fps, score: v / usual,
		})
	}
	slices.SortFunc(found, func(a, b match) int { return cmp.Compare(b.score, a.score) })
	return found[:min(len(found), perPiece)]
}

// highest says whether values[i] is the first highest within so many places.
func highest(values []float64, i, within int) bool {
	for j := max(0, i-within); j <= min(len(values)-1, i+within); j++ {
		if values[j] > values[i] || values[j] == values[i] && j < i {
			return false
		}
	}
	return true
}

// vertex is how far beside i the top of the parabola through its neighbours lies.
func vertex(values []float64, i int) float64 {
	if i == 0 || i == len(values)-1 {
		return 0
	}
	before, here, after := values[i-1], values[i], values[i+1]
	bend := before - 2*here + after
	if bend >= 0 {
		return 0
	}
	return min(0.5, max(-0.5, (before-after)/2/bend))
}

// scatter is a standard deviation that a few large values don't change.
func scatter(values []float64) float64 {
	sizes := make([]float64, 0, len(values))
	for _, v := range values {
		if v != 0 {
			sizes = append(sizes, math.Abs(v))
		}
	}
	if len(sizes) == 0 {
		return 0
	}
	slices.Sort(sizes)
	return 1.4826 * sizes[len(sizes)/2]
}

// agree draws lines through the pieces' likely places and returns those that
// most speaks for. Pieces that are far apart may differ by what two clocks can
// drift.
func agree(found []match, pieces int) []line {
	slices.SortFunc(found, func(a, b match) int { return cmp.Compare(b.score, a.score) })
	anchors := found[:min(len(found), 400)]
	lines := make([]line, 0, len(anchors))
	for _, anchor := range anchors {
		lines = append(lines, through(anchor, found, pieces))
	}
	slices.SortFunc(lines, func(a, b line) int { return cmp.Compare(b.score, a.score) })
	var best []line
	for _, l := range lines {
		same := slices.ContainsFunc(best, func(o line) bool {
			return math.Abs(l.lag-o.lag) < 2*near+fastest*600
		})
		if !same {
			best = append(best, l)
		}
		if len(best) == candidate {
			break
		}
	}
	return best
}

// through fits the line that goes through an anchor and the best place of each
// other piece that can lie on one with it, twice: the second time with only
// those near the first line.
func through(anchor match, found []match, pieces int) line {
	l := line{lag: anchor.lag, score: anchor.score}
	slack := fastest
	for range 2 {
		best := make([]match, pieces)
		for _, m := range found {
			if off := m.lag - l.lag - l.rate*m.at; math.Abs(off) > near+slack*math.Abs(m.at-anchor.at) {
				continue
			}
			if m.score > best[m.piece].score {
				best[m.piece] = m
			}
		}
		best = slices.DeleteFunc(best, func(m match) bool { return m.score == 0 })
		l, slack = fitCoarse(best), 0
	}
	return l
}

// fitCoarse fits a line by least squares. A few pieces close together can't
// tell a rate: it is held near none by what is usual of clocks.
func fitCoarse(chosen []match) line {
	const usual, scatter = 50e-6, 0.01 // of rates; of one piece's place, s
	var weights, middle, mean, score float64
	for _, m := range chosen {
		weights += m.score
		middle += m.score * m.at
		mean += m.score * m.lag
		score += m.score
	}
	middle, mean = middle/weights, mean/weights
	var spread, slope float64
	for _, m := range chosen {
		share := m.score / weights * float64(len(chosen))
		spread += share * (m.at - middle) * (m.at - middle)
		slope += share * (m.at - middle) * (m.lag - mean)
	}
	slope /= spread + scatter*scatter/(usual*usual)
	slope = min(fastest, max(-fastest, slope))
	return line{lag: mean - slope*middle, rate: slope, score: score}
}
