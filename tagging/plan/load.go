package plan

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"netreel/media/fault"
)

// Doing is which end of the net a person's balls were counted at.
type Doing string

// The two ends.
const (
	Facing  Doing = "facing"
	Feeding Doing = "feeding"
)

// Stint is balls of one kind on one day: faced by a batter, or fed by a
// feeder.
type Stint struct {
	Day      string // ISO date
	Doing    Doing
	Person   string
	Feed     string // term keys; "" when not said
	Bowling  string
	SpeedKPH float64 // of measured balls the mean; 0 when nothing is known
	Slowest  float64 // of measured balls, as Fastest; else 0
	Fastest  float64
	SpeedBy  SpeedBy
	Balls    int
	Counted  string // "balls" on the lane, or "card": taps on the feeder's card
}

// SpeedBy says where a speed is known from. What was measured goes before what
// was typed, and that before what was planned.
type SpeedBy string

// The sources; SpeedUnknown when there is none.
const (
	SpeedUnknown  SpeedBy = ""
	SpeedMeasured SpeedBy = "measured" // off the ball's own picture, and accepted by a person
	SpeedTyped    SpeedBy = "typed"    // on the session's block
	SpeedPlanned  SpeedBy = "planned"  // on the plan's
)

// LoadDays is how many days are looked at when nobody says which.
const LoadDays = 28

// LatestDays is the stretch of LoadDays that ends today, if it holds the
// latest day with a ball, else the one that ends with that day. ISO dates;
// latest is "" when there never was a ball.
func LatestDays(latest, today string) (from, to string) {
	to = today
	if latest != "" && (latest < Before(today, LoadDays-1) || latest > today) {
		to = latest
	}
	return Before(to, LoadDays-1), to
}

// Limit is a number of balls that a coach set, or their board did. Nothing is
// set to begin with: there is no limit that holds for everybody.
type Limit struct {
	ID     int64
	Doing  Doing
	Person string // "" for anybody
	Feed   string // a term key; "" for all feeds together
	Days   int    // over so many days: 1 to 28
	Balls  int
	Words  string // whose limit it is, as the coach wrote it
}

// MaxLimitDays is the longest stretch a limit may speak of.
const MaxLimitDays = 28

// Check says whether a limit is well formed.
func (l Limit) Check() error {
	var fields []fault.Field
	if l.Doing != Facing && l.Doing != Feeding {
		fields = append(fields, fault.Field{Name: "doing", Reason: "must be facing or feeding"})
	}
	if l.Days < 1 || l.Days > MaxLimitDays {
		fields = append(fields, fault.Field{Name: "days", Reason: fmt.Sprintf("must be 1 to %d", MaxLimitDays)})
	}
	if l.Balls < 1 || l.Balls > 10_000 {
		fields = append(fields, fault.Field{Name: "balls", Reason: "must be 1 to 10000"})
	}
	if len(fields) > 0 {
		return fault.New(fault.Invalid, "plan.Limit", "The limit was not saved. Mend the marked places.", fields...)
	}
	return nil
}

// Sum is the balls of a stretch of days that ends on Day.
type Sum struct {
	Day   string
	Balls int // on that day
	Last7 int // on it and the six days before
}

// Daily adds stints up for each day from one to another, both included.
// Days are ISO dates; wrong ones or a stretch that runs backwards give none.
func Daily(stints []Stint, from, to string) []Sum {
	on := map[string]int{}
	for _, s := range stints {
		on[s.Day] += s.Balls
	}
	var out []Sum
	for _, day := range days(from, to) {
		sum := Sum{Day: day, Balls: on[day]}
		for _, d := range days(Before(day, 6), day) {
			sum.Last7 += on[d]
		}
		out = append(out, sum)
	}
	return out
}

// Crossing is a limit that somebody went over: by how much is for the coach to
// judge.
type Crossing struct {
	Limit  Limit
	Person string
	Day    string // the last of the limit's days
	Balls  int
}

// Crossings finds for each limit and person the day with the most balls over
// it. It says nothing of those within.
func Crossings(stints []Stint, limits []Limit) []Crossing {
	var out []Crossing
	for _, l := range limits {
		people := map[string][]Stint{}
		for _, s := range stints {
			if s.Doing == l.Doing && (l.Person == "" || l.Person == s.Person) && (l.Feed == "" || l.Feed == s.Feed) {
				people[s.Person] = append(people[s.Person], s)
			}
		}
		for person, theirs := range people {
			if most := l.most(theirs); most.Balls > l.Balls {
				most.Person = person
				out = append(out, most)
			}
		}
	}
	slices.SortFunc(out, func(a, b Crossing) int {
		return cmp.Or(cmp.Compare(a.Person, b.Person), cmp.Compare(a.Limit.ID, b.Limit.ID), cmp.Compare(a.Limit.Days, b.Limit.Days))
	})
	return out
}

// most is the stretch of the limit's length with the most balls, the latest of
// equal ones. A fullest stretch ends on a day with balls.
func (l Limit) most(stints []Stint) Crossing {
	most := Crossing{Limit: l}
	for _, end := range stints {
		first, n := Before(end.Day, l.Days-1), 0
		for _, s := range stints {
			if s.Day >= first && s.Day <= end.Day {
				n += s.Balls
			}
		}
		if n > most.Balls || n == most.Balls && end.Day > most.Day {
			most.Day, most.Balls = end.Day, n
		}
	}
	return most
}

func days(from, to string) []string {
	day, err := time.Parse(time.DateOnly, from)
	end, err2 := time.Parse(time.DateOnly, to)
	if err != nil || err2 != nil {
		return nil
	}
	var out []string
	for ; !day.After(end); day = day.AddDate(0, 0, 1) {
		out = append(out, day.Format(time.DateOnly))
	}
	return out
}

// Before is the ISO date so many days earlier; what is no date stays as it is.
func Before(day string, n int) string {
	d, err := time.Parse(time.DateOnly, day)
	if err != nil {
		return day
	}
	return d.AddDate(0, 0, -n).Format(time.DateOnly)
}
