package find_test

import (
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"netreel/media/fault"
	"netreel/tagging/find"
)

func TestParse(t *testing.T) {
	t.Parallel()
	cases := []struct {
		name, query string
		want        find.Question
		printed     string
	}{
		{"nothing", "", find.Question{}, ""},
		{"one term", "shot=pull", find.Question{Has: map[string][]string{"shot": {"pull"}}}, "shot=pull"},
		{
			"all of it",
			"shot=pull,cut&base=narrow&not.contact=missed&player=3,2&text=late%20hands&from=2026-01-01&to=2026-02-01&session=4&block=5&ball=8,7&coder=6&uncoded=feet,bat",
			find.Question{
				Has: map[string][]string{"shot": {"cut", "pull"}, "base": {"narrow"}}, Not: map[string][]string{"contact": {"missed"}},
				Uncoded: []string{"bat", "feet"}, Players: []int64{2, 3}, Sessions: []int64{4}, Blocks: []int64{5}, Balls: []int64{7, 8}, Coders: []int64{6},
				From: "2026-01-01", To: "2026-02-01", Text: "late hands",
			},
			"ball=7,8&base=narrow&block=5&coder=6&from=2026-01-01&not.contact=missed&player=2,3&session=4&shot=cut,pull&text=late+hands&to=2026-02-01&uncoded=bat,feet",
		},
		{"repeats and empty choices", "shot=pull&shot=pull,,cut&base=", find.Question{Has: map[string][]string{"shot": {"cut", "pull"}}}, "shot=cut,pull"},
		{"a group nobody knows is kept", "grip=low", find.Question{Has: map[string][]string{"grip": {"low"}}}, "grip=low"},
		{"has and not of one group", "shot=pull&not.shot=cut", find.Question{
			Has: map[string][]string{"shot": {"pull"}}, Not: map[string][]string{"shot": {"cut"}},
		}, "not.shot=cut&shot=pull"},
		{
			"measures in ranges, sorted", "sort=-base-width&measured.base-width=..55&measured.head-over-base=-0.5..1e1&measured.knee=..",
			find.Question{Sort: "-base-width", Measured: map[string]find.Range{
				"base-width": {High: new(55.0)}, "head-over-base": {Low: new(-0.5), High: new(10.0)}, "knee": {},
			}},
			"measured.base-width=..55&measured.head-over-base=-0.5..10&measured.knee=..&sort=-base-width",
		},
		{"a measure without a range asks nothing", "measured.knee=", find.Question{}, ""},
		{"paging is passed over", "offset=60&limit=60", find.Question{}, ""},
		{"escapes in text", "text=%22front+foot%22+-late%26x", find.Question{Text: `"front foot" -late&x`}, "text=%22front+foot%22+-late%26x"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			got, err := find.Parse(c.query)
			require.NoError(t, err)
			assert.Equal(t, c.want, got)
			assert.Equal(t, c.printed, got.String())
		})
	}
}

func TestParseRefuses(t *testing.T) {
	t.Parallel()
	cases := []struct{ name, query, field string }{
		{"a damaged escape", "text=%zz", ""},
		{"a filter that is no key", "Shot!=pull", "Shot!"},
		{"a term that is no key", "shot=Pull+Shot", "shot"},
		{"a negated word of the question itself", "not.player=3", "not.player"},
		{"not without a group", "not.=pull", "not."},
		{"a player that is no number", "player=anna", "player"},
		{"a player below one", "player=0", "player"},
		{"a player beyond numbers", "player=99999999999999999999", "player"},
		{"a date in words", "from=yesterday", "from"},
		{"a day that is not in the calendar", "from=2026-02-30", "from"},
		{"a year before the game was filmed", "from=0000-01-01", "from"},
		{"a range without dots", "measured.knee=55", "measured.knee"},
		{"a range the wrong way round", "measured.knee=60..50", "measured.knee"},
		{"a range that is no number", "measured.knee=narrow..50", "measured.knee"},
		{"a range beyond numbers", "measured.knee=..Inf", "measured.knee"},
		{"a range of not a number", "measured.knee=NaN..", "measured.knee"},
		{"a measure that is no key", "measured.Knee!=..50", "measured.Knee!"},
		{"an order by what is no key", "sort=Base+Width", "sort"},
		{"two dates", "from=2026-01-01,2026-01-02", "from"},
		{"dates the wrong way round", "from=2026-02-01&to=2026-01-01", "to"},
		{"too many choices", "shot=" + strings.Repeat("pull,", find.MaxChoices+1), "shot"},
		{"too many balls", "ball=" + strings.Repeat("1,", find.MaxBalls+1), "ball"},
		{"a text too long", "text=" + strings.Repeat("a", find.MaxText+1), "text"},
		{"a text with a null", "text=a%00b", "text"},
		{"a text that is not UTF-8", "text=%ff", "text"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			_, err := find.Parse(c.query)
			require.Error(t, err)
			assert.Equal(t, fault.Invalid, fault.KindOf(err))
			assert.NotEmpty(t, fault.Message(err))
			if c.field != "" {
				var f *fault.Error
				require.ErrorAs(t, err, &f)
				require.NotEmpty(t, f.Fields)
				assert.Equal(t, c.field, f.Fields[0].Name)
			}
		})
	}
}

