package export

import (
	"fmt"
	"slices"

	"netreel/media"
	"netreel/tagging"
	"netreel/tagging/vocabulary"
)

// Session is one session with all that was seen on it, to be taken away. What
// people typed, such as notes and the names of blocks, goes out as it is; who
// they are does only with Names.
type Session struct {
	tagging.Session
	Lane  tagging.Lane
	Balls []tagging.Ball // not the discarded, in order, with clips and observations
	Words vocabulary.Edition
	Home  string // the server's address, without a slash at the end
	Names bool   // players and coders by name; else by number
}

// player is how a player is called in the export: by the same number in every
// export of the squad.
func (s Session) player(id int64) string {
	if id == 0 {
		return ""
	}
	i := slices.IndexFunc(s.Players, func(p tagging.Player) bool { return p.ID == id })
	if s.Names && i >= 0 {
		return s.Players[i].Name
	}
	return fmt.Sprintf("Player %d", id)
}

func (s Session) coder(o tagging.Observation) string {
	if s.Names && o.Coder != "" {
		return o.Coder
	}
	return fmt.Sprintf("Coder %d", o.AccountID)
}

// Playlist is the session as a reel of all its balls, for CSV.
func (s Session) Playlist() tagging.Playlist {
	blocks := map[int64]string{}
	for _, b := range s.Lane.Blocks {
		blocks[b.ID] = b.Name
	}
	p := tagging.Playlist{Reel: tagging.Reel{Title: s.Title}}
	for _, b := range s.Balls {
		b.Seen = slices.Clone(b.Seen)
		for i := range b.Seen {
			b.Seen[i].Coder = s.coder(b.Seen[i])
		}
		p.Items = append(p.Items, tagging.PlaylistItem{
			Ball: b, Session: s.Title, HeldOn: s.HeldOn, Block: blocks[b.BlockID], Player: s.player(b.PlayerID),
		})
	}
	return p
}

// SessionCues is what was seen on every ball, on the session clock, each ball
// opened by its number. A camera that ran early has balls before zero, where
// the format has no time: they are left out.
func (s Session) SessionCues() []Cue {
	return s.cues(func(b tagging.Ball) (tagging.Clip, bool) { return tagging.Clip{Span: b.Span}, true })
}

// RecordingCues is the same on the clock of one recording, of the balls that
// it shows.
func (s Session) RecordingCues(recording int64) []Cue {
	return s.cues(func(b tagging.Ball) (tagging.Clip, bool) {
		i := slices.IndexFunc(b.Clips, func(c tagging.Clip) bool { return c.RecordingID == recording })
		if i < 0 {
			return tagging.Clip{}, false
		}
		return b.Clips[i], true
	})
}

func (s Session) cues(where func(tagging.Ball) (tagging.Clip, bool)) []Cue {
	var cues []Cue
	for _, b := range s.Balls {
		c, ok := where(b)
		if !ok {
			continue
		}
		at := c.Span.Start
		opening := Cue{Span: media.Span{Start: at, End: at + min(c.Span.Length(), ShownFor)}, Text: fmt.Sprintf("Ball %d", b.Number)}
		cues = append(cues, opening)
		for _, cue := range BallCues(b, c) {
			cue.Span = media.Span{Start: at + cue.Span.Start, End: at + cue.Span.End}
			cues = append(cues, cue)
		}
	}
	slices.SortStableFunc(cues, byStart)
	return cues
}
