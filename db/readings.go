package db

import (
	"cmp"
	"context"
	"errors"
	"slices"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"netreel/media"
	"netreel/media/fault"
	"netreel/tagging"
	"netreel/tagging/measure"
	"netreel/tagging/reading"
)

const (
	// What a reading is computed with: the ball's batter and its film, when both are of one session.
	sqlReadingScene = `
		SELECT d.session_id, d.state, r.probe, coalesce(d.player_id, 0) AS player_id
		FROM delivery d JOIN net_session s ON s.id = d.session_id JOIN recording r ON r.session_id = d.session_id
		WHERE d.id = @ball AND r.id = @recording AND s.squad_id = @squad`

	// Two people who measure one ball take turns.
	sqlLockBall = `SELECT id FROM delivery WHERE id = @ball FOR NO KEY UPDATE`

	sqlReadingThere = `SELECT id, account_id FROM reading WHERE uuid = @uuid`

	// Somebody has said what holds of the ball on this recording.
	sqlReadingJudged = `
		SELECT EXISTS (SELECT FROM reading WHERE delivery_id = @ball AND recording_id = @recording AND holds AND status <> 'proposed')`

	sqlAddReading = `
		WITH earlier AS (
			UPDATE reading SET holds = false WHERE delivery_id = @ball AND recording_id = @recording AND holds RETURNING id
		)
		INSERT INTO reading (uuid, delivery_id, recording_id, calibration_id, account_id, sights, proposed_by, status, formula, supersedes)
		SELECT @uuid, @ball, @recording, nullif(@calibration::bigint, 0), @account, @sights, @proposed_by, @status, @formula, (SELECT id FROM earlier)
		RETURNING id`

	sqlAddReadingValue = `
		INSERT INTO reading_value (reading_id, measure, value, sigma, low, high, caveats)
		VALUES (@reading, @measure, @value, @sigma, @low, @high, @caveats)`
)

const readingColumns = `
	r.id, r.uuid, r.delivery_id, r.recording_id, r.calibration_id IS NOT NULL AS calibrated, r.sights, r.proposed_by, r.status,
	a.name AS by, r.made_at AS made, coalesce(d.player_id, 0) AS player_id, coalesce(d.number, 0) AS number,
	coalesce(b.name, '') AS block`

const readingFrom = `
	FROM reading r JOIN account a ON a.id = r.account_id JOIN delivery d ON d.id = r.delivery_id
		JOIN net_session s ON s.id = d.session_id LEFT JOIN block b ON b.id = d.block_id`

const (
	sqlReading = `SELECT` + readingColumns + readingFrom + ` WHERE r.id = @id AND r.holds AND s.squad_id = @squad`

	// The one that holds of the same points: a new calibration computes them anew.
	sqlReadingOfPoints = `SELECT` + readingColumns + readingFrom + `
		JOIN reading o ON o.id = @id AND o.delivery_id = r.delivery_id AND o.recording_id = r.recording_id AND o.sights = r.sights
		WHERE r.holds AND s.squad_id = @squad`

	sqlBallReadings = `SELECT` + readingColumns + readingFrom + ` WHERE r.delivery_id = @ball AND r.holds ORDER BY r.id`

	sqlSessionReadings = `SELECT` + readingColumns + readingFrom + `
		WHERE d.session_id = @session AND r.holds AND d.state <> 'discarded' ORDER BY d.number, r.id`

	sqlRecordingReadings = `SELECT` + readingColumns + readingFrom + ` WHERE r.recording_id = @recording AND r.holds ORDER BY r.id`

	sqlReadingValues = `
		SELECT reading_id, measure, value, sigma, low, high, caveats FROM reading_value
		WHERE reading_id = ANY(@readings::bigint[])`
)

type readingRow struct {
	ID                      int64
	UUID                    uuid.UUID
	DeliveryID, RecordingID int64
	Calibrated              bool
	Sights                  reading.Sights
	ProposedBy              string
	Status                  reading.Status
	By                      string
	Made                    time.Time
	PlayerID                int64
	Number                  int
	Block                   string
}

