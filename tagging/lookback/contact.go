package lookback

import "netreel/tagging/vocabulary"

// Contact is what became of a ball at the bat, sorted.
type Contact string

// The sorts. Two coders who put a ball into different ones dispute it: it is
// left out of what it would count in, and counted apart.
const (
	Middled    Contact = "middled"
	Mistimed   Contact = "mistimed"
	Edged      Contact = "edged" // bat's edge, glove or body
	Missed     Contact = "missed"
	OtherFalse Contact = "other"  // terms that a squad added: not out of the middle
	LetGo      Contact = "let-go" // left alone or evaded
	Unsaid     Contact = ""
)

// played says whether a shot was attempted.
func (c Contact) played() bool { return c != LetGo && c != Unsaid }

// sortOf puts a term of the group of contact into its sort.
func sortOf(term string) Contact {
	switch term {
	case termMiddled:
		return Middled
	case termMistimed:
		return Mistimed
	case "inside-edge", "outside-edge", "top-edge", "glove-or-body":
		return Edged
	case termMissed:
		return Missed
	case termNone:
		return LetGo
	}
	return OtherFalse
}

// contact sorts a ball. A ball that was left or evaded needs no contact coded
// to be known as let go. It is disputed when the terms fall into two sorts.
func (t Terms) contact() (c Contact, disputed bool) {
	for _, term := range t[groupContact] {
		sort := sortOf(term)
		if c != Unsaid && sort != c {
			return Unsaid, true
		}
		c = sort
	}
	if c == Unsaid && t.has(groupShot, termLeave, termEvade) {
		return LetGo, false
	}
	return c, false
}

// contacts are the columns of a table by contact.
func contacts(e vocabulary.Edition, s Set) []Column {
	columns := []Column{
		{Key: string(Middled), Name: name(e, groupContact, termMiddled)},
		{Key: string(Mistimed), Name: name(e, groupContact, termMistimed)},
		{Key: string(Edged), Name: "Edge, glove or body"},
		{Key: string(Missed), Name: name(e, groupContact, termMissed)},
		{Key: string(LetGo), Name: "Let go"},
	}
	for _, b := range s.balls {
		if b.contact == OtherFalse {
			return append(columns, Column{Key: string(OtherFalse), Name: "Other"})
		}
	}
	return columns
}

// asks are the questions that might open the balls of a sort.
func (c Contact) asks(e vocabulary.Edition) narrow {
	var keys []string
	for _, t := range terms(e, groupContact) {
		if sortOf(t.Key) == c {
			keys = append(keys, t.Key)
		}
	}
	return only(groupContact, keys...)
}

// Column is a column of a table.
type Column struct{ Key, Name string }
