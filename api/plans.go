package api

import (
	"context"

	"github.com/labstack/echo/v4"

	"netreel/media/fault"
	"netreel/tagging"
	"netreel/tagging/plan"
)

func (s *Server) planList(ctx context.Context, v tagging.Viewer, _ none) ([]wirePlan, error) {
	list, err := s.store.Plans(ctx, v)
	return each(list, toPlan), err
}

func (s *Server) plan(ctx context.Context, v tagging.Viewer, in byID) (wirePlan, error) {
	p, err := s.store.Plan(ctx, v, in.ID)
	return toPlan(p), err
}

func (s *Server) addPlan(ctx context.Context, v tagging.Viewer, in create[wirePlanInput]) (wirePlan, error) {
	p, err := s.store.SavePlan(ctx, v, in.Body.plan(0))
	return toPlan(p), err
}

func (s *Server) changePlan(ctx context.Context, v tagging.Viewer, in change[wirePlanInput]) (wirePlan, error) {
	if in.ID == 0 {
		return wirePlan{}, fault.New(fault.NotFound, "api.changePlan", "There is no such plan.")
	}
	p, err := s.store.SavePlan(ctx, v, in.Body.plan(in.ID))
	return toPlan(p), err
}

func (s *Server) deletePlan(ctx context.Context, v tagging.Viewer, in byID) (none, error) {
	return none{}, s.store.DeletePlan(ctx, v, in.ID)
}

// drawBlock draws a block's sequence for the page to show. Nothing is kept.
func (s *Server) drawBlock(_ context.Context, _ tagging.Viewer, in create[plan.Block]) (wireDrawn, error) {
	b := in.Body
	if err := (plan.Plan{Minutes: 1, Blocks: []plan.Block{b}}).Check(); err != nil {
		return wireDrawn{}, err
	}
	b, err := b.Drawn()
	return toDrawn(b), err
}

func (s *Server) planBecomes(ctx context.Context, v tagging.Viewer, in change[wireBecomes]) (wireSession, error) {
	made, err := s.store.PlanBecomes(ctx, v, in.ID, orZero(in.Body.SessionID), in.Body.HeldOn, in.Body.Place)
	return toSession(made), err
}

// cellsInput asks how a player's balls of some terms of a group went.
type cellsInput struct {
	byID
	group string
	terms []string
}

func (in *cellsInput) bind(c echo.Context) error {
	in.group, in.terms = c.QueryParam("group"), c.QueryParams()["term"]
	return in.byID.bind(c)
}

func (s *Server) cells(ctx context.Context, v tagging.Viewer, in cellsInput) ([]wireCell, error) {
	list, err := s.store.Cells(ctx, v, in.ID, in.group, in.terms)
	return each(list, toCell), err
}

func (s *Server) proposals(ctx context.Context, v tagging.Viewer, in byID) ([]wireProposal, error) {
	list, err := s.store.Proposals(ctx, v, in.ID)
	return each(list, func(p tagging.Proposal) wireProposal { return wireProposal(p) }), err
}
