package scene

import (
	"math/rand/v2"

	"netreel/media/scene/body"
)

// intent is what the model wants of one ball before its flight is worked out.
type intent struct {
	shot    body.Shot
	pitch   [2]float64 // m from the stumps, drawn between
	line    [2]float64 // m, y at the popping crease, drawn between
	meetX   float64    // m: where it is met
	meetZ   [2]float64 // m: how high it is met
	base    string
	balance string
	feet    string
	hands   []string
	contact string
	right   string // decision
	place   string
	down    float64 // m down the pitch
}

// drills draw the intents of a drill.
var drills = map[Drill]func(*rand.Rand) intent{
	FrontFoot: frontFoot,
	ShortBall: shortBall,
	Spin:      spin,
	LastOvers: lastOvers,
}

// odds is a table of weighted choices.
type odds []struct {
	key    string
	weight float64
}

func (o odds) draw(r *rand.Rand) string {
	sum := 0.0
	for _, c := range o {
		sum += c.weight
	}
	v := r.Float64() * sum
	for _, c := range o {
		if v -= c.weight; v < 0 {
			return c.key
		}
	}
	return o[len(o)-1].key
}

func chance(r *rand.Rand, p float64) bool { return r.Float64() < p }

func between(r *rand.Rand, b [2]float64) float64 { return b[0] + r.Float64()*(b[1]-b[0]) }

// frontFoot: full balls to drive. What there is to find: on straight balls she
// falls to the off side, and what she plays then is mistimed or missed.
func frontFoot(r *rand.Rand) intent {
	in := intent{base: odds{{"sound", 8}, {"narrow", 1}, {"wide", 1.5}}.draw(r), balance: "balanced", feet: "forward", right: "right"}
	switch (odds{{"off", 6}, {"straight", 3.2}, {"good", 1.6}, {"wide", 0.8}}).draw(r) {
	case "off":
		in.drive(r, [2]float64{0.12, 0.42})
		in.contact = odds{{"middled", 7}, {"mistimed", 1.4}, {"outside-edge", 1.0}, {"missed", 0.6}}.draw(r)
		if in.contact == "outside-edge" || in.contact == "missed" {
			in.hands = []string{"away"}
		}
	case "straight":
		in.drive(r, [2]float64{-0.16, 0.04})
		in.shot, in.meetX = body.Flick, 1.98
		in.place = odds{{"midwicket", 5}, {"mid-on", 2}, {"square-leg", 2}}.draw(r)
		if chance(r, 0.55) {
			in.balance = "falling-off"
			in.contact = odds{{"middled", 2}, {"mistimed", 4}, {"inside-edge", 1.5}, {"glove-or-body", 2}}.draw(r)
		} else {
			in.contact = odds{{"middled", 8}, {"mistimed", 1}}.draw(r)
		}
	case "good":
		in.defend(r)
	default:
		in.leave(r, [2]float64{0.5, 0.85}, [2]float64{4.5, 6.5})
	}
	return in
}

// shortBall: short balls from the machine. What there is to find: she pulls
// badly off a narrow base and well off a sound one.
func shortBall(r *rand.Rand) intent {
	in := intent{feet: "back", balance: "balanced", right: "right"}
	in.base = odds{{"narrow", 4.2}, {"sound", 5}, {"wide", 0.8}}.draw(r)
	switch (odds{{"pull", 5}, {"cut", 3.4}, {"let go", 1.8}, {"defend", 0.5}}).draw(r) {
	case "pull":
		in.shot, in.meetX, in.meetZ = body.Pull, 1.55, [2]float64{0.95, 1.38}
		in.pitch, in.line = [2]float64{8.6, 10.8}, [2]float64{-0.14, 0.28}
		in.place = odds{{"midwicket", 4}, {"square-leg", 5}, {"fine-leg", 1.4}}.draw(r)
		if in.base == "narrow" {
			in.balance = odds{{"leaning-back", 5}, {"balanced", 4}}.draw(r)
			in.hands = []string{"close"}
			in.contact = odds{{"mistimed", 4.5}, {"top-edge", 2.2}, {"missed", 1.3}, {"middled", 2}}.draw(r)
		} else {
			in.hands = []string{"high"}
			in.contact = odds{{"middled", 7}, {"mistimed", 1.6}, {"missed", 0.5}}.draw(r)
		}
	case "cut":
		in.shot, in.meetX, in.meetZ, in.feet = body.Cut, 1.02, [2]float64{0.62, 1.10}, "across"
		in.pitch, in.line = [2]float64{7.6, 9.8}, [2]float64{0.52, 0.86}
		in.place = odds{{"point", 6}, {"third", 2}, {"cover", 1.5}}.draw(r)
		in.contact = odds{{"middled", 5.5}, {"mistimed", 1.5}, {"top-edge", 1}, {"missed", 1.4}}.draw(r)
		in.hands = []string{"high"}
		if in.contact == "missed" || in.contact == "mistimed" {
			in.hands = []string{"late"}
			in.right = odds{{"right", 6}, {"late", 3}}.draw(r)
		}
	case "let go":
		if chance(r, 0.6) {
			in.evade(r)
		} else {
			in.leave(r, [2]float64{0.55, 0.95}, [2]float64{8, 10})
		}
	default:
		in.shot, in.meetX, in.meetZ = body.BackDefence, 1.26, [2]float64{0.7, 1.05}
		in.pitch, in.line = [2]float64{7, 8.4}, [2]float64{-0.05, 0.18}
		in.contact, in.hands, in.place = "middled", []string{"soft", "high"}, "straight"
	}
	return in
}

