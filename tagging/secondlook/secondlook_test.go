package secondlook_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"netreel/tagging"
	"netreel/tagging/compare"
	"netreel/tagging/secondlook"
	"netreel/tagging/vocabulary"
)

// look is a finished second look with a ball for each pair of codes.
func look(groups []string, pairs ...[2]tagging.Codes) tagging.SecondLook {
	k := tagging.SecondLook{Groups: groups}
	for i, p := range pairs {
		k.Balls = append(k.Balls, tagging.LookBall{Ball: tagging.Ball{ID: int64(i + 1)}, First: p[0], Second: p[1], Done: true})
	}
	return k
}

func length(term string) tagging.Codes {
	if term == "" {
		return nil
	}
	return tagging.Codes{"length": {term}}
}

func TestOneOfAGroup(t *testing.T) {
	t.Parallel()
	k := look([]string{"length"},
		[2]tagging.Codes{length("full"), length("full")}, [2]tagging.Codes{length("full"), length("full")},
		[2]tagging.Codes{length("good"), length("good")}, [2]tagging.Codes{length("good"), length("full")},
		[2]tagging.Codes{length("short"), length("")}, [2]tagging.Codes{length(""), length("short")}, [2]tagging.Codes{nil, nil},
	)
	k.Balls = append(k.Balls, tagging.LookBall{Ball: tagging.Ball{ID: 99}, First: length("short")}) // not done
	groups := secondlook.Compare([]tagging.SecondLook{k}, vocabulary.Default(), .6)
	require.Len(t, groups, 1)
	g := groups[0]
	assert.Equal(t, "Length", g.Name)
	assert.Equal(t, []string{"Full", "Good length"}, g.Names)
	assert.Equal(t, [][]int{{2, 0}, {1, 1}}, g.Table.Cells)
	assert.Equal(t, [][][]int64{{{1, 2}, nil}, {{4}, {3}}}, g.Cells)
	assert.Equal(t, []int64{5}, g.OnlyFirst)
	assert.Equal(t, []int64{6}, g.OnlySecond)
	assert.Equal(t, []int64{7}, g.Neither)
	assert.Equal(t, compare.Rate{Hits: 3, Of: 4}, g.Alike)
	assert.InDelta(t, .5, g.Kappa.Value, 1e-12) // po 3/4, pe (2*3 + 2*1)/16
	assert.True(t, g.KappaWeighted.Known(), "of an ordered group")
	assert.Equal(t, compare.Untrusted, g.Terms[0].Trust)
	assert.Equal(t, []int64{1, 2}, g.Terms[0].InBoth)
	assert.Empty(t, g.Terms[0].InFirst)
	assert.Equal(t, []int64{4}, g.Terms[0].InSecond)
	assert.Contains(t, g.Text(), "The same on 3 of 4 balls; beyond chance 0.50 (")
	assert.Equal(t, compare.Trusted, secondlook.Compare([]tagging.SecondLook{k}, vocabulary.Default(), .4)[0].Terms[0].Trust)

	double := secondlook.Compare([]tagging.SecondLook{k, k}, vocabulary.Default(), .6)
	assert.Equal(t, compare.Rate{Hits: 6, Of: 8}, double[0].Alike)
}

func TestSeveralOfAGroup(t *testing.T) {
	t.Parallel()
	hands := func(terms ...string) tagging.Codes { return tagging.Codes{"hands": terms} }
	g := secondlook.Compare([]tagging.SecondLook{look([]string{"hands"},
		[2]tagging.Codes{hands("high", "early"), hands("early", "high")}, [2]tagging.Codes{hands("high"), hands()},
		[2]tagging.Codes{hands(), hands("late")}, [2]tagging.Codes{hands(), hands()}, [2]tagging.Codes{hands("high"), hands("high")},
	)}, vocabulary.Default(), .6)[0]
	assert.True(t, g.Many)
	assert.Empty(t, g.Table.Cells)
	assert.Equal(t, "The same on 3 of 5 balls.", g.Text())
	require.Len(t, g.Terms, 3, "those that somebody saw")
	assert.Equal(t, "High hands", g.Terms[0].Name)
	assert.Equal(t, []int64{1, 5}, g.Terms[0].InBoth)
	assert.Equal(t, []int64{2}, g.Terms[0].InFirst)
	assert.Equal(t, 5, g.Terms[0].Of)
	assert.Equal(t, 1., g.Terms[1].Kappa.Value)
	assert.Equal(t, compare.Trusted, g.Terms[1].Trust)
	assert.Equal(t, "late", g.Terms[2].Term)
	assert.InDelta(t, 0, g.Terms[2].Kappa.Value, 1e-12)
}

func TestLittleToCompare(t *testing.T) {
	t.Parallel()
	words := vocabulary.Default()
	assert.Empty(t, secondlook.Compare(nil, words, .6))
	assert.Empty(t, secondlook.Compare([]tagging.SecondLook{look([]string{"length"})}, words, .6))
	none := secondlook.Compare([]tagging.SecondLook{look([]string{"length"}, [2]tagging.Codes{length("full"), nil})}, words, .6)
	assert.Equal(t, "There is no ball on which both said something.", none[0].Text())
	one := secondlook.Compare([]tagging.SecondLook{look([]string{"length"}, [2]tagging.Codes{length("full"), length("full")})}, words, .6)
	assert.Equal(t, "The same on 1 of 1 balls; beyond chance it is not defined: only one term was used.", one[0].Text())
	assert.Equal(t, compare.Unproven, one[0].Terms[0].Trust)
}

// Every ball is counted once, wherever it goes, and a table's margins are its
// terms' balls.
func TestEveryBallIsCountedOnce(t *testing.T) {
	t.Parallel()
	words := vocabulary.Default()
	group, _ := words.Group("shot")
	rapid.Check(t, func(t *rapid.T) {
		terms := []string{""}
		for _, term := range group.Terms {
			terms = append(terms, term.Key)
		}
		said := rapid.Map(rapid.SampledFrom(terms), func(s string) tagging.Codes {
			if s == "" {
				return nil
			}
			return tagging.Codes{"shot": {s}}
		})
		var pairs [][2]tagging.Codes
		for i := range rapid.IntRange(1, 60).Draw(t, "balls") {
			pairs = append(pairs, [2]tagging.Codes{said.Draw(t, fmt.Sprint(i)), said.Draw(t, fmt.Sprint(i))})
		}
		g := secondlook.Compare([]tagging.SecondLook{look([]string{"shot"}, pairs...)}, words, .6)[0]
		seen := len(g.OnlyFirst) + len(g.OnlySecond) + len(g.Neither)
		for _, row := range g.Cells {
			for _, cell := range row {
				seen += len(cell)
			}
		}
		assert.Equal(t, len(pairs), seen)
		for _, term := range g.Terms {
			assert.Equal(t, term.First, len(term.InBoth)+len(term.InFirst))
			assert.Equal(t, term.Second, len(term.InBoth)+len(term.InSecond))
		}
		assert.NotContains(t, g.Text(), "NaN")
	})
}
