package scene

import (
	"netreel/media/laws"
	"netreel/media/scene/space"
)

// SoundSpeed is that of air at about 20 °C, m/s: 2.9 ms a metre.
const SoundSpeed = 343.0

// Truth is all that is known of a scene. Times are seconds on the clock of the
// film, whose first frame is at 0. Points are metres in the frame of package
// laws.
type Truth struct {
	Setting Setting      `json:"setting"`
	Laws    laws.Edition `json:"laws"`
	Camera  Camera       `json:"camera"`
	Seconds float64      `json:"seconds"` // length of the film
	Frames  int          `json:"frames"`
	Blocks  []TruthBlock `json:"blocks"`
	Balls   []TruthBall  `json:"balls"`
	Others  Others       `json:"others"`
}

// Camera is where the film was taken from; with Setting.Shake the picture
// wanders about this.
type Camera struct {
	space.Camera
	Matrix     [3][4]float64 `json:"matrix"`            // homogeneous pixels from homogeneous metres
	SoundDelay float64       `json:"sound_delay_s"`     // from the striker's bat (at the popping crease) to the microphone
	Batter     float64       `json:"batterDistance"`    // m, from the lens to the popping crease
	Pixels     float64       `json:"pixelsMetreBatter"` // pixels a metre there
}

// TruthBlock is a block and the time it takes.
type TruthBlock struct {
	Block
	Start float64 `json:"start_s"`
	End   float64 `json:"end_s"`
	First int     `json:"first"` // index of its first ball
}

// TruthBall is one ball.
type TruthBall struct {
	Block   int      `json:"block"`
	Start   float64  `json:"start_s"`   // the feeder begins to move
	Release float64  `json:"release_s"` // the ball leaves hand or machine
	Bounce  *float64 `json:"bounce_s"`  // null when it reaches the batter without one
	Contact *float64 `json:"contact_s"` // null when nothing was struck
	Passing float64  `json:"passing_s"` // it reaches the batter: equals contact_s when struck
	Heard   *float64 `json:"heard_s"`   // contact_s plus the sound's way to the camera
	End     float64  `json:"end_s"`     // the ball is dead

	Terms map[string][]string `json:"terms"` // vocabulary: group key to term keys

	Pace    float64  `json:"pace"`         // m/s at release
	Pitched *space.V `json:"bouncePoint"`  // where it bounced
	Met     space.V  `json:"contactPoint"` // where it was met or passed
	Body    Measures `json:"body"`
}

// Measures are of the batter's body, metres along the ground between the
// ankles' places on it.
type Measures struct {
	StanceBase   float64 `json:"stanceBase"`   // between the feet at the release
	Base         float64 `json:"base"`         // between the feet when the ball is met or passes
	CreaseDepth  float64 `json:"creaseDepth"`  // then: front foot in front (+) of the popping crease
	HeadOverBase float64 `json:"headOverBase"` // then: head towards the bowler (+) from the middle of the feet
	Stride       float64 `json:"stride"`       // the front foot's way towards the bowler since the release
}

// Others are things that look or sound like a ball and are none.
type Others struct {
	NeighbourHits []float64 `json:"neighbourHits_s"`
	ShadowShots   []float64 `json:"shadowShots_s"`
	Talk          []float64 `json:"talk_s"`
}

// lengths are the zones of a bounce by its distance from the striker's stumps
// in metres, half-open; for pace as broadcasters split it, for spin shorter.
// Common practice, no source; there is no standard.
var lengths = map[bool][]laws.Zone{
	false: {
		{Key: "yorker", Below: 2}, {Key: "full", Below: 6}, {Key: "good", Below: 8},
		{Key: "back-of-length", Below: 10}, {Key: "short", Below: 1e9},
	},
	true: {
		{Key: "yorker", Below: 1.6}, {Key: "full", Below: 3.4}, {Key: "good", Below: 5.0},
		{Key: "back-of-length", Below: 6.6}, {Key: "short", Below: 1e9},
	},
}

// lines are the zones of y where the ball passes the popping crease. Common
// practice, no source: the stumps are 0.114 m to each side of the middle.
var lines = []laws.Zone{
	{Key: "outside-leg", Below: -0.15}, {Key: "leg-stump", Below: -0.05}, {Key: "middle", Below: 0.05},
	{Key: "off-stump", Below: 0.15}, {Key: "outside-off", Below: 0.55}, {Key: "wide-off", Below: 1e9},
}
