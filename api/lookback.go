package api

import (
	"context"
	"net/url"
	"strings"
	"unicode/utf8"

	"github.com/labstack/echo/v4"

	"netreel/media/fault"
	"netreel/tagging"
	"netreel/tagging/find"
	"netreel/tagging/lookback"
	"netreel/tagging/measure"
	"netreel/tagging/vocabulary"
)

// lookbackInput asks for a session in numbers: of one player, 0 for all; as one
// coder saw it, 0 for everybody together, -1 for who coded most.
type lookbackInput struct {
	ID, Player int64
	Coder      int64
}

func (in *lookbackInput) bind(c echo.Context) error {
	var id byID
	if err := id.bind(c); err != nil {
		return err
	}
	in.ID = id.ID
	player, err := queryInt(c.QueryParams(), "player", 0)
	if err != nil {
		return err
	}
	coder, err := queryInt(c.QueryParams(), "coder", -1)
	in.Player, in.Coder = int64(player), int64(coder)
	return err
}

func (s *Server) lookback(ctx context.Context, v tagging.Viewer, in lookbackInput) (wireLookback, error) {
	of, err := s.store.Lookback(ctx, v, in.ID, in.Player)
	if err != nil {
		return wireLookback{}, err
	}
	if of.Coder = in.Coder; in.Coder < 0 {
		of.Coder = 0
		if len(of.Coders) > 0 {
			of.Coder = of.Coders[0].ID
		}
	}
	return toLookback(of, lookback.Look(of)), nil
}

// compareInput asks for two sets to be held against each other.
type compareInput struct {
	Left, Right         find.Question
	LeftName, RightName string   // how the sides are called in a sentence
	Outcomes            []string // keys; none for the usual ones
}

const maxSideName = 120

func (in *compareInput) bind(c echo.Context) (err error) {
	q := c.QueryParams()
	for _, side := range []struct {
		key, fallback string
		question      *find.Question
		name          *string
	}{{"left", "in the first set", &in.Left, &in.LeftName}, {"right", "in the second", &in.Right, &in.RightName}} {
		if *side.question, err = find.Parse(q.Get(side.key)); err != nil {
			return err
		}
		if *side.name, err = sideName(q, side.key+"_name", side.fallback); err != nil {
			return err
		}
	}
	in.Outcomes = q["outcome"]
	return nil
}

func sideName(q url.Values, key, fallback string) (string, error) {
	name := strings.TrimSpace(q.Get(key))
	switch {
	case name == "":
		return fallback, nil
	case utf8.RuneCountInString(name) > maxSideName || !utf8.ValidString(name):
		return "", fault.New(fault.Invalid, "api.compare", "The name of a side is too long.", fault.Field{Name: key, Reason: "must be shorter"})
	}
	return name, nil
}

func (s *Server) compare(ctx context.Context, v tagging.Viewer, in compareInput) (wireComparison, error) {
	words, err := s.store.Vocabulary(ctx, v, 0)
	if err != nil {
		return wireComparison{}, err
	}
	outcomes, err := outcomesOf(words, nil, in.Outcomes)
	if err != nil {
		return wireComparison{}, err
	}
	var sets [2]lookback.Set
	for i, q := range []find.Question{in.Left, in.Right} {
		balls, err := s.store.CountedBalls(ctx, v, q)
		if err != nil {
			return wireComparison{}, err
		}
		sets[i] = lookback.NewSet(q, balls, 0)
	}
	return toComparison(lookback.Compare(words, sets[0], sets[1], outcomes, in.LeftName, in.RightName)), nil
}

// maxOutcomes is how many outcomes are compared at once.
const maxOutcomes = 20

// outcomesOf finds outcomes by their keys: "control-faced", or a term such as
// "feet=caught".
func outcomesOf(words vocabulary.Edition, rules lookback.Rules, keys []string) ([]lookback.Outcome, error) {
	usual := lookback.Outcomes(rules)
	if len(keys) == 0 {
		return usual, nil
	}
	bad := func(reason string) error {
		return fault.New(fault.Invalid, "api.outcome", "There is no such outcome. Choose one of the list.", fault.Field{Name: "outcome", Reason: reason})
	}
	if len(keys) > maxOutcomes {
		return nil, bad("may be given 20 times at most")
	}
	var list []lookback.Outcome
next:
	for _, key := range keys {
		for _, o := range usual {
			if o.Key == key {
				list = append(list, o)
				continue next
			}
		}
		group, term, _ := strings.Cut(key, "=")
		o, ok := lookback.TermOutcome(words, group, term)
		if !ok {
			return nil, bad("must be an outcome, or a term such as feet=caught")
		}
		list = append(list, o)
	}
	return list, nil
}

// progressInput asks how a player comes on in an outcome.
type progressInput struct {
	ID      int64
	Outcome string
}

func (in *progressInput) bind(c echo.Context) error {
	in.Outcome = c.QueryParam("outcome")
	var id byID
	err := id.bind(c)
	in.ID = id.ID
	return err
}

func (s *Server) progress(ctx context.Context, v tagging.Viewer, in progressInput) (wireProgress, error) {
	visits, err := s.store.Visits(ctx, v, in.ID)
	if err != nil {
		return wireProgress{}, err
	}
	words, err := s.store.Vocabulary(ctx, v, 0)
	if err != nil {
		return wireProgress{}, err
	}
	rules, _, err := s.store.Rules(ctx, v, in.ID)
	if err != nil {
		return wireProgress{}, err
	}
	if m, ok := measure.Find(in.Outcome); ok {
		return toProgress(lookback.FollowMeasure(words, in.ID, visits, m), lookback.Outcomes(rules)), nil
	}
	var keys []string
	if in.Outcome != "" {
		keys = []string{in.Outcome}
	}
	outcomes, err := outcomesOf(words, rules, keys)
	if err != nil {
		return wireProgress{}, err
	}
	return toProgress(lookback.Follow(words, in.ID, visits, outcomes[0]), lookback.Outcomes(rules)), nil
}

func (s *Server) rules(ctx context.Context, v tagging.Viewer, in byID) (wireRules, error) {
	list, revision, err := s.store.Rules(ctx, v, in.ID)
	return toRules(list, revision), err
}

func (s *Server) saveRules(ctx context.Context, v tagging.Viewer, in change[wireRulesInput]) (wireRules, error) {
	list := in.Body.rules()
	revision, err := s.store.SaveRules(ctx, v, in.ID, list, in.Body.Revision)
	return toRules(list, revision), err
}

// feltInput asks what was said of how balls and blocks felt.
type feltInput struct{ Of find.Question }

func (in *feltInput) bind(c echo.Context) (err error) {
	in.Of, err = find.FromValues(url.Values{"ball": c.QueryParams()["ball"], "block": c.QueryParams()["block"]})
	return err
}

func (s *Server) felt(ctx context.Context, v tagging.Viewer, in feltInput) (wireFelt, error) {
	said, err := s.store.Felt(ctx, v, in.Of.Balls, in.Of.Blocks)
	return toFelt(said), err
}

func (s *Server) sayFelt(ctx context.Context, v tagging.Viewer, in create[wireFeltEntry]) (none, error) {
	f := lookback.Felt{Ball: orZero(in.Body.BallID), Block: orZero(in.Body.BlockID), Words: in.Body.Words}
	return none{}, s.store.SayFelt(ctx, v, in.Body.UUID, f)
}