// spin: off spin with sweeps and use of the feet. What there is to find: when
// she goes down the pitch and is caught halfway she mistimes; sweeps at balls
// that are too full to sweep are missed.
func spin(r *rand.Rand) intent {
	in := intent{base: "sound", balance: "balanced", right: "right", feet: "forward"}
	switch (odds{{"sweep", 4.2}, {"down", 3}, {"defend", 2}, {"back", 1}, {"leave", 0.4}}).draw(r) {
	case "sweep":
		in.shot, in.meetX, in.meetZ = body.Sweep, 2.25, [2]float64{0.2, 0.62}
		in.pitch, in.line = [2]float64{3.0, 4.3}, [2]float64{-0.2, 0.16}
		in.place = odds{{"square-leg", 6}, {"fine-leg", 3}, {"midwicket", 1}}.draw(r)
		if chance(r, 0.3) {
			in.balance, in.right = "falling-off", "wrong"
			in.contact = odds{{"missed", 3}, {"top-edge", 2}, {"mistimed", 2}, {"glove-or-body", 2}}.draw(r)
		} else {
			in.contact = odds{{"middled", 7}, {"mistimed", 2}}.draw(r)
		}
	case "down":
		in.drive(r, [2]float64{-0.05, 0.28})
		in.pitch = [2]float64{3.7, 4.6}
		in.shot = body.Shot(odds{{string(body.Loft), 6}, {string(body.Drive), 4}}.draw(r))
		in.place = odds{{"straight", 4}, {"mid-on", 3}, {"mid-off", 3}}.draw(r)
		if chance(r, 0.35) {
			in.feet, in.down, in.meetX = "caught", 0.55, 2.65
			in.contact = odds{{"mistimed", 5}, {"missed", 2.5}, {"inside-edge", 1}}.draw(r)
			in.right = "late"
		} else {
			in.feet, in.down, in.meetX = "down-the-pitch", 1, 3.05
			in.contact = odds{{"middled", 7.5}, {"mistimed", 1.5}}.draw(r)
		}
	case "defend":
		in.defend(r)
		in.pitch = [2]float64{3.2, 4.4}
	case "back":
		in.shot, in.meetX, in.meetZ, in.feet = body.BackFootDrive, 1.36, [2]float64{0.5, 0.95}, "back"
		in.pitch, in.line = [2]float64{5.0, 6.2}, [2]float64{0.1, 0.4}
		in.place, in.contact = odds{{"cover", 5}, {"point", 3}}.draw(r), odds{{"middled", 7}, {"mistimed", 2}}.draw(r)
		in.hands = []string{"high"}
	default:
		in.leave(r, [2]float64{0.35, 0.7}, [2]float64{3.5, 4.6})
	}
	return in
}

