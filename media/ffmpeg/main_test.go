package ffmpeg

import (
	"log/slog"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"netreel/media/ffmpeg/fftest"
)

// TestMain lets the test binary be a tool: started under the name of a role it
// plays that role.
func TestMain(m *testing.M) {
	if play, ok := roles[filepath.Base(os.Args[0])]; ok {
		os.Exit(play(os.Args[1:]))
	}
	os.Exit(fftest.Run(m))
}

// shared is one Tool for all tests, so that it asks ffmpeg for its version and
// codecs once.
var shared = sync.OnceValues(func() (*Tool, error) { return Find(slog.New(slog.NewTextHandler(os.Stderr, nil))) })

func newTool(t testing.TB) *Tool {
	t.Helper()
	tool, err := shared()
	require.NoError(t, err)
	return tool
}

func testLog(t testing.TB) *slog.Logger {
	return slog.New(slog.NewTextHandler(t.Output(), nil))
}
