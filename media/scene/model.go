package scene

import "netreel/media/scene/body"

// intent is what the model wants of one ball before its flight is worked out.
// Words are keys of the default vocabulary.
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
var drills = map[Drill]func(*luck) intent{
	FrontFoot: frontFoot,
	ShortBall: shortBall,
	Spin:      spin,
	LastOvers: lastOvers,
}

// frontFoot: full balls to drive. What there is to find: on straight balls she
// falls to the off side, and what she plays then is mistimed or missed.
func frontFoot(l *luck) intent {
	in := intent{balance: "balanced", right: "right"}
	kind := l.even("front", odds{{"off", 6}, {"straight", 3.4}, {"good", 1.6}, {"wide", 1.2}})
	in.base = l.even("front base "+kind, odds{{"sound", 8}, {"narrow", 1}, {"wide", 1.5}})
	switch kind {
	case "off":
		in.drive(l, [2]float64{0.12, 0.42})
		in.contact = l.even("front off", odds{{"middled", 7}, {"mistimed", 1.4}, {"outside-edge", 1}, {"missed", 0.7}})
		if in.contact == "outside-edge" || in.contact == "missed" {
			in.hands = []string{"away"}
		}
	case "straight":
		in.flick(l)
		if l.evenly("front straight", 0.55) {
			in.balance = "falling-off"
			in.contact = l.even("front falling", odds{{"mistimed", 4}, {"glove-or-body", 2}, {"middled", 2}, {"inside-edge", 1.5}})
		} else {
			in.contact = l.even("front steady", odds{{"middled", 8}, {"mistimed", 1}})
		}
	case "good":
		in.defend(l)
	default:
		in.leave(l, [2]float64{0.5, 0.85}, [2]float64{4.5, 6.5})
	}
	return in
}

// shortBall: short balls from the machine. What there is to find: she pulls
// badly off a narrow base and well off a sound one.
func shortBall(l *luck) intent {
	in := intent{balance: "balanced", right: "right"}
	kind := l.even("short", odds{{"pull", 5.4}, {"cut", 3}, {"let go", 2.4}, {"defend", 0.4}})
	in.base = l.even("short base "+kind, odds{{"narrow", 4.4}, {"sound", 5}, {"wide", 0.6}})
	switch kind {
	case "pull":
		in.pull(l)
		if in.base == "narrow" {
			in.balance = l.even("pull narrow balance", odds{{"leaning-back", 5}, {"balanced", 4}})
			in.hands = []string{"close"}
			in.contact = l.even("pull narrow", odds{{"mistimed", 4.5}, {"top-edge", 2.2}, {"missed", 1.3}, {"middled", 2}})
		} else {
			in.hands = []string{"high"}
			in.contact = l.even("pull", odds{{"middled", 7}, {"mistimed", 1.6}, {"missed", 0.6}})
		}
	case "cut":
		in.shot, in.meetX, in.meetZ, in.feet = body.Cut, 1.02, [2]float64{0.62, 1.10}, "across"
		in.pitch, in.line = [2]float64{7.6, 9.8}, [2]float64{0.52, 0.86}
		in.place = l.pick(odds{{"point", 6}, {"third", 2}, {"cover", 1.5}})
		in.contact = l.even("cut", odds{{"middled", 5.5}, {"mistimed", 1.5}, {"missed", 1.4}, {"top-edge", 1}})
		in.hands = []string{"high"}
		if in.contact == "missed" || in.contact == "mistimed" {
			in.hands = []string{"late"}
			in.right = l.pick(odds{{"right", 6}, {"late", 3}})
		}
	case "let go":
		if l.evenly("let go", 0.55) {
			in.evade(l)
		} else {
			in.leave(l, [2]float64{0.55, 0.95}, [2]float64{8, 10})
		}
	default:
		in.shot, in.meetX, in.meetZ, in.feet = body.BackDefence, 1.26, [2]float64{0.7, 1.05}, "back"
		in.pitch, in.line = [2]float64{7, 8.4}, [2]float64{-0.05, 0.18}
		in.contact, in.hands, in.place = "middled", []string{"soft", "high"}, "straight"
	}
	return in
}

