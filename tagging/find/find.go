// Package find is the question put to a squad's balls: filters over every
// group of the vocabulary, player, session, block, ball, date, coder, and words
// in notes. It parses, prints and validates; it must not know SQL.
//
// The printed form is a URL query, so that a question lives in the page's
// address: "base=narrow&not.contact=missed&player=3&shot=cut,pull&text=late".
// Within a group any of the terms suffices; across groups all must hold;
// "not." asks that none of the terms holds. On a ball holds what was seen on
// it; in a group of which nobody saw a term, what its block gives.
// "measured.base-width=..55" asks that a measure lies in a range, in the
// measure's own unit.
package find

import (
	"maps"
	"net/url"
	"slices"
	"strconv"
	"strings"
)

// Question is what is asked. The zero value asks for every ball.
type Question struct {
	Has      map[string][]string // group key -> any of these term keys
	Not      map[string][]string // group key -> none of these term keys
	Uncoded  []string            // group keys of which nobody saw a term, whatever a block gives
	Players  []int64             // any of
	Sessions []int64             // any of
	Blocks   []int64             // any of
	Balls    []int64             // any of: balls that were picked or counted
	Coders   []int64             // balls these accounts spoke of; only what they said counts
	From, To string              // ISO dates of the session, inclusive; "" for open
	Text     string              // words in a note; "quoted" together, -without, one or other
	Measured map[string]Range    // key of a measure -> its accepted value lies in this range
	Sort     string              // key of a measure: its smallest value first; "-" before it: its largest. "": as played
}

// Range is from Low to High, both included; nil leaves that end open. Both nil
// asks that there is a value.
type Range struct{ Low, High *float64 }

// String prints a range as a question has it.
func (r Range) String() string {
	end := func(v *float64) string {
		if v == nil {
			return ""
		}
		return strconv.FormatFloat(*v, 'f', -1, 64)
	}
	return end(r.Low) + rangeDots + end(r.High)
}

// The words of a question beside the groups' keys.
const (
	keyPlayer  = "player"
	keySession = "session"
	keyBlock   = "block"
	keyBall    = "ball"
	keyCoder   = "coder"
	keyFrom    = "from"
	keyTo      = "to"
	keyText    = "text"
	keyUncoded = "uncoded"
	keySort    = "sort"
	notPrefix  = "not."

	// Before the key of a measure; its range is "40..55", "..55", "40.." or "..".
	measuredPrefix = "measured."
	rangeDots      = ".."

	// These page through an answer; they travel beside a question but are not part of it.
	keyOffset = "offset"
	keyLimit  = "limit"
)

// Facets that are not groups of the vocabulary.
const (
	FacetPlayer  = keyPlayer
	FacetSession = keySession
	FacetBlock   = keyBlock
	FacetCoder   = keyCoder
)

// String prints the question in its canonical form: keys, and the choices of
// each, in ascending order. Parse reads it back to the same question.
func (q Question) String() string {
	q = q.Normal()
	parts := map[string]string{}
	put := func(key string, values []string) {
		if len(values) > 0 {
			parts[key] = strings.Join(values, ",")
		}
	}
	for g, terms := range q.Has {
		put(g, terms)
	}
	for g, terms := range q.Not {
		put(notPrefix+g, terms)
	}
	put(keyUncoded, q.Uncoded)
	put(keyPlayer, printed(q.Players))
	put(keySession, printed(q.Sessions))
	put(keyBlock, printed(q.Blocks))
	put(keyBall, printed(q.Balls))
	put(keyCoder, printed(q.Coders))
	for measure, r := range q.Measured {
		parts[measuredPrefix+measure] = r.String()
	}
	for key, v := range map[string]string{keyFrom: q.From, keyTo: q.To, keySort: q.Sort, keyText: url.QueryEscape(q.Text)} {
		if v != "" {
			parts[key] = v
		}
	}
	var b strings.Builder
	for _, key := range slices.Sorted(maps.Keys(parts)) {
		if b.Len() > 0 {
			b.WriteByte('&')
		}
		b.WriteString(key + "=" + parts[key])
	}
	return b.String()
}

// Normal returns the same question in one form: choices ascending and without
// repeats, nothing empty but not nil.
func (q Question) Normal() Question {
	return Question{
		Has: normalGroups(q.Has), Not: normalGroups(q.Not), Uncoded: normalList(q.Uncoded),
		Players: normalList(q.Players), Sessions: normalList(q.Sessions),
		Blocks: normalList(q.Blocks), Balls: normalList(q.Balls), Coders: normalList(q.Coders),
		From: q.From, To: q.To, Text: strings.TrimSpace(q.Text), Measured: normalRanges(q.Measured), Sort: q.Sort,
	}
}

// Without returns the question less one filter: all that it asks of a group,
// or its choices of players, sessions, blocks or coders.
func (q Question) Without(facet string) Question {
	switch facet {
	case FacetPlayer:
		q.Players = nil
	case FacetSession:
		q.Sessions = nil
	case FacetBlock:
		q.Blocks = nil
	case FacetCoder:
		q.Coders = nil
	default:
		q.Has, q.Not = less(q.Has, facet), less(q.Not, facet)
		q.Uncoded = slices.DeleteFunc(slices.Clone(q.Uncoded), func(g string) bool { return g == facet })
	}
	return q
}

// Groups lists the keys of the groups that the question asks something of,
// ascending.
func (q Question) Groups() []string {
	keys := slices.Collect(maps.Keys(q.Has))
	keys = slices.AppendSeq(keys, maps.Keys(q.Not))
	return normalList(append(keys, q.Uncoded...))
}

func less(groups map[string][]string, key string) map[string][]string {
	if _, ok := groups[key]; !ok {
		return groups
	}
	rest := maps.Clone(groups)
	delete(rest, key)
	return rest
}

func normalGroups(groups map[string][]string) map[string][]string {
	var out map[string][]string
	for g, terms := range groups {
		if len(terms) == 0 {
			continue
		}
		if out == nil {
			out = map[string][]string{}
		}
		out[g] = normalList(terms)
	}
	return out
}

func normalRanges(ranges map[string]Range) map[string]Range {
	if len(ranges) == 0 {
		return nil
	}
	return maps.Clone(ranges)
}

func normalList[T int64 | string](list []T) []T {
	if len(list) == 0 {
		return nil
	}
	list = slices.Clone(list)
	slices.Sort(list)
	return slices.Compact(list)
}

func printed(ids []int64) []string {
	out := make([]string, len(ids))
	for i, id := range ids {
		out[i] = strconv.FormatInt(id, 10)
	}
	return out
}
