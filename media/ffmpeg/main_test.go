package ffmpeg

import (
	"log/slog"
	"os"
	"testing"

	"netreel/media/ffmpeg/fftest"
)

func TestMain(m *testing.M) { os.Exit(fftest.Run(m)) }

func newTool(t testing.TB) *Tool {
	t.Helper()
	tool, err := Find(slog.New(slog.NewTextHandler(t.Output(), nil)))
	if err != nil {
		t.Fatal(err)
	}
	return tool
}
