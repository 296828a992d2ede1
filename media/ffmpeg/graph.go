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
	format := "format=gray"
	if s.Colour {
		format = "format=yuvj444p"
	}
	filters = append(filters, fmt.Sprintf("scale=%d:%d:flags=area", s.Width, s.Height), format, "settb=1/1000000")
	in := ff.KwArgs{}
	if s.KeyOnly {
		in["skip_frame"] = "nokey"
	}
	if s.Rough {
		in["skip_loop_filter"], in["threads"] = "all", 1
	}
	return input(path, src, s.Within, in).Get("V:0").Output("[f=rawvideo]pipe:1|[f=framecrc:flush_packets=1]pipe:3", ff.KwArgs{
		"an": "", "copyts": "", "vf": strings.Join(filters, ","), "c:v": "rawvideo",
		"fps_mode": "passthrough", "enc_time_base": "1:1000000", "f": "tee",
	}).GetArgs()
}

// encodeArgs encodes yuv420p pictures from stdin, with sound if there is any.
func encodeArgs(r Rough) []string {
	rate := strconv.FormatFloat(r.FPS, 'f', -1, 64)
	size := fmt.Sprintf("%dx%d", r.Width, r.Height)
	streams := []*ff.Stream{ff.Input("pipe:0", ff.KwArgs{
		"f": "rawvideo", "pixel_format": "yuv420p", "video_size": size, "framerate": rate,
	})}
	out := ff.KwArgs{
		"c:v": "libx264", "preset": r.Preset, "crf": 20, "pix_fmt": "yuv420p",
		"color_range": "tv", "color_primaries": "bt709", "color_trc": "bt709", "colorspace": "bt709",
		"g": max(1, int(r.FPS+0.5)), "movflags": "+faststart", "f": "mp4",
	}
	if r.Drop > 0 {
		out["vf"] = fmt.Sprintf("select='gte(random(0),%g)'", r.Drop)
		out["fps_mode"] = "vfr"
	}
	if r.Bitrate > 0 {
		delete(out, "crf")
		out["b:v"], out["maxrate"], out["bufsize"] = r.Bitrate, r.Bitrate, r.Bitrate
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

// stripArgs fits a stretch of a clip into a film's picture.
func stripArgs(s media.Strip, src source, p stretch, dst string) []string {
	zero := seconds(p.first + src.start)
	w, h := contain(src.Width, src.Height, s.Width, s.Height)
	rate := strconv.FormatFloat(s.FPS, 'f', -1, 64)
	video := []string{
		fmt.Sprintf("trim=start=%s", seconds(p.before+src.start)),
		fmt.Sprintf("setpts=round(PTS-%s/TB)", zero),
		"fps=" + rate,
		fmt.Sprintf("scale=%d:%d:out_color_matrix=bt709:out_range=tv", w, h), "setsar=1",
		fmt.Sprintf("pad=%d:%d:(ow-iw)/2:(oh-ih)/2:color=black", s.Width, s.Height),
		fmt.Sprintf("tpad=stop_mode=clone:stop_duration=%s", seconds(s.Span.Length()+media.Second)),
	}
	in := input(s.Src, src, media.Span{Start: p.before, End: p.end + media.Second}, ff.KwArgs{"copyts": ""})
	sound, filter := silence(), "anull"
	if src.HasSound() {
		sound = in.Get("a:0")
		filter = fmt.Sprintf("atrim=start=%s,asetpts=round(PTS-%s/TB),aresample=48000:async=1:first_pts=0,apad", zero, zero)
	}
	return strip(s, in.Get("V:0"), video, sound, filter, dst)
}

// cardArgs makes a plain card.
func cardArgs(s media.Strip, dst string) []string {
	rate := strconv.FormatFloat(s.FPS, 'f', -1, 64)
	plain := ff.Input(fmt.Sprintf("color=c=0x14181d:s=%dx%d:r=%s", s.Width, s.Height, rate), ff.KwArgs{"f": "lavfi"})
	return strip(s, plain, []string{"setsar=1"}, silence(), "anull", dst)
}

func silence() *ff.Stream {
	return ff.Input("anullsrc=r=48000:cl=stereo", ff.KwArgs{"f": "lavfi"})
}

// strip letters a picture and cuts picture and sound to the same length.
func strip(s media.Strip, picture *ff.Stream, video []string, sound *ff.Stream, audio, dst string) []string {
	for _, p := range s.Panels {
		video = append(video, fmt.Sprintf("drawbox=x=%d:y=%d:w=%d:h=%d:color=black@0.6:t=fill%s",
			p.X, p.Y, p.Width, p.Height, enable(p.Within)))
	}
	for _, l := range s.Letters {
		x := strconv.Itoa(l.X)
		if l.Centre {
			x += "-text_w/2"
		}
		video = append(video, fmt.Sprintf("drawtext=fontfile=%s:textfile=%s:expansion=none:fontsize=%d:fontcolor=white:x=%s:y=%d-ascent%s",
			escape(l.Font), escape(l.File), l.Size, x, l.Baseline, enable(l.Within)))
	}
	// The strips' pictures must be alike to the last header, or they can't be joined.
	video = append(video, fmt.Sprintf("trim=end_frame=%d", s.Pictures()), "format=yuv420p",
		"setparams=range=tv:color_primaries=bt709:color_trc=bt709:colorspace=bt709")
	audio += ",aformat=sample_fmts=s16:sample_rates=48000:channel_layouts=stereo,atrim=end=" + seconds(s.Length())
	return ff.Output([]*ff.Stream{picture, sound}, "file:"+dst, bare, ff.KwArgs{
		"vf": strings.Join(video, ","), "af": audio,
		"c:v": "libx264", "preset": "veryfast", "crf": 21, "bf": 0, "g": max(1, int(s.FPS+0.5)),
		"fps_mode": "passthrough", "video_track_timescale": 90000,
		"c:a": "pcm_s16le", "write_tmcd": 0, "f": "mov",
	}).GetArgs()
}

// enable limits a drawing to a span, zero meaning always.
func enable(within media.Span) string {
	if within == (media.Span{}) {
		return ""
	}
	return fmt.Sprintf(":enable='gte(t,%s)*lt(t,%s)'", seconds(within.Start), seconds(within.End))
}

// joinArgs copies the pictures of strips that are listed on stdin and encodes
// their sound in one go: joined pieces of AAC would click.
func joinArgs(subtitles, dst string) []string {
	in := ff.Input("pipe:0", ff.KwArgs{"f": "concat", "safe": 0, "protocol_whitelist": "file,pipe,fd"})
	streams := []*ff.Stream{in.Get("v:0"), in.Get("a:0")}
	out := ff.KwArgs{"c:v": "copy", "c:a": "aac", "b:a": "128k", "movflags": "+faststart", "f": "mp4"}
	if subtitles != "" {
		streams = append(streams, ff.Input("file:"+subtitles, ff.KwArgs{"f": "webvtt"}).Get("s:0"))
		out["c:s"], out["metadata:s:s:0"] = "mov_text", "language=eng"
	}
	return ff.Output(streams, "file:"+dst, bare, out).GetArgs()
}
