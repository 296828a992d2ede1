package ffmpeg

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"strconv"
	"strings"
	"time"

	"netreel/media"
	"netreel/media/fault"
)

// formats are the containers that are read. Playlists and other formats that
// point to further files or addresses are not among them: footage comes from
// outside.
const formats = "mov,matroska,avi,mpegts,mpeg,asf,flv,mxf,ogg,dv"

// untrusted are the options before every input that came from outside.
var untrusted = []string{"-protocol_whitelist", "file,pipe", "-format_whitelist", formats}

// again is what to do with a file that was damaged on its way.
const again = "Copy it from the camera again and upload it once more."

// source is what is known of a file that is read.
type source struct {
	media.Probe
	start      media.Micros // where the file's own clock has its zero, on the container's
	tick       ratio        // time base of the picture
	interlaced bool
}

// ratio is a fraction such as a time base.
type ratio struct{ num, den int64 }

func (r ratio) float() float64 { return float64(r.num) / float64(r.den) }

// colon gives the form that ffmpeg's options take: "1:12800".
func (r ratio) colon() string { return fmt.Sprintf("%d:%d", r.num, r.den) }

// seekTo is where to ask ffmpeg to begin so that it surely decodes everything
// from a time on. A transport or program stream has no index: a seek lands
// somewhere near, and pictures up to the next key frame are lost. Ten seconds
// hold a key frame in all that cameras make.
func (s source) seekTo(at media.Micros) media.Micros {
	if s.Container == "mpegts" || s.Container == "mpeg" {
		return max(0, at-10*media.Second)
	}
	return max(0, at)
}

type sourceKey struct {
	path    string
	size    int64
	changed time.Time
}

// Probe tells what a file holds. The faults it returns say what to do:
// fault.NotFound (no such file), fault.Invalid (empty, incomplete, no picture),
// fault.Unsupported (not a video, a codec that this ffmpeg cannot decode).
func (t *Tool) Probe(ctx context.Context, path string) (media.Probe, error) {
	s, err := t.source(ctx, path)
	return s.Probe, err
}

// source probes a file, or remembers what it was when the file has not changed.
func (t *Tool) source(ctx context.Context, path string) (source, error) {
	const op = "ffmpeg.Probe"
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return source{}, fault.Wrap(err, fault.NotFound, op, "There is no such file.")
	case err != nil:
		return source{}, fault.Wrap(err, fault.Unavailable, op, "The file cannot be read. Check its permissions.")
	case !info.Mode().IsRegular():
		return source{}, fault.New(fault.Invalid, op, "This is a folder or a device, not a video file.")
	case info.Size() == 0:
		return source{}, fault.New(fault.Invalid, op, "This file is empty. "+again)
	}
	key := sourceKey{path, info.Size(), info.ModTime()}
	t.mu.Lock()
	s, known := t.sources[key]
	t.mu.Unlock()
	if known {
		return s, nil
	}
	s, err = t.look(ctx, op, path)
	if err != nil {
		return source{}, err
	}
	const keep = 256
	t.mu.Lock()
	defer t.mu.Unlock()
	if len(t.sources) >= keep {
		clear(t.sources)
	}
	t.sources[key] = s
	return s, nil
}

// look runs ffprobe on a file and checks that it can be worked with.
func (t *Tool) look(ctx context.Context, op, path string) (source, error) {
	if err := checkWhole(path); err != nil {
		return source{}, err
	}
	answer, err := t.capture(ctx, op, t.ffprobe, probeArgs(path)...)
	if err != nil {
		return source{}, unreadable(ctx, op, err)
	}
	s, err := parseProbe(answer)
	if err != nil {
		return source{}, err
	}
	codecs, err := t.codecs()
	if err != nil {
		return source{}, err
	}
	if !codecs[s.VideoCodec] {
		return source{}, fault.New(fault.Unsupported, op, fmt.Sprintf(
			"The picture is in a format that cannot be decoded here (%s). Export it from the camera's own program as MP4 (H.264) and upload that.",
			orUnknown(s.VideoCodec)))
	}
	return s, nil
}