// spin: off spin with sweeps and use of the feet. What there is to find: when
// she goes down the pitch and is caught halfway she mistimes; the sweeps that
// go wrong are those at which she falls over to the off side.
func spin(l *luck) intent {
	in := intent{base: "sound", balance: "balanced", right: "right"}
	switch l.even("spin", odds{{"sweep", 4.2}, {"down", 3}, {"defend", 1.6}, {"back", 1}, {"leave", 0.4}}) {
	case "sweep":
		in.shot, in.meetX, in.meetZ, in.feet = body.Sweep, 2.25, [2]float64{0.2, 0.62}, "forward"
		in.pitch, in.line = [2]float64{3.0, 4.3}, [2]float64{-0.2, 0.16}
		in.place = l.pick(odds{{"square-leg", 6}, {"fine-leg", 3}, {"midwicket", 1}})
		if l.evenly("sweep", 0.32) {
			in.balance, in.right = "falling-off", "wrong"
			in.contact = l.even("sweep falling", odds{{"missed", 3}, {"top-edge", 2}, {"mistimed", 2}, {"glove-or-body", 2}})
		} else {
			in.contact = l.even("sweep steady", odds{{"middled", 7}, {"mistimed", 2}})
		}
	case "down":
		in.drive(l, [2]float64{-0.05, 0.28})
		in.pitch = [2]float64{3.7, 4.6}
		in.shot = body.Shot(l.pick(odds{{string(body.Loft), 6}, {string(body.Drive), 4}}))
		in.place = l.pick(odds{{"straight", 4}, {"mid-on", 3}, {"mid-off", 3}})
		if l.evenly("down", 0.36) {
			in.feet, in.down, in.meetX, in.right = "caught", 0.55, 2.65, "late"
			in.contact = l.even("down caught", odds{{"mistimed", 5}, {"missed", 2.5}, {"inside-edge", 1}})
		} else {
			in.feet, in.down, in.meetX = "down-the-pitch", 1, 3.05
			in.contact = l.even("down there", odds{{"middled", 7.5}, {"mistimed", 1.5}})
		}
	case "defend":
		in.defend(l)
		in.pitch = [2]float64{3.2, 4.4}
	case "back":
		in.shot, in.meetX, in.meetZ, in.feet = body.BackFootDrive, 1.36, [2]float64{0.5, 0.95}, "back"
		in.pitch, in.line = [2]float64{5.0, 6.2}, [2]float64{0.1, 0.4}
		in.place = l.pick(odds{{"cover", 5}, {"point", 3}})
		in.contact = l.even("spin back", odds{{"middled", 7}, {"mistimed", 2}})
		in.hands = []string{"high"}
	default:
		in.leave(l, [2]float64{0.35, 0.7}, [2]float64{3.5, 4.6})
	}
	return in
}

// lastOvers: yorkers and full balls to hit out at with a narrow bat. What
// there is to find: fewer are middled than with the full bat, and a wide base
// serves her better than a sound one.
func lastOvers(l *luck) intent {
	in := intent{balance: "balanced", right: "right"}
	kind := l.even("last", odds{{"hit", 5.5}, {"yorker", 2.2}, {"short", 2}, {"flick", 1.2}})
	in.base = l.even("last base "+kind, odds{{"sound", 4}, {"wide", 5}, {"narrow", 1}})
	good := 3.5
	if in.base == "wide" {
		good = 8
	}
	name := "last " + kind + " " + in.base
	switch kind {
	case "hit":
		in.drive(l, [2]float64{-0.02, 0.38})
		in.shot = body.Loft
		in.place = l.pick(odds{{"straight", 3}, {"mid-off", 2.4}, {"mid-on", 2.4}, {"cover", 2}})
		in.contact = l.even(name, odds{{"middled", good}, {"mistimed", 3}, {"missed", 1.4}, {"outside-edge", 0.8}, {"inside-edge", 0.6}})
	case "yorker":
		in.shot, in.meetX, in.meetZ, in.feet = body.ForwardDefence, 2.05, [2]float64{0.06, 0.4}, "forward"
		in.pitch, in.line = [2]float64{1.3, 1.8}, [2]float64{-0.08, 0.22}
		in.contact = l.even(name, odds{{"middled", good * 0.6}, {"mistimed", 3}, {"inside-edge", 1}, {"missed", 1}})
		in.place, in.hands = l.pick(odds{{"mid-off", 3}, {"point", 2}, {"mid-on", 2}}), []string{"late"}
	case "short":
		in.pull(l)
		in.pitch = [2]float64{7.6, 9.6}
		in.contact = l.even(name, odds{{"middled", good * 0.7}, {"mistimed", 2.6}, {"top-edge", 1}, {"missed", 1}})
		in.hands = []string{"high"}
	default:
		in.flick(l)
		in.contact = l.even(name, odds{{"middled", good}, {"mistimed", 2}, {"glove-or-body", 1}})
	}
	return in
}

