package db

import (
	"context"
	"time"

	"github.com/google/uuid"

	"netreel/media"
	"netreel/tagging"
)

const observationColumns = `
	o.id, o.uuid, o.delivery_id, o.account_id, a.name AS coder, o.kind, o.at_us, o.until_us,
	coalesce(o.group_key, '') AS group_key, coalesce(o.term_key, '') AS term_key, coalesce(o.edition, 0) AS edition,
	o.wording, o.body, o.drawing, coalesce(o.recording_id, 0) AS recording_id, coalesce(o.supersedes, 0) AS supersedes,
	o.holds, o.made_at AS made`

const (
	sqlHolding = `SELECT` + observationColumns + `
		FROM observation o JOIN account a ON a.id = o.account_id
		WHERE o.delivery_id = ANY(@balls::bigint[]) AND o.holds
		ORDER BY o.delivery_id, o.id`

	sqlLedger = `SELECT` + observationColumns + `
		FROM observation o JOIN account a ON a.id = o.account_id
		WHERE o.delivery_id = @ball ORDER BY o.id`
)

type observationRow struct {
	ID                    int64
	UUID                  uuid.UUID
	DeliveryID, AccountID int64
	Coder                 string
	Kind                  tagging.Kind
	AtUS, UntilUS         *media.Micros
	GroupKey, TermKey     string
	Edition               int
	Wording, Body         string
	Drawing               *tagging.Drawing
	RecordingID           int64
	Supersedes            int64
	Holds                 bool
	Made                  time.Time
}

func (r observationRow) observation() tagging.Observation {
	return tagging.Observation{
		ID: r.ID, UUID: r.UUID, BallID: r.DeliveryID, AccountID: r.AccountID, Coder: r.Coder, Kind: r.Kind,
		At: r.AtUS, Until: r.UntilUS, Group: r.GroupKey, Term: r.TermKey, Edition: r.Edition, Wording: r.Wording,
		Body: r.Body, Drawing: r.Drawing, RecordingID: r.RecordingID, Made: r.Made,
	}
}

// holding lists what holds on balls, by ball, oldest first.
func holding(ctx context.Context, q querier, balls []int64) ([]tagging.Observation, error) {
	rows, err := all[observationRow](ctx, q, sqlHolding, args{"balls": balls})
	if err != nil {
		return nil, err
	}
	list := make([]tagging.Observation, len(rows))
	for i, r := range rows {
		list[i] = r.observation()
	}
	return list, nil
}

// Ledger is all that was ever said of a ball, oldest first, retractions too.
// It is for staff: what a coach took back is not for the player to read.
func (s *Store) Ledger(ctx context.Context, v tagging.Viewer, ball int64) ([]tagging.LedgerLine, error) {
	const op = "db.Ledger"
	if err := staffRead(v, noBall); err != nil {
		return nil, trouble(op, err)
	}
	if err := ballVisible(ctx, s.pool, v, ball, noBall); err != nil {
		return nil, trouble(op, err)
	}
	rows, err := all[observationRow](ctx, s.pool, sqlLedger, args{"ball": ball})
	if err != nil {
		return nil, trouble(op, err)
	}
	lines := make([]tagging.LedgerLine, len(rows))
	for i, r := range rows {
		lines[i] = tagging.LedgerLine{Observation: r.observation(), Supersedes: r.Supersedes, Gone: !r.Holds}
	}
	return lines, nil
}
