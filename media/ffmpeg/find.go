// Package ffmpeg is the one door to ffmpeg and ffprobe.
//
// Every command line is built by a pure function (graph.go, probe.go), every
// process is started, watched and stopped by one supervisor (run.go), and what
// the tools print is read by small parsers. A result counts only when the tool
// ended with exit code 0, the context is still alive and the file that it wrote
// holds the pictures that it should.
//
// Times are on a file's own clock: microseconds from the file's start time, as
// ffmpeg itself counts. For a file made here the start time is zero, so its
// clock is the mediaTime a browser reports.
//
// The package must not know SQL, HTTP, sessions or where files are kept. Files
// it writes are staging names that somebody else publishes.
package ffmpeg

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os/exec"
	"strconv"
	"strings"
	"sync"
	"time"

	"netreel/media/fault"
)

// Tool runs ffmpeg and ffprobe. It is safe for use by several goroutines.
type Tool struct {
	ffmpeg, ffprobe string
	log             *slog.Logger
	grace           time.Duration // between SIGTERM and SIGKILL

	mu      sync.Mutex
	sources map[sourceKey]source // what is known of files that were looked at

	codecs func() (map[string]bool, error) // codecs that this build decodes
}

// oldest is the first release that knows -fps_mode.
const oldestMajor, oldestMinor = 5, 1

// Find looks for ffmpeg and ffprobe on the PATH and checks that they run.
//
// It returns fault.Unavailable when one is missing or too old.
func Find(log *slog.Logger) (*Tool, error) {
	const op = "ffmpeg.Find"
	t := &Tool{log: log, grace: 10 * time.Second, sources: map[sourceKey]source{}}
	for name, path := range map[string]*string{"ffmpeg": &t.ffmpeg, "ffprobe": &t.ffprobe} {
		found, err := exec.LookPath(name)
		if err != nil {
			return nil, fault.Wrap(err, fault.Unavailable, op, name+" is not installed: run deploy/setup.sh")
		}
		*path = found
	}
	t.codecs = sync.OnceValues(t.decodable)
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	banner, err := t.capture(ctx, op, t.ffmpeg, "-hide_banner", "-version")
	if err != nil {
		return nil, fault.Wrap(err, fault.Unavailable, op, "ffmpeg is installed but does not run: run deploy/setup.sh")
	}
	if major, minor, ok := version(string(banner)); ok && (major < oldestMajor || major == oldestMajor && minor < oldestMinor) {
		return nil, fault.New(fault.Unavailable, op,
			fmt.Sprintf("ffmpeg %d.%d is too old: install %d.%d or later", major, minor, oldestMajor, oldestMinor))
	}
	return t, nil
}

// version reads "ffmpeg version 5.1.9-0+deb12u1 ..."; ok is false for builds
// that carry no release number.
func version(banner string) (major, minor int, ok bool) {
	rest, found := strings.CutPrefix(banner, "ffmpeg version ")
	if !found {
		return 0, 0, false
	}
	rest = strings.TrimPrefix(rest, "n")
	whole, rest, _ := strings.Cut(rest, ".")
	major, err := strconv.Atoi(whole)
	if err != nil {
		return 0, 0, false
	}
	end := strings.IndexFunc(rest, func(r rune) bool { return r < '0' || r > '9' })
	if end >= 0 {
		rest = rest[:end]
	}
	minor, err = strconv.Atoi(rest)
	return major, minor, err == nil
}

// decodable lists the video codecs that this ffmpeg can decode.
func (t *Tool) decodable() (map[string]bool, error) {
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	list, err := t.capture(ctx, "ffmpeg.decodable", t.ffmpeg, "-hide_banner", "-v", "error", "-codecs")
	if err != nil {
		return nil, err
	}
	return parseCodecs(string(list)), nil
}

// parseCodecs reads lines such as " DEV.LS h264   H.264 / AVC ...".
func parseCodecs(list string) map[string]bool {
	known := map[string]bool{}
	for line := range strings.Lines(list) {
		f := strings.Fields(line)
		if len(f) >= 2 && len(f[0]) == 6 && f[0][0] == 'D' && f[0][2] == 'V' {
			known[f[1]] = true
		}
	}
	return known
}

// capture runs a tool whose whole answer is small and returns what it printed.
func (t *Tool) capture(ctx context.Context, op, bin string, args ...string) ([]byte, error) {
	const enough = 16 << 20
	var out []byte
	err := t.supervise(ctx, op, bin, process{args: args, stdout: func(r io.Reader) (err error) {
		out, err = io.ReadAll(io.LimitReader(r, enough+1))
		if err == nil && len(out) > enough {
			err = errors.New("the answer is too long")
		}
		return err
	}})
	return out, err
}
