// Package fftest makes small films for tests with the real ffmpeg. Each picture
// carries its number as a row of black and white squares, and once a second a
// flash comes with a click, so that a test can read back which picture it sees
// and whether the sound is in step.
//
// It is for tests only: the program must not import it.
package fftest

import (
	"bytes"
	"context"
	"encoding/binary"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"
)

// The picture's size, and that of the squares in its top row.
const (
	Width  = 320
	Height = 180
	square = 20
	bits   = 14
)

// Film says what is to be made. The zero value of each field is its default.
type Film struct {
	FPS     float64 // 50
	Seconds float64 // 4
	GOP     int     // pictures between key frames; 50
	BFrames int     // 0
	OpenGOP bool    // pictures may refer across a key frame
	Uneven  bool    // a variable rate: the pictures come at uneven times
	Late    float64 // by how many seconds the picture starts after the sound
	Offset  float64 // where the container's clock begins, in seconds
	Codec   string  // encoder of the picture; libx264
	Sound   string  // encoder of the sound; aac; "none" for no sound
	Ext     string  // container; .mp4
	Turned  bool    // stored on its side: to be shown turned 90 degrees clockwise
	More    string  // further output options, separated by spaces
}

func (f Film) withDefaults() Film {
	if f.FPS == 0 {
		f.FPS = 50
	}
	if f.Seconds == 0 {
		f.Seconds = 4
	}
	if f.GOP == 0 {
		f.GOP = 50
	}
	if f.Codec == "" {
		f.Codec = "libx264"
	}
	if f.Sound == "" {
		f.Sound = "aac"
	}
	if f.Ext == "" {
		f.Ext = ".mp4"
	}
	return f
}

// Pictures is how many pictures the film has.
func (f Film) Pictures() int {
	f = f.withDefaults()
	return int(f.Seconds*f.FPS + 0.5)
}

var (
	mu     sync.Mutex
	folder string
	made   = map[Film]string{}
)

// Run runs a package's tests and removes the films that they made. Call it from
// TestMain: os.Exit(fftest.Run(m)).
func Run(m *testing.M) int {
	code := m.Run()
	if folder != "" {
		_ = os.RemoveAll(folder)
	}
	return code
}

// Make returns the path of a film, which is made at its first use in a test
// run. It must not be changed.
func Make(t testing.TB, f Film) string {
	t.Helper()
	f = f.withDefaults()
	mu.Lock()
	defer mu.Unlock()
	if path, ok := made[f]; ok {
		return path
	}
	if folder == "" {
		dir, err := os.MkdirTemp("", "films-")
		if err != nil {
			t.Fatal(err)
		}
		folder = dir
	}
	path := filepath.Join(folder, strconv.Itoa(len(made))+f.Ext)
	FFmpeg(t, append(f.args(), path)...)
	if f.Turned {
		turn(t, path)
	}
	made[f] = path
	return path
}

// FFmpeg runs ffmpeg with the arguments as they are.
func FFmpeg(t testing.TB, args ...string) {
	t.Helper()
	args = append([]string{"-nostdin", "-hide_banner", "-v", "error", "-y"}, args...)
	if out, err := exec.CommandContext(context.Background(), "ffmpeg", args...).CombinedOutput(); err != nil {
		t.Fatalf("ffmpeg %s: %v\n%s", strings.Join(args, " "), err, out)
	}
}

