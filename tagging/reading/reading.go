package reading

import (
	"fmt"
	"math"
	"strings"
	"time"

	"github.com/google/uuid"

	"netreel/media"
	"netreel/media/fault"
	"netreel/tagging"
	"netreel/tagging/measure"
)

// Status is what a person made of a reading.
type Status string

// The statuses. A proposed reading counts for nothing until it is accepted.
const (
	Proposed Status = "proposed"
	Accepted Status = "accepted"
	Rejected Status = "rejected"
)

// Proposal is where a model put a point, and how well it saw it, 0 to 1.
type Proposal struct {
	Point
	Seen float64 `json:"seen"`
}

// Sight is what was marked on one frame.
type Sight struct {
	At       media.Micros              `json:"at_us"` // of the frame, recording's own clock
	Points   map[measure.Part]Point    `json:"points"`
	Proposed map[measure.Part]Proposal `json:"proposed,omitempty"`
	Front    measure.Footing           `json:"front,omitempty"`
	Back     measure.Footing           `json:"back,omitempty"`
}

// Sights is all that was marked on a ball's frames on one recording. Times are
// on the recording's own clock; each is that of the first frame that shows it.
type Sights struct {
	Stance  *Sight        `json:"stance,omitempty"`
	Contact *Sight        `json:"contact,omitempty"`
	Trigger *media.Micros `json:"trigger_us,omitempty"` // the batter's first movement
	Release *media.Micros `json:"release_us,omitempty"` // the ball leaves hand or machine
	Bounce  *media.Micros `json:"bounce_us,omitempty"`
}

// Input is a reading as a page sends it.
type Input struct {
	UUID        uuid.UUID // made by the page: sending it again changes nothing
	BallID      int64
	RecordingID int64
	Sights      Sights
	ProposedBy  string // the model; "" for a person
	Status      Status
}

// Reading is points read off a ball's frames, and what followed from them. The
// ledger of them is insert-only: a correction supersedes.
type Reading struct {
	ID int64
	Input
	Calibrated bool // a calibration was at hand
	Values     []measure.Value
	By         string // the account's name
	Made       time.Time
	PlayerID   int64
	BallNumber int
	Block      string
	Doubts     []string // why it may be wrong, of a proposed one
}

const (
	maxModel  = 80
	maxPoints = 40
)

// Validate checks an input by itself.
func (in Input) Validate() error {
	var wrong []fault.Field
	say := func(bad bool, field, reason string) {
		if bad {
			wrong = append(wrong, fault.Field{Name: field, Reason: reason})
		}
	}
	say(in.UUID == uuid.Nil, "uuid", "is missing")
	say(in.Status != Proposed && in.Status != Accepted && in.Status != Rejected, "status", "must be proposed, accepted or rejected")
	say(len(in.ProposedBy) > maxModel, "proposed_by", "is too long")
	s := in.Sights
	say(s.Stance == nil && s.Contact == nil, "sights", "must have points at contact or in the stance")
	for name, sight := range map[string]*Sight{"stance": s.Stance, "contact": s.Contact} {
		if sight == nil {
			continue
		}
		say(sight.At < 0 || sight.At > maxAt, name+".at_us", "must be a time of the recording")
		say(len(sight.Points) == 0 || len(sight.Points) > maxPoints || len(sight.Proposed) > maxPoints, name+".points", "must be there and not too many")
		for part, p := range sight.Points {
			say(!p.inside(), name+"."+string(part), "lies outside the picture")
		}
		for part, p := range sight.Proposed {
			say(!p.inside() || !(p.Seen >= 0 && p.Seen <= 1), name+"."+string(part), "was proposed outside the picture")
		}
	}
	for name, at := range map[string]*media.Micros{"trigger_us": s.Trigger, "release_us": s.Release, "bounce_us": s.Bounce} {
		say(at != nil && (*at < 0 || *at > maxAt), name, "must be a time of the recording")
	}
	if len(wrong) > 0 {
		return fault.New(fault.Invalid, "reading.Input", "This can't be measured: "+wrong[0].Name+" "+wrong[0].Reason+".", wrong...)
	}
	return nil
}

// Scene is what a reading is computed with.
type Scene struct {
	Calibration *Calibration // nil: none yet
	Probe       media.Probe
	Player      tagging.Player
	Yardsticks  Yardsticks
}

// Outcome is what follows from a reading.
type Outcome struct {
	Values   []measure.Value
	Refusals []Refusal // of measures of which some points were there
	Terms    []Term
}

// Refusal is why something can't be measured.
type Refusal struct {
	Measure string // its key
	Why     string
}

// Term is a word that a value implies by the player's limits.
type Term struct {
	Measure string
	measure.Proposal
}

// Compute takes every measure that the points allow. Points outside any picture
// and unknown parts are fault.Invalid.
func (s Scene) Compute(in Sights) (Outcome, error) {
	input := s.input(in)
	if err := input.Validate(); err != nil {
		return Outcome{}, err
	}
	var out Outcome
	for _, t := range measure.TakeAll(input) {
		m, _ := measure.Find(t.Measure)
		switch {
		case t.Value != nil:
			out.Values = append(out.Values, *t.Value)
		case s.begun(m, in):
			out.Refusals = append(out.Refusals, Refusal{t.Measure, t.Refusal})
		}
	}
	for _, scale := range s.Yardsticks.scales(s.Player) {
		for _, v := range out.Values {
			if v.Measure == scale.Measure {
				out.Terms = append(out.Terms, Term{v.Measure, scale.Propose(v)})
			}
		}
	}
	return out, nil
}

