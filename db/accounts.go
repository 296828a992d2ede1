package db

import (
	"context"
	"errors"
	"net/mail"
	"strings"

	"github.com/jackc/pgx/v5"

	"netreel/media/fault"
	"netreel/tagging"
)

const accountColumns = `
	a.id, a.squad_id, q.name AS squad, a.name, coalesce(a.email, '') AS email, a.role,
	coalesce(a.player_id, 0) AS player_id, a.disabled_at IS NOT NULL AS disabled,
	a.password_hash IS NOT NULL AS has_login, a.created_at AS created`

const (
	sqlAccount = `SELECT` + accountColumns + `
		FROM account a JOIN squad q ON q.id = a.squad_id
		WHERE a.id = @id`

	sqlLogin = `SELECT` + accountColumns + `, coalesce(a.password_hash, '') AS hash
		FROM account a JOIN squad q ON q.id = a.squad_id
		WHERE lower(a.email) = lower(@email) AND a.disabled_at IS NULL`

	sqlAccounts = `SELECT` + accountColumns + `
		FROM account a JOIN squad q ON q.id = a.squad_id
		WHERE a.squad_id = @squad
		ORDER BY a.disabled_at IS NOT NULL, a.role = 'player', lower(a.name), a.id`

	sqlDropOldSignIns = `DELETE FROM sessions WHERE expiry < now()`

	sqlSetPassword = `UPDATE account SET password_hash = @hash WHERE id = @id AND disabled_at IS NULL`

	sqlAddAccount = `
		INSERT INTO account (squad_id, name, email, role, player_id)
		VALUES (@squad, @name, nullif(@email, ''), @role, nullif(@player::bigint, 0))
		RETURNING id`

	sqlChangeAccount = `
		UPDATE account SET name = @name, email = nullif(@email, ''),
			disabled_at = CASE WHEN @disabled THEN coalesce(disabled_at, now()) END
		WHERE id = @id AND squad_id = @squad`

	sqlOtherCoaches = `
		SELECT count(*) FROM account
		WHERE squad_id = @squad AND role = 'coach' AND disabled_at IS NULL AND id <> @id`

	sqlPlayerThere = `SELECT count(*) FROM player WHERE squad_id = @squad AND id = ANY(@players::bigint[])`
)

// Account returns an account that is not disabled, or fault.Unauthorised.
func (s *Store) Account(ctx context.Context, id int64) (tagging.Account, error) {
	const op = "db.Account"
	a, err := one[tagging.Account](ctx, s.pool, sqlAccount, args{"id": id})
	if errors.Is(err, pgx.ErrNoRows) || err == nil && a.Disabled {
		return tagging.Account{}, fault.New(fault.Unauthorised, op, "Sign in to go on.")
	}
	return a, trouble(op, err)
}

// Login returns the account of an email address, in any case of its letters,
// and its password's hash: "" when it has none. fault.NotFound when there is
// no such account or it is disabled.
func (s *Store) Login(ctx context.Context, email string) (tagging.Account, string, error) {
	type login struct {
		tagging.Account
		Hash string
	}
	if strings.ContainsRune(email, 0) { // PostgreSQL's text can't hold one
		return tagging.Account{}, "", trouble("db.Login", pgx.ErrNoRows)
	}
	l, err := one[login](ctx, s.pool, sqlLogin, args{"email": strings.TrimSpace(email)})
	return l.Account, l.Hash, trouble("db.Login", err)
}

// DropOldSignIns forgets the signed-in browsers whose time is over.
func (s *Store) DropOldSignIns(ctx context.Context) error {
	_, err := s.pool.Exec(ctx, sqlDropOldSignIns)
	return trouble("db.DropOldSignIns", err)
}

// SetPassword keeps a password's hash.
func (s *Store) SetPassword(ctx context.Context, accountID int64, hash string) error {
	const op = "db.SetPassword"
	done, err := s.pool.Exec(ctx, sqlSetPassword, args{"id": accountID, "hash": hash})
	if err == nil && done.RowsAffected() == 0 {
		err = absent("This account is not there, or disabled.")
	}
	return trouble(op, err)
}

// Accounts lists the squad's accounts: those that may sign in first, staff
// before players, by name.
func (s *Store) Accounts(ctx context.Context, v tagging.Viewer) ([]tagging.Account, error) {
	const op = "db.Accounts"
	if err := coachOnly(v); err != nil {
		return nil, fault.At(op, err)
	}
	list, err := all[tagging.Account](ctx, s.pool, sqlAccounts, args{"squad": v.SquadID})
	return list, trouble(op, err)
}

