package db

import (
	"context"
	"errors"
	"reflect"
	"strings"

	"github.com/jackc/pgx/v5"

	"netreel/media/fault"
	"netreel/tagging"
	"netreel/tagging/vocabulary"
)

const (
	sqlCurrentEdition = `
		SELECT number, body FROM vocabulary_edition
		WHERE squad_id = @squad ORDER BY number DESC LIMIT 1`

	sqlEdition = `SELECT number, body FROM vocabulary_edition WHERE squad_id = @squad AND number = @number::int`

	sqlAddEdition = `
		INSERT INTO vocabulary_edition (squad_id, number, body, made_by)
		VALUES (@squad, @number, @body, @maker)`
)

// Vocabulary returns an edition of the squad's vocabulary; 0 is the current
// one.
func (s *Store) Vocabulary(ctx context.Context, v tagging.Viewer, number int) (vocabulary.Edition, error) {
	const op = "db.Vocabulary"
	sql, a := sqlCurrentEdition, args{"squad": v.SquadID}
	if number != 0 {
		sql, a["number"] = sqlEdition, number
	}
	e, err := edition(ctx, s.pool, sql, a)
	if errors.Is(err, pgx.ErrNoRows) {
		err = absent("There is no such edition of the vocabulary.")
	}
	return e, trouble(op, err)
}

func edition(ctx context.Context, q querier, sql string, a args) (vocabulary.Edition, error) {
	row, err := one[struct {
		Number int
		Body   vocabulary.Edition
	}](ctx, q, sql, a)
	row.Body.Number = row.Number
	return row.Body, err
}

// SaveVocabulary keeps a new edition made from the current one, whose number
// e bears; if that is no longer the current one it is fault.Conflict. New
// groups and terms may come without a key. Nothing changed: nothing is kept.
func (s *Store) SaveVocabulary(ctx context.Context, v tagging.Viewer, e vocabulary.Edition) (saved vocabulary.Edition, err error) {
	err = s.inTx(ctx, "db.SaveVocabulary", func(tx pgx.Tx) error {
		if err := coachOnly(v); err != nil {
			return err
		}
		if _, err := tx.Exec(ctx, sqlLockSquad, args{"squad": v.SquadID}); err != nil {
			return err
		}
		now, err := edition(ctx, tx, sqlCurrentEdition, args{"squad": v.SquadID})
		if err != nil {
			return err
		}
		if e.Number != now.Number {
			return fault.New(fault.Conflict, "", taken["vocabulary_edition_pkey"])
		}
		e = tidy(e)
		if err := e.Validate(); err != nil {
			return err
		}
		if err := e.Follows(now); err != nil {
			return err
		}
		saved = e
		if reflect.DeepEqual(e, tidy(now)) {
			return nil
		}
		saved.Number++
		if err := addEdition(ctx, tx, v, saved); err != nil {
			return err
		}
		return tell(ctx, tx, v.SquadID, tagging.Event{Topic: "vocabulary", ID: int64(saved.Number)})
	})
	return saved, err
}

func addEdition(ctx context.Context, tx pgx.Tx, v tagging.Viewer, e vocabulary.Edition) error {
	_, err := tx.Exec(ctx, sqlAddEdition, args{"squad": v.SquadID, "number": e.Number, "body": e, "maker": v.AccountID})
	return err
}

// tidy returns a copy with names trimmed, keys made for what has none, and no
// list that is nil.
func tidy(e vocabulary.Edition) vocabulary.Edition {
	groups := make([]vocabulary.Group, len(e.Groups))
	copy(groups, e.Groups)
	used := map[string]bool{}
	for _, g := range groups {
		used[g.Key] = true
	}
	for i := range groups {
		g := &groups[i]
		g.Name = strings.TrimSpace(g.Name)
		if g.Key == "" {
			g.Key = vocabulary.Key(g.Name, func(k string) bool { return used[k] || vocabulary.Reserved(k) })
			used[g.Key] = true
		}
		g.Terms = tidyTerms(g.Terms)
	}
	return vocabulary.Edition{Number: e.Number, Groups: groups}
}

func tidyTerms(from []vocabulary.Term) []vocabulary.Term {
	terms := make([]vocabulary.Term, len(from))
	copy(terms, from)
	used := map[string]bool{}
	for _, t := range terms {
		used[t.Key] = true
	}
	for i := range terms {
		t := &terms[i]
		t.Name = strings.TrimSpace(t.Name)
		if t.Key == "" {
			t.Key = vocabulary.Key(t.Name, func(k string) bool { return used[k] })
			used[t.Key] = true
		}
	}
	return terms
}
