package api

import (
	"context"

	"netreel/tagging"
)

func (s *Server) calibration(ctx context.Context, v tagging.Viewer, in byID) (wireSheet, error) {
	c, err := s.store.Calibration(ctx, v, in.ID)
	if err != nil {
		return wireSheet{}, err
	}
	return toSheet(c), nil
}

func (s *Server) tryCalibration(ctx context.Context, v tagging.Viewer, in change[wireCalibrationInput]) (wireCalibration, error) {
	c, err := s.store.TryCalibration(ctx, v, in.ID, in.Body.input())
	if err != nil {
		return wireCalibration{}, err
	}
	return toCalibration(c), nil
}

func (s *Server) saveCalibration(ctx context.Context, v tagging.Viewer, in change[wireCalibrationInput]) (wireCalibration, error) {
	c, err := s.store.SaveCalibration(ctx, v, in.ID, in.Body.input())
	if err != nil {
		return wireCalibration{}, err
	}
	return toCalibration(c), nil
}
