package align

import (
	"math"
	"math/cmplx"
	"slices"

	"gonum.org/v1/gonum/dsp/fourier"
)

// phat compares two stretches by their phases alone: generalised
// cross-correlation with phase transform, R = A B* / |A B*|. Source: Knapp and
// Carter, IEEE Transactions on Acoustics, Speech, and Signal Processing
// 24(4):320-327, 1976. Bins that hold no more than what is always there have no say. What is
// returned is the envelope of R, so that a microphone of the other polarity
// makes no difference.
type phat struct {
	reach   int
	real    *fourier.FFT
	whole   *fourier.CmplxFFT
	padded  []float64
	product []complex128
	out     []complex128
}

// newPhat compares short samples with short+2*reach.
func newPhat(short, reach int) *phat {
	size := 1
	for size < short+2*reach {
		size *= 2
	}
	return &phat{
		reach: reach, real: fourier.NewFFT(size), whole: fourier.NewCmplxFFT(size),
		padded: make([]float64, size), product: make([]complex128, size), out: make([]complex128, size),
	}
}

// lowest and highest frequency that is compared, Hz: below is hum and wind.
const lowest, highestHz = 150, 3800

// spectrum is that of a stretch with soft ends, from the lowest to the highest
// frequency that is compared.
func (p *phat) spectrum(samples []float32) []complex64 {
	const soft = 400 // samples
	for i := range p.padded {
		p.padded[i] = 0
		if i < len(samples) {
			end := min(i, len(samples)-1-i)
			p.padded[i] = float64(samples[i])
			if end < soft {
				p.padded[i] *= 0.5 - 0.5*math.Cos(math.Pi*(float64(end)+0.5)/soft)
			}
		}
	}
	from, to := p.within()
	return narrow(p.real.Coefficients(nil, p.padded)[from:to])
}

func (p *phat) within() (from, to int) {
	return lowest * len(p.padded) / rate, highestHz * len(p.padded) / rate
}

// compare returns how well b fits into a at each of 2*reach+1 shifts.
// alwaysA and alwaysB are the powers that are always there, by bin.
func (p *phat) compare(a, b []complex64, alwaysA, alwaysB []float32) []float32 {
	for i := range p.product {
		p.product[i] = 0 // the negative half stays empty: an analytic signal
	}
	from, _ := p.within()
	for k := range a {
		x, y := complex128(a[k]), complex128(b[k])
		c := x * cmplx.Conj(y)
		if m := cmplx.Abs(c); m > 0 {
			say := above(x, alwaysA[k]) * above(y, alwaysB[k])
			p.product[from+k] = c * complex(say/m, 0)
		}
	}
	p.whole.Sequence(p.out, p.product)
	curve := make([]float32, 2*p.reach+1)
	for i := range curve {
		curve[i] = float32(cmplx.Abs(p.out[i]))
	}
	return curve
}

// above is the share of a bin's power that lies over what is always there. Noise
// scatters: it seldom surpasses six times the quarter that always tells.
func above(c complex128, always float32) float64 {
	const scatters = 6
	power := real(c)*real(c) + imag(c)*imag(c)
	return max(0, 1-scatters*float64(always)/power)
}

// always tells, by bin, the power that three of four spectra surpass.
func always(spectra [][]complex64) []float32 {
	if len(spectra) == 0 {
		return nil
	}
	usual, powers := make([]float32, len(spectra[0])), make([]float32, len(spectra))
	for k := range usual {
		for i, s := range spectra {
			powers[i] = real(s[k])*real(s[k]) + imag(s[k])*imag(s[k])
		}
		slices.Sort(powers)
		usual[k] = powers[len(powers)/4]
	}
	return usual
}

func quiet(samples []float32) bool {
	var sum float64
	for _, v := range samples {
		sum += float64(v) * float64(v)
	}
	return sum < floor*float64(len(samples))
}

// standard gives a curve mean 0 and standard deviation 1 and caps it, so that
// one window is not everything.
func standard(curve []float32, cap float64) {
	var sum, squares float64
	for _, v := range curve {
		sum += float64(v)
		squares += float64(v) * float64(v)
	}
	n := float64(len(curve))
	mean := sum / n
	sd := math.Sqrt(max(1e-30, squares/n-mean*mean))
	for i, v := range curve {
		curve[i] = float32(min(cap, (float64(v)-mean)/sd))
	}
}
