package api

import (
	"context"

	"netreel/tagging"
	"netreel/tagging/reading"
)

func (s *Server) measures(context.Context, tagging.Viewer, none) (wireMeasures, error) {
	return toMeasures(), nil
}

func (s *Server) tryReading(ctx context.Context, v tagging.Viewer, in create[wireReadingInput]) (wireComputed, error) {
	out, err := s.store.TryReading(ctx, v, in.Body.input())
	return toComputed(out), err
}

func (s *Server) addReading(ctx context.Context, v tagging.Viewer, in create[wireReadingInput]) (wireKept, error) {
	kept, out, err := s.store.AddReading(ctx, v, in.Body.input())
	return wireKept{toReading(kept), toComputed(out)}, err
}

type wireJudgement struct {
	Status string `json:"status"`
}

func (s *Server) judgeReading(ctx context.Context, v tagging.Viewer, in change[wireJudgement]) (wireReading, error) {
	kept, err := s.store.Judge(ctx, v, in.ID, reading.Status(in.Body.Status))
	return toReading(kept), err
}

func (s *Server) ballReadings(ctx context.Context, v tagging.Viewer, in byID) ([]wireReading, error) {
	list, err := s.store.BallReadings(ctx, v, in.ID)
	return each(list, toReading), err
}

func (s *Server) sessionReadings(ctx context.Context, v tagging.Viewer, in byID) ([]wireReading, error) {
	list, err := s.store.SessionReadings(ctx, v, in.ID)
	return each(list, toReading), err
}

func (s *Server) playerMeasures(ctx context.Context, v tagging.Viewer, in byID) (wireHistory, error) {
	h, err := s.store.PlayerMeasures(ctx, v, in.ID)
	return toHistory(h), err
}

func (s *Server) setYardsticks(ctx context.Context, v tagging.Viewer, in change[wireYardsticks]) (none, error) {
	return none{}, s.store.SetYardsticks(ctx, v, in.ID, reading.Yardsticks(in.Body))
}