func (in *intent) drive(l *luck, line [2]float64) {
	in.shot, in.meetX, in.meetZ, in.feet = body.Drive, 2.15, [2]float64{0.16, 0.62}, "forward"
	in.pitch, in.line = [2]float64{3.0, 5.2}, line
	in.hands = []string{l.pick(odds{{"high", 4}, {"close", 3}, {"early", 1}})}
	in.place = l.pick(odds{{"cover", 4}, {"mid-off", 3}, {"straight", 2}, {"point", 1}})
}

func (in *intent) flick(l *luck) {
	in.drive(l, [2]float64{-0.16, 0.03})
	in.shot, in.meetX = body.Flick, 1.98
	in.place = l.pick(odds{{"midwicket", 5}, {"mid-on", 2}, {"square-leg", 2}})
}

func (in *intent) pull(l *luck) {
	in.shot, in.meetX, in.meetZ, in.feet = body.Pull, 1.55, [2]float64{0.95, 1.38}, "back"
	in.pitch, in.line = [2]float64{8.4, 10.8}, [2]float64{-0.14, 0.28}
	in.place = l.pick(odds{{"midwicket", 4}, {"square-leg", 5}, {"fine-leg", 1.2}})
}

func (in *intent) defend(l *luck) {
	in.shot, in.meetX, in.meetZ, in.feet = body.ForwardDefence, 2.0, [2]float64{0.3, 0.75}, "forward"
	in.pitch, in.line = [2]float64{5.4, 6.8}, [2]float64{-0.06, 0.2}
	in.contact = l.even("defend", odds{{"middled", 7}, {"outside-edge", 0.8}, {"inside-edge", 0.8}})
	in.hands = []string{l.pick(odds{{"soft", 5}, {"close", 3}, {"late", 1}})}
	in.place = l.pick(odds{{"straight", 4}, {"mid-off", 2}, {"mid-on", 2}})
}

func (in *intent) leave(l *luck, line, pitch [2]float64) {
	in.untouched(l.pick(odds{{"across", 3}, {"still", 2}}))
	in.shot, in.meetX, in.meetZ = body.Leave, 1.3, [2]float64{0.2, 1.6}
	in.line, in.pitch, in.hands = line, pitch, []string{"high"}
	if l.chance(0.15) {
		in.right = "wrong-leave"
	}
}

func (in *intent) evade(l *luck) {
	in.untouched(l.pick(odds{{"still", 2}, {"back", 3}}))
	in.shot, in.meetX, in.meetZ = body.Evade, 1.3, [2]float64{1.3, 1.75}
	in.line, in.pitch = [2]float64{-0.1, 0.15}, [2]float64{9.6, 11.2}
}

func (in *intent) untouched(feet string) {
	in.contact, in.feet, in.right, in.hands, in.place = "none", feet, "right-leave", nil, ""
}

// letGo turns any ball of a drill into one that is left, or evaded when it is
// fast enough to have to be.
func (in *intent) letGo(l *luck, fast bool) {
	*in = intent{base: in.base, balance: "balanced"}
	if fast && l.chance(0.35) {
		in.evade(l)
	} else {
		in.leave(l, [2]float64{0.4, 0.85}, [2]float64{4.2, 8.5})
	}
}
