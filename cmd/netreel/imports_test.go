package main

import (
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// law says what each package may import: packages of the house by their path,
// modules from outside by a prefix. Test files are free. A package that is not
// listed fails the test, so that a new room is put on the map first.
// DEVELOPERS.md prints the same map; TestLawIsPrinted compares them.
var law = map[string][]string{
	"media/fault":         {},
	"media":               {},
	"media/ffmpeg":        {"media", "media/fault", "github.com/u2takey/ffmpeg-go"},
	"media/ffmpeg/fftest": {},
	"media/blob":          {"media/fault"},
	"media/blob/blobtest": {"media/blob", "media/fault", "github.com/stretchr/testify", "pgregory.net/rapid"},
	"media/split":         {"media", "media/fault", "gonum.org/v1/gonum"},
	"media/align":         {"media", "media/fault", "gonum.org/v1/gonum"},
	"media/scene":         {"media/fault", "media/laws", "media/scene/*"},
	"media/scene/body":    {"media/scene/paint", "media/scene/space"},
	"media/laws":          {},
	"media/scene/paint":   {"media/scene/space", "golang.org/x/image/vector"},
	"media/scene/plain":   {},
	"media/scene/sound":   {"media/scene/space"},
	"media/scene/space":   {},
	"media/paper":         {"media/fault", "github.com/chromedp"},
	"media/render":        {"media", "media/fault", "golang.org/x/image/font"},
	"media/jobs": {"media", "media/fault", "media/align", "media/blob", "media/ffmpeg", "media/render",
		"media/split", "tagging", "tagging/export", "github.com/riverqueue/river", "golang.org/x/sync"},
	"tagging":            {"media", "media/fault", "github.com/google/uuid"},
	"tagging/compare":    {"media/fault", "gonum.org/v1/gonum"},
	"tagging/export":     {"media", "tagging", "tagging/measure", "tagging/plan", "tagging/vocabulary"},
	"tagging/find":       {"media/fault", "tagging", "tagging/vocabulary"},
	"tagging/measure":    {"media", "media/fault", "media/laws", "gonum.org/v1/gonum"},
	"tagging/lookback":   {"media/fault", "media/laws", "tagging", "tagging/compare", "tagging/find", "tagging/measure", "tagging/vocabulary"},
	"tagging/plan":       {"media/fault", "tagging/compare"},
	"tagging/reading":    {"media", "media/fault", "media/laws", "tagging", "tagging/compare", "tagging/measure", "github.com/google/uuid"},
	"tagging/secondlook": {"tagging", "tagging/compare", "tagging/vocabulary"},
	"tagging/vocabulary": {"media/fault"},
	"db": {"media", "media/fault", "media/align", "media/blob", "media/split", "media/jobs",
		"tagging", "tagging/*", "github.com/jackc/pgx/v5", "github.com/pressly/goose/v3", "github.com/riverqueue/river", "github.com/google/uuid"},
	"db/local":  {"media/fault", "github.com/jackc/pgx/v5"},
	"db/dbtest": {"db", "db/local", "github.com/jackc/pgx/v5", "github.com/stretchr/testify"},
	"api": {"media", "media/fault", "media/blob", "tagging", "tagging/*",
		"github.com/labstack/echo/v4", "github.com/tus/tusd/v2", "github.com/alexedwards/scs/v2", "github.com/alexedwards/argon2id", "github.com/google/uuid", "golang.org/x"},
	"frontend":    {},
	"cmd/netreel": {"*"},
}

func TestImportsObeyTheLaw(t *testing.T) {
	t.Parallel()
	root := filepath.Join("..", "..")
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() {
			if name := d.Name(); name == "node_modules" || name == "testdata" || name == "bin" || strings.HasPrefix(name, ".") && name != ".." {
				return filepath.SkipDir
			}
			return nil
		}
		if !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return nil
		}
		rel, err := filepath.Rel(root, path)
		if err != nil {
			return err
		}
		dir := filepath.ToSlash(filepath.Dir(rel))
		allowed, known := law[dir]
		if !assert.True(t, known, "%s: put the package on the map in imports_test.go and DEVELOPERS.md", dir) {
			return nil
		}
		file, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ImportsOnly)
		if err != nil {
			return err
		}
		for _, imp := range file.Imports {
			name, err := strconv.Unquote(imp.Path.Value)
			if err != nil {
				return err
			}
			assert.True(t, permitted(allowed, name), "%s imports %s", rel, name)
			if name == "os/exec" {
				assert.Contains(t, []string{"media/ffmpeg", "media/ffmpeg/fftest", "media/paper", "db/local"}, dir, "%s imports os/exec", rel)
			}
			if name == "github.com/u2takey/ffmpeg-go" {
				assert.Equal(t, "media/ffmpeg/graph.go", filepath.ToSlash(rel), "ffmpeg-go stays in one file")
			}
		}
		return nil
	})
	require.NoError(t, err)
}

func permitted(allowed []string, name string) bool {
	if first, _, _ := strings.Cut(name, "/"); first != "netreel" && !strings.Contains(first, ".") {
		return true // standard library
	}
	name = strings.TrimPrefix(name, "netreel/")
	for _, a := range allowed {
		switch {
		case a == "*", a == name:
			return true
		case strings.HasSuffix(a, "/*") && strings.HasPrefix(name, strings.TrimSuffix(a, "*")):
			return true
		case strings.Contains(strings.SplitN(a, "/", 2)[0], ".") && strings.HasPrefix(name, a):
			return true
		}
	}
	return false
}

// TestLawIsPrinted compares the map with the one that contributors read.
func TestLawIsPrinted(t *testing.T) {
	t.Parallel()
	guide, err := os.ReadFile(filepath.Join("..", "..", "DEVELOPERS.md"))
	require.NoError(t, err)
	for dir, allowed := range law {
		cells := strings.Join(allowed, ", ")
		if cells == "" {
			cells = "standard library only"
		}
		assert.Contains(t, string(guide), "| `"+dir+"` | "+cells+" |", "DEVELOPERS.md prints another map")
	}
}
