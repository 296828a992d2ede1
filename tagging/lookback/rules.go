package lookback

import (
	"fmt"
	"slices"

	"netreel/media/fault"
	"netreel/tagging/vocabulary"
)

// Want is what a coach wants done with a ball.
type Want string

// The wants.
const (
	TakeOn     Want = "take-on"
	LeaveAlone Want = "let-go" // leave or evade
	Either     Want = "either" // but decide
)

// Rule says what is wanted of balls of some heights at the batter, lines and
// lengths; an empty list takes any.
type Rule struct {
	Heights []string `json:"heights"`
	Lines   []string `json:"lines"`
	Lengths []string `json:"lengths"`
	Want    Want     `json:"want"`
}

// Rules are a coach's for one player: of each ball the first that fits holds.
type Rules []Rule

// MaxRules is how many rules a player may have.
const MaxRules = 40

// Validate checks rules against a squad's vocabulary. Terms that were retired
// are taken: old balls bear them.
func (r Rules) Validate(e vocabulary.Edition) error {
	var fields []fault.Field
	bad := func(i int, of, reason string) {
		fields = append(fields, fault.Field{Name: fmt.Sprintf("rules.%d.%s", i, of), Reason: reason})
	}
	if len(r) > MaxRules {
		fields = append(fields, fault.Field{Name: "rules", Reason: fmt.Sprintf("at most %d", MaxRules)})
	}
	for i, rule := range r {
		if !slices.Contains([]Want{TakeOn, LeaveAlone, Either}, rule.Want) {
			bad(i, "want", "must be take-on, let-go or either")
		}
		for _, p := range rule.parts() {
			for j, key := range p.terms {
				if _, ok := e.Term(p.group, key); !ok || slices.Contains(p.terms[:j], key) {
					bad(i, p.field, "must be terms of the vocabulary, each once")
					break
				}
			}
		}
	}
	if len(fields) > 0 {
		return fault.New(fault.Invalid, "lookback.Rules", "The rules were not saved. Mend the marked lines and save again.", fields...)
	}
	return nil
}

type part struct {
	group, field string
	terms        []string
}

func (r Rule) parts() []part {
	return []part{{groupHeight, "heights", r.Heights}, {groupLine, "lines", r.Lines}, {groupLength, "lengths", r.Lengths}}
}

// wanted is what the rules want done with a ball; "" when none fits, or when
// what it would need to know is not coded.
func (r Rules) wanted(t Terms) Want {
	for _, rule := range r {
		fits, unsure := true, false
		for _, p := range rule.parts() {
			switch {
			case len(p.terms) == 0:
			case len(t[p.group]) == 0:
				unsure = true
			case !t.has(p.group, p.terms...):
				fits = false
			}
		}
		if fits && unsure {
			return ""
		}
		if fits {
			return rule.Want
		}
	}
	return ""
}

// Action is what a batter did with a ball.
type Action string

// The actions. Caught between is a late decision, whatever came of it.
const (
	TakenOn Action = "taken-on"
	Left    Action = "left"
	Evaded  Action = "evaded"
	Caught  Action = "caught"
	Unknown Action = ""
)

// actions in the order of a table's columns.
var actions = []Column{
	{string(TakenOn), "Taken on"}, {string(Left), "Left"}, {string(Evaded), "Evaded"}, {string(Caught), "Caught between"},
}

// action is what was done with a ball.
func (t Terms) action() Action {
	switch {
	case t.has(groupDecision, termLate):
		return Caught
	case len(t[groupShot]) == 0:
		return Unknown
	case t.has(groupShot, termLeave) && len(t[groupShot]) == 1:
		return Left
	case t.has(groupShot, termEvade) && len(t[groupShot]) == 1:
		return Evaded
	case t.has(groupShot, termLeave, termEvade): // two coders disagree
		return Unknown
	}
	return TakenOn
}

// asks might open the balls of an action.
func (a Action) asks(e vocabulary.Edition) narrow {
	n := narrow{}
	switch a {
	case TakenOn:
		n = only(groupShot, allBut(e, groupShot, termLeave, termEvade)...)
	case Left:
		n = only(groupShot, termLeave)
	case Evaded:
		n = only(groupShot, termEvade)
	default:
		return only(groupDecision, termLate)
	}
	n.not = map[string][]string{groupDecision: {termLate}}
	return n
}

// judge says whether an action on a ball was what the rules want.
func (r Rules) judge(t Terms) verdict {
	want, did := r.wanted(t), t.action()
	switch {
	case want == "" || did == Unknown:
		return out
	case did == Caught:
		return miss
	case want == Either, (want == TakeOn) == (did == TakenOn):
		return hit
	}
	return miss
}

// byRule is the outcome of a coach's own rules.
func byRule(rules Rules) Outcome {
	none := func(vocabulary.Edition) []narrow { return nil }
	return Outcome{
		Key: RightByRule, Name: "Right decisions, by the rule",
		Means: "Did what your rule for this player wants of such a ball; a late decision is never right. Of all balls that the rule speaks of.",
		judge: rules.judge, of: none, hits: none,
	}
}

// UsualRules are something to begin with (common practice, no source); which
// ball to take on is the coach's to say, for each player.
func UsualRules() Rules {
	return Rules{
		{Heights: []string{"throat", "head", "above-head"}, Want: LeaveAlone},
		{Lines: []string{"wide-off"}, Lengths: []string{"good", "back-of-length"}, Want: LeaveAlone},
		{Lines: []string{"outside-off"}, Lengths: []string{"good"}, Want: Either},
		{Want: TakeOn},
	}
}
