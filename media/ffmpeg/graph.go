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

// input is a file from outside, decoded from where a seek to the span's start
// lands, until the span's end (zero: all of it).
func input(path string, s source, within media.Span, more ...ff.KwArgs) *ff.Stream {
	args := ff.KwArgs{"protocol_whitelist": untrusted[1], "format_whitelist": untrusted[3]}
	if within != (media.Span{}) {
		from := s.seekTo(within.Start)
		if from > 0 {
			args["ss"] = seconds(from)
		}
		args["t"] = seconds(within.End - from)
	}
	return ff.Input("file:"+path, append([]ff.KwArgs{args}, more...)...)
}

// soundArgs decodes the first sound track to mono float32 on stdout. Gaps and
// a late start are filled with silence, so that sample n is at n/rate.
func soundArgs(path string, src source, s SoundSpec) []string {
	return input(path, src, s.Within).Get("a:0").Output("pipe:1", ff.KwArgs{
		"vn": "", "ac": 1, "ar": s.Rate, "af": "aresample=async=1:first_pts=0",
		"c:a": "pcm_f32le", "f": "f32le",
	}).GetArgs()
}

// pictureArgs decodes to grey pictures on stdout and tells the time of each,
// in microseconds on the container's clock, by a line on pipe 3.
func pictureArgs(path string, src source, s PictureSpec) []string {
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
	return input(path, src, s.Within, in).Get("V:0").Output("[f=rawvideo]pipe:1|[f=framecrc:flush_packets=1]pipe:3", ff.KwArgs{
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

// bare keeps what a camera wrote about itself, such as the place, out of the
// files that are handed on.
var bare = ff.KwArgs{"map_metadata": -1, "map_chapters": -1}

// cutArgs copies many clips in one run. All times are the container's own
// (copyts): shifted ones would be rounded, and a key frame that comes out a
// tick too early is dropped, with all up to the next.
func cutArgs(p cutPlan) []string {
	in := input(p.src, p.source, p.within, ff.KwArgs{"copyts": ""})
	// The first output throws the packets away; its clock is the progress.
	outputs := []*ff.Stream{in.Get("V:0").Output("-", ff.KwArgs{"c": "copy", "f": "null"})}
	for _, c := range p.clips {
		streams := []*ff.Stream{in.Get("V:0")}
		args := ff.KwArgs{"c:v": "copy", "t": seconds(c.length), "movflags": "+faststart", "write_tmcd": 0, "f": "mp4"}
		if c.skip > 0 {
			args["ss"], args["output_ts_offset"] = seconds(c.skip), seconds(-c.shift)
		}
		if p.sound != "" {
			streams = append(streams, in.Get("a:0"))
			args["c:a"] = p.sound
			if p.sound != "copy" {
				args["b:a"] = "160k"
			}
		}
		outputs = append(outputs, ff.Output(streams, "file:"+c.dst, bare, args))
	}
	return ff.MergeOutputs(outputs...).GetArgs()
}

// smoothArgs encodes a stretch of pictures, each at its own time.
func smoothArgs(src string, s source, sm Smooth, p stretch) []string {
	w, h := fit(s.Width, s.Height, sm.Height)
	zero := seconds(p.first + s.start)
	video := []string{
		fmt.Sprintf("trim=start=%s:end=%s", seconds(p.before+s.start), seconds(p.after+s.start)),
		fmt.Sprintf("setpts=round(PTS-%s/TB)", zero),
	}
	if s.interlaced {
		video = append(video, "yadif=mode=send_frame")
	}
	video = append(video, fmt.Sprintf("scale=%d:%d", w, h), "setsar=1", "format=yuv420p")
	// One second more than needed: ffmpeg counts from the first picture that it
	// keeps, and the trim ends the run.
	in := input(src, s, media.Span{Start: p.before, End: p.end + media.Second}, ff.KwArgs{"copyts": ""})
	streams := []*ff.Stream{in.Get("V:0")}
	args := ff.KwArgs{
		"vf": strings.Join(video, ","), "fps_mode": "passthrough", "enc_time_base:v": s.tick.colon(),
		"c:v": "libx264", "preset": "veryfast", "crf": 23, "bf": 0, "tune": "fastdecode",
		"sc_threshold": 0, "force_key_frames": "expr:gte(t,n_forced*0.5)",
		"movflags": "+faststart", "write_tmcd": 0, "f": "mp4",
	}
	if s.HasSound() {
		streams = append(streams, in.Get("a:0"))
		args["af"] = fmt.Sprintf("atrim=start=%s:end=%s,asetpts=round(PTS-%s/TB),aresample=48000:async=1:first_pts=0",
			zero, seconds(p.end+s.start), zero)
		args["c:a"], args["b:a"] = "aac", "96k"
	}
	return ff.Output(streams, "file:"+sm.Dst, bare, args).GetArgs()
}

// posterArgs writes one picture as a JPEG.
func posterArgs(src string, s source, p stretch, width int, dst string) []string {
	w := min(width, s.Width)
	h := max(1, (s.Height*w+s.Width/2)/s.Width)
	in := input(src, s, media.Span{Start: p.before, End: p.end + media.Second}, ff.KwArgs{"copyts": ""})
	return in.Get("V:0").Output("file:"+dst, ff.KwArgs{
		"vf":       fmt.Sprintf("trim=start=%s,scale=%d:%d,setsar=1,format=yuvj420p", seconds(p.before+s.start), w, h),
		"frames:v": 1, "q:v": 4, "c:v": "mjpeg", "f": "mjpeg", "map_metadata": -1,
	}).GetArgs()
}
