// Package vocabulary says what may be observed on a ball: groups of terms,
// each with a name, and a key to press. It is pure: it must not know where
// vocabularies are kept or how they are shown.
//
// A squad's vocabulary is versioned. Every change makes a new Edition; an
// observation names the edition in which it was made, so that its wording at
// that time can be looked up for ever. Group and term keys never change and
// are never re-used; a term that is no longer wanted is retired, not deleted.
package vocabulary

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"unicode/utf8"

	"netreel/media/fault"
)

// Term is one thing that may be seen: "Pull".
type Term struct {
	Key     string `json:"key"`     // "pull"; never changes
	Name    string `json:"name"`    // "Pull"
	Press   string `json:"press"`   // the key that puts it on a ball while its group is open; "" for none
	Retired bool   `json:"retired"` // no longer offered; old observations stay
}

// Group is a question asked of a ball: "Shot".
type Group struct {
	Key     string `json:"key"`
	Name    string `json:"name"`
	Press   string `json:"press"`   // pressed with Shift, opens the group
	Many    bool   `json:"many"`    // several terms may hold on one ball
	Ordered bool   `json:"ordered"` // the terms have an order: yorker, full, good ...
	Retired bool   `json:"retired"`
	Terms   []Term `json:"terms"`
}

// Edition is one state of a squad's vocabulary. Order is display order.
type Edition struct {
	Number int     `json:"number"` // 1, 2, 3 ...; 0 before it is kept
	Groups []Group `json:"groups"`
}

// Group returns the group with a key.
func (e Edition) Group(key string) (Group, bool) {
	for _, g := range e.Groups {
		if g.Key == key {
			return g, true
		}
	}
	return Group{}, false
}

// Term returns a term by its group's and its own key.
func (e Edition) Term(group, term string) (Term, bool) {
	g, ok := e.Group(group)
	if !ok {
		return Term{}, false
	}
	return g.term(term)
}

func (g Group) term(key string) (Term, bool) {
	for _, t := range g.Terms {
		if t.Key == key {
			return t, true
		}
	}
	return Term{}, false
}

// Offers says whether a term may be put on a ball under this edition.
func (e Edition) Offers(group, term string) bool {
	g, ok := e.Group(group)
	if !ok || g.Retired {
		return false
	}
	t, ok := g.term(term)
	return ok && !t.Retired
}

// Limits of a vocabulary, so that the coding page stays usable.
const (
	MaxGroups  = 40
	MaxTerms   = 40 // in one group
	MaxNameLen = 40 // characters
)

var keyPattern = regexp.MustCompile(`^[a-z][a-z0-9]*(-[a-z0-9]+)*$`)

// ValidKey says whether key is formed as the keys of groups and terms are.
func ValidKey(key string) bool { return len(key) <= maxKeyLen && keyPattern.MatchString(key) }

const maxKeyLen = 80

// reserved are words of a question (package find) beside the groups' keys. A
// group of such a key could not be asked for.
var reserved = []string{
	"player", "session", "block", "ball", "coder", "from", "to", "text", "uncoded", "sort", "not", "offset", "limit",
}

// Reserved says whether key is a word of a question itself, so that no group
// may bear it.
func Reserved(key string) bool { return slices.Contains(reserved, key) }

// reservedPresses are keys that the coding page needs for itself.
const reservedPresses = "[].,/?- "

// Validate checks an edition by itself: names present and unlike, keys well
// formed and unlike, one press per choice. It returns a fault.Invalid whose
// fields name each place ("groups.2.terms.0.name").
func (e Edition) Validate() error {
	v := validator{}
	if len(e.Groups) == 0 || len(e.Groups) > MaxGroups {
		v.add("groups", fmt.Sprintf("must be 1 to %d groups", MaxGroups))
	}
	keys, names, presses := seen{}, seen{}, seen{}
	for i, g := range e.Groups {
		at := fmt.Sprintf("groups.%d", i)
		v.entry(at, g.Key, g.Name, g.Press, g.Retired, keys, names, presses)
		if Reserved(g.Key) {
			v.add(at+".key", "is a word that questions need; choose another")
		}
		if len(g.Terms) > MaxTerms {
			v.add(at+".terms", fmt.Sprintf("at most %d terms", MaxTerms))
		}
		tk, tn, tp := seen{}, seen{}, seen{}
		for j, t := range g.Terms {
			v.entry(fmt.Sprintf("%s.terms.%d", at, j), t.Key, t.Name, t.Press, t.Retired, tk, tn, tp)
		}
	}
	return v.err("The vocabulary was not saved. Mend the marked places and save again.")
}

// Follows checks that e may come after an earlier edition: no group or term
// has gone (it may be retired), so that old observations keep their meaning.
func (e Edition) Follows(before Edition) error {
	v := validator{}
	for _, g := range before.Groups {
		now, ok := e.Group(g.Key)
		if !ok {
			v.add("groups", fmt.Sprintf("%q is missing; retire it instead", g.Name))
			continue
		}
		for _, t := range g.Terms {
			if _, ok := now.term(t.Key); !ok {
				v.add("groups", fmt.Sprintf("%q in %q is missing; retire it instead", t.Name, g.Name))
			}
		}
	}
	return v.err("Terms can't be deleted, because old observations use them. Retire them instead.")
}

// Key makes a key from a name that is not yet in use: "Wide of off" gives
// "wide-of-off", or "wide-of-off-2" when that is taken.
func Key(name string, taken func(string) bool) string {
	var b strings.Builder
	for _, r := range strings.ToLower(name) {
		switch {
		case r >= 'a' && r <= 'z' || r >= '0' && r <= '9':
			b.WriteRune(r)
		case b.Len() > 0 && !strings.HasSuffix(b.String(), "-"):
			b.WriteByte('-')
		}
	}
	base := strings.Trim(b.String(), "-")
	if base == "" || base[0] < 'a' {
		base = strings.TrimSuffix("term-"+base, "-")
	}
	for n, key := 2, base; ; n++ {
		if !taken(key) {
			return key
		}
		key = fmt.Sprintf("%s-%d", base, n)
	}
}

type seen map[string]bool

func (s seen) again(key string) bool {
	if s[key] {
		return true
	}
	s[key] = true
	return false
}

type validator struct{ fields []fault.Field }

func (v *validator) add(name, reason string) {
	v.fields = append(v.fields, fault.Field{Name: name, Reason: reason})
}

func (v *validator) entry(at, key, name, press string, retired bool, keys, names, presses seen) {
	switch {
	case !ValidKey(key):
		v.add(at+".key", "must be lower-case letters, digits and hyphens")
	case keys.again(key):
		v.add(at+".key", "is used twice")
	}
	trimmed := strings.TrimSpace(name)
	switch {
	case trimmed == "" || utf8.RuneCountInString(name) > MaxNameLen:
		v.add(at+".name", fmt.Sprintf("must be 1 to %d characters", MaxNameLen))
	case !retired && names.again(strings.ToLower(trimmed)):
		v.add(at+".name", "is used twice")
	}
	switch {
	case press == "" || retired:
	case utf8.RuneCountInString(press) != 1 || strings.Contains(reservedPresses, press) || press != strings.ToLower(press):
		v.add(at+".press", "must be one lower-case letter or digit")
	case presses.again(press):
		v.add(at+".press", "is used twice")
	}
}

func (v *validator) err(msg string) error {
	if len(v.fields) == 0 {
		return nil
	}
	return fault.New(fault.Invalid, "vocabulary", msg, v.fields...)
}
