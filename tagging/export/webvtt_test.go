package export_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"netreel/media"
	"netreel/tagging/export"
)

// track is a WebVTT file as an independent reader understands it.
type track struct {
	Cues []struct {
		Start, End float64
		Text       string
	}
	Errors []struct{ Message string }
}

// readTracks has W3C's own parser and validator, the npm package webvtt-parser,
// read WebVTT files.
func readTracks(t *testing.T, files []string) (tracks []track) {
	t.Helper()
	in, err := json.Marshal(files)
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(check(t, "webvtt-parser", "webvtt.mjs", in), &tracks))
	require.Len(t, tracks, len(files))
	return tracks
}

// check hands what is written to a script of frontend/checks, which has the
// npm package read it, and returns the script's answer.
func check(t *testing.T, module, script string, in []byte) []byte {
	t.Helper()
	frontend := filepath.Join("..", "..", "frontend")
	require.DirExists(t, filepath.Join(frontend, "node_modules", module), "run `npm ci` in frontend/ first")
	cmd := exec.CommandContext(t.Context(), "node", filepath.Join(frontend, "checks", script))
	cmd.Stdin, cmd.Stderr = bytes.NewReader(in), os.Stderr
	out, err := cmd.Output()
	require.NoError(t, err)
	return out
}

// TestWebVTTAsOthersReadIt: an independent reader finds no fault with what is
// written of any text, and reads the same cues.
func TestWebVTTAsOthersReadIt(t *testing.T) {
	t.Parallel()
	reel := export.ReelCues(playlist())
	written := [][]export.Cue{reel}
	files := []string{webVTT(t, "Short & wide", reel)}
	hostile := rapid.Custom(func(t *rapid.T) []export.Cue {
		words := rapid.StringMatching(`[a-zé<>&;!-]([-<>&;#a-z"' ]|\n|-->|NOTE|<c>|&amp;){0,12}[a-z]`)
		return rapid.SliceOfN(rapid.Custom(func(t *rapid.T) export.Cue {
			start := media.Micros(rapid.Int64Range(0, 4e6).Draw(t, "start")) * media.Second / 1000
			return export.Cue{Text: words.Draw(t, "text"), Span: media.Span{Start: start, End: start + media.Second/1000*media.Micros(rapid.IntRange(1, 9000).Draw(t, "length"))}}
		}), 1, 6).Draw(t, "cues")
	})
	for seed := range 300 {
		cues := hostile.Example(seed)
		written = append(written, cues)
		files = append(files, webVTT(t, cues[0].Text, cues))
	}
	for i, read := range readTracks(t, files) {
		require.Empty(t, read.Errors, files[i])
		want := map[string]int{}
		for _, c := range written[i] {
			want[said(c.Span.Start.Seconds(), c.Span.End.Seconds(), c.Text)]++
		}
		for _, c := range read.Cues {
			want[said(c.Start, c.End, c.Text)]--
		}
		for cue, n := range want {
			assert.Zero(t, n, "%s in\n%s", cue, files[i])
		}
	}
}

func webVTT(t *testing.T, title string, cues []export.Cue) string {
	t.Helper()
	var b strings.Builder
	require.NoError(t, export.WebVTT(&b, title, cues))
	return b.String()
}

// said is a cue as one line. Blank lines and spaces around lines are not
// carried by the format's cues.
func said(start, end float64, text string) string {
	var lines []string
	for line := range strings.SplitSeq(text, "\n") {
		if line = strings.TrimSpace(line); line != "" {
			lines = append(lines, line)
		}
	}
	return fmt.Sprintf("%.3f to %.3f: %q", start, end, strings.Join(lines, "\n"))
}
