package api

import (
	"context"
	"maps"
	"net/url"

	"github.com/labstack/echo/v4"

	"netreel/tagging"
	"netreel/tagging/find"
)

func (s *Server) ball(ctx context.Context, v tagging.Viewer, in byID) (wireBall, error) {
	b, err := s.store.Ball(ctx, v, in.ID)
	return ownLinks.ball(b), err
}

func (s *Server) ledger(ctx context.Context, v tagging.Viewer, in byID) ([]wireLedgerLine, error) {
	lines, err := s.store.Ledger(ctx, v, in.ID)
	return each(lines, toLedgerLine), err
}

// entriesInput is a save of observations.
type entriesInput struct{ Entries []wireEntry }

func (in *entriesInput) bind(c echo.Context) error { return readJSON(c, maxObservation, &in.Entries) }

func (s *Server) observe(ctx context.Context, v tagging.Viewer, in entriesInput) ([]wireObservation, error) {
	seen, err := s.store.Observe(ctx, v, each(in.Entries, wireEntry.entry))
	return each(seen, toObservation), err
}

// findInput is a question as the page's address has it, and which part of the
// answer is wanted.
type findInput struct {
	Question find.Question
	Page     find.Page
}

func (in *findInput) bind(c echo.Context) (err error) {
	q := maps.Clone(map[string][]string(c.QueryParams()))
	if in.Page.Offset, err = queryInt(q, "offset", 0); err != nil {
		return err
	}
	if in.Page.Limit, err = queryInt(q, "limit", 0); err != nil {
		return err
	}
	delete(q, "offset")
	delete(q, "limit")
	in.Question, err = find.FromValues(url.Values(q))
	return err
}

func (s *Server) find(ctx context.Context, v tagging.Viewer, in findInput) (wireFound, error) {
	found, err := s.store.Find(ctx, v, in.Question, in.Page)
	return toFound(in.Question, found), err
}

func (s *Server) wantClip(ctx context.Context, v tagging.Viewer, in byID) (none, error) {
	return none{}, s.store.WantClip(ctx, v, in.ID)
}

func (s *Server) clipVideo(c echo.Context) error {
	clip, err := s.ownClip(c)
	if err != nil {
		return err
	}
	return s.serveClip(c, clip, cacheForEver)
}

func (s *Server) clipPoster(c echo.Context) error {
	clip, err := s.ownClip(c)
	if err != nil {
		return err
	}
	return s.servePoster(c, clip, cacheForEver)
}

func (s *Server) ownClip(c echo.Context) (tagging.Clip, error) {
	var in byID
	if err := in.bind(c); err != nil {
		return tagging.Clip{}, err
	}
	ctx := c.Request().Context()
	return s.store.Clip(ctx, viewerOf(ctx), in.ID)
}