// begun says whether all points and times of a measure are there, so that a
// reason why it can't be taken is news.
func (s Scene) begun(m measure.Measure, in Sights) bool {
	for _, need := range m.Needs {
		switch need {
		case measure.NeedsCalibration, measure.NeedsHeight:
		case measure.NeedsTrigger:
			if in.Trigger == nil {
				return false
			}
		case measure.NeedsRelease:
			if in.Release == nil {
				return false
			}
		case measure.NeedsBounce:
			if in.Bounce == nil {
				return false
			}
		case measure.NeedsArrival:
			if in.Contact == nil {
				return false
			}
		default:
			if !in.has(need) {
				return false
			}
		}
	}
	return true
}

// has says whether a point that a measure needs was marked.
func (s Sights) has(need measure.Need) bool {
	for name, sight := range map[string]*Sight{"stance.": s.Stance, "contact.": s.Contact} {
		if part, ok := strings.CutPrefix(string(need), name); ok && sight != nil {
			_, there := sight.Points[measure.Part(part)]
			return there
		}
	}
	return false
}

// BatterOf is what measures want to know of a player.
func BatterOf(p tagging.Player) measure.Batter {
	return measure.Batter{Height: p.HeightCM / 100, LeftHanded: p.Bats == tagging.Left}
}

func (s Scene) input(in Sights) measure.Input {
	out := measure.Input{
		Batter:  BatterOf(s.Player),
		Stance:  s.sight(in.Stance),
		Contact: s.sight(in.Contact),
	}
	if s.Calibration != nil {
		out.Calibration = s.Calibration.Solved
	}
	frame := media.FromSeconds(1 / max(s.Probe.FrameRate, 1))
	moment := func(at *media.Micros) *measure.Moment {
		if at == nil {
			return nil
		}
		return &measure.Moment{At: *at, Frame: frame}
	}
	if in.Trigger != nil || in.Release != nil || in.Bounce != nil {
		out.Flight = &measure.Flight{Trigger: moment(in.Trigger), Release: moment(in.Release), Bounce: moment(in.Bounce)}
		if in.Contact != nil {
			out.Flight.Arrival = moment(&in.Contact.At)
		}
	}
	return out
}

// Standard deviations of points: clicked on a picture of 720 lines (judgement,
// no source), and left where a model put them, as a share of the height over
// which the model found the body. On the photograph of the program's own test
// the points picked by eye are 0.019 of it from the model's.
const (
	clickSigma = 1.5
	modelSigma = 0.02
)

func (s Scene) sight(in *Sight) *measure.Sight {
	if in == nil {
		return nil
	}
	w, h := s.Probe.Width, s.Probe.Height
	clicked := max(measure.PointSigma, clickSigma*float64(h)/720)
	low, high := math.Inf(1), math.Inf(-1)
	for _, p := range in.Proposed {
		low, high = min(low, p.Y), max(high, p.Y)
	}
	guessed := max(clicked, modelSigma*(high-low)*float64(h))
	out := &measure.Sight{Points: map[measure.Part]measure.Point{}, Front: in.Front, Back: in.Back}
	for part, p := range in.Points {
		at := p.pixel(w, h)
		point := measure.Point{X: at.X, Y: at.Y, Sigma: clicked}
		if q, ok := in.Proposed[part]; ok && q.Point == p {
			point.Sigma, point.Seen = guessed, q.Seen
		}
		out.Points[part] = point
	}
	return out
}

// Yardsticks are a coach's for one player, in centimetres; nil where none is set.
// There is no published norm.
type Yardsticks struct {
	NarrowBelow *float64 `json:"narrow_below_cm"` // base width
	WideFrom    *float64 `json:"wide_from_cm"`
	BackBelow   *float64 `json:"back_below_cm"` // back foot from the popping crease, in front of it positive
	ForwardFrom *float64 `json:"forward_from_cm"`
}

const maxLimit = 300 // cm

// Validate checks that each pair is in order and whole.
func (l Yardsticks) Validate() error {
	for _, pair := range []struct {
		low, high *float64
		field     string
		name      string
	}{
		{l.NarrowBelow, l.WideFrom, "wide_from_cm", "narrow and wide"},
		{l.BackBelow, l.ForwardFrom, "forward_from_cm", "back and forward"},
	} {
		bad := func(reason string) error {
			return fault.New(fault.Invalid, "reading.Yardsticks", fmt.Sprintf("The limits of %s can't be used: the upper one %s.", pair.name, reason),
				fault.Field{Name: pair.field, Reason: reason})
		}
		switch {
		case (pair.low == nil) != (pair.high == nil):
			return bad("and the lower one must both be there, or neither")
		case pair.low == nil:
		case !(math.Abs(*pair.low) <= maxLimit && math.Abs(*pair.high) <= maxLimit):
			return bad(fmt.Sprintf("must be within %d cm", maxLimit))
		case *pair.low >= *pair.high:
			return bad("must lie above the lower one")
		}
	}
	return nil
}

// scales are what turns a player's values into words.
func (l Yardsticks) scales(p tagging.Player) []measure.Scale {
	var all []measure.Scale
	if l.NarrowBelow != nil && l.WideFrom != nil {
		all = append(all, measure.BaseScale(*l.NarrowBelow, *l.WideFrom))
	}
	if l.BackBelow != nil && l.ForwardFrom != nil {
		all = append(all, measure.CreaseScale(*l.BackBelow, *l.ForwardFrom))
	}
	if p.HeightCM > 0 {
		all = append(all, measure.HeightScale(p.HeightCM/100))
	}
	return all
}
