package vocabulary_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media/fault"
	"netreel/tagging/vocabulary"
)

func TestDefaultIsValid(t *testing.T) {
	t.Parallel()
	e := vocabulary.Default()
	require.NoError(t, e.Validate())
	assert.True(t, e.Offers("shot", "pull"))
	assert.False(t, e.Offers("shot", "narrow"), "a term belongs to its group")
	for _, g := range e.Groups {
		for _, term := range g.Terms {
			assert.NotEmpty(t, term.Press, "%s:%s can be put on a ball with one key", g.Key, term.Key)
		}
	}
}

func TestValidate(t *testing.T) {
	t.Parallel()
	cases := []struct {
		name   string
		change func(*vocabulary.Edition)
		field  string // "" when it stays valid
	}{
		{"untouched", func(*vocabulary.Edition) {}, ""},
		{"no groups", func(e *vocabulary.Edition) { e.Groups = nil }, "groups"},
		{"blank name", func(e *vocabulary.Edition) { e.Groups[0].Terms[1].Name = "  " }, "groups.0.terms.1.name"},
		{"long name", func(e *vocabulary.Edition) { e.Groups[1].Name = strings.Repeat("x", 41) }, "groups.1.name"},
		{"name twice", func(e *vocabulary.Edition) { e.Groups[0].Terms[1].Name = "FAST" }, "groups.0.terms.1.name"},
		{"name of a retired term is free", func(e *vocabulary.Edition) {
			e.Groups[0].Terms[0].Retired = true
			e.Groups[0].Terms[1].Name = "Fast"
		}, ""},
		{"key twice", func(e *vocabulary.Edition) { e.Groups[0].Terms[1].Key = "fast" }, "groups.0.terms.1.key"},
		{"key with a space", func(e *vocabulary.Edition) { e.Groups[0].Key = "the ball" }, "groups.0.key"},
		{"group key that questions need", func(e *vocabulary.Edition) { e.Groups[0].Key = "player" }, "groups.0.key"},
		{"press twice", func(e *vocabulary.Edition) { e.Groups[0].Terms[1].Press = "1" }, "groups.0.terms.1.press"},
		{"press needed by the page", func(e *vocabulary.Edition) { e.Groups[0].Terms[1].Press = "]" }, "groups.0.terms.1.press"},
		{"press in capitals", func(e *vocabulary.Edition) { e.Groups[0].Press = "B" }, "groups.0.press"},
		{"no press", func(e *vocabulary.Edition) { e.Groups[0].Terms[1].Press = "" }, ""},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			e := vocabulary.Default()
			c.change(&e)
			err := e.Validate()
			if c.field == "" {
				require.NoError(t, err)
				return
			}
			var f *fault.Error
			require.ErrorAs(t, err, &f)
			assert.Equal(t, fault.Invalid, f.Kind)
			require.Len(t, f.Fields, 1)
			assert.Equal(t, c.field, f.Fields[0].Name)
		})
	}
}

func TestFollows(t *testing.T) {
	t.Parallel()
	before := vocabulary.Default()

	renamed := vocabulary.Default()
	renamed.Groups[5].Terms[5].Name = "Pull shot"
	renamed.Groups[5].Terms[6].Retired = true
	require.NoError(t, renamed.Follows(before), "renaming and retiring keep the meaning")

	dropped := vocabulary.Default()
	dropped.Groups[5].Terms = dropped.Groups[5].Terms[:5]
	require.ErrorContains(t, dropped.Follows(before), "Retire")
}

func TestKey(t *testing.T) {
	t.Parallel()
	taken := map[string]bool{"wide-of-off": true}
	cases := map[string]string{
		"Back of a length": "back-of-a-length",
		"Wide of off":      "wide-of-off-2",
		"  !! ":            "term",
		"4th stump":        "term-4th-stump",
	}
	for name, want := range cases {
		assert.Equal(t, want, vocabulary.Key(name, func(k string) bool { return taken[k] }), name)
	}
}
