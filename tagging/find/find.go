// Package find is the question put to a squad's balls: filters over every
// group of the vocabulary, player, session, block, date, coder, and words in
// notes. It parses, prints and validates; it must not know SQL.
//
// The printed form is a URL query, so that a question lives in the page's
// address: "shot=pull,cut&base=narrow&not.contact=missed&player=3&text=late".
// Within a group any of the terms suffices; across groups all must hold;
// "not." asks that none of the terms was seen.
package find

// Question is what is asked. The zero value asks for every ball.
type Question struct {
	Has      map[string][]string // group key -> any of these term keys
	Not      map[string][]string // group key -> none of these term keys
	Uncoded  []string            // group keys of which nobody saw a term
	Players  []int64             // any of
	Sessions []int64             // any of
	Blocks   []int64             // any of
	Coders   []int64             // only observations of these accounts count
	From, To string              // ISO dates of the session, inclusive; "" for open
	Text     string              // words in notes
}