// AddAccount makes an account that nobody has signed in to yet.
func (s *Store) AddAccount(ctx context.Context, v tagging.Viewer, in tagging.NewAccount) (a tagging.Account, err error) {
	err = s.inTx(ctx, "db.AddAccount", func(tx pgx.Tx) error {
		if err := coachOnly(v); err != nil {
			return err
		}
		if a, err = addAccount(ctx, tx, v.SquadID, in); err != nil {
			return err
		}
		return tell(ctx, tx, v.SquadID, tagging.Event{Topic: "people", ID: a.ID})
	})
	return a, err
}

func addAccount(ctx context.Context, tx pgx.Tx, squad int64, in tagging.NewAccount) (tagging.Account, error) {
	var f form
	in.Name, in.Email = f.words("name", in.Name, 1, maxNameLen), f.email(in.Email)
	if !in.Role.Valid() {
		f.bad("role", "must be coach, analyst or player")
	}
	if (in.Role == tagging.PlayerRole) != (in.PlayerID != 0) {
		f.bad("player_id", "goes with the role of player, and only with it")
	}
	if err := f.err(); err != nil {
		return tagging.Account{}, err
	}
	if in.PlayerID != 0 {
		if err := playersThere(ctx, tx, squad, []int64{in.PlayerID}); err != nil {
			return tagging.Account{}, err
		}
	}
	id, err := value[int64](ctx, tx, sqlAddAccount, args{
		"squad": squad, "name": in.Name, "email": in.Email, "role": in.Role, "player": in.PlayerID,
	})
	if err != nil {
		return tagging.Account{}, err
	}
	return one[tagging.Account](ctx, tx, sqlAccount, args{"id": id})
}

// ChangeAccount changes name, email and whether it is disabled. The last
// coach can't be disabled (fault.Conflict).
func (s *Store) ChangeAccount(ctx context.Context, v tagging.Viewer, id int64, name, email string, disabled bool) (a tagging.Account, err error) {
	err = s.inTx(ctx, "db.ChangeAccount", func(tx pgx.Tx) error {
		if err := coachOnly(v); err != nil {
			return err
		}
		var f form
		name, email = f.words("name", name, 1, maxNameLen), f.email(email)
		if err := f.err(); err != nil {
			return err
		}
		// Two coaches who disable each other at once must not both succeed.
		if _, err := tx.Exec(ctx, sqlLockSquad, args{"squad": v.SquadID}); err != nil {
			return err
		}
		if disabled {
			others, err := value[int](ctx, tx, sqlOtherCoaches, args{"squad": v.SquadID, "id": id})
			if err != nil {
				return err
			}
			if others == 0 {
				return fault.New(fault.Conflict, "", "This is the last coach. Invite another coach first.")
			}
		}
		done, err := tx.Exec(ctx, sqlChangeAccount, args{
			"squad": v.SquadID, "id": id, "name": name, "email": email, "disabled": disabled,
		})
		if err != nil {
			return err
		}
		if done.RowsAffected() == 0 {
			return absent("There is no such account.")
		}
		if a, err = one[tagging.Account](ctx, tx, sqlAccount, args{"id": id}); err != nil {
			return err
		}
		return tell(ctx, tx, v.SquadID, tagging.Event{Topic: "people", ID: id})
	})
	return a, err
}

// playersThere checks that all of these (each once) are players of the squad.
func playersThere(ctx context.Context, q querier, squad int64, players []int64) error {
	if len(players) == 0 {
		return nil
	}
	n, err := value[int](ctx, q, sqlPlayerThere, args{"squad": squad, "players": players})
	if err != nil {
		return err
	}
	if n != len(players) {
		return fault.New(fault.Invalid, "", "One of the players is not in the squad. Reload the page.",
			fault.Field{Name: "players", Reason: "must be players of the squad, each once"})
	}
	return nil
}

// email checks an address and returns it trimmed; "" stays "".
func (f *form) email(s string) string {
	s = f.words("email", s, 0, 254) // RFC 5321, 4.5.3.1.3: a path of 256 octets with its angle brackets
	if s == "" {
		return ""
	}
	if a, err := mail.ParseAddress(s); err != nil || a.Address != s {
		f.bad("email", "is not an email address")
	}
	return s
}
