package db

import (
	"cmp"
	"context"
	"fmt"
	"slices"

	"github.com/jackc/pgx/v5"

	"netreel/media"
	"netreel/media/fault"
	"netreel/tagging"
	"netreel/tagging/vocabulary"
)

// Limits of a session's blocks.
const (
	maxBlocks = 100
	maxAim    = 1000
)

const (
	sqlBlocks = `
		SELECT id, session_id, name, start_us, end_us, coalesce(player_id, 0) AS player_id, coalesce(bowling, '') AS bowling,
			coalesce(feed, '') AS feed, coalesce(bat, '') AS bat, coalesce(aim, 0) AS aim, challenge,
			coalesce(feeder, '') AS feeder, coalesce(speed_kph, 0) AS speed_kph, coalesce(plan_id, 0) AS plan_id,
			coalesce(plan_block, 0) AS plan_block
		FROM block WHERE session_id = ANY(@sessions::bigint[]) ORDER BY session_id, start_us, id`

	sqlDropBlocks = `DELETE FROM block WHERE session_id = @session AND id <> ALL(@keep::bigint[])`

	sqlSaveBlock = `
		UPDATE block SET name = @name, start_us = @start, end_us = @end, player_id = nullif(@player::bigint, 0),
			bowling = nullif(@bowling, ''), feed = nullif(@feed, ''), bat = nullif(@bat, ''), aim = nullif(@aim::int, 0),
			challenge = @challenge, feeder = nullif(@feeder, ''), speed_kph = nullif(@speed::double precision, 0)
		WHERE id = @id AND session_id = @session`

	sqlAddBlock = `
		INSERT INTO block (session_id, name, start_us, end_us, player_id, bowling, feed, bat, aim, challenge, feeder, speed_kph, plan_id, plan_block)
		VALUES (@session, @name, @start, @end, nullif(@player::bigint, 0),
			nullif(@bowling, ''), nullif(@feed, ''), nullif(@bat, ''), nullif(@aim::int, 0), @challenge,
			nullif(@feeder, ''), nullif(@speed::double precision, 0), nullif(@plan::bigint, 0), @plan_block)`
)

type blockRow struct {
	ID, SessionID                    int64
	Name, Bowling, Feed, Bat, Feeder string
	StartUS, EndUS                   media.Micros
	PlayerID, PlanID                 int64
	Aim, PlanBlock                   int
	SpeedKPH                         float64
	Challenge                        bool
}

func blocks(ctx context.Context, q querier, session int64) ([]tagging.Block, error) {
	of, err := blocksOf(ctx, q, []int64{session})
	return of[session], err
}

// blocksOf returns the blocks of several sessions, each session's in the order
// of time.
func blocksOf(ctx context.Context, q querier, sessions []int64) (map[int64][]tagging.Block, error) {
	rows, err := all[blockRow](ctx, q, sqlBlocks, args{"sessions": sessions})
	if err != nil {
		return nil, err
	}
	of := map[int64][]tagging.Block{}
	for _, r := range rows {
		of[r.SessionID] = append(of[r.SessionID], tagging.Block{
			ID: r.ID, Name: r.Name, Span: media.Span{Start: r.StartUS, End: r.EndUS}, PlayerID: r.PlayerID,
			Bowling: r.Bowling, Feed: r.Feed, Bat: r.Bat, Aim: r.Aim, Challenge: r.Challenge,
			Feeder: r.Feeder, SpeedKPH: r.SpeedKPH, PlanID: r.PlanID, PlanBlock: r.PlanBlock,
		})
	}
	return of, nil
}

// SetBlocks replaces a session's blocks; ones with an ID are kept and changed.
// Blocks may touch but not overlap, since a ball belongs to one.
func (s *Store) SetBlocks(ctx context.Context, v tagging.Viewer, session int64, in []tagging.Block) (saved []tagging.Block, err error) {
	err = s.inTx(ctx, "db.SetBlocks", func(tx pgx.Tx) error {
		if err := staffOnly(v); err != nil {
			return err
		}
		if err := lockSession(ctx, tx, v, session); err != nil {
			return err
		}
		e, err := edition(ctx, tx, sqlCurrentEdition, args{"squad": v.SquadID})
		if err != nil {
			return err
		}
		in = slices.Clone(in)
		if err := checkBlocks(in, e); err != nil {
			return err
		}
		if err := playersThere(ctx, tx, v.SquadID, blockPlayers(in)); err != nil {
			return err
		}
		if err := saveBlocks(ctx, tx, session, in); err != nil {
			return err
		}
		if err := settle(ctx, tx, session); err != nil {
			return err
		}
		if saved, err = blocks(ctx, tx, session); err != nil {
			return err
		}
		return tell(ctx, tx, v.SquadID, tagging.Event{Topic: "lane", ID: session, Session: session})
	})
	return saved, err
}

