package main

import (
	"context"
	"log/slog"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"netreel/db/dbtest"
	"netreel/media/ffmpeg"
	"netreel/media/scene"
)

// shortScene is half a minute of two blocks, its frames numbered in the
// picture.
func shortScene() scene.Setting {
	s := scene.WinterSession(7)
	s.Name, s.FrameCode = "Short", true
	s.Blocks = s.Blocks[:2]
	s.Blocks[0].Balls, s.Blocks[1].Balls = 3, 3
	s.Gap = 6
	return s
}

// tool is the real ffmpeg.
func tool(t testing.TB) *ffmpeg.Tool {
	t.Helper()
	found, err := ffmpeg.Find(quietLog(t))
	require.NoError(t, err)
	return found
}

func quietLog(t testing.TB) *slog.Logger {
	return slog.New(slog.NewTextHandler(t.Output(), &slog.HandlerOptions{Level: slog.LevelWarn}))
}

// smallScene is three balls, small and quick to work on.
func smallScene() scene.Setting {
	s := scene.WinterSession(7)
	s.Name, s.Width, s.Height, s.FPS = "Small", 640, 360, 25
	s.Blocks = s.Blocks[:1]
	s.Blocks[0].Balls = 3
	return s
}

// films are rendered once for all tests of the package, by their scene's name.
var films struct {
	sync.Mutex
	dir  string
	made map[string]demoFilm
}

// rendered is the film of a scene.
func rendered(t testing.TB, s scene.Setting) demoFilm {
	t.Helper()
	films.Lock()
	defer films.Unlock()
	if f, ok := films.made[s.Name]; ok {
		return f
	}
	if films.dir == "" {
		dir, err := os.MkdirTemp("", "netreel-films-")
		require.NoError(t, err)
		films.dir, films.made = dir, map[string]demoFilm{}
	}
	f, err := renderFilm(t.Context(), tool(t), s, filepath.Join(films.dir, s.Name), func(float64) {})
	require.NoError(t, err)
	films.made[s.Name] = f
	return f
}

// running starts the whole program on a database of its own and stops it when
// the test ends, which must go well. It can be changed before it runs.
func running(t testing.TB, changes ...func(*App)) *App {
	t.Helper()
	cfg := Config{
		Data: filepath.Join(t.TempDir(), "data"), Listen: "127.0.0.1:0",
		DatabaseURL: dbtest.New(t), MaxUpload: 1 << 30, Tools: 2,
	}
	app, err := New(t.Context(), cfg, quietLog(t))
	require.NoError(t, err)
	for _, change := range changes {
		change(app)
	}
	ctx, stop := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- app.Run(ctx) }()
	t.Cleanup(func() {
		stop()
		require.NoError(t, <-ended)
		require.NoError(t, app.Close())
	})
	return app
}

func writeFile(path, text string) error { return os.WriteFile(path, []byte(text), 0o600) }