func (r readingRow) reading() reading.Reading {
	return reading.Reading{
		ID: r.ID, Calibrated: r.Calibrated, By: r.By, Made: r.Made, PlayerID: r.PlayerID, BallNumber: r.Number, Block: r.Block,
		Input: reading.Input{
			UUID: r.UUID, BallID: r.DeliveryID, RecordingID: r.RecordingID, Sights: r.Sights, ProposedBy: r.ProposedBy, Status: r.Status,
		},
	}
}

type readingValueRow struct {
	ReadingID    int64
	Measure      string
	Value, Sigma float64
	Low, High    *float64
	Caveats      []string
}

func (r readingValueRow) value() measure.Value {
	m, _ := measure.Find(r.Measure)
	return measure.Value{Measure: r.Measure, Value: r.Value, Sigma: r.Sigma, Unit: m.Unit, Low: r.Low, High: r.High, Caveats: r.Caveats}
}

// placeOf is where each measure stands among all.
var placeOf = func() map[string]int {
	places := map[string]int{}
	for i, m := range measure.Measures() {
		places[m.Key] = i
	}
	return places
}()

// readings loads readings with their values, each reading's in the order of
// measure.Measures.
func readings(ctx context.Context, q querier, sql string, a args) ([]reading.Reading, error) {
	rows, err := all[readingRow](ctx, q, sql, a)
	if err != nil {
		return nil, err
	}
	list, at, ids := make([]reading.Reading, len(rows)), map[int64]int{}, make([]int64, len(rows))
	for i, r := range rows {
		list[i], at[r.ID], ids[i] = r.reading(), i, r.ID
	}
	values, err := all[readingValueRow](ctx, q, sqlReadingValues, args{"readings": ids})
	if err != nil {
		return nil, err
	}
	for _, v := range values {
		r := &list[at[v.ReadingID]]
		r.Values = append(r.Values, v.value())
	}
	for i := range list {
		slices.SortFunc(list[i].Values, func(a, b measure.Value) int { return cmp.Compare(placeOf[a.Measure], placeOf[b.Measure]) })
	}
	return list, nil
}

// readingScene loads what a reading is computed with.
func readingScene(ctx context.Context, q querier, v tagging.Viewer, ball, recording int64) (scene reading.Scene, session int64, err error) {
	row, err := one[struct {
		SessionID int64
		State     tagging.BallState
		Probe     *media.Probe
		PlayerID  int64
	}](ctx, q, sqlReadingScene, args{"ball": ball, "recording": recording, "squad": v.SquadID})
	switch {
	case errors.Is(err, pgx.ErrNoRows):
		return scene, 0, absent(noBall)
	case err != nil:
		return scene, 0, err
	case row.State == tagging.Discarded:
		return scene, 0, absent(noBall)
	case row.Probe == nil:
		return scene, 0, fault.New(fault.Invalid, "", "This recording has not been looked at yet. Try again when it is split.")
	}
	scene.Probe = *row.Probe
	if scene.Calibration, err = calibration(ctx, q, recording); err != nil {
		return scene, 0, err
	}
	if row.PlayerID != 0 {
		if scene.Player, err = one[tagging.Player](ctx, q, sqlPlayer, args{"squad": v.SquadID, "id": row.PlayerID}); err != nil {
			return scene, 0, err
		}
		if scene.Yardsticks, err = yardsticks(ctx, q, row.PlayerID); err != nil {
			return scene, 0, err
		}
	}
	return scene, row.SessionID, nil
}

// shareSession keeps the lane, and how its cameras are calibrated, from
// changing while one of its balls is measured: a value of the calibration
// before would stand beside those of the new one.
func shareSession(ctx context.Context, tx pgx.Tx, v tagging.Viewer, ball int64) error {
	shared, err := column[int64](ctx, tx, sqlShareSessions, args{"squad": v.SquadID, "balls": []int64{ball}})
	if err == nil && len(shared) == 0 {
		err = absent(noBall)
	}
	return err
}

// TryReading computes what follows from points and keeps nothing.
func (s *Store) TryReading(ctx context.Context, v tagging.Viewer, in reading.Input) (reading.Outcome, error) {
	const op = "db.TryReading"
	if err := staffRead(v, noBall); err != nil {
		return reading.Outcome{}, trouble(op, err)
	}
	if err := in.Validate(); err != nil {
		return reading.Outcome{}, trouble(op, err)
	}
	scene, _, err := readingScene(ctx, s.pool, v, in.BallID, in.RecordingID)
	if err != nil {
		return reading.Outcome{}, trouble(op, err)
	}
	out, err := scene.Compute(in.Sights)
	return out, trouble(op, err)
}

