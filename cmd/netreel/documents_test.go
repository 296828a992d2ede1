package main

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestDocumentsSpeakOfWhatIsThere: every file and folder that README.md and
// DEVELOPERS.md name is in the tree, and every target of make.
func TestDocumentsSpeakOfWhatIsThere(t *testing.T) {
	t.Parallel()
	const root = "../.."
	makefile, err := os.ReadFile(filepath.Join(root, "Makefile"))
	require.NoError(t, err)
	path := regexp.MustCompile("`((?:[a-z][\\w.-]*/)+[\\w.*-]*)`")
	target := regexp.MustCompile(`(?m)(?:^|\x60)make ([a-z-]+)`)
	for _, name := range []string{"README.md", "DEVELOPERS.md"} {
		text, err := os.ReadFile(filepath.Join(root, name))
		require.NoError(t, err)
		paths := path.FindAllStringSubmatch(string(text), -1)
		require.NotEmpty(t, paths, name)
		for _, p := range paths {
			there, err := filepath.Glob(filepath.Join(root, p[1]))
			require.NoError(t, err)
			assert.NotEmpty(t, there, "%s names %s", name, p[1])
		}
		targets := target.FindAllStringSubmatch(string(text), -1)
		require.NotEmpty(t, targets, name)
		for _, m := range targets {
			assert.True(t, strings.Contains(string(makefile), "\n"+m[1]+":"), "%s names make %s", name, m[1])
		}
	}
}
