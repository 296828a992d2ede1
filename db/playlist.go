package db

import (
	"context"

	"netreel/tagging"
	"netreel/tagging/find"
)

const sqlSquadName = `SELECT name FROM squad WHERE id = @squad`

// Playlist returns a reel ready to be watched: all its balls, to whoever may
// see the reel. Those of a question are found anew each time.
func (s *Store) Playlist(ctx context.Context, v tagging.Viewer, id int64) (tagging.Playlist, error) {
	const op = "db.Playlist"
	r, err := reel(ctx, s.pool, v, id)
	if err != nil {
		return tagging.Playlist{}, trouble(op, err)
	}
	p, err := playlist(ctx, s.pool, v.SquadID, r)
	return p, trouble(op, err)
}

func playlist(ctx context.Context, q querier, squad int64, r tagging.Reel) (tagging.Playlist, error) {
	name, err := value[string](ctx, q, sqlSquadName, args{"squad": squad})
	if err != nil {
		return tagging.Playlist{}, err
	}
	ids, err := reelBallIDs(ctx, q, squad, r)
	if err != nil {
		return tagging.Playlist{}, err
	}
	list, err := items(ctx, q, ids)
	if err != nil {
		return tagging.Playlist{}, err
	}
	written := map[int64]tagging.ReelBall{}
	for _, b := range r.Balls {
		written[b.BallID] = b
	}
	for i := range list {
		if b, ok := written[list[i].BallID]; ok {
			list[i].ReelBall = b
		}
	}
	return tagging.Playlist{Reel: r, Squad: name, Items: list}, nil
}

// reelBallIDs lists a reel's balls in its order.
func reelBallIDs(ctx context.Context, q querier, squad int64, r tagging.Reel) ([]int64, error) {
	if r.Question == nil {
		ids := make([]int64, len(r.Balls))
		for i, b := range r.Balls {
			ids[i] = b.BallID
		}
		return ids, nil
	}
	question, err := find.Parse(*r.Question)
	if err != nil {
		return nil, err
	}
	return foundIDs(ctx, q, newAsker(squad, 0), question, find.Page{Limit: maxReel})
}
