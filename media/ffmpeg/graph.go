package ffmpeg

import (
	"fmt"
	"strconv"
	"strings"

	ff "github.com/u2takey/ffmpeg-go"

	"netreel/media"
)

// This file builds ffmpeg's command lines and nothing else. It is the only one
// that knows ffmpeg-go, and only its GetArgs: running, logging and probing by
// that library are not used.

// input is a file from outside, read within a span (zero: all of it).
func input(path string, within media.Span, more ...ff.KwArgs) *ff.Stream {
	args := ff.KwArgs{"protocol_whitelist": untrusted[1], "format_whitelist": untrusted[3]}
	if within != (media.Span{}) {
		if within.Start > 0 {
			args["ss"] = seconds(within.Start)
		}
		args["t"] = seconds(within.End - max(0, within.Start))
	}
	return ff.Input("file:"+path, append([]ff.KwArgs{args}, more...)...)
}

// soundArgs decodes the first sound track to mono float32 on stdout. Gaps and
// a late start are filled with silence, so that sample n is at n/rate.
func soundArgs(path string, s SoundSpec) []string {
	return input(path, s.Within).Get("a:0").Output("pipe:1", ff.KwArgs{
		"vn": "", "ac": 1, "ar": s.Rate, "af": "aresample=async=1:first_pts=0",
		"c:a": "pcm_f32le", "f": "f32le",
	}).GetArgs()
}

// pictureArgs decodes to grey pictures on stdout and tells the time of each,
// in microseconds on the container's clock, by a line on pipe 3.
func pictureArgs(path string, s PictureSpec) []string {
	var filters []string
	if s.FPS > 0 {
		// Real pictures with their real times: the first of each tick.
		f := strconv.FormatFloat(s.FPS, 'f', -1, 64)
		filters = append(filters, fmt.Sprintf(
			"select='isnan(prev_selected_t)+gt(floor(t*%s+0.001),floor(prev_selected_t*%s+0.001))'", f, f))
	}
	filters = append(filters,
		fmt.Sprintf("scale=%d:%d:flags=area", s.Width, s.Height), "format=gray", "settb=1/1000000")
	in := ff.KwArgs{}
	if s.KeyOnly {
		in["skip_frame"] = "nokey"
	}
	return input(path, s.Within, in).Get("V:0").Output("[f=rawvideo]pipe:1|[f=framecrc:flush_packets=1]pipe:3", ff.KwArgs{
		"an": "", "copyts": "", "vf": strings.Join(filters, ","), "c:v": "rawvideo",
		"fps_mode": "passthrough", "enc_time_base": "1:1000000", "f": "tee",
	}).GetArgs()
}

// encodeArgs encodes yuv420p pictures from stdin, with sound if there is any.
func encodeArgs(r Raw) []string {
	rate := strconv.FormatFloat(r.FPS, 'f', -1, 64)
	size := fmt.Sprintf("%dx%d", r.Width, r.Height)
	streams := []*ff.Stream{ff.Input("pipe:0", ff.KwArgs{
		"f": "rawvideo", "pixel_format": "yuv420p", "video_size": size, "framerate": rate,
	})}
	out := ff.KwArgs{
		"c:v": "libx264", "preset": r.Preset, "crf": 20, "pix_fmt": "yuv420p",
		"g": max(1, int(r.FPS+0.5)), "movflags": "+faststart", "f": "mp4",
	}
	if r.Sound != "" {
		streams = append(streams, ff.Input("file:"+r.Sound))
		out["c:a"], out["b:a"] = "aac", "160k"
	}
	return ff.Output(streams, "file:"+r.Dst, out).GetArgs()
}
