package compare_test

import (
	"bytes"
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/tagging/compare"
)

// TestAgainstLibrary holds our figures against those that jStat, a
// general-purpose statistics library, gives or that follow from its
// distributions.
func TestAgainstLibrary(t *testing.T) {
	t.Parallel()
	luck := rand.New(rand.NewPCG(1, 2))
	type question map[string]any
	var questions []question
	var ours [][]float64
	ask := func(q question, v ...float64) {
		questions, ours = append(questions, q), append(ours, v)
	}
	sample := func() []float64 {
		x := make([]float64, 2+luck.IntN(30))
		for i := range x {
			x[i] = 50 + 8*luck.NormFloat64()
		}
		return x
	}
	for range 60 {
		m, n := 1+luck.IntN(40), 1+luck.IntN(40)
		a, b := luck.IntN(m+1), luck.IntN(n+1)
		ask(question{"what": "fisher", "a": a, "m": m, "b": b, "n": n}, compare.Fisher(rate(a, m), rate(b, n)).Value)
		x, y := sample(), sample()
		mean := compare.Mean(x)
		ask(question{"what": "mean", "x": x}, mean.Value, mean.Low, mean.High)
		d, p := compare.Welch(x, y)
		stat, freedom := welch(x, y)
		assert.InDelta(t, average(x)-average(y), d.Value, 1e-9)
		ask(question{"what": "student", "t": stat, "freedom": freedom}, p.Value)
		if k := compare.MannKendall(x); len(x) > 10 {
			ask(question{"what": "normal", "z": k.Z.Value}, k.Chance.Value)
		}
		if c := compare.Pettitt(x); c.Chance.Known() {
			ask(question{"what": "median", "x": x[:c.After]}, c.Before)
			ask(question{"what": "median", "x": x[c.After:]}, c.Since)
		}
	}
	in, err := json.Marshal(questions)
	require.NoError(t, err)
	frontend := filepath.Join("..", "..", "frontend")
	require.DirExists(t, filepath.Join(frontend, "node_modules", "jstat"), "run `npm ci` in frontend/ first")
	cmd := exec.CommandContext(t.Context(), "node", filepath.Join(frontend, "checks", "statistics.mjs"))
	cmd.Stdin, cmd.Stderr = bytes.NewReader(in), os.Stderr
	out, err := cmd.Output()
	require.NoError(t, err)
	var theirs [][]float64
	require.NoError(t, json.Unmarshal(out, &theirs))
	require.Len(t, theirs, len(ours))
	for i := range ours {
		for j := range ours[i] {
			assert.InEpsilon(t, theirs[i][j], ours[i][j], 1e-6, "%v", questions[i])
		}
	}
}

// welch is the statistic and its degrees of freedom as the textbooks write
// them, for the library to say how likely it is.
func welch(x, y []float64) (stat, freedom float64) {
	spread := func(v []float64) float64 {
		sum := 0.0
		for _, e := range v {
			sum += (e - average(v)) * (e - average(v))
		}
		return sum / float64(len(v)-1) / float64(len(v))
	}
	a, b := spread(x), spread(y)
	stat = (average(x) - average(y)) / math.Sqrt(a+b)
	return stat, (a + b) * (a + b) / (a*a/float64(len(x)-1) + b*b/float64(len(y)-1))
}

func average(v []float64) float64 {
	sum := 0.0
	for _, e := range v {
		sum += e
	}
	return sum / float64(len(v))
}
