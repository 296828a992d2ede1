package tagging

import "netreel/media"

// Bang is a sudden, sharp sound that a recording heard: perhaps the clap that
// a phone noted too.
type Bang struct {
	RecordingID int64
	At          media.Micros // session clock
	Own         media.Micros // the recording's own clock
	Above       float64      // dB over what is usual there
	Clear       bool         // it stands out from all others of the stretch
}

// Hearing is where a bang is looked for: a stretch of one recording.
type Hearing struct {
	Recording Recording
	Within    media.Span // the recording's own clock
}

// HearAround picks the recording that heard most of a stretch of the session
// clock, the first of equals. ok is false where none heard any of it.
func HearAround(recordings []Recording, stretch media.Span) (h Hearing, ok bool) {
	var most media.Micros
	for _, r := range recordings {
		if r.Probe == nil || !r.Probe.HasSound() {
			continue
		}
		own := media.Span{Start: max(0, r.Clock.ToRecording(stretch.Start)), End: min(r.Probe.Duration, r.Clock.ToRecording(stretch.End))}
		if own.Length() > most {
			most, h, ok = own.Length(), Hearing{r, own}, true
		}
	}
	return h, ok
}

// clearBy is by how many dB a bang must stand above all others of a stretch to
// be called the one: judgement, no source.
const clearBy = 6

// MarkClear marks the bang that stands out, if one does. Which was the clap is
// for a person to say.
func MarkClear(bangs []Bang) {
	for i := range bangs {
		bangs[i].Clear = true
		for j, other := range bangs {
			bangs[i].Clear = bangs[i].Clear && (i == j || bangs[i].Above >= other.Above+clearBy)
		}
	}
}
