package db

import (
	"context"
	"fmt"
	"slices"

	"netreel/tagging"
	"netreel/tagging/find"
	"netreel/tagging/lookback"
)

// maxCounted is how many balls a look-back or one side of a comparison counts.
const maxCounted = 20_000

// maxEarlier is how many earlier challenges a card is held against.
const maxEarlier = 12

const (
	sqlCountedBalls = `
		SELECT d.id, d.session_id, coalesce(d.block_id, 0) AS block_id, coalesce(d.player_id, 0) AS player_id,
			coalesce(d.number, 0) AS number,
			ARRAY(SELECT unnest(d.known) EXCEPT SELECT unnest(d.codes)) AS given
		FROM delivery d WHERE d.id = ANY(@ids::bigint[])`

	sqlSaidOf = `SELECT delivery_id, account_id, codes FROM coding WHERE delivery_id = ANY(@ids::bigint[])`

	sqlMeasuredMeans = `
		SELECT r.delivery_id, v.measure, avg(v.value) AS value
		FROM reading r JOIN reading_value v ON v.reading_id = r.id
		WHERE r.delivery_id = ANY(@ids::bigint[]) AND r.holds AND r.status = 'accepted'
		GROUP BY r.delivery_id, v.measure`

	sqlEarlierChallenges = `
		SELECT b.id, b.name, coalesce(b.aim, 0) AS aim, s.id AS session, s.title, to_char(s.held_on, 'YYYY-MM-DD') AS held_on
		FROM block b JOIN net_session s ON s.id = b.session_id
		WHERE s.squad_id = @squad AND b.challenge
			AND (s.held_on, s.id) < (SELECT held_on, id FROM net_session WHERE id = @session)
			AND EXISTS (SELECT FROM delivery d WHERE d.block_id = b.id AND d.state <> 'discarded' AND d.player_id IN (
				SELECT player_id FROM delivery WHERE session_id = @session AND state <> 'discarded'))
		ORDER BY s.held_on DESC, s.id DESC, b.start_us DESC
		LIMIT @most`

	sqlCoderNames = `SELECT id, name FROM account WHERE id = ANY(@ids::bigint[])`

	sqlVisits = `
		SELECT s.id AS session, s.title, to_char(s.held_on, 'YYYY-MM-DD') AS held_on, s.note
		FROM net_session s
		WHERE s.squad_id = @squad AND EXISTS (
			SELECT FROM delivery d WHERE d.session_id = s.id AND d.player_id = @player AND d.state <> 'discarded')
		ORDER BY s.held_on, s.id`
)

// Lookback gathers what a session's look-back is made of: of one player, or
// with player 0 of all. Whose terms count is the caller's to choose.
func (s *Store) Lookback(ctx context.Context, v tagging.Viewer, id, player int64) (lookback.Session, error) {
	in, err := s.lookback(ctx, v, id, player)
	return in, trouble("db.Lookback", err)
}

func (s *Store) lookback(ctx context.Context, v tagging.Viewer, id, player int64) (in lookback.Session, err error) {
	if err := staffRead(v, noSession); err != nil {
		return in, err
	}
	if _, err := session(ctx, s.pool, v, id); err != nil {
		return in, err
	}
	in.ID, in.Player = id, player
	q := find.Question{Sessions: []int64{id}}
	if player != 0 {
		q.Players = []int64{player}
		if in.Rules, _, err = rules(ctx, s.pool, v, player); err != nil {
			return in, err
		}
	}
	if in.Balls, err = s.counted(ctx, v, q); err != nil {
		return in, err
	}
	if in.Blocks, err = blocks(ctx, s.pool, id); err != nil {
		return in, err
	}
	if in.Vocabulary, err = edition(ctx, s.pool, sqlCurrentEdition, args{"squad": v.SquadID}); err != nil {
		return in, err
	}
	if in.Felt, err = s.Felt(ctx, v, idsOf(in.Balls, func(b lookback.Ball) int64 { return b.ID }),
		idsOf(in.Blocks, func(b tagging.Block) int64 { return b.ID })); err != nil {
		return in, err
	}
	in.Coders = lookback.Coders(in.Balls)
	if err := nameCoders(ctx, s.pool, in.Coders); err != nil {
		return in, err
	}
	in.Earlier, err = s.earlier(ctx, v, id)
	return in, err
}

func nameCoders(ctx context.Context, q querier, coders []lookback.Coder) error {
	rows, err := all[struct {
		ID   int64
		Name string
	}](ctx, q, sqlCoderNames, args{"ids": idsOf(coders, func(c lookback.Coder) int64 { return c.ID })})
	names := map[int64]string{}
	for _, r := range rows {
		names[r.ID] = r.Name
	}
	for i, c := range coders {
		coders[i].Name = names[c.ID]
	}
	return err
}

// CountedBalls is what a question finds, to be counted: in the order played,
// oldest session first, with what each coder said.
func (s *Store) CountedBalls(ctx context.Context, v tagging.Viewer, q find.Question) ([]lookback.Ball, error) {
	const op = "db.CountedBalls"
	if err := staffOnly(v); err != nil {
		return nil, trouble(op, err)
	}
	list, err := s.counted(ctx, v, q.Normal())
	return list, trouble(op, err)
}

