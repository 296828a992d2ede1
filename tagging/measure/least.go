package measure

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// leastSquares moves p to where the sum of squares of n residuals is least, by
// Levenberg's and Marquardt's damped Gauss-Newton steps with a numerical
// Jacobian. The parameters should be of the order of 1. It says whether it
// arrived: p is then good to about the square root of the machine's precision
// times the flatness of the valley, and better where the residuals are small.
func leastSquares(residuals func(p, r []float64), p []float64, n int) bool {
	const (
		tries = 200
		small = 1e-13 // relative step at which it has arrived
	)
	k := len(p)
	r, plus, minus, q := make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, k)
	jacobian := mat.NewDense(n, k, nil)
	residuals(p, r)
	cost, damp := dot(r, r), 1e-3
	if !finite(cost) {
		return false
	}
	for fresh, try := true, 0; try < tries; try++ {
		if fresh {
			copy(q, p)
			for j := range k {
				step := 1e-6 * max(1, math.Abs(p[j]))
				q[j] = p[j] + step
				residuals(q, plus)
				q[j] = p[j] - step
				residuals(q, minus)
				q[j] = p[j]
				for i := range n {
					jacobian.Set(i, j, (plus[i]-minus[i])/(2*step))
				}
			}
			fresh = false
		}
		step, ok := dampedStep(jacobian, r, damp)
		if !ok {
			return false
		}
		var moved float64
		for j := range k {
			q[j] = p[j] + step.AtVec(j)
			moved = max(moved, math.Abs(step.AtVec(j))/max(1, math.Abs(p[j])))
		}
		residuals(q, plus)
		switch c := dot(plus, plus); {
		case c < cost:
			copy(p, q)
			copy(r, plus)
			cost, damp, fresh = c, max(damp/10, 1e-15), true
		case moved < 1e-8:
			return true // no way down, and none needed
		default:
			damp *= 10
		}
		if moved < small {
			return true
		}
	}
	return false
}

// dampedStep solves (JᵀJ + damp diag(JᵀJ)) step = -Jᵀr, as a least squares
// problem of its own so that the condition is not squared.
func dampedStep(jacobian *mat.Dense, r []float64, damp float64) (*mat.VecDense, bool) {
	n, k := jacobian.Dims()
	a := mat.NewDense(n+k, k, nil)
	b := mat.NewVecDense(n+k, nil)
	for i := range n {
		b.SetVec(i, -r[i])
		for j := range k {
			a.Set(i, j, jacobian.At(i, j))
		}
	}
	for j := range k {
		var column float64
		for i := range n {
			column += jacobian.At(i, j) * jacobian.At(i, j)
		}
		if column == 0 {
			return nil, false
		}
		a.Set(n+j, j, math.Sqrt(damp*column))
	}
	var qr mat.QR
	qr.Factorize(a)
	var step mat.VecDense
	if err := qr.SolveVecTo(&step, false, b); err != nil {
		return nil, false
	}
	return &step, finite(mat.Norm(&step, 2))
}

func dot(a, b []float64) float64 {
	var s float64
	for i := range a {
		s += a[i] * b[i]
	}
	return s
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
