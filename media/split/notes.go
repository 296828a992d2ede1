package split

import (
	"fmt"
	"math"
	"strings"
)

// From which a fault of the file is worth a word.
const (
	silentBelow  = -75.0 // dB: nothing louder than this is silence
	clippedShare = 0.001 // of all samples
	astrayShare  = 0.01  // of all pictures
	gapNoted     = 3     // s without a picture, or of sound that is missing at the end
	gapsNamed    = 3
	blackMost    = 24 // luma: a picture that has nothing lighter is black
)

// notes say what could not be used, and what was done instead.
func (s *session) notes() []string {
	var out []string
	say := func(yes bool, format string, args ...any) {
		if yes {
			out = append(out, fmt.Sprintf(format, args...))
		}
	}
	switch {
	case !s.probe.HasSound():
		say(true, "The recording has no sound: balls were looked for by movement alone.")
	case s.heard.loudest < silentBelow:
		say(true, "The sound track is silent: balls were looked for by movement alone.")
	default:
		say(float64(s.heard.clipped) > clippedShare*float64(max(s.heard.n, 1)),
			"The sound was recorded too loud and is clipped: bat sounds are harder to tell from others.")
		end := float64(s.heard.n) / soundRate
		say(end < s.seconds-gapNoted, "The sound ends at %s: after that, balls were looked for by movement alone.", clock(end))
	}
	p := s.packets
	switch {
	case s.black():
		say(true, "The picture is black: balls were looked for by sound alone.")
	case p.packets > 0 && p.keys == p.packets:
		say(true, "Every picture is stored by itself: only where pictures were looked at could movement be told.")
	default:
		say(!s.moves(), "The picture does not move: balls were looked for by sound alone.")
	}
	say(s.takenNextDoor() && len(s.anchors()) == 0, "What was bowled is seen at the side of the picture only, as in the next net: it was left out. If it is meant, add one of its balls.")
	say(s.against.untold > 0 && len(s.anchors()) == 0, "The pictures hardly tell what is heard from anything else, as where only the next net is in play: it was left out. If it is meant, add one of its balls.")
	say(float64(p.astray) > astrayShare*float64(p.packets),
		"%d of %d pictures carry times outside the recording and were left out: the file may be damaged.", p.astray, p.packets)
	gaps := p.gaps()
	say(len(gaps) > 0, "The file holds no pictures %s: there, balls were looked for by sound alone.", strings.Join(gaps, ", "))
	return out
}

// black says whether all that was looked at is black.
func (s *session) black() bool {
	for _, v := range s.views {
		if v.lightest > blackMost {
			return false
		}
	}
	return len(s.views) > 0
}

// moves says whether the picture ever moves, as far as packets tell.
func (s *session) moves() bool { return s.stirred(nil) != nil }

// gaps names the longer stretches without a picture, the first few.
func (s *stir) gaps() []string {
	var out []string
	more, from := 0, -1
	for i, shown := range append(s.shown, true) {
		switch {
		case !shown && from < 0:
			from = i
		case shown && from >= 0:
			if i-from >= gapNoted {
				if len(out) < gapsNamed {
					out = append(out, fmt.Sprintf("from %s to %s", clock(float64(from)), clock(float64(i))))
				} else {
					more++
				}
			}
			from = -1
		}
	}
	if more > 0 {
		out = append(out, fmt.Sprintf("and in %d more stretches", more))
	}
	return out
}

// clock writes seconds as m:ss.
func clock(seconds float64) string {
	n := int(math.Round(seconds))
	return fmt.Sprintf("%d:%02d", n/60, n%60)
}
