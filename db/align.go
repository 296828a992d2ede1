package db

import (
	"context"
	"fmt"
	"slices"

	"github.com/jackc/pgx/v5"

	"netreel/media"
	"netreel/media/align"
	"netreel/media/fault"
	"netreel/media/jobs"
	"netreel/tagging"
)

const (
	sqlHeardRecordings = `SELECT` + recordingColumns + `
		FROM recording r WHERE r.session_id = @session AND r.probe ->> 'AudioCodec' <> '' ORDER BY r.id`

	sqlMatches = `
		SELECT m.a, m.b, m.offset_us, m.rate_ppm, m.at_us, m.confidence, m.why
		FROM recording_match m JOIN recording r ON r.id = m.a WHERE r.session_id = @session ORDER BY m.a, m.b`

	sqlSaveMatch = `
		INSERT INTO recording_match (a, b, offset_us, rate_ppm, at_us, confidence, why)
		SELECT @a, @b, @offset, @rate, @at, @confidence, @why
		WHERE EXISTS (SELECT FROM recording WHERE id = @a) AND EXISTS (SELECT FROM recording WHERE id = @b)
		ON CONFLICT (a, b) DO UPDATE SET offset_us = excluded.offset_us, rate_ppm = excluded.rate_ppm, at_us = excluded.at_us,
			confidence = excluded.confidence, why = excluded.why`

	sqlSetClock = `
		UPDATE recording SET offset_us = @offset, rate_ppm = @rate, clock_by = @by, clock_sure = @sure, clock_note = @note
		WHERE id = @id`

	sqlForgetPersonsClock = `UPDATE recording SET clock_by = 'guess', clock_sure = NULL WHERE id = @id`
)

// wantAlignment has the recordings of a session laid on one clock by their
// sound, if there are two cameras that hear. Which recordings there are is
// part of what makes the job unique: one that comes while it runs has its turn.
func (s *Store) wantAlignment(ctx context.Context, tx pgx.Tx, session int64) error {
	_, err := s.enqueueAlignment(ctx, tx, session, false)
	return err
}

// enqueueAlignment also says whether there is anything to compare.
func (s *Store) enqueueAlignment(ctx context.Context, tx pgx.Tx, session int64, anew bool) (bool, error) {
	rows, err := all[recordingRow](ctx, tx, sqlHeardRecordings, args{"session": session})
	if err != nil {
		return false, err
	}
	beside, work := false, jobs.AlignSession{SessionID: session, Anew: anew}
	for i, r := range rows {
		for _, before := range rows[:i] {
			beside = beside || r.Camera.Beside(before.Camera)
		}
		work.RecordingIDs = append(work.RecordingIDs, r.ID)
	}
	if !beside {
		return false, nil
	}
	return true, s.enqueue(ctx, tx, job{args: work})
}

// AlignAll has all cameras of a session compared by their sound once more.
func (s *Store) AlignAll(ctx context.Context, v tagging.Viewer, session int64) error {
	return s.inTx(ctx, "db.AlignAll", func(tx pgx.Tx) error {
		if err := staffOnly(v); err != nil {
			return err
		}
		if err := lockSession(ctx, tx, v, session); err != nil {
			return err
		}
		asked, err := s.enqueueAlignment(ctx, tx, session, true)
		if err == nil && !asked {
			err = fault.New(fault.Conflict, "", "No two cameras with sound filmed this session. Lay them on one clock by picking the same moment on both.")
		}
		return err
	})
}

// ToAlign returns a session's recordings that have sound, and the pairs that
// have been compared already.
func (s *Store) ToAlign(ctx context.Context, session int64) (recordings []tagging.Recording, known []align.Pair, err error) {
	rows, err := all[recordingRow](ctx, s.pool, sqlHeardRecordings, args{"session": session})
	if err != nil {
		return nil, nil, trouble("db.ToAlign", err)
	}
	for _, r := range rows {
		recordings = append(recordings, r.recording())
	}
	known, err = matches(ctx, s.pool, session)
	return recordings, known, trouble("db.ToAlign", err)
}

