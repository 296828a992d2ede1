package db

import (
	"context"

	"netreel/tagging"
)

// SideBySide gives two balls with all that the player page shows of them, left
// and right; both may be the same one. A viewer gets balls that Ball would give
// them, and none that was discarded.
func (s *Store) SideBySide(ctx context.Context, v tagging.Viewer, left, right int64) ([2]tagging.PlaylistItem, error) {
	const op = "db.SideBySide"
	var pair [2]tagging.PlaylistItem
	for side, id := range []int64{left, right} {
		if err := ballVisible(ctx, s.pool, v, id, noBall); err != nil {
			return pair, trouble(op, err)
		}
		list, err := items(ctx, s.pool, []int64{id})
		if err != nil {
			return pair, trouble(op, err)
		}
		if len(list) == 0 || list[0].Ball.State == tagging.Discarded {
			return pair, trouble(op, absent(noBall))
		}
		pair[side] = list[0]
	}
	return pair, nil
}
