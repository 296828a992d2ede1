package main

import (
	"fmt"
	"hash/fnv"
	"io"
	"math"
	"slices"

	"netreel/media"
	"netreel/media/scene/plain"
	"netreel/media/split"
)

// A ball is marked by one moment, contact or passing. Contacts must agree to a
// quarter of a second; where either was not struck, the moments must agree to
// markReach.
const (
	markTolerance = media.Second / 4
	markReach     = media.Second / 2
)

// mark is a ball as a mark: a stretch of markReach to either side of its moment
// makes split.Score ask for that.
func mark(at media.Micros, struck bool) media.Delivery {
	d := media.Delivery{Start: at - markReach, End: at + markReach}
	if struck {
		d.Contact = &at
	}
	return d
}

func trueMarks(w *plain.World) []media.Delivery {
	var out []media.Delivery
	for _, b := range w.Balls {
		out = append(out, mark(media.FromSeconds(b.Passing), b.Struck))
	}
	return out
}

// sceneName names a scene's files by all that they depend on.
func sceneName(s plain.Setting) string {
	h := fnv.New64a()
	fmt.Fprintf(h, "%+v", s)
	return fmt.Sprintf("plain-%d-%016x", s.Seed, h.Sum64())
}

// tally sums what was found over scenes.
type tally struct {
	found, real, matched int
	errors               []media.Micros
	f1                   []float64
}

func (t *tally) add(s split.Scorecard, errors []media.Micros) {
	t.found, t.real, t.matched = t.found+s.Found, t.real+s.True, t.matched+s.Matched
	t.errors = append(t.errors, errors...)
	t.f1 = append(t.f1, s.F1)
}

func (t *tally) recall() float64    { return float64(t.matched) / float64(max(t.real, 1)) }
func (t *tally) precision() float64 { return float64(t.matched) / float64(max(t.found, 1)) }
func (t *tally) harmonic() float64 {
	return 2 * float64(t.matched) / float64(max(t.found+t.real, 1))
}

// evaluation prints scene by scene and sums up.
type evaluation struct {
	out           io.Writer
	detail        bool
	sound, mute   tally
	batless       tally // balls with no bat sound, where there is sound
	reference     []float64
	falseBalls    int
	emptyMinutes  float64
	stated, held  [10]float64 // by tenths of confidence: how many, how many were balls
	statedSum     [10]float64
	struckRight   int
	struckMatched int
}

func (e *evaluation) head() {
	fmt.Fprintf(e.out, "%-40s %5s %6s %6s %6s %7s %7s %6s %6s %6s\n", "scene", "balls", "recall", "precis", "F1", "contact", "95 %", "cover", "no bat", "onsets")
}

// scene scores what was found in one scene; reference is the F1 of a
// general-purpose detector, negative if it was not asked.
func (e *evaluation) scene(w *plain.World, r split.Result, reference float64) {
	truth := trueMarks(w)
	var found []media.Delivery
	for _, b := range r.Above(r.Cut) {
		found = append(found, mark(b.Passing, b.Contact != nil))
	}
	s := split.Score(found, truth, markTolerance)
	errors := contactErrors(found, truth, w.Distance)
	if len(truth) == 0 {
		e.falseBalls += len(found)
		e.emptyMinutes += w.Seconds / 60
		fmt.Fprintf(e.out, "%-40s %5d %d false balls in %.1f minutes\n", w.Name, 0, len(found), w.Seconds/60)
	} else {
		sum := &e.sound
		if w.Mute || w.Silent {
			sum = &e.mute
		}
		sum.add(s, errors)
		var spans []media.Delivery
		for _, b := range w.Balls {
			spans = append(spans, media.Delivery{Start: media.FromSeconds(b.Release), End: media.FromSeconds(b.End)})
		}
		cover := split.Score(r.Deliveries, spans, markTolerance).Coverage
		left := split.Score(unstruck(found), unstruck(truth), markTolerance)
		batless := "     -"
		if !w.Mute && !w.Silent {
			e.batless.add(left, nil)
			batless = fmt.Sprintf("%6.3f", left.F1)
			e.struckRight += s.StruckRight
			e.struckMatched += s.Matched
		}
		onsets := "     -"
		if reference >= 0 {
			e.reference = append(e.reference, reference)
			onsets = fmt.Sprintf("%6.3f", reference)
		}
		fmt.Fprintf(e.out, "%-40s %5d %6.3f %6.3f %6.3f %4d ms %4d ms %6.3f %s %s\n", w.Name, len(truth), s.Recall, s.Precision, s.F1,
			quantile(errors, 0.5)/1000, quantile(errors, 0.95)/1000, cover, batless, onsets)
	}
	e.calibrate(r.Balls, truth)
	if e.detail {
		e.list(r, truth)
	}
}

