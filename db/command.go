package db

import (
	"context"
	"errors"
	"strconv"

	"github.com/jackc/pgx/v5"

	"netreel/media/fault"
	"netreel/tagging"
)

// What the program's own commands need: they run for whoever may start them on
// the server, so they take no viewer.

const (
	sqlAccountByName = `SELECT` + accountColumns + `
		FROM account a JOIN squad q ON q.id = a.squad_id
		WHERE (lower(a.email) = lower(@name) OR a.id = @id) AND a.disabled_at IS NULL`

	sqlFirstCoachOf = `SELECT` + accountColumns + `
		FROM account a JOIN squad q ON q.id = a.squad_id
		WHERE a.role = 'coach' AND a.disabled_at IS NULL
		ORDER BY a.id LIMIT 1`

	sqlCoachOfSession = `SELECT` + accountColumns + `
		FROM net_session n JOIN account a ON a.squad_id = n.squad_id JOIN squad q ON q.id = a.squad_id
		WHERE n.id = @session AND a.role = 'coach' AND a.disabled_at IS NULL
		ORDER BY a.id LIMIT 1`
)

// AccountNamed finds an account by its email or its number.
func (s *Store) AccountNamed(ctx context.Context, name string) (tagging.Account, error) {
	id, _ := strconv.ParseInt(name, 10, 64) // 0, which is nobody's, for an email
	return s.account(ctx, "db.AccountNamed", sqlAccountByName, args{"name": name, "id": id},
		"Nobody who may sign in has this email or number. The page People lists everybody.")
}

// FirstCoachOf is the coach of longest standing.
func (s *Store) FirstCoachOf(ctx context.Context) (tagging.Account, error) {
	return s.account(ctx, "db.FirstCoachOf", sqlFirstCoachOf, args{}, "There is no coach yet. Start the server first.")
}

// StaffOf is in whose name files are brought into a session from the server:
// the squad's coach of longest standing.
func (s *Store) StaffOf(ctx context.Context, session int64) (tagging.Viewer, error) {
	a, err := s.account(ctx, "db.StaffOf", sqlCoachOfSession, args{"session": session},
		"There is no session with this number. It is the last part of the session page's address.")
	return tagging.Viewer{AccountID: a.ID, SquadID: a.SquadID, Role: a.Role}, err
}

func (s *Store) account(ctx context.Context, op, sql string, a args, none string) (tagging.Account, error) {
	found, err := one[tagging.Account](ctx, s.pool, sql, a)
	if errors.Is(err, pgx.ErrNoRows) {
		return found, fault.New(fault.NotFound, op, none)
	}
	return found, trouble(op, err)
}
