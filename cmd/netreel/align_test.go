package main

import (
	"bytes"
	"context"
	"encoding/json"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media/ffmpeg/fftest"
)

// Two recordings of one noise, the second begun 7 s later, through the whole
// command; and what it says when it refuses.
func TestAlignCommand(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	made := func(name, from, seed string) string {
		path := filepath.Join(dir, name)
		fftest.FFmpeg(t, "-f", "lavfi", "-i", "anoisesrc=r=16000:a=0.3:d=40:seed="+seed,
			"-f", "lavfi", "-i", "color=c=gray:s=64x36:r=10:d=30", "-map", "1:v", "-map", "0:a",
			"-af", "atrim=start="+from+",asetpts=PTS-STARTPTS", "-c:a", "pcm_s16le", "-shortest", path)
		return path
	}
	a, b, other := made("a.mov", "0", "1"), made("b.mov", "7", "1"), made("other.mov", "0", "2")
	mute := fftest.Make(t, fftest.Film{Sound: "none"})
	align := func(args ...string) (code int, line alignLine, told string) {
		var stdout, stderr bytes.Buffer
		code = run(context.Background(), append([]string{"align"}, args...), func(string) string { return "" }, &stdout, &stderr)
		if stdout.Len() > 0 {
			require.NoError(t, json.Unmarshal(stdout.Bytes(), &line))
		}
		return code, line, stderr.String()
	}

	code, line, _ := align(a, b)
	assert.Equal(t, 0, code)
	assert.InDelta(t, 7, *line.Offset, 0.001)
	assert.InDelta(t, 0, *line.Rate, 20)
	assert.Greater(t, line.Confidence, 0.9)
	code, line, _ = align("--metres-b", "34.3", b, a)
	assert.Equal(t, 0, code)
	assert.InDelta(t, -7+0.1, *line.Offset, 0.001)

	code, line, told := align(a, other)
	assert.Equal(t, 1, code)
	assert.Less(t, line.Confidence, 0.5)
	assert.Contains(t, told, "could not be laid on one clock")
	code, line, told = align(a, mute)
	assert.Equal(t, 1, code)
	assert.Nil(t, line.Offset)
	assert.Contains(t, told, "has no sound")
	code, _, told = align(a)
	assert.Equal(t, 2, code)
	assert.Contains(t, told, "Use: netreel align")
	code, _, told = align("--help")
	assert.Equal(t, 0, code)
	assert.Contains(t, told, "rate_ppm")
}
