package split

import (
	"math"
	"slices"

	"netreel/media"
)

// Scorecard says how well found balls agree with the truth.
type Scorecard struct {
	Found, True, Matched  int
	Recall, Precision, F1 float64 // 1 when there was nothing to find and nothing was found
	// ContactMedian and ContactP95 are quantiles of the distance between found
	// and true contact, over matched balls in which both were struck.
	ContactMedian, ContactP95 media.Micros
	// Contacts counts matched balls in which both were struck; StruckRight
	// counts matched balls for which struck or not was told rightly.
	Contacts, StruckRight int
	// Coverage is the share of the true balls' time that lies inside found
	// balls; a ball that was not found counts as not covered.
	Coverage float64
}

// Score compares found balls with true ones, both ascending. Each is matched
// at most once, in order of time: two balls with a contact match when their
// contacts are at most tolerance apart; if one of them was not struck they
// match when they share at least half of the shorter one's span.
func Score(found, truth []media.Delivery, tolerance media.Micros) Scorecard {
	s := Scorecard{Found: len(found), True: len(truth)}
	var errors []media.Micros
	var covered, all media.Micros
	i := 0
	for _, t := range truth {
		all += t.Span().Length()
		for _, f := range found {
			covered += f.Span().Overlap(t.Span())
		}
		j := i
		for j < len(found) && !matches(found[j], t, tolerance) && found[j].Start <= t.End {
			j++
		}
		if j == len(found) || !matches(found[j], t, tolerance) {
			continue
		}
		f := found[j]
		i = j + 1
		s.Matched++
		if (f.Contact == nil) == (t.Contact == nil) {
			s.StruckRight++
		}
		if f.Contact != nil && t.Contact != nil {
			errors = append(errors, max(*f.Contact-*t.Contact, *t.Contact-*f.Contact))
		}
	}
	s.Contacts = len(errors)
	slices.Sort(errors)
	if n := len(errors); n > 0 {
		s.ContactMedian = errors[n/2]
		s.ContactP95 = errors[min(int(math.Ceil(0.95*float64(n)))-1, n-1)]
	}
	s.Recall = share(s.Matched, s.True)
	s.Precision = share(s.Matched, s.Found)
	if s.Recall+s.Precision > 0 {
		s.F1 = 2 * s.Recall * s.Precision / (s.Recall + s.Precision)
	}
	s.Coverage = 1
	if all > 0 {
		s.Coverage = float64(covered) / float64(all)
	}
	return s
}

func share(part, whole int) float64 {
	if whole == 0 {
		return 1
	}
	return float64(part) / float64(whole)
}

func matches(f, t media.Delivery, tolerance media.Micros) bool {
	if f.Contact != nil && t.Contact != nil {
		return max(*f.Contact-*t.Contact, *t.Contact-*f.Contact) <= tolerance
	}
	short := min(f.Span().Length(), t.Span().Length())
	return short > 0 && 2*f.Span().Overlap(t.Span()) >= short
}
