package db

import (
	"context"

	"github.com/jackc/pgx/v5"

	"netreel/media"
	"netreel/tagging"
)

// plausibleGap is how far apart two recordings of one session may have begun
// for their creation times to be believed. Cameras with a dead clock battery
// say any date.
const plausibleGap = 6 * 3600 * media.Second

const (
	sqlSessionIsBare = `
		SELECT NOT EXISTS (SELECT FROM delivery WHERE session_id = @session)
		  AND NOT EXISTS (SELECT FROM block WHERE session_id = @session)`

	sqlShiftRecordings = `
		UPDATE recording SET offset_us = offset_us + @by::bigint
		WHERE session_id = @session AND id <> @except AND probe IS NOT NULL`
)

// firstOffset places a recording that has just been probed on the session
// clock. Where its creation time puts it before the first recording and
// nothing lies on the lane yet, the session clock begins with this one.
func firstOffset(ctx context.Context, tx pgx.Tx, r lockedRecording, p media.Probe) (media.Micros, error) {
	rows, err := all[recordingRow](ctx, tx, sqlRecordings, args{"session": r.SessionID})
	if err != nil {
		return 0, err
	}
	var others []tagging.Recording
	for _, row := range rows {
		if row.ID != r.ID && row.Probe != nil {
			others = append(others, row.recording())
		}
	}
	offset := guessOffset(r.Camera, p, others)
	if offset >= 0 {
		return offset, nil
	}
	bare, err := value[bool](ctx, tx, sqlSessionIsBare, args{"session": r.SessionID})
	if err != nil || !bare {
		return offset, err
	}
	_, err = tx.Exec(ctx, sqlShiftRecordings, args{"session": r.SessionID, "except": r.ID, "by": -offset})
	return 0, err
}

// guessOffset says where a recording's zero lies on the session clock, going
// by the probed recordings that are there. Files of the same camera follow
// one another, by their creation times when these don't contradict that;
// another camera runs beside them.
func guessOffset(camera media.Camera, p media.Probe, others []tagging.Recording) media.Micros {
	if len(others) == 0 {
		return 0
	}
	var same []tagging.Recording
	for _, o := range others {
		if o.Camera == camera {
			same = append(same, o)
		}
	}
	if len(same) == 0 {
		offset, _ := byCreation(p, others)
		return offset
	}
	if offset, ok := byCreation(p, same); ok && alone(offset, p, same) {
		return offset
	}
	var end media.Micros
	for _, o := range same {
		end = max(end, stretch(o.Clock, *o.Probe).End)
	}
	return end
}

// byCreation goes by the creation time of the nearest recording.
func byCreation(p media.Probe, others []tagging.Recording) (offset media.Micros, ok bool) {
	if p.CreatedAt == nil {
		return 0, false
	}
	nearest := plausibleGap + 1
	for _, o := range others {
		if o.Probe.CreatedAt == nil {
			continue
		}
		apart := media.Micros(p.CreatedAt.Sub(*o.Probe.CreatedAt).Microseconds())
		if gap := max(apart, -apart); gap < nearest {
			nearest, offset, ok = gap, o.Clock.Offset+apart, true
		}
	}
	return offset, ok
}

// alone says whether a camera that filmed p from offset was not filming
// another file at the same time.
func alone(offset media.Micros, p media.Probe, same []tagging.Recording) bool {
	own := stretch(media.Clock{Offset: offset}, p)
	for _, o := range same {
		if own.Overlap(stretch(o.Clock, *o.Probe)) > 0 {
			return false
		}
	}
	return true
}

// filmed is the stretch of a recording's own clock that has a picture.
func filmed(p media.Probe) media.Span {
	return media.Span{Start: p.VideoStart, End: p.VideoStart + p.Duration}
}

// stretch is the same on the session clock.
func stretch(c media.Clock, p media.Probe) media.Span {
	own := filmed(p)
	return media.Span{Start: c.ToSession(own.Start), End: c.ToSession(own.End)}
}
