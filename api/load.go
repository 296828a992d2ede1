package api

import (
	"context"
	"slices"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"netreel/media/fault"
	"netreel/tagging"
	"netreel/tagging/export"
	"netreel/tagging/plan"
)

// loadInput is which days, and whose balls, are looked at; without days, the
// latest four weeks that hold any.
type loadInput struct {
	from, to string
	doing    plan.Doing
	person   string
	anybody  bool // no person was named
}

func (in *loadInput) bind(c echo.Context) error {
	in.from, in.to, in.doing, in.person = c.QueryParam("from"), c.QueryParam("to"), plan.Doing(c.QueryParam("doing")), c.QueryParam("person")
	in.anybody = !c.QueryParams().Has("person")
	if in.doing != "" && in.doing != plan.Facing && in.doing != plan.Feeding {
		return fault.New(fault.Invalid, "api.load", "Ask for facing or feeding.", fault.Field{Name: "doing", Reason: "must be facing or feeding"})
	}
	return nil
}

// days fills in which days are looked at where nobody said.
func (s *Server) days(ctx context.Context, v tagging.Viewer, in *loadInput) error {
	if in.from != "" || in.to != "" {
		return nil
	}
	latest, err := s.store.LatestLoad(ctx, v)
	in.from, in.to = plan.LatestDays(latest, time.Now().Format(time.DateOnly))
	return err
}

func (in *loadInput) wants(s plan.Stint) bool {
	return (in.doing == "" || s.Doing == in.doing) && (in.anybody || s.Person == in.person)
}

// load looks further back than it was asked to, since a limit or a sum over
// days may begin before the first of them.
func (s *Server) load(ctx context.Context, v tagging.Viewer, in loadInput) (wireLoad, error) {
	if err := s.days(ctx, v, &in); err != nil {
		return wireLoad{}, err
	}
	stints, limits, err := s.store.Load(ctx, v, plan.Before(in.from, plan.MaxLimitDays-1), in.to)
	if err != nil {
		return wireLoad{}, err
	}
	crossings := slices.DeleteFunc(plan.Crossings(stints, limits), func(c plan.Crossing) bool { return c.Day < in.from })
	theirs := slices.DeleteFunc(stints, func(s plan.Stint) bool { return !in.wants(s) })
	out := wireLoad{From: in.from, To: in.to, Days: each(plan.Daily(theirs, in.from, in.to), toSum), Limits: each(limits, toLimit), Crossings: each(crossings, toCrossing)}
	out.Stints = each(slices.DeleteFunc(theirs, func(s plan.Stint) bool { return s.Day < in.from }), toStint)
	return out, nil
}

func (s *Server) loadTable(c echo.Context) error {
	var in loadInput
	if err := in.bind(c); err != nil {
		return err
	}
	ctx := c.Request().Context()
	v := viewerOf(ctx)
	if err := s.days(ctx, v, &in); err != nil {
		return err
	}
	stints, _, err := s.store.Load(ctx, v, in.from, in.to)
	if err != nil {
		return err
	}
	words, err := s.store.Vocabulary(ctx, v, 0)
	if err != nil {
		return err
	}
	var b strings.Builder
	if err := export.LoadCSV(&b, slices.DeleteFunc(stints, func(s plan.Stint) bool { return !in.wants(s) }), words); err != nil {
		return err
	}
	return sendText(c, "text/csv; charset=utf-8; header=present", "Load "+in.from+" to "+in.to+".csv", b.String())
}

func (s *Server) setLimits(ctx context.Context, v tagging.Viewer, in create[[]wireLimit]) ([]wireLimit, error) {
	kept, err := s.store.SetLimits(ctx, v, each(in.Body, wireLimit.limit))
	return each(kept, toLimit), err
}
