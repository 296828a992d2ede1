package tagging_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"netreel/media"
	"netreel/tagging"
)

// at makes a delivery from seconds; contact 0 means none.
func at(start, contact, end float64) media.Delivery {
	d := media.Delivery{Start: media.FromSeconds(start), End: media.FromSeconds(end), Confidence: 0.9}
	if contact != 0 {
		c := media.FromSeconds(contact)
		d.Contact = &c
	}
	return d
}

func ball(id int64, d media.Delivery) tagging.Known {
	return tagging.Known{ID: id, Span: d.Span(), Contact: d.Contact}
}

func kept(k tagging.Known) tagging.Known { k.Kept = true; return k }

func discarded(k tagging.Known) tagging.Known { k.Kept, k.Discarded = true, true; return k }

func TestResplit(t *testing.T) {
	t.Parallel()
	first := at(1, 3, 4.5)
	cases := []struct {
		name      string
		known     []tagging.Known
		proposals []media.Delivery
		placed    []tagging.Placement
		gone      []int64
	}{
		{"a first split", nil, []media.Delivery{first}, []tagging.Placement{{Delivery: first}}, nil},
		{"the same again", []tagging.Known{ball(7, first)}, []media.Delivery{first}, []tagging.Placement{{BallID: 7, Delivery: first}}, nil},
		{
			"shifted by less than half", []tagging.Known{ball(7, first)}, []media.Delivery{at(2, 3.1, 5)},
			[]tagging.Placement{{BallID: 7, Moves: true, Delivery: at(2, 3.1, 5)}}, nil,
		},
		{
			"shifted by more than half is another ball", []tagging.Known{ball(7, first)}, []media.Delivery{at(3.5, 5, 7)},
			[]tagging.Placement{{Delivery: at(3.5, 5, 7)}}, []int64{7},
		},
		{"found no more", []tagging.Known{ball(7, first)}, nil, nil, []int64{7}},
		{"found no more but kept", []tagging.Known{kept(ball(7, first))}, nil, nil, nil},
		{"discarded stays discarded", []tagging.Known{discarded(ball(7, first))}, []media.Delivery{first}, []tagging.Placement{{BallID: 7, Delivery: first}}, nil},
		{
			"kept keeps its edges", []tagging.Known{kept(ball(7, first))}, []media.Delivery{at(1.5, 3, 5)},
			[]tagging.Placement{{BallID: 7, Delivery: at(1.5, 3, 5)}}, nil,
		},
		{
			"moment in a long ball that a person made", []tagging.Known{kept(ball(7, at(0, 9, 10))), kept(ball(8, at(2.5, 3, 3.6)))},
			[]media.Delivery{at(1, 3, 4.5), at(5, 6, 7)},
			[]tagging.Placement{{BallID: 7, Delivery: at(1, 3, 4.5)}}, nil,
		},
		{
			"trimmed where it only touches one", []tagging.Known{kept(ball(7, at(0, 1, 2)))}, []media.Delivery{at(1.5, 3, 4.5)},
			[]tagging.Placement{{Delivery: at(2, 3, 4.5)}}, nil,
		},
		{
			"not trimmed by a discarded one", []tagging.Known{discarded(ball(7, at(0, 1, 2)))}, []media.Delivery{at(1.5, 3, 4.5)},
			[]tagging.Placement{{Delivery: at(1.5, 3, 4.5)}}, nil,
		},
		{
			"a second camera sees the same balls",
			[]tagging.Known{{ID: 7, Span: first.Span(), Contact: first.Contact, Elsewhere: true}},
			[]media.Delivery{at(1.4, 3.2, 4.8), at(8, 9, 10)},
			[]tagging.Placement{{BallID: 7, Delivery: at(1.4, 3.2, 4.8)}, {Proposal: 1, Delivery: at(8, 9, 10)}}, nil,
		},
		{
			"gone here but seen by another camera",
			[]tagging.Known{{ID: 7, Span: first.Span(), Contact: first.Contact, Elsewhere: true}}, nil, nil, nil,
		},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			placed, gone := tagging.Resplit(c.known, c.proposals)
			assert.Equal(t, c.placed, placed)
			assert.Equal(t, c.gone, gone)
		})
	}
}

func proposals(t *rapid.T, label string) []media.Delivery {
	var out []media.Delivery
	from := media.Micros(0)
	for range rapid.IntRange(0, 8).Draw(t, label+" count") {
		d := media.Delivery{Start: from + media.Micros(rapid.Int64Range(0, 40).Draw(t, label+" gap"))}
		d.End = d.Start + media.Micros(rapid.Int64Range(4, 40).Draw(t, label+" length"))
		if rapid.Bool().Draw(t, label+" struck") {
			c := media.Micros(rapid.Int64Range(int64(d.Start), int64(d.End-1)).Draw(t, label+" contact"))
			d.Contact = &c
		}
		out, from = append(out, d), d.End
	}
	return out
}

func TestResplitLaws(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		var known []tagging.Known
		before := map[int64]tagging.Known{}
		for i, d := range proposals(t, "known") {
			k := ball(int64(i+1), d)
			k.Kept = rapid.Bool().Draw(t, "kept")
			k.Discarded = k.Kept && rapid.Bool().Draw(t, "discarded")
			k.Elsewhere = rapid.Bool().Draw(t, "elsewhere")
			known, before[k.ID] = append(known, k), k
		}
		found := proposals(t, "found")
		placed, gone := tagging.Resplit(known, found)

		for _, id := range gone {
			if before[id].Kept || before[id].Elsewhere {
				t.Fatalf("ball %d is gone though somebody keeps it or another camera sees it", id)
			}
		}
		after := apply(known, placed, gone)
		for _, k := range after {
			was, there := before[k.ID]
			if there && (was.Kept || was.Elsewhere) && (k.Span != was.Span || k.Contact != was.Contact) {
				t.Fatalf("kept ball %d was changed", k.ID)
			}
			if k.Contact != nil && !there && (*k.Contact < k.Span.Start || *k.Contact > k.Span.End) {
				t.Fatalf("contact of a new ball outside it")
			}
		}
		for i, a := range after {
			for _, b := range after[i+1:] {
				if a.Span.Overlap(b.Span) > 0 && !a.Discarded && !b.Discarded {
					t.Fatalf("balls %d %v and %d %v overlap", a.ID, a.Span, b.ID, b.Span)
				}
			}
		}
		again, goneAgain := tagging.Resplit(after, found)
		if len(goneAgain) > 0 {
			t.Fatalf("the second time %v are gone", goneAgain)
		}
		for _, p := range again {
			if p.BallID == 0 || p.Moves {
				t.Fatalf("the second time %+v", p)
			}
		}
	})
}

// apply does to the known balls what a store does with an outcome.
func apply(known []tagging.Known, placed []tagging.Placement, gone []int64) []tagging.Known {
	out := []tagging.Known{}
	dropped := map[int64]bool{}
	for _, id := range gone {
		dropped[id] = true
	}
	moved := map[int64]media.Delivery{}
	for _, p := range placed {
		if p.Moves {
			moved[p.BallID] = p.Delivery
		}
	}
	for _, k := range known {
		if dropped[k.ID] {
			continue
		}
		if d, ok := moved[k.ID]; ok {
			k.Span, k.Contact = d.Span(), d.Contact
		}
		out = append(out, k)
	}
	for i, p := range placed {
		if p.BallID == 0 {
			out = append(out, ball(int64(1000+i), p.Delivery))
		}
	}
	return out
}
