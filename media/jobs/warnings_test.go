package jobs_test

import (
	"log/slog"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"netreel/media/jobs"
)

func TestWarnings(t *testing.T) {
	t.Parallel()
	var said strings.Builder
	log := jobs.Warnings(slog.New(slog.NewTextHandler(&said, &slog.HandlerOptions{Level: slog.LevelDebug}))).With("a", 1).WithGroup("g")
	log.Debug("detail")
	log.Info("counts")
	log.Warn("slow", "by", 2)
	log.Error("broken")
	assert.NotContains(t, said.String(), "detail")
	assert.NotContains(t, said.String(), "counts")
	assert.Contains(t, said.String(), "level=WARN msg=slow a=1 g.by=2")
	assert.Contains(t, said.String(), "broken")
}
