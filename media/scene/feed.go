package scene

import "netreel/media/scene/space"

// feedKind is how a ball comes: the numbers are common practice in women's
// cricket, no source.
type feedKind struct {
	from     space.V // m: where the ball is let go
	pace     float64 // m/s
	spread   float64 // standard deviation of the pace
	lead     float64 // s from the feeder's first movement to the release
	keptPace float64 // share kept through the bounce
	bounce   [2]float64
	turn     float64 // m/s added by the bounce
	spin     bool    // lengths are judged as for spin
}

var feeds = map[string]feedKind{
	"throw-down": {from: space.V{X: 12.1, Y: 0.12, Z: 1.92}, pace: 17.5, spread: 0.9, lead: 1.25, keptPace: 0.84, bounce: [2]float64{0.44, 0.66}},
	"side-arm":   {from: space.V{X: 15.7, Y: 0.10, Z: 2.25}, pace: 24.5, spread: 1.2, lead: 1.30, keptPace: 0.84, bounce: [2]float64{0.44, 0.66}},
	"machine":    {from: space.V{X: 17.6, Y: 0.04, Z: 1.86}, pace: 27.0, spread: 0.5, lead: 1.50, keptPace: 0.84, bounce: [2]float64{0.42, 0.72}},
	"bowler":     {from: space.V{X: 18.2, Y: 0.36, Z: 2.02}, pace: 19.5, spread: 0.7, lead: 2.55, keptPace: 0.80, bounce: [2]float64{0.46, 0.72}, turn: -1.7, spin: true},
}