// list names what was missed and what was found in error, with its evidence.
func (e *evaluation) list(r split.Result, truth []media.Delivery) {
	above := r.Above(r.Cut)
	for _, t := range truth {
		if !slices.ContainsFunc(above, func(b split.Ball) bool { return agrees(b, t) }) {
			fmt.Fprintf(e.out, "    missed %.2f struck %v", middle(t).Seconds(), t.Contact != nil)
			for _, b := range r.Balls {
				if off := (b.Passing - middle(t)).Seconds(); math.Abs(off) < 1.2 {
					fmt.Fprintf(e.out, "  [%+.2f %.2f struck %v %q]", off, b.Confidence, b.Contact != nil, b.Evidence)
				}
			}
			fmt.Fprintln(e.out)
		}
	}
	for _, b := range above {
		if !slices.ContainsFunc(truth, func(t media.Delivery) bool { return agrees(b, t) }) {
			fmt.Fprintf(e.out, "    false %.2f conf %.2f struck %v %q\n", b.Passing.Seconds(), b.Confidence, b.Contact != nil, b.Evidence)
		}
	}
	for _, n := range r.Notes {
		fmt.Fprintln(e.out, "    note:", n)
	}
}

func middle(d media.Delivery) media.Micros { return (d.Start + d.End) / 2 }

// agrees says whether a found ball is a true one.
func agrees(b split.Ball, t media.Delivery) bool {
	f := mark(b.Passing, b.Contact != nil)
	return split.Score([]media.Delivery{f}, []media.Delivery{t}, markTolerance).Matched == 1
}

// calibrate counts, for each tenth of stated confidence, how often it was a
// ball; of several candidates for one ball the surest counts as it.
func (e *evaluation) calibrate(balls []split.Ball, truth []media.Delivery) {
	taken := make([]bool, len(truth))
	order := slices.Clone(balls)
	slices.SortStableFunc(order, func(a, b split.Ball) int { return int(1e6 * (b.Confidence - a.Confidence)) })
	for _, b := range order {
		k := min(int(b.Confidence*10), 9)
		e.stated[k]++
		e.statedSum[k] += b.Confidence
		for i, t := range truth {
			if !taken[i] && agrees(b, t) {
				taken[i] = true
				e.held[k]++
				break
			}
		}
	}
}

// contactErrors are the distances between found and true contacts, against the
// moment it happens or the moment its sound reaches the microphone, whichever
// is nearer.
func contactErrors(found, truth []media.Delivery, distance float64) []media.Micros {
	late := media.FromSeconds(distance / 343)
	var out []media.Micros
	for _, t := range truth {
		for _, f := range found {
			if t.Contact == nil || f.Contact == nil {
				continue
			}
			d := *f.Contact - *t.Contact
			if off := min(max(d, -d), max(d-late, late-d)); off <= markTolerance {
				out = append(out, off)
				break
			}
		}
	}
	slices.Sort(out)
	return out
}

func unstruck(list []media.Delivery) []media.Delivery {
	return slices.DeleteFunc(slices.Clone(list), func(d media.Delivery) bool { return d.Contact != nil })
}

// quantile of an ascending list, 0 of an empty one.
func quantile(sorted []media.Micros, q float64) media.Micros {
	if len(sorted) == 0 {
		return 0
	}
	return sorted[min(int(math.Ceil(q*float64(len(sorted))))-1, len(sorted)-1)]
}

func mean(list []float64) (sum float64) {
	for _, v := range list {
		sum += v / float64(len(list))
	}
	return sum
}

func (e *evaluation) overall() {
	line := func(name string, t tally) {
		if t.real == 0 {
			return
		}
		slices.Sort(t.errors)
		fmt.Fprintf(e.out, "%-28s recall %.3f  precision %.3f  F1 %.3f (mean of scenes %.3f)", name, t.recall(), t.precision(), t.harmonic(), mean(t.f1))
		if len(t.errors) > 0 {
			fmt.Fprintf(e.out, "  contact %d ms, 95 %% %d ms", quantile(t.errors, 0.5)/1000, quantile(t.errors, 0.95)/1000)
		}
		fmt.Fprintln(e.out)
	}
	fmt.Fprintln(e.out)
	line("all scenes with sound", e.sound)
	line("all scenes without", e.mute)
	line("balls with no bat sound", e.batless)
	if e.struckMatched > 0 {
		fmt.Fprintf(e.out, "%-28s right in %.3f of the balls found\n", "struck or not", float64(e.struckRight)/float64(e.struckMatched))
	}
	if e.emptyMinutes > 0 {
		fmt.Fprintf(e.out, "%-28s %.2f false balls a minute\n", "where there is no ball", float64(e.falseBalls)/e.emptyMinutes)
	}
	if len(e.reference) > 0 {
		fmt.Fprintf(e.out, "%-28s F1 %.3f at its best threshold for each file (general-purpose onset detector)\n", "for scale", mean(e.reference))
	}
	fmt.Fprintln(e.out, "\nconfidence     stated   held  candidates")
	for k, n := range e.stated {
		if n > 0 {
			fmt.Fprintf(e.out, "%.1f to %.1f      %.3f  %.3f  %10.0f\n", float64(k)/10, float64(k+1)/10, e.statedSum[k]/n, e.held[k]/n, n)
		}
	}
}
