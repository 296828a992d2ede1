package scene

import (
	"netreel/media/fault"
)

// View is where the camera stands.
type View string

// The views. Their names are those of the recording's camera where it has
// one.
const (
	SideOn       View = "side-on"
	BehindTheArm View = "behind-the-arm"
	Oblique      View = "oblique"
)

// Drill is what a block practises: it decides what is fed and how it is
// played.
type Drill string

// The drills.
const (
	FrontFoot Drill = "front-foot" // full balls to drive
	ShortBall Drill = "short-ball" // cuts, pulls, balls to let go
	Spin      Drill = "spin"       // off spin: sweeps, use of the feet
	LastOvers Drill = "last-overs" // hit out
)

// Block is a part of the session.
type Block struct {
	Name    string `json:"name"`
	Player  string `json:"player"`  // who bats
	Bowling string `json:"bowling"` // vocabulary key
	Feed    string `json:"feed"`    // vocabulary key: throw-down, side-arm, machine or bowler
	Bat     string `json:"bat"`     // vocabulary key: full or narrow
	Drill   Drill  `json:"drill"`
	Balls   int    `json:"balls"`
}

// Setting fixes a scene. The same Setting always gives the same footage.
type Setting struct {
	Name   string  `json:"name"`
	Seed   int64   `json:"seed"`
	Width  int     `json:"width"`  // pixels, even; less than Height for a portrait
	Height int     `json:"height"` // pixels, even
	FPS    float64 `json:"fps"`    // 5 to 240
	View   View    `json:"view"`
	Blocks []Block `json:"blocks"`

	Every       float64 `json:"every"`       // mean seconds from ball to ball; never less than a ball lasts
	Gap         float64 `json:"gap"`         // mean seconds between blocks
	LeftShare   float64 `json:"leftShare"`   // share of balls that are left or evaded; below 0: as the drill has it
	ShadowShots float64 `json:"shadowShots"` // share of the times between balls with a shot at no ball
	Shake       float64 `json:"shake"`       // 0 tripod to 1 hand-held and restless
	Grain       float64 `json:"grain"`       // picture noise, standard deviation in steps of luma
	Noise       float64 `json:"noise"`       // hall noise, 0 none to 1 loud
	Wind        float64 `json:"wind"`        // wind on the microphone, 0 none to 1 strong
	Talk        float64 `json:"talk"`        // how much and how loudly people talk, 0 to 1 (as loud as the bat)
	Neighbours  int     `json:"neighbours"`  // nets in use beside ours, 0 to 3; the first is seen, all are heard
	MicGain     float64 `json:"micGain"`     // 1 well set (0 means 1); 6 clips
	MicDull     float64 `json:"micDull"`     // 0 bright to 1: a muffled microphone
	Silent      bool    `json:"silent"`      // no sound track
	FrameCode   bool    `json:"frameCode"`   // burn the frame's number in as a row of squares
	Preset      string  `json:"preset"`      // x264 preset
}

// WinterSession is the demo: an invented regional women's squad in an indoor
// hall in winter, four blocks, about four minutes, 1280 x 720 at 50 frames a
// second.
func WinterSession(seed int64) Setting {
	return Setting{
		Name: "Winter session", Seed: seed,
		Width: 1280, Height: 720, FPS: 50, View: SideOn,
		Blocks: []Block{
			{Name: "Front foot", Player: "Edda Marlowe-Finch", Bowling: "medium", Feed: "throw-down", Bat: "full", Drill: FrontFoot, Balls: 9},
			{Name: "Short ball", Player: "Edda Marlowe-Finch", Bowling: "fast", Feed: "machine", Bat: "full", Drill: ShortBall, Balls: 10},
			{Name: "Off spin", Player: "Suri Tolland", Bowling: "off-spin", Feed: "bowler", Bat: "full", Drill: Spin, Balls: 9},
			{Name: "Last overs", Player: "Suri Tolland", Bowling: "medium", Feed: "side-arm", Bat: "narrow", Drill: LastOvers, Balls: 12},
		},
		Every: 5.0, Gap: 11, LeftShare: -1,
		Noise: 0.25, Talk: 0.3, Neighbours: 2, Preset: "superfast",
	}
}

// check says what is wrong with a setting.
func (s *Setting) check() error {
	var wrong []fault.Field
	say := func(bad bool, field, reason string) {
		if bad {
			wrong = append(wrong, fault.Field{Name: field, Reason: reason})
		}
	}
	say(s.Width < 160 || s.Width > 3840 || s.Width%2 != 0, "width", "must be even, 160 to 3840")
	say(s.Height < 120 || s.Height > 3840 || s.Height%2 != 0, "height", "must be even, 120 to 3840")
	say(!(s.FPS >= 5 && s.FPS <= 240), "fps", "must be 5 to 240")
	say(s.View != SideOn && s.View != BehindTheArm && s.View != Oblique, "view", "must be side-on, behind-the-arm or oblique")
	say(len(s.Blocks) == 0, "blocks", "must have at least one block")
	say(s.Neighbours < 0 || s.Neighbours > 3, "neighbours", "must be 0 to 3")
	say(s.LeftShare > 1 || s.ShadowShots < 0 || s.ShadowShots > 1, "leftShare, shadowShots", "must be at most 1")
	say(s.Every < 0 || s.Every > 60 || s.Gap < 0 || s.Gap > 600, "every, gap", "must be 0 to 60 and 0 to 600 seconds")
	for _, v := range []float64{s.Shake, s.Noise, s.Wind, s.Talk, s.MicDull} {
		say(!(v >= 0 && v <= 1), "shake, noise, wind, talk, micDull", "must be 0 to 1")
	}
	say(!(s.MicGain >= 0 && s.MicGain <= 50), "micGain", "must be 0 to 50")
	say(!(s.Grain >= 0 && s.Grain <= 30), "grain", "must be 0 to 30")
	for _, b := range s.Blocks {
		say(b.Balls < 1 || b.Balls > 2000, "balls", "must be 1 to 2000 in every block")
		_, known := feeds[b.Feed]
		say(!known, "feed", "must be throw-down, side-arm, machine or bowler")
		_, known = drills[b.Drill]
		say(!known, "drill", "must be front-foot, short-ball, spin or last-overs")
		say(b.Bat != "full" && b.Bat != "narrow", "bat", "must be full or narrow")
	}
	if len(wrong) > 0 {
		return fault.New(fault.Invalid, "scene.New", "This scene can't be rendered: correct the fields named.", wrong...)
	}
	return nil
}
