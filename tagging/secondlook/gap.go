package secondlook

import (
	"fmt"
	"time"

	"netreel/tagging"
)

// rest is how long somebody had better leave their own coding before they look
// again: sooner, memory does part of it (common practice, no source).
const rest = 7 * 24 * time.Hour

// Gap says how much later than the first coding the second began, and whether
// that was too soon: for one look in so many days, for several how many of them
// were. Looks that nobody has begun count for nothing; "" when none is left.
func Gap(looks []tagging.SecondLook) string {
	var own, soon int
	for _, k := range looks {
		if k.Begun != nil && k.FirstID == k.SecondID {
			own++
			if k.Begun.Sub(k.FirstCoded) < rest {
				soon++
			}
		}
	}
	if len(looks) == 1 && looks[0].Begun != nil {
		return gapOfOne(looks[0], soon > 0)
	}
	switch {
	case own == 0:
		return ""
	case soon == 0:
		return fmt.Sprintf("Who looked at their own coding again (%d of %d second looks) did so after a week or more.", own, len(looks))
	}
	return fmt.Sprintf("In %d of %d second looks somebody looked at their own coding again within a week: memory may have done part of it.", soon, len(looks))
}

func gapOfOne(k tagging.SecondLook, soon bool) string {
	after := span(k.Begun.Sub(k.FirstCoded))
	switch {
	case k.FirstID != k.SecondID:
		return fmt.Sprintf("The second coding began %s after the first.", after)
	case soon:
		return fmt.Sprintf("Looked at again %s after the first coding: memory may have done part of it. Wait a week or more before the next one (common practice).", after)
	}
	return fmt.Sprintf("Looked at again %s after the first coding.", after)
}

// span is a time in whole days, or hours where it is less than two days. The
// clocks of both ends are the server's, so it is never below zero by much.
func span(d time.Duration) string {
	switch hours := int(d.Hours()); {
	case hours < 1:
		return "less than an hour"
	case hours == 1:
		return "an hour"
	case hours < 48:
		return fmt.Sprintf("%d hours", hours)
	default:
		return fmt.Sprintf("%d days", hours/24)
	}
}
