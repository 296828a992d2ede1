package vocabulary

import "strings"

// Default is the vocabulary that a new squad starts with, in the trade's own
// terms (common practice, no source: there is no standard list). Length zones
// are names only; where a zone begins in metres is the squad's own affair,
// since published schemes conflict.
func Default() Edition {
	e := Edition{Number: 1, Groups: []Group{
		one("bowling", "Bowling", "b", "fast:Fast", "medium:Medium", "off-spin:Off spin", "leg-spin:Leg spin",
			"left-arm-orthodox:Left-arm orthodox", "left-arm-wrist:Left-arm wrist spin"),
		one("feed", "How fed", "f", "bowler:Bowler", "throw-down:Throw-down", "side-arm:Side-arm", "machine:Machine",
			"drop-feed:Drop feed"),
		ordered("length", "Length", "l", "full-toss:Full toss", "yorker:Yorker", "full:Full", "good:Good length",
			"back-of-length:Back of a length", "short:Short"),
		ordered("line", "Line", "i", "wide-off:Wide of off", "outside-off:Outside off", "off-stump:Off stump",
			"middle:Middle", "leg-stump:Leg stump", "outside-leg:Outside leg"),
		ordered("height", "Height at the batter", "h", "toe:Toe", "shin:Shin", "knee:Knee", "waist:Waist",
			"chest:Chest", "throat:Throat", "head:Head", "above-head:Above head"),
		one("shot", "Shot", "s", "forward-defence:Forward defence", "back-defence:Back-foot defence", "drive:Drive",
			"back-foot-drive:Back-foot drive", "cut:Cut", "pull:Pull", "hook:Hook", "sweep:Sweep",
			"reverse-sweep:Reverse sweep", "glance:Glance", "flick:Flick", "loft:Lofted drive", "leave:Leave",
			"evade:Sway or duck"),
		one("feet", "Feet", "m", "forward:Forward", "back:Back", "across:Across", "down-the-pitch:Down the pitch",
			"caught:Caught halfway", "still:No movement"),
		one("base", "Base", "a", "narrow:Narrow", "sound:Sound", "wide:Too wide"),
		one("balance", "Balance", "n", "balanced:Balanced", "falling-off:Falling to off", "leaning-back:Leaning back",
			"toppling-forward:Toppling forward"),
		many("hands", "Hands", "d", "high:High hands", "close:Close to body", "away:Away from body", "early:Early",
			"late:Late", "soft:Soft"),
		one("decision", "Decision", "e", "right:Right ball taken on", "wrong:Wrong ball taken on",
			"right-leave:Right to leave", "wrong-leave:Should have played", "late:Late decision"),
		one("contact", "Contact", "c", "middled:Middled", "mistimed:Mistimed", "inside-edge:Inside edge",
			"outside-edge:Outside edge", "top-edge:Top edge", "glove-or-body:Glove or body", "missed:Missed",
			"none:Nothing played at"),
		one("result", "Result", "r", "run:Runs", "boundary:Boundary", "dot:No run", "out:Out", "struck:Hit on body"),
		one("placement", "Placement", "p", "third:Third", "point:Point", "cover:Cover", "mid-off:Mid-off",
			"straight:Straight", "mid-on:Mid-on", "midwicket:Midwicket", "square-leg:Square leg", "fine-leg:Fine leg"),
		one("bat", "Bat", "t", "full:Full bat", "narrow:Narrow bat", "half-width:Half-width bat", "heavy:Heavy bat"),
	}}
	return e
}

// termPresses are given to the terms of a group in order: the digit row, then
// the letter row under it.
const termPresses = "1234567890qwertyuiop"

func one(key, name, press string, terms ...string) Group {
	g := Group{Key: key, Name: name, Press: press}
	for i, t := range terms {
		k, n, _ := strings.Cut(t, ":")
		g.Terms = append(g.Terms, Term{Key: k, Name: n, Press: termPresses[i : i+1]})
	}
	return g
}

func many(key, name, press string, terms ...string) Group {
	g := one(key, name, press, terms...)
	g.Many = true
	return g
}

func ordered(key, name, press string, terms ...string) Group {
	g := one(key, name, press, terms...)
	g.Ordered = true
	return g
}
