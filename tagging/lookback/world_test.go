package lookback_test

import (
	"maps"
	"reflect"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"netreel/tagging"
	"netreel/tagging/find"
	"netreel/tagging/lookback"
	"netreel/tagging/vocabulary"
)

const (
	session = 3
	coach   = 11
	analyst = 12
)

// ball makes a ball that the coach coded: group, term, group, term ...
func ball(id int64, said ...string) lookback.Ball {
	b := lookback.Ball{ID: id, SessionID: session, BlockID: 1, PlayerID: 5, Number: int(id)}
	if len(said) > 0 {
		b.By = map[int64]lookback.Terms{coach: termsOf(said...)}
	}
	return b
}

func termsOf(said ...string) lookback.Terms {
	t := lookback.Terms{}
	for i := 0; i+1 < len(said); i += 2 {
		t[said[i]] = append(t[said[i]], said[i+1])
	}
	return t
}

func look(balls ...lookback.Ball) lookback.Lookback {
	return lookback.Look(lookback.Session{
		ID: session, Balls: balls, Vocabulary: vocabulary.Default(), Coder: coach,
		Blocks: []tagging.Block{{ID: 1, Name: "Short ball"}},
	})
}

func rateOf(t *testing.T, p lookback.Part, key string) lookback.Rate {
	t.Helper()
	i := slices.IndexFunc(p.Rates, func(r lookback.Rate) bool { return r.Key == key })
	require.GreaterOrEqual(t, i, 0)
	return p.Rates[i]
}

// opens is the plain reading of a question, without any of the package's help.
func opens(t assert.TestingT, question string, balls []lookback.Ball) []int64 {
	q, err := find.Parse(question)
	if !assert.NoError(t, err) {
		return nil
	}
	var ids []int64
	for _, b := range balls {
		seen, spoke := map[string][]string{}, len(q.Coders) == 0
		for coder, terms := range b.By {
			if len(q.Coders) > 0 && !slices.Contains(q.Coders, coder) {
				continue
			}
			spoke = true
			for g, list := range terms {
				seen[g] = append(seen[g], list...)
			}
		}
		said := maps.Clone(seen)
		if len(q.Coders) == 0 {
			for g, list := range b.Given {
				if len(seen[g]) == 0 {
					seen[g] = list
				}
			}
		}
		any := func(g string, terms []string) bool {
			return slices.ContainsFunc(seen[g], func(s string) bool { return slices.Contains(terms, s) })
		}
		among := func(ids []int64, id int64) bool { return len(ids) == 0 || slices.Contains(ids, id) }
		fits := spoke && among(q.Balls, b.ID) && among(q.Sessions, b.SessionID) && among(q.Players, b.PlayerID) && among(q.Blocks, b.BlockID)
		for key := range q.Measured {
			_, taken := b.Measured[key]
			fits = fits && taken
		}
		for g, terms := range q.Has {
			fits = fits && any(g, terms)
		}
		for g, terms := range q.Not {
			fits = fits && !any(g, terms)
		}
		for _, g := range q.Uncoded {
			fits = fits && len(said[g]) == 0
		}
		if fits {
			ids = append(ids, b.ID)
		}
	}
	return ids
}

// cells collects every cell of a look-back, wherever it is.
func cells(v reflect.Value, into *[]lookback.Cell) {
	switch v.Kind() {
	case reflect.Struct:
		if c, ok := reflect.TypeAssert[lookback.Cell](v); ok {
			*into = append(*into, c)
			return
		}
		for i := range v.NumField() {
			if v.Type().Field(i).IsExported() {
				cells(v.Field(i), into)
			}
		}
	case reflect.Slice:
		for i := range v.Len() {
			cells(v.Index(i), into)
		}
	default:
	}
}

// anyBalls are balls that two coders may have coded, not always alike.
func anyBalls(t *rapid.T) []lookback.Ball {
	e := vocabulary.Default()
	said := func(label string) lookback.Terms {
		terms := lookback.Terms{}
		for _, g := range e.Groups {
			if rapid.IntRange(0, 4).Draw(t, label+g.Key) == 0 {
				continue
			}
			keys := make([]string, len(g.Terms))
			for i, term := range g.Terms {
				keys[i] = term.Key
			}
			most := 1
			if g.Many {
				most = 3
			}
			terms[g.Key] = rapid.SliceOfNDistinct(rapid.SampledFrom(keys), 1, most, rapid.ID[string]).Draw(t, label+g.Key+" terms")
		}
		return terms
	}
	var balls []lookback.Ball
	for i := range rapid.IntRange(0, 20).Draw(t, "balls") {
		b := lookback.Ball{
			ID: int64(100 + i), Number: i + 1, SessionID: session, PlayerID: 5,
			BlockID: rapid.Int64Range(0, 2).Draw(t, "block"), By: map[int64]lookback.Terms{},
		}
		if rapid.IntRange(0, 5).Draw(t, "coach") > 0 {
			b.By[coach] = said("coach ")
		}
		if rapid.IntRange(0, 3).Draw(t, "analyst") == 0 {
			b.By[analyst] = said("analyst ")
		}
		if rapid.Bool().Draw(t, "given") {
			b.Given = termsOf("feed", rapid.SampledFrom([]string{"machine", "bowler"}).Draw(t, "feed"))
		}
		if rapid.IntRange(0, 2).Draw(t, "measured") == 0 {
			b.Measured = map[string]float64{"base-width": rapid.Float64Range(20, 90).Draw(t, "base-width")}
		}
		balls = append(balls, b)
	}
	return balls
}
