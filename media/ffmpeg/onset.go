package ffmpeg

import (
	"context"
	"os/exec"
	"strconv"
	"strings"

	"netreel/media"
	"netreel/media/fault"
)

// Onsets asks the general-purpose onset detector of Debian's aubio-tools when
// sounds begin in a WAV file: seconds, ascending. method is one of its "hfc",
// "complex", "specflux"; a higher threshold finds fewer. It exists so that what
// we do can be measured against something outside the house.
//
// It returns fault.Unavailable when the detector is not installed.
func (t *Tool) Onsets(ctx context.Context, wav, method string, threshold float64) ([]media.Micros, error) {
	const op = "ffmpeg.Onsets"
	bin, err := exec.LookPath("aubioonset")
	if err != nil {
		return nil, fault.Wrap(err, fault.Unavailable, op, "The onset detector is not installed: apt-get install aubio-tools")
	}
	out, err := t.capture(ctx, op, bin, "-i", wav, "-O", method, "-t", strconv.FormatFloat(threshold, 'f', -1, 64), "-M", "0.5", "-s", "-50", "-B", "512", "-H", "128")
	if err != nil {
		return nil, err
	}
	var all []media.Micros
	for f := range strings.FieldsSeq(string(out)) {
		s, err := strconv.ParseFloat(f, 64)
		if err != nil {
			return nil, fault.Wrap(err, fault.Internal, op, "The onset detector's answer can't be read.")
		}
		all = append(all, media.FromSeconds(s))
	}
	return all, nil
}