func (s *Store) counted(ctx context.Context, v tagging.Viewer, q find.Question) ([]lookback.Ball, error) {
	ids, err := foundIDs(ctx, s.pool, newAsker(v.SquadID, onlyPlayer(v)), q, find.Page{Limit: maxCounted})
	if err != nil {
		return nil, err
	}
	type row struct {
		ID, SessionID, BlockID, PlayerID int64
		Number                           int
		Given                            []string
	}
	rows, err := all[row](ctx, s.pool, sqlCountedBalls, args{"ids": ids})
	if err != nil {
		return nil, err
	}
	said, err := all[struct {
		DeliveryID, AccountID int64
		Codes                 []string
	}](ctx, s.pool, sqlSaidOf, args{"ids": ids})
	if err != nil {
		return nil, err
	}
	measured, err := s.measuredOf(ctx, ids)
	if err != nil {
		return nil, err
	}
	by := map[int64]map[int64]lookback.Terms{}
	for _, c := range said {
		if by[c.DeliveryID] == nil {
			by[c.DeliveryID] = map[int64]lookback.Terms{}
		}
		by[c.DeliveryID][c.AccountID] = lookback.Terms(parseCodes(c.Codes))
	}
	around := make(map[int64]row, len(rows))
	for _, r := range rows {
		around[r.ID] = r
	}
	return inOrder(ids, func(id int64) (lookback.Ball, int64, bool) {
		r, ok := around[id]
		return lookback.Ball{
			ID: r.ID, SessionID: r.SessionID, BlockID: r.BlockID, PlayerID: r.PlayerID, Number: r.Number,
			By: by[id], Given: lookback.Terms(parseCodes(r.Given)), Measured: measured[id],
		}, r.SessionID, ok
	}), nil
}

// measuredOf is what was accepted as measured on balls: the mean where several
// cameras were measured off.
func (s *Store) measuredOf(ctx context.Context, ids []int64) (map[int64]map[string]float64, error) {
	rows, err := all[struct {
		DeliveryID int64
		Measure    string
		Value      float64
	}](ctx, s.pool, sqlMeasuredMeans, args{"ids": ids})
	of := map[int64]map[string]float64{}
	for _, r := range rows {
		if of[r.DeliveryID] == nil {
			of[r.DeliveryID] = map[string]float64{}
		}
		of[r.DeliveryID][r.Measure] = r.Value
	}
	return of, err
}

// inOrder turns the newest session first into the oldest first; the balls of a
// session are in the order played already.
func inOrder(ids []int64, ball func(int64) (lookback.Ball, int64, bool)) []lookback.Ball {
	var sessions [][]lookback.Ball
	var last int64
	for _, id := range ids {
		b, session, ok := ball(id)
		if !ok {
			continue
		}
		if len(sessions) == 0 || session != last {
			sessions, last = append(sessions, nil), session
		}
		sessions[len(sessions)-1] = append(sessions[len(sessions)-1], b)
	}
	var list []lookback.Ball
	for _, session := range slices.Backward(sessions) {
		list = append(list, session...)
	}
	return list
}

// earlier loads the challenges of the session's players before it, latest
// first.
func (s *Store) earlier(ctx context.Context, v tagging.Viewer, session int64) ([]lookback.Earlier, error) {
	rows, err := all[struct {
		ID, Session         int64
		Aim                 int
		Name, Title, HeldOn string
	}](ctx, s.pool, sqlEarlierChallenges, args{"squad": v.SquadID, "session": session, "most": maxEarlier})
	if err != nil {
		return nil, err
	}
	list := make([]lookback.Earlier, len(rows))
	for i, r := range rows {
		balls, err := s.counted(ctx, v, find.Question{Blocks: []int64{r.ID}})
		if err != nil {
			return nil, fmt.Errorf("block %d: %w", r.ID, err)
		}
		list[i] = lookback.Earlier{
			Session: r.Session, Title: r.Title, HeldOn: r.HeldOn, Balls: balls,
			Block: tagging.Block{ID: r.ID, Name: r.Name, Aim: r.Aim, Challenge: true},
		}
	}
	return list, nil
}

// Visits lists a player's sessions, oldest first, with the player's balls and
// the blocks these lie in.
func (s *Store) Visits(ctx context.Context, v tagging.Viewer, player int64) ([]lookback.Visit, error) {
	list, err := s.visits(ctx, v, player)
	return list, trouble("db.Visits", err)
}

func (s *Store) visits(ctx context.Context, v tagging.Viewer, player int64) ([]lookback.Visit, error) {
	if err := staffRead(v, noPlayer); err != nil {
		return nil, err
	}
	if _, _, err := rules(ctx, s.pool, v, player); err != nil { // that the player is there
		return nil, err
	}
	rows, err := all[struct {
		Session             int64
		Title, HeldOn, Note string
	}](ctx, s.pool, sqlVisits, args{"squad": v.SquadID, "player": player})
	if err != nil {
		return nil, err
	}
	balls, err := s.counted(ctx, v, find.Question{Players: []int64{player}})
	if err != nil {
		return nil, err
	}
	list, at := make([]lookback.Visit, len(rows)), map[int64]int{}
	for i, r := range rows {
		list[i] = lookback.Visit{Session: r.Session, Title: r.Title, HeldOn: r.HeldOn, Note: r.Note}
		at[r.Session] = i
	}
	batted := map[int64]bool{}
	for _, b := range balls {
		if i, ok := at[b.SessionID]; ok {
			list[i].Balls = append(list[i].Balls, b)
			batted[b.BlockID] = true
		}
	}
	there, err := blocksOf(ctx, s.pool, idsOf(list, func(v lookback.Visit) int64 { return v.Session }))
	if err != nil {
		return nil, err
	}
	for i := range list {
		for _, b := range there[list[i].Session] {
			if batted[b.ID] {
				list[i].Blocks = append(list[i].Blocks, b)
			}
		}
	}
	return list, nil
}

func idsOf[T any](list []T, id func(T) int64) []int64 {
	ids := make([]int64, len(list))
	for i, v := range list {
		ids[i] = id(v)
	}
	return ids
}