func matches(ctx context.Context, q querier, session int64) ([]align.Pair, error) {
	rows, err := all[struct {
		A, B           int64
		OffsetUS, AtUS media.Micros
		RatePPM        float64
		Confidence     float64
		Why            string
	}](ctx, q, sqlMatches, args{"session": session})
	pairs := make([]align.Pair, len(rows))
	for i, r := range rows {
		pairs[i] = align.Pair{A: int(r.A), B: int(r.B), Match: align.Match{
			Clock: media.Clock{Offset: r.OffsetUS, RatePPM: r.RatePPM}, At: r.AtUS, Confidence: r.Confidence, Why: r.Why,
		}}
	}
	return pairs, err
}

// SaveMatches keeps what the sound of pairs of a session's recordings told (A
// below B, no distances taken off) and sets the clocks that no person has set.
func (s *Store) SaveMatches(ctx context.Context, session int64, found []align.Pair) error {
	return s.saveMatches(ctx, "db.SaveMatches", session, found, false)
}

// LayAnew is SaveMatches of all pairs, which a person has asked for: where the
// sound is sure it goes before what was laid by hand, which stays where it is
// not.
func (s *Store) LayAnew(ctx context.Context, session int64, found []align.Pair) error {
	return s.saveMatches(ctx, "db.LayAnew", session, found, true)
}

func (s *Store) saveMatches(ctx context.Context, op string, session int64, found []align.Pair, anew bool) error {
	return s.inTx(ctx, op, func(tx pgx.Tx) error {
		squad, err := lockSessionForJob(ctx, tx, session)
		if err != nil {
			return err
		}
		for _, p := range found {
			if _, err := tx.Exec(ctx, sqlSaveMatch, args{
				"a": p.A, "b": p.B, "offset": p.Clock.Offset, "rate": p.Clock.RatePPM, "at": p.At, "confidence": p.Confidence, "why": p.Why,
			}); err != nil {
				return err
			}
		}
		return s.layBySound(ctx, tx, squad, session, anew)
	})
}

// clockChange is a recording's new clock and how it was found.
type clockChange struct {
	id    int64
	clock media.Clock
	by    tagging.ClockBy
	sure  *float64
	note  string
}

// setClocks changes clocks of a session's recordings; where one really changes,
// the balls follow.
func (s *Store) setClocks(ctx context.Context, tx pgx.Tx, squad, session int64, changes []clockChange) error {
	moved := false
	for _, c := range changes {
		r, err := lockRecording(ctx, tx, c.id)
		if err != nil {
			return err
		}
		if r.Clock == c.clock && r.ClockBy == c.by && same(r.ClockSure, c.sure) && r.ClockNote == c.note {
			continue
		}
		if _, err := tx.Exec(ctx, sqlSetClock, args{
			"id": c.id, "offset": c.clock.Offset, "rate": c.clock.RatePPM, "by": c.by, "sure": c.sure, "note": c.note,
		}); err != nil {
			return err
		}
		before := r.Clock
		r.Clock = c.clock
		if r.IsSplit && before != c.clock {
			if err := moveFound(ctx, tx, r.Recording, before); err != nil {
				return err
			}
		}
		moved = moved || before != c.clock || r.ClockBy != c.by
		if err := tell(ctx, tx, squad, r.event()); err != nil {
			return err
		}
	}
	if !moved {
		return nil
	}
	return s.layAll(ctx, tx, squad, session, nil)
}

func same(a, b *float64) bool {
	if a == nil || b == nil {
		return a == b
	}
	return *a == *b
}

