package secondlook_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"netreel/tagging"
	"netreel/tagging/secondlook"
)

func TestGap(t *testing.T) {
	t.Parallel()
	const hour = time.Hour
	looked := func(second int64, after time.Duration) tagging.SecondLook {
		coded := time.Date(2026, 3, 1, 18, 0, 0, 0, time.UTC)
		begun := coded.Add(after)
		return tagging.SecondLook{FirstID: 1, SecondID: second, FirstCoded: coded, Begun: &begun}
	}
	waiting := tagging.SecondLook{FirstID: 1, SecondID: 1}
	const memory = ": memory may have done part of it. Wait a week or more before the next one (common practice)."
	for name, c := range map[string]struct {
		looks []tagging.SecondLook
		want  string
	}{
		"none":                {nil, ""},
		"not begun":           {[]tagging.SecondLook{waiting}, ""},
		"at once":             {[]tagging.SecondLook{looked(1, hour/2)}, "Looked at again less than an hour after the first coding" + memory},
		"the same evening":    {[]tagging.SecondLook{looked(1, hour)}, "Looked at again an hour after the first coding" + memory},
		"the next day":        {[]tagging.SecondLook{looked(1, 30*hour)}, "Looked at again 30 hours after the first coding" + memory},
		"just under a week":   {[]tagging.SecondLook{looked(1, 7*24*hour-1)}, "Looked at again 6 days after the first coding" + memory},
		"a week":              {[]tagging.SecondLook{looked(1, 7*24*hour)}, "Looked at again 7 days after the first coding."},
		"another, at once":    {[]tagging.SecondLook{looked(2, 0)}, "The second coding began less than an hour after the first."},
		"another, later":      {[]tagging.SecondLook{looked(2, 49*hour)}, "The second coding began 2 days after the first."},
		"several, all others": {[]tagging.SecondLook{looked(2, 0), looked(3, 0)}, ""},
		"several, some too soon": {[]tagging.SecondLook{looked(2, 0), looked(1, hour), looked(1, 200*hour)},
			"In 1 of 3 second looks somebody looked at their own coding again within a week: memory may have done part of it."},
		"several, none too soon": {[]tagging.SecondLook{looked(2, 0), looked(1, 200*hour)},
			"Who looked at their own coding again (1 of 2 second looks) did so after a week or more."},
	} {
		assert.Equal(t, c.want, secondlook.Gap(c.looks), name)
	}
}
