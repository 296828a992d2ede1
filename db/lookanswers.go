package db

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"

	"netreel/media/fault"
	"netreel/tagging"
	"netreel/tagging/vocabulary"
)

const (
	sqlLockLook = `
		SELECT k.second_id, k.groups, k.finished_at IS NOT NULL AS finished
		FROM second_look k JOIN net_session n ON n.id = k.session_id
		WHERE k.id = @id AND n.squad_id = @squad FOR UPDATE OF k`

	sqlSaveLookBall = `
		UPDATE second_look_ball SET second_codes = @codes, done_at = coalesce(done_at, now())
		WHERE look_id = @look AND delivery_id = @ball RETURNING position`

	sqlFinishLook = `UPDATE second_look SET finished_at = coalesce(finished_at, now()) WHERE id = @id`

	sqlDropLook = `DELETE FROM second_look WHERE id = @id`

	sqlTrustFloor = `SELECT trust_floor FROM squad WHERE id = @squad`

	sqlSetTrustFloor = `UPDATE squad SET trust_floor = @floor WHERE id = @squad`
)

// SaveLookBall keeps what the second coder saw on one ball, which is then
// done. Saying it again replaces it, until the look is finished.
func (s *Store) SaveLookBall(ctx context.Context, v tagging.Viewer, id, ball int64, said tagging.Codes) error {
	return s.inTx(ctx, "db.SaveLookBall", func(tx pgx.Tx) error {
		look, err := lockLook(ctx, tx, v, id)
		if err != nil {
			return err
		}
		if err := look.open(v); err != nil {
			return err
		}
		words, err := edition(ctx, tx, sqlCurrentEdition, args{"squad": v.SquadID})
		if err != nil {
			return err
		}
		codes, err := checkCodes(said, look.Groups, words)
		if err != nil {
			return err
		}
		_, err = value[int](ctx, tx, sqlSaveLookBall, args{"look": id, "ball": ball, "codes": codes})
		if errors.Is(err, pgx.ErrNoRows) {
			return absent("This ball is not part of the second look any more. Go on with the next one.")
		}
		return err
	})
}

// FinishSecondLook ends a second look: from now on nothing of it changes, and
// both codings can be compared. Balls that were not done are left out of it.
func (s *Store) FinishSecondLook(ctx context.Context, v tagging.Viewer, id int64) error {
	return s.inTx(ctx, "db.FinishSecondLook", func(tx pgx.Tx) error {
		look, err := lockLook(ctx, tx, v, id)
		if err != nil {
			return err
		}
		if v.AccountID != look.SecondID {
			return fault.New(fault.Forbidden, "", notSecond)
		}
		_, err = tx.Exec(ctx, sqlFinishLook, args{"id": id})
		return err
	})
}

// DropSecondLook removes a second look with all that was said in it.
func (s *Store) DropSecondLook(ctx context.Context, v tagging.Viewer, id int64) error {
	return s.inTx(ctx, "db.DropSecondLook", func(tx pgx.Tx) error {
		if _, err := lockLook(ctx, tx, v, id); err != nil {
			return err
		}
		_, err := tx.Exec(ctx, sqlDropLook, args{"id": id})
		return err
	})
}

const notSecond = "Only who looks a second time may say what they see here."

type lockedLook struct {
	SecondID int64
	Groups   []string
	Finished bool
}

func lockLook(ctx context.Context, tx pgx.Tx, v tagging.Viewer, id int64) (lockedLook, error) {
	if err := staffOnly(v); err != nil {
		return lockedLook{}, err
	}
	look, err := one[lockedLook](ctx, tx, sqlLockLook, args{"id": id, "squad": v.SquadID})
	if errors.Is(err, pgx.ErrNoRows) {
		err = absent(noLook)
	}
	return look, err
}

// open says whether the viewer may still say what they see.
func (l lockedLook) open(v tagging.Viewer) error {
	switch {
	case v.AccountID != l.SecondID:
		return fault.New(fault.Forbidden, "", notSecond)
	case l.Finished:
		return fault.New(fault.Conflict, "", "This second look is finished: nothing of it changes any more. Draw another one.")
	}
	return nil
}

// parseCodes takes codes such as 'shot=pull' apart.
func parseCodes(list []string) tagging.Codes {
	out := tagging.Codes{}
	for _, code := range list {
		group, term, _ := strings.Cut(code, "=")
		out[group] = append(out[group], term)
	}
	return out
}

// checkCodes prints what was said, ascending, if the vocabulary offers it and
// the second look asks for it.
func checkCodes(said tagging.Codes, groups []string, words vocabulary.Edition) ([]string, error) {
	bad := func(reason string) ([]string, error) {
		return nil, fault.New(fault.Invalid, "", "Not saved: what was seen "+reason+". Reload the page.",
			fault.Field{Name: "seen", Reason: reason})
	}
	codes := []string{}
	for _, group := range slices.Sorted(maps.Keys(said)) {
		g, _ := words.Group(group)
		if !slices.Contains(groups, group) {
			return bad(fmt.Sprintf("is of a group that this second look does not ask for: %q", group))
		}
		if len(said[group]) > 1 && !g.Many {
			return bad(fmt.Sprintf("has several terms of %q, of which one may hold", group))
		}
		for _, term := range slices.Compact(slices.Sorted(slices.Values(said[group]))) {
			if !words.Offers(group, term) {
				return bad(fmt.Sprintf("has a term that the vocabulary does not offer: %q", term))
			}
			codes = append(codes, group+"="+term)
		}
	}
	return codes, nil
}

// TrustFloor is the agreement under which a term's counts are marked as not to
// be trusted: Cohen's kappa, 0 to 1.
func (s *Store) TrustFloor(ctx context.Context, v tagging.Viewer) (float64, error) {
	floor, err := value[float64](ctx, s.pool, sqlTrustFloor, args{"squad": v.SquadID})
	return floor, trouble("db.TrustFloor", err)
}

// SetTrustFloor changes it.
func (s *Store) SetTrustFloor(ctx context.Context, v tagging.Viewer, floor float64) error {
	return s.inTx(ctx, "db.SetTrustFloor", func(tx pgx.Tx) error {
		if err := coachOnly(v); err != nil {
			return err
		}
		if !(floor >= 0 && floor <= 1) {
			return fault.New(fault.Invalid, "", "The floor must be 0 to 1.", fault.Field{Name: "floor", Reason: "must be 0 to 1"})
		}
		_, err := tx.Exec(ctx, sqlSetTrustFloor, args{"floor": floor, "squad": v.SquadID})
		return err
	})
}
