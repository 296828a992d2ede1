package align

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// BenchmarkFind lays twenty minutes on eighteen. The limit is to hear both
// once, as every way to compare them must.
func BenchmarkFind(b *testing.B) {
	a := noise(1, 1200)
	c := a[100*rate : 1180*rate]
	for b.Loop() {
		_, err := Find(b.Context(), a, c, Distances{})
		require.NoError(b, err)
	}
	begun := time.Now()
	for _, t := range []take{a, c} {
		_, err := listen(b.Context(), t)
		require.NoError(b, err)
	}
	b.ReportMetric(b.Elapsed().Seconds()/float64(b.N)/time.Since(begun).Seconds(), "x-listen")
}