// saveBlocks sends all changes at once.
func saveBlocks(ctx context.Context, tx pgx.Tx, session int64, in []tagging.Block) error {
	keep := []int64{}
	for _, b := range in {
		if b.ID != 0 {
			keep = append(keep, b.ID)
		}
	}
	batch := &pgx.Batch{}
	batch.Queue(sqlDropBlocks, args{"session": session, "keep": keep})
	for _, b := range in {
		a := args{
			"session": session, "name": b.Name, "start": b.Span.Start, "end": b.Span.End, "player": b.PlayerID,
			"bowling": b.Bowling, "feed": b.Feed, "bat": b.Bat, "aim": b.Aim, "challenge": b.Challenge,
			"feeder": b.Feeder, "speed": b.SpeedKPH,
		}
		if b.ID == 0 {
			a["plan"], a["plan_block"] = b.PlanID, b.PlanBlock
			batch.Queue(sqlAddBlock, a)
			continue
		}
		a["id"] = b.ID
		batch.Queue(sqlSaveBlock, a)
	}
	results := tx.SendBatch(ctx, batch)
	defer func() { _ = results.Close() }()
	for i := range batch.Len() {
		done, err := results.Exec()
		if err != nil {
			return err
		}
		if i > 0 && done.RowsAffected() == 0 {
			return fault.New(fault.Conflict, "", "Somebody else deleted a block meanwhile. Reload the page.")
		}
	}
	return results.Close()
}

// checkBlocks checks blocks by themselves and tidies their names in place.
func checkBlocks(in []tagging.Block, e vocabulary.Edition) error {
	var f form
	if len(in) > maxBlocks {
		f.bad("blocks", fmt.Sprintf("can be %d at most", maxBlocks))
	}
	ids := map[int64]bool{}
	for i := range in {
		b, at := &in[i], fmt.Sprintf("blocks.%d.", i)
		b.Name, b.Feeder = f.words(at+"name", b.Name, 1, maxTitleLen), f.words(at+"feeder", b.Feeder, 0, maxNameLen)
		if !(b.SpeedKPH >= 0 && b.SpeedKPH <= 200) { // NaN fails both
			f.bad(at+"speed_kph", "must be 1 to 200, or left out")
		}
		if b.Span.End <= b.Span.Start {
			f.bad(at+"end_us", "must be after its start")
		}
		if b.Aim < 0 || b.Aim > maxAim {
			f.bad(at+"aim", fmt.Sprintf("must be 1 to %d balls", maxAim))
		}
		for _, t := range []struct{ group, key string }{{"bowling", b.Bowling}, {"feed", b.Feed}, {"bat", b.Bat}} {
			if _, ok := e.Term(t.group, t.key); t.key != "" && !ok {
				f.bad(at+t.group, "is not in the vocabulary")
			}
		}
		if b.ID != 0 && ids[b.ID] {
			f.bad(at+"id", "is there twice")
		}
		ids[b.ID] = true
	}
	ordered := slices.SortedFunc(slices.Values(in), func(a, b tagging.Block) int { return cmp.Compare(a.Span.Start, b.Span.Start) })
	for i := 1; i < len(ordered); i++ {
		if before, b := ordered[i-1], ordered[i]; before.Span.Overlap(b.Span) > 0 {
			f.bad("blocks", fmt.Sprintf("can't overlap: %q and %q do", before.Name, b.Name))
		}
	}
	return f.err()
}

func blockPlayers(in []tagging.Block) []int64 {
	var players []int64
	for _, b := range in {
		if b.PlayerID != 0 && !slices.Contains(players, b.PlayerID) {
			players = append(players, b.PlayerID)
		}
	}
	return players
}