// unreadable explains why ffprobe could not open a file.
func unreadable(ctx context.Context, op string, err error) error {
	if ctx.Err() != nil {
		return err
	}
	if inner := errors.Unwrap(err); inner != nil {
		err = inner // the tool's own words
	}
	switch text := err.Error(); {
	case strings.Contains(text, "moov atom not found"):
		return fault.Wrap(err, fault.Invalid, op, "This file is incomplete: its end is missing. "+again)
	case strings.Contains(text, "Format not on whitelist"), strings.Contains(text, "Invalid data found"),
		strings.Contains(text, "Protocol"), strings.Contains(text, "End of file"):
		return fault.Wrap(err, fault.Unsupported, op,
			"This is not a video that can be read. Choose the film file from the camera: MP4, MOV, MKV, MTS or AVI.")
	}
	return toolFault(op, err, "")
}

func probeArgs(path string) []string {
	return append(append([]string{"-v", "error"}, untrusted...),
		"-show_entries", "format=format_name,start_time,duration:format_tags=creation_time"+
			":stream=index,codec_type,codec_name,profile,pix_fmt,width,height,sample_aspect_ratio,field_order,"+
			"avg_frame_rate,r_frame_rate,time_base,start_time,duration,nb_frames"+
			":stream_disposition=attached_pic,timed_thumbnails,still_image:stream_tags=rotate,creation_time:stream_side_data=rotation",
		"-of", "json", "file:"+path)
}

// answer is the part of ffprobe's JSON that is used. Numbers come as strings,
// "N/A" or not at all.
type answer struct {
	Format struct {
		Name     string            `json:"format_name"`
		Start    string            `json:"start_time"`
		Duration string            `json:"duration"`
		Tags     map[string]string `json:"tags"`
	} `json:"format"`
	Streams []stream `json:"streams"`
}

type stream struct {
	Type        string            `json:"codec_type"`
	Codec       string            `json:"codec_name"`
	Profile     string            `json:"profile"`
	PixelFormat string            `json:"pix_fmt"`
	Width       int               `json:"width"`
	Height      int               `json:"height"`
	Aspect      string            `json:"sample_aspect_ratio"`
	Fields      string            `json:"field_order"`
	Average     string            `json:"avg_frame_rate"`
	Nominal     string            `json:"r_frame_rate"`
	TimeBase    string            `json:"time_base"`
	Start       string            `json:"start_time"`
	Duration    string            `json:"duration"`
	Disposition map[string]int    `json:"disposition"`
	Tags        map[string]string `json:"tags"`
	SideData    []struct {
		Rotation float64 `json:"rotation"`
	} `json:"side_data_list"`
}

// picture says whether the stream is footage rather than a cover picture.
func (s stream) picture() bool {
	return s.Type == "video" && s.Disposition["attached_pic"] == 0 && s.Disposition["timed_thumbnails"] == 0
}

// parseProbe reads ffprobe's JSON. Its faults are those of Probe.
func parseProbe(text []byte) (source, error) {
	const op = "ffmpeg.Probe"
	var a answer
	if err := json.Unmarshal(text, &a); err != nil {
		return source{}, fault.Wrap(err, fault.Internal, op, "The file could not be looked at. Try again.")
	}
	var video, audio *stream
	for i := range a.Streams {
		switch s := &a.Streams[i]; {
		case s.picture() && video == nil:
			video = s
		case s.Type == "audio" && audio == nil:
			audio = s
		}
	}
	if video == nil {
		return source{}, fault.New(fault.Invalid, op,
			"This file has no moving picture, only sound or other data. Choose the film file from the camera.")
	}
	tick, ok := parseRatio(video.TimeBase)
	if !ok {
		return source{}, fault.New(fault.Invalid, op, "The picture has no clock, so it cannot be cut. "+again)
	}
	s := source{tick: tick, interlaced: interlaced(video.Fields)}
	s.start, _ = parseSeconds(a.Format.Start)
	s.Container = a.Format.Name
	s.VideoCodec, s.Profile, s.PixelFormat = video.Codec, video.Profile, video.PixelFormat
	if audio != nil {
		s.AudioCodec = orUnknown(audio.Codec)
	}
	s.Rotation = rotation(video)
	s.Width, s.Height = shown(video, s.Rotation)
	s.FrameRate = frameRate(video)
	if first, ok := parseSeconds(video.Start); ok {
		s.VideoStart = first - s.start
	}
	s.Duration = duration(a, video, s.VideoStart)
	s.CreatedAt = createdAt(a.Format.Tags, video.Tags)
	if s.Width <= 0 || s.Height <= 0 {
		return source{}, fault.New(fault.Invalid, op, "The picture has no size: the file is damaged. "+again)
	}
	if s.Duration <= 0 {
		return source{}, fault.New(fault.Invalid, op, "This file holds no film: its length is zero. "+again)
	}
	return s, nil
}

