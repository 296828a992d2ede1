package find

import (
	"fmt"
	"maps"
	"math"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"netreel/media/fault"
	"netreel/tagging/vocabulary"
)

// Limits of a question, so that nobody can ask for more than the database
// answers at once.
const (
	MaxChoices = 100  // of one filter
	MaxBalls   = 1000 // of the filter of balls: as many as a reel holds
	MaxGroups  = 2 * vocabulary.MaxGroups
	MaxText    = 200 // characters

	maxMeasured = 1e6 // of any measure in its unit

	earliestYear = 1800
)

// Parse reads a question from the query of an address, such as String prints.
// It is fault.Invalid when a filter or one of its choices is not well formed;
// the fields name each. Groups that the vocabulary does not have are kept:
// nothing fits them. "offset" and "limit" are passed over.
func Parse(query string) (Question, error) {
	values, err := url.ParseQuery(query)
	if err != nil {
		return Question{}, fault.Wrap(err, fault.Invalid, "find.Parse", "The address of this question is damaged. Ask it anew.")
	}
	return FromValues(values)
}

// FromValues is Parse for a query that has been taken apart already.
func FromValues(values url.Values) (Question, error) {
	p := parser{q: Question{Has: map[string][]string{}, Not: map[string][]string{}}}
	for _, key := range slices.Sorted(maps.Keys(values)) {
		p.filter(key, values[key])
	}
	p.dates()
	if len(p.q.Has)+len(p.q.Not)+len(p.q.Measured) > MaxGroups {
		p.bad("groups", fmt.Sprintf("at most %d at once", MaxGroups))
	}
	if len(p.fields) > 0 {
		return Question{}, fault.New(fault.Invalid, "find.Parse",
			"This question can't be asked: "+p.fields[0].Name+" "+p.fields[0].Reason+".", p.fields...)
	}
	return p.q.Normal(), nil
}

type parser struct {
	q      Question
	fields []fault.Field
}

func (p *parser) bad(key, reason string) {
	p.fields = append(p.fields, fault.Field{Name: key, Reason: reason})
}

func (p *parser) filter(key string, values []string) {
	switch key {
	case keyOffset, keyLimit:
	case keyPlayer:
		p.q.Players = p.ids(key, values)
	case keySession:
		p.q.Sessions = p.ids(key, values)
	case keyBlock:
		p.q.Blocks = p.ids(key, values)
	case keyBall:
		p.q.Balls = p.ids(key, values)
	case keyCoder:
		p.q.Coders = p.ids(key, values)
	case keyFrom:
		p.q.From = p.single(key, values)
	case keyTo:
		p.q.To = p.single(key, values)
	case keyText:
		p.q.Text = p.text(values)
	case keyUncoded:
		p.q.Uncoded = p.keys(key, values)
	case keySort:
		p.q.Sort = p.single(key, values)
		if p.q.Sort != "" && !vocabulary.ValidKey(strings.TrimPrefix(p.q.Sort, "-")) {
			p.bad(key, "must be the key of a measure")
		}
	default:
		if measure, ok := strings.CutPrefix(key, measuredPrefix); ok {
			p.measured(measure, values)
			return
		}
		p.group(key, values)
	}
}

func (p *parser) group(key string, values []string) {
	into := p.q.Has
	group, not := strings.CutPrefix(key, notPrefix)
	if not {
		into = p.q.Not
	}
	if !vocabulary.ValidKey(group) || vocabulary.Reserved(group) {
		p.bad(short(key), "is not a filter")
		return
	}
	if terms := p.keys(key, values); len(terms) > 0 {
		into[group] = terms
	}
}

// measured is a filter on a measure: one range.
func (p *parser) measured(measure string, values []string) {
	key := measuredPrefix + measure
	if !vocabulary.ValidKey(measure) {
		p.bad(short(key), "is not a filter")
		return
	}
	low, high, ok := strings.Cut(p.single(key, values), rangeDots)
	if !ok {
		if low != "" {
			p.bad(key, "must be a range such as 40..55 or ..55")
		}
		return
	}
	r := Range{Low: p.number(key, low), High: p.number(key, high)}
	if r.Low != nil && r.High != nil && *r.Low > *r.High {
		p.bad(key, "ends before it begins")
		return
	}
	if p.q.Measured == nil {
		p.q.Measured = map[string]Range{}
	}
	p.q.Measured[measure] = r
}

// number is an end of a range; nil when it is open.
func (p *parser) number(key, text string) *float64 {
	if text == "" {
		return nil
	}
	v, err := strconv.ParseFloat(text, 64)
	if err != nil || !(math.Abs(v) <= maxMeasured) { // NaN too
		p.bad(key, strconv.Quote(short(text))+" is not a number")
		return nil
	}
	return &v
}

// choices takes "a,b" and repeated keys apart, and drops what is empty.
func (p *parser) choices(key string, values []string) []string {
	var out []string
	for _, v := range values {
		for choice := range strings.SplitSeq(v, ",") {
			if choice = strings.TrimSpace(choice); choice != "" {
				out = append(out, choice)
			}
		}
	}
	most := MaxChoices
	if key == keyBall {
		most = MaxBalls
	}
	if len(out) > most {
		p.bad(key, fmt.Sprintf("has more than %d choices", most))
		return nil
	}
	return out
}

func (p *parser) keys(key string, values []string) []string {
	choices := p.choices(key, values)
	for _, c := range choices {
		if !vocabulary.ValidKey(c) {
			p.bad(key, strconv.Quote(short(c))+" is not the key of a term")
		}
	}
	return choices
}

func (p *parser) ids(key string, values []string) []int64 {
	var out []int64
	for _, c := range p.choices(key, values) {
		id, err := strconv.ParseInt(c, 10, 64)
		if err != nil || id <= 0 {
			p.bad(key, strconv.Quote(short(c))+" is not a number of one")
			continue
		}
		out = append(out, id)
	}
	return out
}

func (p *parser) single(key string, values []string) string {
	choices := p.choices(key, values)
	if len(choices) > 1 {
		p.bad(key, "can be given once only")
	}
	return strings.Join(choices, ",")
}

func (p *parser) text(values []string) string {
	text := strings.TrimSpace(strings.Join(values, " "))
	switch {
	case !utf8.ValidString(text) || strings.ContainsRune(text, 0):
		p.bad(keyText, "holds characters that can't be read")
	case utf8.RuneCountInString(text) > MaxText:
		p.bad(keyText, fmt.Sprintf("is longer than %d characters", MaxText))
	}
	return text
}

func (p *parser) dates() {
	for _, d := range []struct{ key, value string }{{keyFrom, p.q.From}, {keyTo, p.q.To}} {
		if d.value == "" {
			continue
		}
		if day, err := time.Parse(time.DateOnly, d.value); err != nil || day.Year() < earliestYear {
			p.bad(d.key, "must be a date such as 2026-01-31")
			return
		}
	}
	if p.q.From != "" && p.q.To != "" && p.q.From > p.q.To {
		p.bad(keyTo, "lies before from")
	}
}

// short keeps hostile input out of messages.
func short(s string) string {
	if utf8.RuneCountInString(s) <= 40 {
		return s
	}
	return string([]rune(s)[:40]) + "..."
}
