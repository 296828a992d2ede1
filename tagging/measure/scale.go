package measure

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"netreel/media/fault"
	"netreel/media/laws"
)

// Scale turns a measure into words: each zone ends below a value in the
// measure's unit. There is no published norm for most of what is measured here,
// so its limits are a coach's, set for a player.
type Scale struct {
	Measure string      `json:"measure"` // key
	Group   string      `json:"group"`   // of the vocabulary
	Zones   []laws.Zone `json:"zones"`   // from below; the last one's end is not used
}

// Proposal is the term that a value implies.
type Proposal struct {
	Group string  `json:"group"`
	Term  string  `json:"term"`
	Sure  float64 `json:"sure"` // how likely the true value lies in the term's zone, 0 to 1
}

// Validate checks that a scale can be read off.
func (s Scale) Validate() error {
	var wrong []fault.Field
	if _, ok := Find(s.Measure); !ok {
		wrong = append(wrong, fault.Field{Name: "measure", Reason: "is not one that is taken"})
	}
	if s.Group == "" || len(s.Zones) < 2 {
		wrong = append(wrong, fault.Field{Name: "zones", Reason: "must be two or more terms of a group"})
	}
	for i, z := range s.Zones {
		switch {
		case z.Key == "":
			wrong = append(wrong, fault.Field{Name: fmt.Sprintf("zones.%d", i), Reason: "has no term"})
		case i < len(s.Zones)-1 && (!finite(z.Below) || i > 0 && z.Below <= s.Zones[i-1].Below):
			wrong = append(wrong, fault.Field{Name: fmt.Sprintf("zones.%d", i), Reason: "must end above the one before"})
		}
	}
	if len(wrong) > 0 {
		return fault.New(fault.Invalid, "measure.Scale", "These limits can't be used. Mend the marked places.", wrong...)
	}
	return nil
}

// Propose gives the term for a value of the scale's measure. Its Sure takes the
// value's standard deviation for that of a normal distribution.
func (s Scale) Propose(v Value) Proposal {
	p := Proposal{Group: s.Group}
	from := math.Inf(-1)
	for i, z := range s.Zones {
		to := z.Below
		if i == len(s.Zones)-1 {
			to = math.Inf(1)
		}
		if v.Value < to {
			p.Term = z.Key
			p.Sure = 1
			if v.Sigma > 0 {
				n := distuv.Normal{Mu: v.Value, Sigma: v.Sigma}
				p.Sure = n.CDF(to) - n.CDF(from)
			}
			return p
		}
		from = to
	}
	return p
}

// BaseScale is the scale of the base for a coach's limits in centimetres: below
// narrow it is narrow, from wide on it is too wide.
func BaseScale(narrow, wide float64) Scale {
	return Scale{baseWidth.Key, "base", []laws.Zone{{Key: "narrow", Below: narrow}, {Key: "sound", Below: wide}, {Key: "wide"}}}
}

// CreaseScale is the scale of the back foot's depth for a coach's limits in
// centimetres from the popping crease, in front of it positive: below backFrom
// the batter is back, from forwardFrom on forward, and caught halfway between.
func CreaseScale(backFrom, forwardFrom float64) Scale {
	return Scale{creaseDepth.Key, "feet", []laws.Zone{{Key: "back", Below: backFrom}, {Key: "caught", Below: forwardFrom}, {Key: "forward"}}}
}

// HeightScale is the scale of the ball's height for a batter of an upright
// height in metres: the zones of laws.Heights.
func HeightScale(height float64) Scale {
	s := Scale{Measure: ballHeight.Key, Group: "height", Zones: laws.Heights()}
	for i := range s.Zones {
		s.Zones[i].Below *= 100 * height
	}
	return s
}

// onCrease is how far from the popping crease a foot still counts as on it,
// centimetres: half a shoe's breadth. Judgement, no source.
const onCrease = 5

// CreaseWord says where the back foot is: "behind", "on" or "forward" of the
// popping crease.
func CreaseWord(depth Value) string {
	return laws.ZoneOf([]laws.Zone{{Key: "behind", Below: -onCrease}, {Key: "on", Below: onCrease}, {Key: "forward"}}, depth.Value)
}
