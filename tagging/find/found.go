package find

import "netreel/tagging"

// Page asks for a part of a list.
type Page struct {
	Offset int // how many to pass over
	Limit  int // how many at most; 0 for DefaultLimit
}

// Limits of one answer.
const (
	DefaultLimit = 60
	MaxLimit     = 200
)

// Found is the answer to a question: newest session first, its balls in the
// order they were played.
type Found struct {
	Total  int                    // balls that fit
	Items  []tagging.PlaylistItem // those of the page asked for
	Facets []Facet
}

// Facet is how many balls each choice of one filter would give under the
// other filters. Key is a group key, or "player", "session", "block", "coder".
type Facet struct {
	Key     string
	Choices []Choice
}

// Choice is one value of a facet.
type Choice struct {
	Value string // term key or id
	Name  string
	Count int
}
