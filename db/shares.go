package db

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"netreel/media/fault"
	"netreel/tagging"
)

const shareColumns = `
	h.id, h.reel_id, a.name AS made_by, h.created_at AS created, h.expires_at AS expires,
	h.revoked_at IS NOT NULL AS revoked, h.opened`

const (
	sqlShares = `SELECT` + shareColumns + `
		FROM share h JOIN account a ON a.id = h.made_by
		WHERE h.reel_id = @reel ORDER BY h.id DESC`

	sqlShare = `SELECT` + shareColumns + ` FROM share h JOIN account a ON a.id = h.made_by WHERE h.id = @id`

	sqlAddShare = `
		INSERT INTO share (reel_id, secret_hash, made_by, expires_at)
		VALUES (@reel, @hash, @maker, @expires) RETURNING id`

	sqlRevokeShare = `
		UPDATE share h SET revoked_at = coalesce(h.revoked_at, now()) FROM reel r
		WHERE h.id = @id AND r.id = h.reel_id AND r.squad_id = @squad
		RETURNING r.id`

	// What holds: neither expired nor revoked.
	sqlHeldShare = `
		SELECT h.id, h.reel_id, r.squad_id FROM share h JOIN reel r ON r.id = h.reel_id
		WHERE h.secret_hash = @hash AND h.expires_at > now() AND h.revoked_at IS NULL`

	sqlCountOpened = `UPDATE share SET opened = opened + 1 WHERE id = @id`
)

const noShare = "This link does not work any more, or never did. Ask whoever sent it for a new one."

// slack is how far the page's idea of a whole number of days may be off ours.
const slack = time.Hour

// Shares lists a reel's links, newest first, to staff.
func (s *Store) Shares(ctx context.Context, v tagging.Viewer, reelID int64) ([]tagging.Share, error) {
	const op = "db.Shares"
	if err := staffReel(ctx, s.pool, v, reelID); err != nil {
		return nil, trouble(op, err)
	}
	list, err := all[tagging.Share](ctx, s.pool, sqlShares, args{"reel": reelID})
	return list, trouble(op, err)
}

// staffReel hides from players what only staff do with reels.
func staffReel(ctx context.Context, q querier, v tagging.Viewer, reelID int64) error {
	if err := staffRead(v, noReel); err != nil {
		return err
	}
	_, err := reel(ctx, q, v, reelID)
	return err
}

// AddShare makes a link to a reel that lives from one day to MaxShareDays, and
// returns its secret.
func (s *Store) AddShare(ctx context.Context, v tagging.Viewer, reelID int64, expires time.Time) (added tagging.Share, secret string, err error) {
	err = s.inTx(ctx, "db.AddShare", func(tx pgx.Tx) error {
		if err := staffOnly(v); err != nil {
			return err
		}
		if _, err := reel(ctx, tx, v, reelID); err != nil {
			return err
		}
		const day = 24 * time.Hour
		if life := time.Until(expires); life < day-slack || life > tagging.MaxShareDays*day+slack {
			reason := fmt.Sprintf("must be 1 to %d", tagging.MaxShareDays)
			return fault.New(fault.Invalid, "", "The days that the link lives "+reason+".", fault.Field{Name: "days", Reason: reason})
		}
		var hash []byte
		secret, hash = newSecret()
		id, err := value[int64](ctx, tx, sqlAddShare, args{"reel": reelID, "hash": hash, "maker": v.AccountID, "expires": expires})
		if err != nil {
			return err
		}
		if added, err = one[tagging.Share](ctx, tx, sqlShare, args{"id": id}); err != nil {
			return err
		}
		return tell(ctx, tx, v.SquadID, tagging.Event{Topic: "reel", ID: reelID})
	})
	return added, secret, err
}

// RevokeShare makes a link open nothing from now on.
func (s *Store) RevokeShare(ctx context.Context, v tagging.Viewer, id int64) error {
	return s.inTx(ctx, "db.RevokeShare", func(tx pgx.Tx) error {
		if err := staffOnly(v); err != nil {
			return err
		}
		reelID, err := value[int64](ctx, tx, sqlRevokeShare, args{"id": id, "squad": v.SquadID})
		if errors.Is(err, pgx.ErrNoRows) {
			return absent("There is no such link.")
		}
		if err != nil {
			return err
		}
		return tell(ctx, tx, v.SquadID, tagging.Event{Topic: "reel", ID: reelID})
	})
}

type heldShare struct{ ID, ReelID, SquadID int64 }

// held finds the link of a secret and its reel, as somebody without an account
// sees it. Whatever makes it not hold gives the same fault.NotFound.
func held(ctx context.Context, q querier, secret string) (heldShare, tagging.Reel, error) {
	h, err := one[heldShare](ctx, q, sqlHeldShare, args{"hash": hashOf(secret)})
	if errors.Is(err, pgx.ErrNoRows) {
		return h, tagging.Reel{}, absent(noShare)
	}
	if err != nil {
		return h, tagging.Reel{}, err
	}
	r, err := reel(ctx, q, tagging.Viewer{SquadID: h.SquadID, Role: tagging.Analyst}, h.ReelID)
	r.Players = nil // whom else it is shared with is nobody's business here
	return h, r, err
}

// SharedPlaylist is the playlist of a share link that holds; opened counts a
// first look.
func (s *Store) SharedPlaylist(ctx context.Context, secret string, opened bool) (tagging.Playlist, error) {
	const op = "db.SharedPlaylist"
	h, r, err := held(ctx, s.pool, secret)
	if err != nil {
		return tagging.Playlist{}, trouble(op, err)
	}
	if opened {
		if _, err := s.pool.Exec(ctx, sqlCountOpened, args{"id": h.ID}); err != nil {
			return tagging.Playlist{}, trouble(op, err)
		}
	}
	p, err := playlist(ctx, s.pool, h.SquadID, r)
	return p, trouble(op, err)
}

// SharedClip is a clip of the reel of a share link that holds.
func (s *Store) SharedClip(ctx context.Context, secret string, clip int64) (tagging.Clip, error) {
	c, err := s.sharedClip(ctx, secret, clip)
	return c, trouble("db.SharedClip", err)
}

func (s *Store) sharedClip(ctx context.Context, secret string, clip int64) (tagging.Clip, error) {
	h, r, err := held(ctx, s.pool, secret)
	if err != nil {
		return tagging.Clip{}, err
	}
	c, err := clipByID(ctx, s.pool, clip)
	if err != nil {
		return tagging.Clip{}, err
	}
	in := slices.ContainsFunc(r.Balls, func(b tagging.ReelBall) bool { return b.BallID == c.BallID })
	if r.Question != nil {
		if in, err = foundByAny(ctx, s.pool, h.SquadID, []string{*r.Question}, c.BallID); err != nil {
			return tagging.Clip{}, err
		}
	}
	if !in {
		return tagging.Clip{}, absent(noClip)
	}
	return c, nil
}
