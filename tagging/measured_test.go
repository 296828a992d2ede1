package tagging_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"netreel/tagging"
)

func TestMeasuredOn(t *testing.T) {
	t.Parallel()
	side := tagging.Measured{Measure: "base-width", RecordingID: 1, Value: 62, Sigma: 3}
	end := tagging.Measured{Measure: "base-width", RecordingID: 2, Value: 58, Sigma: 9}
	other := tagging.Measured{Measure: "base-width", RecordingID: 3, Value: 64, Sigma: 4}
	knee := tagging.Measured{Measure: "front-knee", RecordingID: 2, Value: 140, Sigma: 4}
	for name, tc := range map[string]struct {
		all       []tagging.Measured
		recording int64
		want      []tagging.Measured
	}{
		"nothing":                             {nil, 1, nil},
		"off the picture that is shown":       {[]tagging.Measured{side, end, knee}, 2, []tagging.Measured{end, knee}},
		"the same, and the surest of two":     {[]tagging.Measured{side, end, {Measure: "base-width", RecordingID: 2, Sigma: 12}}, 2, []tagging.Measured{end}},
		"the surest of other pictures":        {[]tagging.Measured{side, other, end}, 7, []tagging.Measured{side}},
		"read elsewhere alone, it still says": {[]tagging.Measured{knee}, 1, []tagging.Measured{knee}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			assert.Equal(t, tc.want, tagging.Ball{Measured: tc.all}.MeasuredOn(tc.recording))
		})
	}
}