// duration is the picture's own length, or failing that the file's.
func duration(a answer, video *stream, first media.Micros) media.Micros {
	if d, ok := parseSeconds(video.Duration); ok && d > 0 {
		return d
	}
	d, ok := parseSeconds(a.Format.Duration)
	if !ok {
		return 0
	}
	return max(0, d-first)
}

func interlaced(order string) bool {
	return order == "tt" || order == "bb" || order == "tb" || order == "bt"
}

// rotation is how far the picture must be turned clockwise to stand upright.
// The display matrix counts anticlockwise, the older tag clockwise.
func rotation(s *stream) int {
	turn := 0.0
	for _, d := range s.SideData {
		if d.Rotation != 0 {
			turn = -d.Rotation
		}
	}
	if turn == 0 {
		turn, _ = strconv.ParseFloat(s.Tags["rotate"], 64)
	}
	if math.IsNaN(turn) || math.Abs(turn) > 1e6 {
		return 0
	}
	quarter := int(math.Round(turn/90)) % 4
	return (quarter + 4) % 4 * 90
}

// shown is the picture's size as a person sees it: square pixels, upright.
func shown(s *stream, rotation int) (width, height int) {
	const largest = 1 << 16
	w, h := float64(s.Width), float64(s.Height)
	if n, d, ok := strings.Cut(s.Aspect, ":"); ok {
		num, err1 := strconv.Atoi(n)
		den, err2 := strconv.Atoi(d)
		if err1 == nil && err2 == nil && num > 0 && den > 0 {
			w = math.Round(w * float64(num) / float64(den))
		}
	}
	if w < 1 || h < 1 || w > largest || h > largest {
		return 0, 0
	}
	if rotation%180 == 90 {
		w, h = h, w
	}
	return int(w), int(h)
}

// frameRate is the average rate, or the nominal one where the container does
// not tell the average; 0 if neither is known.
func frameRate(s *stream) float64 {
	for _, text := range []string{s.Average, s.Nominal} {
		if r, ok := parseRatio(text); ok {
			return r.float()
		}
	}
	return 0
}

func createdAt(tags ...map[string]string) *time.Time {
	for _, t := range tags {
		at, err := time.Parse(time.RFC3339, t["creation_time"])
		// Cameras without a set clock write the epoch of 1904 or 1970.
		if err == nil && at.Year() > 1970 {
			return &at
		}
	}
	return nil
}

// parseRatio reads "30000/1001"; ok is false unless both parts are positive.
func parseRatio(s string) (r ratio, ok bool) {
	n, d, found := strings.Cut(s, "/")
	if !found {
		return ratio{}, false
	}
	num, err1 := strconv.ParseInt(n, 10, 64)
	den, err2 := strconv.ParseInt(d, 10, 64)
	return ratio{num, den}, err1 == nil && err2 == nil && num > 0 && den > 0
}

// parseSeconds reads "12.345678" to the nearest microsecond; ok is false for
// "N/A" and what is no sane time.
func parseSeconds(s string) (m media.Micros, ok bool) {
	const century = 100 * 366 * 24 * 3600
	f, err := strconv.ParseFloat(s, 64)
	if err != nil || !(math.Abs(f) < century) {
		return 0, false
	}
	return media.FromSeconds(f), true
}

func orUnknown(name string) string {
	if name == "" {
		return "unknown"
	}
	return name
}
