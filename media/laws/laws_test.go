package laws_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"netreel/media/laws"
)

// The Laws print imperial measures first: Laws of Cricket, 2017 Code, Laws
// 6.1, 7.2, 7.3, 7.4, 8.1, 8.2, 5.7 and Appendix B. The metric ones that they
// print beside them are rounded to a centimetre (a millimetre for stumps and
// bat).
func TestAgainstTheImperialText(t *testing.T) {
	const inch = 0.0254
	e := laws.Code2017()
	for name, c := range map[string]struct{ got, inches, within float64 }{
		"22 yards":                         {e.PitchLength, 22 * 36, 0.005},
		"10 feet":                          {e.PitchWidth, 120, 0.005},
		"bowling crease 8 ft 8 in":         {e.BowlingCrease, 104, 0.005},
		"popping crease 4 ft":              {e.PoppingFromBowling, 48, 0.005},
		"popping crease, 6 ft each side":   {e.PoppingHalfLength, 72, 0.005},
		"return creases 4 ft 4 in":         {e.ReturnHalfGap, 52, 0.005},
		"return creases 8 ft behind":       {e.ReturnBehind, 96, 0.005},
		"wicket 9 in":                      {e.WicketWidth, 9, 0.0005},
		"stumps 28 in":                     {e.StumpHeight, 28, 0.0005},
		"stump no thicker than 1 1/2 in":   {e.StumpDiameter, 1.5, 0.0005},
		"bails 1/2 in":                     {e.BailProjection, 0.5, 0.0005},
		"bat 4 1/4 in wide":                {e.BatWidth, 4.25, 0.0005},
		"bat 38 in long":                   {e.BatLength, 38, 0.0005},
		"bat 2.64 in deep":                 {e.BatDepth, 2.64, 0.0005},
		"women's ball at most 22.5 cm":     {e.WomensBall, 22.5 / 2.54, 0.0005},
		"popping crease to popping crease": {e.PitchLength - 2*e.PoppingFromBowling, 58 * 12, 0.011}, // 58 ft
	} {
		require.InDelta(t, c.inches*inch, c.got, c.within, name)
	}
}

func TestMarkingsKeepTheirFixedEdges(t *testing.T) {
	e := laws.Code2017()
	for _, paint := range []float64{0.025, 0.05} {
		m := e.Markings(paint)
		require.Len(t, m, 8)
		// The edge that the Law fixes does not move with the paint.
		require.Equal(t, 0.0, m[0].X0, "bowling crease: back edge")
		require.Equal(t, 1.22, m[1].X0, "popping crease: back edge")
		require.Equal(t, 1.32, m[2].Y0, "return crease, off side: inside edge")
		require.Equal(t, -1.32, m[3].Y1, "return crease, leg side: inside edge")
		require.InDelta(t, 20.12, m[4].X1, 1e-9, "far bowling crease: back edge")
		require.InDelta(t, 18.90, m[5].X1, 1e-9, "far popping crease: back edge")
		for _, r := range m {
			require.Less(t, r.X0, r.X1)
			require.Less(t, r.Y0, r.Y1)
			require.InDelta(t, paint, math.Min(r.X1-r.X0, r.Y1-r.Y0), 1e-9)
		}
	}
}

func TestStumpsFillTheWicket(t *testing.T) {
	e := laws.Code2017()
	s := e.Stumps()
	require.Len(t, s, 3)
	require.InDelta(t, e.WicketWidth, s[2].Y-s[0].Y+e.StumpDiameter, 1e-9)
	require.Equal(t, 0.0, s[1].Y)
}

// 15 to 21 yards in metres, and the junior wicket's 8 by 27 inches of Law 8.4 in
// older texts of the Laws.
func TestJuniorDimensions(t *testing.T) {
	const yard = 0.9144
	for _, l := range laws.PitchLengths() {
		var yards float64
		_, err := fmt.Sscanf(l.Name, "%f yards", &yards)
		require.NoError(t, err)
		require.InDelta(t, yards*yard, l.Metres, 0.005, l.Name)
		require.NotEmpty(t, l.Advice)
	}
	j := laws.Code2017().JuniorWicket()
	require.InDelta(t, 8*0.0254, j.WicketWidth, 0.0005)
	require.InDelta(t, 27*0.0254, j.StumpHeight, 0.0005)
	require.Equal(t, laws.Code2017().PoppingFromBowling, j.PoppingFromBowling)
	names := map[string]bool{}
	for _, e := range laws.Editions() {
		require.False(t, names[e.Name])
		names[e.Name] = true
	}
}

func TestZonesAreHalfOpen(t *testing.T) {
	for _, zones := range [][]laws.Zone{laws.Heights(), {{Key: "a", Below: 1}, {Key: "b"}}} {
		for i, z := range zones[:len(zones)-1] {
			require.Equal(t, z.Key, laws.ZoneOf(zones, z.Below-1e-9))
			require.Equal(t, zones[i+1].Key, laws.ZoneOf(zones, z.Below))
		}
		require.Equal(t, zones[len(zones)-1].Key, laws.ZoneOf(zones, 1e12))
	}
}
