package db

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"time"

	"github.com/jackc/pgx/v5"

	"netreel/tagging"
)

const (
	// A new link takes the place of unused ones, so that a lost link opens nothing.
	sqlDropLinks = `DELETE FROM one_time_link WHERE account_id = @account AND used_at IS NULL`

	sqlAddLink = `
		INSERT INTO one_time_link (secret_hash, account_id, expires_at)
		VALUES (@hash, @account, now() + make_interval(secs => @seconds))`

	sqlPeekLink = `SELECT` + accountColumns + `
		FROM one_time_link l JOIN account a ON a.id = l.account_id JOIN squad q ON q.id = a.squad_id
		WHERE l.secret_hash = @hash AND l.used_at IS NULL AND l.expires_at > now() AND a.disabled_at IS NULL`

	sqlUseLink = `
		UPDATE one_time_link l SET used_at = now()
		FROM account a
		WHERE l.secret_hash = @hash AND l.used_at IS NULL AND l.expires_at > now()
		  AND a.id = l.account_id AND a.disabled_at IS NULL
		RETURNING a.id`
)

const noLink = "This link was used already, or is too old. Ask a coach for a new one."

// newSecret makes 32 random bytes to be part of an address. Only their hash
// is ever kept.
func newSecret() (secret string, hash []byte) {
	var raw [32]byte
	_, _ = rand.Read(raw[:]) // never fails: crypto/rand ends the program instead
	secret = base64.RawURLEncoding.EncodeToString(raw[:])
	return secret, hashOf(secret)
}

func hashOf(secret string) []byte {
	h := sha256.Sum256([]byte(secret))
	return h[:]
}

// NewLink makes a one-time link for an account of the squad and returns its
// secret. Earlier ones that were not used open nothing any more.
func (s *Store) NewLink(ctx context.Context, v tagging.Viewer, accountID int64, life time.Duration) (secret string, err error) {
	err = s.inTx(ctx, "db.NewLink", func(tx pgx.Tx) error {
		if err := coachOnly(v); err != nil {
			return err
		}
		a, err := one[tagging.Account](ctx, tx, sqlAccount, args{"id": accountID})
		if errors.Is(err, pgx.ErrNoRows) || err == nil && a.SquadID != v.SquadID {
			return absent("There is no such account.")
		}
		if err != nil {
			return err
		}
		secret, err = newLink(ctx, tx, accountID, life)
		return err
	})
	return secret, err
}

// NewLinkFor is NewLink for somebody at the server's own console.
func (s *Store) NewLinkFor(ctx context.Context, accountID int64, life time.Duration) (secret string, err error) {
	err = s.inTx(ctx, "db.NewLinkFor", func(tx pgx.Tx) error {
		secret, err = newLink(ctx, tx, accountID, life)
		return err
	})
	return secret, err
}

func newLink(ctx context.Context, tx pgx.Tx, accountID int64, life time.Duration) (string, error) {
	if _, err := tx.Exec(ctx, sqlDropLinks, args{"account": accountID}); err != nil {
		return "", err
	}
	secret, hash := newSecret()
	_, err := tx.Exec(ctx, sqlAddLink, args{"hash": hash, "account": accountID, "seconds": life.Seconds()})
	return secret, err
}

// PeekLink says whose a one-time link is; used, expired or unknown is
// fault.NotFound.
func (s *Store) PeekLink(ctx context.Context, secret string) (tagging.Account, error) {
	a, err := one[tagging.Account](ctx, s.pool, sqlPeekLink, args{"hash": hashOf(secret)})
	if errors.Is(err, pgx.ErrNoRows) {
		err = absent(noLink)
	}
	return a, trouble("db.PeekLink", err)
}

// UseLink uses a one-time link up. Of two who use it at once, one succeeds.
func (s *Store) UseLink(ctx context.Context, secret string) (a tagging.Account, err error) {
	err = s.inTx(ctx, "db.UseLink", func(tx pgx.Tx) error {
		id, err := value[int64](ctx, tx, sqlUseLink, args{"hash": hashOf(secret)})
		if errors.Is(err, pgx.ErrNoRows) {
			return absent(noLink)
		}
		if err != nil {
			return err
		}
		a, err = one[tagging.Account](ctx, tx, sqlAccount, args{"id": id})
		return err
	})
	return a, err
}
