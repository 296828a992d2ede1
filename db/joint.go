package db

import (
	"context"

	"github.com/jackc/pgx/v5"

	"netreel/media"
	"netreel/media/split"
	"netreel/tagging"
)

const (
	sqlCandidates = `SELECT` + recordingColumns + `, r.candidates
		FROM recording r
		WHERE r.session_id = @session AND r.probe IS NOT NULL AND r.candidates IS NOT NULL
		ORDER BY r.id`

	sqlSessionCut = `SELECT cut FROM net_session WHERE id = @session` // null: each recording's own

	sqlSaveFound = `UPDATE recording SET found = @found WHERE id = @id`
)

// sameBall is how far apart two cameras may see one ball pass, on the session
// clock: the error of a contact seen without sound, twice.
const sameBall = 4 * media.Second / 10

// splitRecording is a recording with all that its split thought of.
type splitRecording struct {
	tagging.Recording
	Candidates []split.Ball
}

// splitRecordings returns a session's recordings that are split, and the cut
// that a person chose for them; nil: each has its own.
func splitRecordings(ctx context.Context, q querier, session int64) (list []splitRecording, chosen *float64, err error) {
	if chosen, err = value[*float64](ctx, q, sqlSessionCut, args{"session": session}); err != nil {
		return nil, nil, err
	}
	rows, err := all[struct {
		recordingRow
		Candidates []split.Ball
	}](ctx, q, sqlCandidates, args{"session": session})
	for _, r := range rows {
		list = append(list, splitRecording{r.recording(), r.Candidates})
	}
	return list, chosen, err
}

// layAll decides anew, over all recordings of a session together, which of
// their candidates are balls, and lays those among the balls that are known.
// again picks clips whose files are to be made anew (planning).
func (s *Store) layAll(ctx context.Context, tx pgx.Tx, squad, session int64, again func(plannedClip) bool) error {
	recordings, chosen, err := splitRecordings(ctx, tx, session)
	if err != nil {
		return err
	}
	for i, r := range recordings {
		cut := r.Cut
		if chosen != nil {
			cut = *chosen
		}
		found := split.Above(jointly(i, recordings), cut)
		if found == nil {
			found = []split.Ball{} // split, with nothing found
		}
		if _, err := tx.Exec(ctx, sqlSaveFound, args{"id": r.ID, "found": found}); err != nil {
			return err
		}
		if err := place(ctx, tx, r.Recording, found); err != nil {
			return err
		}
	}
	if err := settle(ctx, tx, session); err != nil {
		return err
	}
	if err := s.plan(ctx, tx, session, planning{every: true, again: again}); err != nil {
		return err
	}
	return tell(ctx, tx, squad, tagging.Event{Topic: "lane", ID: session, Session: session})
}

// jointly returns a recording's candidates with the confidence that all
// cameras together give: that not all of those are wrong that saw something at
// the same moment. Only cameras on one clock have a say in each other's.
func jointly(i int, recordings []splitRecording) []split.Ball {
	own := recordings[i]
	balls := make([]split.Ball, len(own.Candidates))
	for k, b := range own.Candidates {
		at, wrong := own.Clock.ToSession(b.Passing), 1-b.Confidence
		for j, other := range recordings {
			if j == i || !onOneClock(own.Recording, other.Recording, len(recordings)) {
				continue
			}
			var best float64
			for _, o := range other.Candidates {
				if apart(other.Clock.ToSession(o.Passing), at) <= sameBall {
					best = max(best, o.Confidence)
				}
			}
			wrong *= 1 - best
		}
		b.Confidence = 1 - wrong
		balls[k] = b
	}
	return balls
}

// onOneClock says whether the clocks of two of a session's recordings are more
// than guesses: both laid by sound or by a person, or, where there are only the
// two, one of them by a person.
func onOneClock(a, b tagging.Recording, recordings int) bool {
	if a.ClockBy != tagging.ByGuess && b.ClockBy != tagging.ByGuess {
		return true
	}
	return recordings == 2 && (a.ClockBy == tagging.ByPerson || b.ClockBy == tagging.ByPerson)
}