// AddReading keeps points and what follows from them; the ball's earlier
// reading on this recording is superseded. One that is there already changes
// nothing. A proposal in place of what a person has accepted or rejected is
// fault.Conflict.
func (s *Store) AddReading(ctx context.Context, v tagging.Viewer, in reading.Input) (kept reading.Reading, out reading.Outcome, err error) {
	err = s.inTx(ctx, "db.AddReading", func(tx pgx.Tx) error {
		if err := staffOnly(v); err != nil {
			return err
		}
		if err := in.Validate(); err != nil {
			return err
		}
		if err := shareSession(ctx, tx, v, in.BallID); err != nil {
			return err
		}
		scene, session, err := readingScene(ctx, tx, v, in.BallID, in.RecordingID)
		if err != nil {
			return err
		}
		if _, err := value[int64](ctx, tx, sqlLockBall, args{"ball": in.BallID}); err != nil {
			return err
		}
		if out, err = scene.Compute(in.Sights); err != nil {
			return err
		}
		there, err := all[struct{ ID, AccountID int64 }](ctx, tx, sqlReadingThere, args{"uuid": in.UUID})
		if err != nil {
			return err
		}
		var id int64
		switch {
		case len(there) == 0:
			if len(out.Values) == 0 && in.Status == reading.Accepted {
				return nothingMeasured(out)
			}
			if err := proposable(ctx, tx, in); err != nil {
				return err
			}
			if id, err = addReading(ctx, tx, v, scene, in, out.Values); err != nil {
				return err
			}
			if err := tell(ctx, tx, v.SquadID, tagging.Event{Topic: "measure", ID: in.BallID, Session: session}); err != nil {
				return err
			}
		case there[0].AccountID != v.AccountID:
			return fault.New(fault.Conflict, "", taken["reading_uuid_key"])
		default:
			id = there[0].ID
		}
		list, err := readings(ctx, tx, sqlReading, args{"id": id, "squad": v.SquadID})
		if err == nil && len(list) == 0 { // sent once more, after it was superseded
			err = fault.New(fault.Conflict, "", "This ball was measured anew meanwhile. Load it again.")
		}
		if err != nil {
			return err
		}
		kept = list[0]
		return nil
	})
	return kept, out, err
}

// proposable keeps proposals away from balls that a person has judged.
func proposable(ctx context.Context, tx pgx.Tx, in reading.Input) error {
	if in.Status != reading.Proposed {
		return nil
	}
	judged, err := value[bool](ctx, tx, sqlReadingJudged, args{"ball": in.BallID, "recording": in.RecordingID})
	if err == nil && judged {
		err = fault.New(fault.Conflict, "", "This ball has been measured and looked over already. Its measures stay.")
	}
	return err
}

// nothingMeasured says why points give no value: of the reasons the first.
func nothingMeasured(out reading.Outcome) error {
	if len(out.Refusals) > 0 {
		return fault.New(fault.Invalid, "", "Nothing could be measured. "+out.Refusals[0].Why)
	}
	return fault.New(fault.Invalid, "", "These points give no measure yet. Put both heels on, or all points of a joint.")
}

func addReading(ctx context.Context, tx pgx.Tx, v tagging.Viewer, scene reading.Scene, in reading.Input, values []measure.Value) (int64, error) {
	var calibrated int64
	if scene.Calibration != nil {
		calibrated = scene.Calibration.ID
	}
	id, err := value[int64](ctx, tx, sqlAddReading, args{
		"uuid": in.UUID, "ball": in.BallID, "recording": in.RecordingID, "calibration": calibrated, "account": v.AccountID,
		"sights": in.Sights, "proposed_by": in.ProposedBy, "status": in.Status, "formula": measure.Formula,
	})
	if err != nil || len(values) == 0 {
		return id, err
	}
	var batch pgx.Batch
	for _, m := range values {
		batch.Queue(sqlAddReadingValue, args{
			"reading": id, "measure": m.Measure, "value": m.Value, "sigma": m.Sigma, "low": m.Low, "high": m.High, "caveats": m.Caveats,
		})
	}
	return id, tx.SendBatch(ctx, &batch).Close()
}
