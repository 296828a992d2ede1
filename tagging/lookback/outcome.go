package lookback

import (
	"slices"

	"netreel/tagging/compare"
	"netreel/tagging/vocabulary"
)

// Outcome is something that did or did not happen on a ball, to be made a rate
// of.
type Outcome struct {
	Key   string
	Name  string // "In control, of balls faced": names what it is a share of
	Means string // for a person: what counts as what, and whose definition it is
	judge func(Terms) verdict
	of    func(vocabulary.Edition) []narrow // what might open the balls it is a share of
	hits  func(vocabulary.Edition) []narrow
}

// verdict is what one ball is in a rate.
type verdict int

const (
	out      verdict = iota // not counted
	miss                    // counted
	hit                     // counted, and it happened
	disputed                // two coders would count it differently
)

// Keys of the outcomes.
const (
	ControlFaced  = "control-faced"
	ControlPlayed = "control-played"
	Effective     = "effective"
	RightDecision = "right-decision"
	RightByRule   = "right-by-rule"
)

// Outcomes lists what can be made a rate of: those of every squad, and the
// coach's own rule when there is one.
func Outcomes(rules Rules) []Outcome {
	list := []Outcome{controlFaced, controlPlayed, effective, rightDecision}
	if len(rules) > 0 {
		list = append(list, byRule(rules))
	}
	return list
}

// controlFaced and controlPlayed are the two published definitions of control,
// which differ in what they are a share of: S. Rajesh, ESPNcricinfo, 3 August
// 2023 (each ball faced; left alone without dismissal, or middled, is in
// control), and false shots of shots attempted (common practice).
var controlFaced = Outcome{
	Key: ControlFaced, Name: "In control, of balls faced",
	Means: "Middled, or let go without being out or hit; of all balls whose contact is coded, those let go among them.",
	judge: func(t Terms) verdict {
		switch c, split := t.contact(); {
		case split:
			return disputed
		case c == Unsaid:
			return out
		case c == Middled, c == LetGo && !t.has(groupResult, termOut, termStruck):
			return hit
		}
		return miss
	},
	of:   faced,
	hits: func(vocabulary.Edition) []narrow { return []narrow{only(groupContact, termMiddled, termNone)} },
}

var controlPlayed = Outcome{
	Key: ControlPlayed, Name: "In control, of shots played",
	Means: "Middled; of the balls at which a shot was played. Balls let go are not counted.",
	judge: func(t Terms) verdict {
		switch c, split := t.contact(); {
		case split:
			return disputed
		case !c.played():
			return out
		case c == Middled:
			return hit
		}
		return miss
	},
	of: func(e vocabulary.Edition) []narrow {
		return []narrow{only(groupContact, allBut(e, groupContact, termNone)...)}
	},
	hits: func(vocabulary.Edition) []narrow { return []narrow{only(groupContact, termMiddled)} },
}

// effective is common practice, no source: studies sort contact into good,
// bad and none (S. Müller & B. Abernethy 2008, J. Sci. Med. Sport 11), which
// says nothing of runs.
var effective = Outcome{
	Key: Effective, Name: "Effective",
	Means: "Middled, or runs scored, or rightly let go; never when out or hit on the body. Of all balls whose contact is coded.",
	judge: func(t Terms) verdict {
		c, split := t.contact()
		switch {
		case split:
			return disputed
		case c == Unsaid:
			return out
		case t.has(groupResult, termOut, termStruck):
			return miss
		case c == Middled, t.has(groupResult, termRun, termBoundary), c == LetGo && !t.has(groupDecision, termWrongLeave):
			return hit
		}
		return miss
	},
	of: faced,
	hits: func(vocabulary.Edition) []narrow {
		n := only(groupContact, termMiddled, termNone)
		n.not = map[string][]string{groupResult: {termOut, termStruck}}
		return []narrow{n}
	},
}

var rightDecision = Outcome{
	Key: RightDecision, Name: "Right decisions, as coded",
	Means: "The right ball taken on, or rightly left; of all balls whose decision is coded.",
	judge: func(t Terms) verdict {
		said := t[groupDecision]
		right := 0
		for _, d := range said {
			if d == termRight || d == termRightLeave {
				right++
			}
		}
		switch {
		case len(said) == 0:
			return out
		case right == len(said):
			return hit
		case right == 0:
			return miss
		}
		return disputed
	},
	of: func(e vocabulary.Edition) []narrow { return []narrow{only(groupDecision, allBut(e, groupDecision)...)} },
	hits: func(vocabulary.Edition) []narrow {
		return []narrow{only(groupDecision, termRight, termRightLeave)}
	},
}

func faced(e vocabulary.Edition) []narrow {
	return []narrow{only(groupContact, allBut(e, groupContact)...)}
}

// TermOutcome is how often a term was seen, of the balls of which anything of
// its group was.
func TermOutcome(e vocabulary.Edition, group, term string) (Outcome, bool) {
	g, ok := e.Group(group)
	t, known := e.Term(group, term)
	if !ok || !known {
		return Outcome{}, false
	}
	return Outcome{
		Key: group + "=" + term, Name: g.Name + ": " + t.Name,
		Means: "Seen; of all balls of which anything of this group was.",
		judge: func(seen Terms) verdict {
			switch {
			case len(seen[group]) == 0:
				return out
			case !seen.has(group, term):
				return miss
			case !g.Many && len(seen[group]) > 1:
				return disputed
			}
			return hit
		},
		of:   func(vocabulary.Edition) []narrow { return []narrow{only(group, allBut(e, group)...)} },
		hits: func(vocabulary.Edition) []narrow { return []narrow{only(group, term)} },
	}, true
}

// Rate is an outcome on the balls of a set.
type Rate struct {
	Key, Name, Means string
	Hits, Of         Cell
	Disputed         Cell             // left out: two coders see them differently
	Share            compare.Estimate // Wilson's interval
}

// Plain is the rate as package compare takes it.
func (r Rate) Plain() compare.Rate { return compare.Rate{Hits: r.Hits.N, Of: r.Of.N} }

// rate counts an outcome on a set.
func (s Set) rate(e vocabulary.Edition, o Outcome) Rate {
	judged := func(is ...verdict) func(seen) bool {
		return func(b seen) bool { return slices.Contains(is, o.judge(b.terms)) }
	}
	r := Rate{
		Key: o.Key, Name: o.Name, Means: o.Means,
		Of:       s.cell(judged(hit, miss), o.of(e)...),
		Hits:     s.cell(judged(hit), o.hits(e)...),
		Disputed: s.cell(judged(disputed)),
	}
	r.Share = r.Plain().Share()
	return r
}