func TestWithout(t *testing.T) {
	t.Parallel()
	q, err := find.Parse("shot=pull&not.shot=cut&uncoded=shot,feet&base=narrow&player=1&session=2&block=3&coder=4")
	require.NoError(t, err)
	before := q.String()
	for facet, want := range map[string]string{
		"shot":    "base=narrow&block=3&coder=4&player=1&session=2&uncoded=feet",
		"player":  "base=narrow&block=3&coder=4&not.shot=cut&session=2&shot=pull&uncoded=feet,shot",
		"session": "base=narrow&block=3&coder=4&not.shot=cut&player=1&shot=pull&uncoded=feet,shot",
		"block":   "base=narrow&coder=4&not.shot=cut&player=1&session=2&shot=pull&uncoded=feet,shot",
		"coder":   "base=narrow&block=3&not.shot=cut&player=1&session=2&shot=pull&uncoded=feet,shot",
		"line":    before,
	} {
		assert.Equal(t, want, q.Without(facet).String(), facet)
	}
	assert.Equal(t, before, q.String(), "the question itself is as it was")
	assert.Equal(t, []string{"base", "feet", "shot"}, q.Groups())
}

func questions() *rapid.Generator[find.Question] {
	key := rapid.StringMatching(`[a-z][a-z0-9]{0,6}(-[a-z0-9]{1,4})?`)
	group := rapid.StringMatching(`g[a-z0-9]{0,6}(-[a-z0-9]{1,4})?`) // no word of the question begins with g
	groups := rapid.MapOfN(group, rapid.SliceOfN(key, 0, 4), 0, 4)
	ids := rapid.SliceOfN(rapid.Int64Range(1, 1<<62), 0, 4)
	return rapid.Custom(func(t *rapid.T) find.Question {
		return find.Question{
			Has: groups.Draw(t, "has"), Not: groups.Draw(t, "not"), Uncoded: rapid.SliceOfN(group, 0, 3).Draw(t, "uncoded"),
			Players: ids.Draw(t, "players"), Sessions: ids.Draw(t, "sessions"),
			Blocks: ids.Draw(t, "blocks"), Balls: ids.Draw(t, "balls"), Coders: ids.Draw(t, "coders"),
			From: rapid.SampledFrom([]string{"", "2025-12-31", "2026-01-01"}).Draw(t, "from"),
			To:   rapid.SampledFrom([]string{"", "2026-01-01", "2026-06-30"}).Draw(t, "to"),
			Text: rapid.StringMatching(`[ -~äß本]{0,30}`).Draw(t, "text"),
			Sort: rapid.StringMatching(`|-?g[a-z0-9]{0,6}`).Draw(t, "sort"),
			Measured: rapid.MapOfN(key, rapid.Custom(func(t *rapid.T) find.Range {
				a, b := rapid.Float64Range(-1e6, 1e6).Draw(t, "a"), rapid.Float64Range(-1e6, 1e6).Draw(t, "b")
				r := find.Range{Low: new(min(a, b)), High: new(max(a, b))}
				if rapid.Bool().Draw(t, "open") {
					r.High = nil
				}
				return r
			}), 0, 3).Draw(t, "measured"),
		}
	})
}

func TestParseReadsWhatStringPrints(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		q := questions().Draw(t, "question")
		got, err := find.Parse(q.String())
		if err != nil {
			t.Fatalf("%q: %v", q.String(), err)
		}
		assert.Equal(t, q.Normal(), got)
		assert.Equal(t, q.String(), got.String())
		// The standard library reads the printed form to the same filters.
		values, err := url.ParseQuery(q.String())
		if err != nil {
			t.Fatal(err)
		}
		assert.Equal(t, q.Normal().Text, values.Get("text"))
	})
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"", "shot=pull,cut&not.base=narrow", "text=%22a%22", "player=1&from=2026-01-01", "=&&;;%", "not.not.a=b"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, query string) {
		q, err := find.Parse(query)
		if err != nil {
			if fault.KindOf(err) != fault.Invalid {
				t.Fatalf("kind %v", fault.KindOf(err))
			}
			return
		}
		again, err := find.Parse(q.String())
		if err != nil {
			t.Fatalf("%q printed as %q: %v", query, q.String(), err)
		}
		assert.Equal(t, q, again)
	})
}