// lastOvers: yorkers and full balls to hit out with a narrow bat. What there
// is to find: fewer are middled than with the full bat, and the wide base
// serves her.
func lastOvers(r *rand.Rand) intent {
	in := intent{balance: "balanced", right: "right", feet: "forward"}
	in.base = odds{{"sound", 4}, {"wide", 5}, {"narrow", 1}}.draw(r)
	good := 4.0
	if in.base == "wide" {
		good = 8
	}
	switch (odds{{"hit", 5.5}, {"yorker", 2.2}, {"short", 2}, {"flick", 1.2}}).draw(r) {
	case "hit":
		in.drive(r, [2]float64{-0.02, 0.38})
		in.shot = body.Loft
		in.place = odds{{"straight", 3}, {"mid-off", 2.4}, {"mid-on", 2.4}, {"cover", 2}}.draw(r)
		in.contact = odds{{"middled", good}, {"mistimed", 3}, {"missed", 1.4}, {"outside-edge", 0.8}, {"inside-edge", 0.6}}.draw(r)
	case "yorker":
		in.shot, in.meetX, in.meetZ = body.ForwardDefence, 2.05, [2]float64{0.06, 0.4}
		in.pitch, in.line = [2]float64{1.3, 1.8}, [2]float64{-0.08, 0.22}
		in.contact = odds{{"middled", good * 0.6}, {"mistimed", 3}, {"inside-edge", 1}, {"missed", 1}}.draw(r)
		in.place, in.hands = odds{{"mid-off", 3}, {"point", 2}, {"mid-on", 2}}.draw(r), []string{"late"}
	case "short":
		in.shot, in.meetX, in.meetZ, in.feet = body.Pull, 1.55, [2]float64{0.9, 1.3}, "back"
		in.pitch, in.line = [2]float64{7.6, 9.6}, [2]float64{-0.12, 0.24}
		in.place = odds{{"midwicket", 5}, {"square-leg", 3}}.draw(r)
		in.contact = odds{{"middled", good * 0.7}, {"mistimed", 2.6}, {"top-edge", 1}, {"missed", 1}}.draw(r)
		in.hands = []string{"high"}
	default:
		in.drive(r, [2]float64{-0.16, 0.02})
		in.shot, in.meetX = body.Flick, 1.98
		in.place = odds{{"midwicket", 4}, {"square-leg", 2}, {"fine-leg", 1}}.draw(r)
		in.contact = odds{{"middled", good}, {"mistimed", 2}, {"glove-or-body", 1}}.draw(r)
	}
	return in
}

func (in *intent) drive(r *rand.Rand, line [2]float64) {
	in.shot, in.meetX, in.meetZ = body.Drive, 2.15, [2]float64{0.16, 0.62}
	in.pitch, in.line = [2]float64{3.0, 5.2}, line
	in.hands = []string{odds{{"high", 4}, {"close", 3}, {"early", 1}}.draw(r)}
	in.place = odds{{"cover", 4}, {"mid-off", 3}, {"straight", 2}, {"point", 1}}.draw(r)
}

func (in *intent) defend(r *rand.Rand) {
	in.shot, in.meetX, in.meetZ = body.ForwardDefence, 2.0, [2]float64{0.3, 0.75}
	in.pitch, in.line = [2]float64{5.4, 6.8}, [2]float64{-0.06, 0.2}
	in.contact = odds{{"middled", 7}, {"outside-edge", 0.8}, {"inside-edge", 0.8}}.draw(r)
	in.hands = []string{odds{{"soft", 5}, {"close", 3}, {"late", 1}}.draw(r)}
	in.place = odds{{"straight", 4}, {"mid-off", 2}, {"mid-on", 2}}.draw(r)
}

func (in *intent) leave(r *rand.Rand, line, pitch [2]float64) {
	in.shot, in.meetX, in.meetZ = body.Leave, 1.3, [2]float64{0.2, 1.6}
	in.line, in.pitch = line, pitch
	in.contact, in.feet, in.right, in.hands, in.place = "none", odds{{"across", 3}, {"still", 2}}.draw(r), "right-leave", []string{"high"}, ""
	if between(r, line) < 0.6 && chance(r, 0.3) {
		in.right = "wrong-leave"
	}
}

func (in *intent) evade(r *rand.Rand) {
	in.shot, in.meetX, in.meetZ = body.Evade, 1.3, [2]float64{1.3, 1.75}
	in.line, in.pitch = [2]float64{-0.1, 0.15}, [2]float64{9.6, 11.2}
	in.contact, in.feet, in.right, in.hands, in.place = "none", odds{{"still", 2}, {"back", 3}}.draw(r), "right-leave", nil, ""
}

// letGo turns any ball of a drill into one that is left, or evaded when it is
// fast enough to have to be.
func (in *intent) letGo(r *rand.Rand, fast bool) {
	base := in.base
	*in = intent{base: base, balance: "balanced"}
	if fast && chance(r, 0.35) {
		in.evade(r)
	} else {
		in.leave(r, [2]float64{0.4, 0.85}, [2]float64{4.2, 8.5})
	}
}
