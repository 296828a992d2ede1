package db

import (
	"context"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/jackc/pgx/v5"

	"netreel/media/fault"
	"netreel/tagging"
	"netreel/tagging/vocabulary"
)

// Limits of what people enter.
const (
	maxNameLen  = 80
	maxTitleLen = 120
	maxTextLen  = 4000
)

// firstLinkLife is how long the very first link to a new server lives.
const firstLinkLife = 7 * 24 * time.Hour

func staffOnly(v tagging.Viewer) error {
	if v.Role.Staff() {
		return nil
	}
	return fault.New(fault.Forbidden, "", "Only coaches and analysts may change this.")
}

func coachOnly(v tagging.Viewer) error {
	if v.Role == tagging.Coach {
		return nil
	}
	return fault.New(fault.Forbidden, "", "Only a coach may do this.")
}

// absent is the answer for what is not there and for what is not this
// viewer's to see: nobody can tell the two apart.
func absent(msg string) error { return fault.New(fault.NotFound, "", msg) }

// form collects what is wrong with what a person entered.
type form struct{ fields []fault.Field }

func (f *form) bad(name, reason string) {
	f.fields = append(f.fields, fault.Field{Name: name, Reason: reason})
}

// words checks a text's length in characters and returns it trimmed.
func (f *form) words(name, text string, least, most int) string {
	text = strings.TrimSpace(text)
	n := utf8.RuneCountInString(text)
	switch {
	case n < least:
		f.bad(name, "is missing")
	case n > most:
		f.bad(name, "is too long")
	case !utf8.ValidString(text) || strings.ContainsRune(text, 0):
		f.bad(name, "holds characters that can't be kept")
	}
	return text
}

func (f *form) err() error {
	if len(f.fields) == 0 {
		return nil
	}
	return fault.New(fault.Invalid, "", "Not saved: "+f.fields[0].Name+" "+f.fields[0].Reason+".", f.fields...)
}

const (
	// Keeps two starting servers from both making a first coach.
	sqlLockAccounts = `LOCK TABLE account IN SHARE ROW EXCLUSIVE MODE`

	sqlAccountsKnown = `
		SELECT a.id, a.password_hash IS NULL
		  AND NOT EXISTS (SELECT FROM one_time_link l WHERE l.account_id = a.id AND l.used_at IS NOT NULL) AS never_in
		FROM account a ORDER BY a.id LIMIT 2`

	sqlAddSquad = `INSERT INTO squad (name) VALUES (@name) RETURNING id`

	sqlRenameSquad = `UPDATE squad SET name = @name WHERE id = @squad`

	sqlLockSquad = `SELECT id FROM squad WHERE id = @squad FOR UPDATE`
)

// FirstCoach makes a squad with its first coach and the default vocabulary
// when nobody has ever signed in, and returns the secret of a one-time link
// for them. Otherwise fresh is false and nothing changes.
func (s *Store) FirstCoach(ctx context.Context, squad, name string) (account tagging.Account, secret string, fresh bool, err error) {
	err = s.inTx(ctx, "db.FirstCoach", func(tx pgx.Tx) error {
		fresh = false
		if _, err := tx.Exec(ctx, sqlLockAccounts); err != nil {
			return err
		}
		type known struct {
			ID      int64
			NeverIn bool
		}
		there, err := all[known](ctx, tx, sqlAccountsKnown, args{})
		if err != nil {
			return err
		}
		switch {
		case len(there) == 0:
			account, err = firstCoach(ctx, tx, squad, name)
		case len(there) == 1 && there[0].NeverIn: // the link was lost before anybody used it
			account, err = one[tagging.Account](ctx, tx, sqlAccount, args{"id": there[0].ID})
		default:
			return nil
		}
		if err != nil {
			return err
		}
		fresh = true
		secret, err = newLink(ctx, tx, account.ID, firstLinkLife)
		return err
	})
	return account, secret, fresh, err
}

func firstCoach(ctx context.Context, tx pgx.Tx, squad, name string) (tagging.Account, error) {
	var f form
	squad = f.words("squad", squad, 1, maxNameLen)
	if err := f.err(); err != nil {
		return tagging.Account{}, err
	}
	id, err := value[int64](ctx, tx, sqlAddSquad, args{"name": squad})
	if err != nil {
		return tagging.Account{}, err
	}
	a, err := addAccount(ctx, tx, id, tagging.NewAccount{Name: name, Role: tagging.Coach})
	if err != nil {
		return tagging.Account{}, err
	}
	v := tagging.Viewer{AccountID: a.ID, SquadID: id, Role: tagging.Coach}
	return a, addEdition(ctx, tx, v, vocabulary.Default())
}

// RenameSquad changes the name of the viewer's squad.
func (s *Store) RenameSquad(ctx context.Context, v tagging.Viewer, name string) error {
	return s.inTx(ctx, "db.RenameSquad", func(tx pgx.Tx) error {
		if err := coachOnly(v); err != nil {
			return err
		}
		var f form
		name = f.words("name", name, 1, maxNameLen)
		if err := f.err(); err != nil {
			return err
		}
		if _, err := tx.Exec(ctx, sqlRenameSquad, args{"squad": v.SquadID, "name": name}); err != nil {
			return err
		}
		return tell(ctx, tx, v.SquadID, tagging.Event{Topic: "people", ID: v.SquadID})
	})
}