// args builds the command line up to the output's name.
func (f Film) args() []string {
	// The filters stand behind the input: ffmpeg would take a late start there
	// for the input's own clock and undo it.
	chain := []string{
		"format=yuv420p", "settb=1/90000",
		fmt.Sprintf("setpts='(%s+%g)/TB'", f.time(), f.Late),
		fmt.Sprintf("drawbox=x=0:y=0:w=iw:h=%d:color=black:t=fill", square),
	}
	for b := range bits {
		chain = append(chain, fmt.Sprintf("drawbox=x=%d:y=0:w=%d:h=%d:color=white:t=fill:enable='mod(floor(n/%d),2)'",
			b*square, square, square, 1<<b))
	}
	chain = append(chain, fmt.Sprintf("drawbox=x=0:y=%d:w=iw:h=%d:color=white:t=fill:enable='lt(mod(t+0.5,1),0.045)'", Height/2, Height/2))
	args := []string{"-f", "lavfi", "-i", fmt.Sprintf("color=c=0x606060:s=%dx%d:r=%g:d=%g", Width, Height, f.FPS, f.Seconds)}
	if f.Sound != "none" {
		args = append(args, "-f", "lavfi", "-i", fmt.Sprintf(
			"aevalsrc=exprs='0.8*sin(2*PI*1000*t)*lt(mod(t+0.5\\,1)\\,0.02)':s=48000:d=%g", f.Seconds+f.Late), "-c:a", f.Sound)
	}
	args = append(args, "-vf", strings.Join(chain, ","), "-c:v", f.Codec, "-pix_fmt", "yuv420p", "-g", strconv.Itoa(f.GOP), "-bf", strconv.Itoa(f.BFrames),
		"-fps_mode", "passthrough", "-enc_time_base:v", f.timeBase())
	switch f.Codec {
	case "libx264":
		params := "scenecut=0"
		if f.OpenGOP {
			params += ":open-gop=1"
		}
		args = append(args, "-preset", "superfast", "-crf", "18", "-x264-params", params)
	case "libx265":
		args = append(args, "-preset", "ultrafast", "-x265-params", "log-level=error", "-tag:v", "hvc1")
	}
	if f.Offset != 0 {
		args = append(args, "-output_ts_offset", fmt.Sprint(f.Offset))
	}
	return append(args, strings.Fields(f.More)...)
}

// time is the expression for when picture N is shown.
func (f Film) time() string {
	if f.Uneven {
		return fmt.Sprintf("(N+0.6*mod(N*7,5)/5+floor(N/40)*3)/%g", f.FPS)
	}
	return fmt.Sprintf("N/%g", f.FPS)
}

func (f Film) timeBase() string {
	switch {
	case f.Uneven:
		return "1:90000"
	case f.Late != 0:
		return "1:48000"
	}
	return "1:" + strconv.Itoa(int(f.FPS))
}

// turn writes the display matrix for a quarter turn clockwise into the track
// header (ISO/IEC 14496-12, 8.3.2), as a phone held upright does.
func turn(t testing.TB, path string) {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	at := bytes.Index(b, []byte("tkhd"))
	if at < 0 {
		t.Fatal("no track header")
	}
	matrix := b[at+4+40:]
	for i, v := range []int32{0, 1 << 16, 0, -1 << 16, 0, 0, Height << 16, 0, 1 << 30} {
		binary.BigEndian.PutUint32(matrix[4*i:], uint32(v))
	}
	if err := os.WriteFile(path, b, 0o600); err != nil {
		t.Fatal(err)
	}
}

// Number reads a picture's number from its grey values, Width by Height.
func Number(grey []byte) int {
	n := 0
	for b := range bits {
		if grey[square/2*Width+b*square+square/2] > 128 {
			n |= 1 << b
		}
	}
	return n
}

// Flash says whether a picture's lower half is lit.
func Flash(grey []byte) bool { return grey[Height*3/4*Width+Width/2] > 180 }

// Upright turns a picture that is Height wide and Width high back by a quarter.
func Upright(grey []byte) []byte {
	back := make([]byte, len(grey))
	for y := range Height {
		for x := range Width {
			back[y*Width+x] = grey[x*Height+Height-1-y]
		}
	}
	return back
}

// Clicks returns the times in seconds at which a click begins.
func Clicks(samples []float32, rate int) []float64 {
	var at []float64
	quiet := rate // samples since the last loud one
	for i, s := range samples {
		if s > 0.2 || s < -0.2 {
			if quiet > rate/10 {
				at = append(at, float64(i)/float64(rate))
			}
			quiet = 0
		} else {
			quiet++
		}
	}
	return at
}