// layBySound sets the clocks that no person has set (anew: theirs too, where
// the sound is sure) by what the sound of pairs
// of recordings told, with the sound's travel taken off where distances were typed.
func (s *Store) layBySound(ctx context.Context, tx pgx.Tx, squad, session int64, anew bool) error {
	rows, err := all[recordingRow](ctx, tx, sqlHeardRecordings, args{"session": session})
	if err != nil {
		return err
	}
	pairs, err := matches(ctx, tx, session)
	if err != nil || len(pairs) == 0 {
		return err
	}
	recordings := make([]tagging.Recording, len(rows))
	for i, r := range rows {
		recordings[i] = r.recording()
	}
	return s.setClocks(ctx, tx, squad, session, bySound(recordings, pairs, anew))
}

// bySound decides the clocks. What a person has set stands fast; without that
// the recording that came first does. Anew that does in any case, and a
// person's word stands for the others where the sound is not sure.
func bySound(recordings []tagging.Recording, pairs []align.Pair, anew bool) []clockChange {
	byID := map[int]tagging.Recording{}
	placed := map[int]media.Clock{}
	for _, r := range recordings {
		byID[int(r.ID)] = r
		if r.ClockBy == tagging.ByPerson && !anew {
			placed[int(r.ID)] = r.Clock
		}
	}
	if len(placed) == 0 {
		placed[int(recordings[0].ID)] = recordings[0].Clock
	}
	believed := make([]align.Pair, 0, len(pairs))
	for _, p := range pairs {
		a, b := byID[p.A].Metres, byID[p.B].Metres
		if a != nil && b != nil {
			p.Clock.Offset += media.FromSeconds(align.Late(*b) - align.Late(*a))
		}
		if !p.Refused() {
			believed = append(believed, p)
		}
	}
	loose := map[int]string{}
	for c := align.Close(believed); c.Worst >= 0; c = align.Close(believed) {
		p := believed[c.Worst]
		note := fmt.Sprintf("The cameras do not agree all round: %s and %s fit worst. Check them by eye.", byID[p.A].Title, byID[p.B].Title)
		loose[p.A], loose[p.B] = note, note
		believed = slices.Delete(believed, c.Worst, c.Worst+1)
	}
	laid := align.Chain(placed, believed)
	var changes []clockChange
	for i, r := range recordings {
		if r.ClockBy == tagging.ByPerson && (!anew || i == 0) {
			continue
		}
		change := clockChange{id: r.ID, clock: r.Clock, by: tagging.ByGuess, note: loose[int(r.ID)]}
		sure, why := surest(int(r.ID), pairs)
		clock, ok := laid[int(r.ID)]
		switch {
		case r.ClockBy == tagging.ByPerson && !(ok && sure >= align.Sure):
			continue
		case ok && sure >= align.Sure:
			change.clock, change.by, change.sure = clock, tagging.BySound, &sure
		case change.note == "":
			change.note = why
		}
		changes = append(changes, change)
	}
	return changes
}

// surest is how sure the best match of a recording is, and why it is no surer.
func surest(id int, pairs []align.Pair) (sure float64, why string) {
	for _, p := range pairs {
		if (p.A == id || p.B == id) && p.Confidence >= sure {
			sure, why = p.Confidence, p.Why
		}
	}
	return sure, why
}

// AlignAgain gives the clock that a person has set back to the sound.
func (s *Store) AlignAgain(ctx context.Context, v tagging.Viewer, id int64) (tagging.Recording, error) {
	return s.change(ctx, "db.AlignAgain", v, id, func(tx pgx.Tx, r *lockedRecording) error {
		if r.Probe == nil || !r.Probe.HasSound() {
			return fault.New(fault.Conflict, "", "This recording has no sound. Lay it on the others by picking the same moment on both.")
		}
		if _, err := tx.Exec(ctx, sqlForgetPersonsClock, args{"id": id}); err != nil {
			return err
		}
		if err := s.layBySound(ctx, tx, r.SquadID, r.SessionID, false); err != nil {
			return err
		}
		if err := s.wantAlignment(ctx, tx, r.SessionID); err != nil {
			return err
		}
		return tell(ctx, tx, r.SquadID, r.event())
	})
}
