package api

import (
	"context"

	"netreel/media/fault"
	"netreel/tagging"
	"netreel/tagging/secondlook"
)

func (s *Server) secondLooks(ctx context.Context, v tagging.Viewer, in byID) ([]wireSecondLook, error) {
	list, err := s.store.SecondLooks(ctx, v, in.ID)
	return each(list, toSecondLook), err
}

func (s *Server) addSecondLook(ctx context.Context, v tagging.Viewer, in change[wireLookInput]) (wireSecondLook, error) {
	look, err := s.store.AddSecondLook(ctx, v, in.ID, in.Body.input())
	return toSecondLook(look), err
}

func (s *Server) secondLook(ctx context.Context, v tagging.Viewer, in byID) (wireSecondLook, error) {
	look, err := s.store.SecondLook(ctx, v, in.ID)
	return toSecondLook(look), err
}

func (s *Server) saveLookBall(ctx context.Context, v tagging.Viewer, in change[wireLookAnswer]) (none, error) {
	return none{}, s.store.SaveLookBall(ctx, v, in.ID, in.Body.BallID, in.Body.Seen)
}

func (s *Server) finishSecondLook(ctx context.Context, v tagging.Viewer, in byID) (none, error) {
	return none{}, s.store.FinishSecondLook(ctx, v, in.ID)
}

func (s *Server) dropSecondLook(ctx context.Context, v tagging.Viewer, in byID) (none, error) {
	return none{}, s.store.DropSecondLook(ctx, v, in.ID)
}

// lookAgreement compares the two codings of one finished second look.
func (s *Server) lookAgreement(ctx context.Context, v tagging.Viewer, in byID) (wireAgreement, error) {
	look, err := s.store.SecondLook(ctx, v, in.ID)
	if err != nil {
		return wireAgreement{}, err
	}
	if look.Finished == nil {
		return wireAgreement{}, fault.New(fault.Conflict, "api.lookAgreement",
			"Both codings are compared once the second look is finished: seeing them before would spoil it.")
	}
	return s.agreementOf(ctx, v, []tagging.SecondLook{look})
}

// agreement compares the codings of all finished second looks together.
func (s *Server) agreement(ctx context.Context, v tagging.Viewer, _ none) (wireAgreement, error) {
	looks, err := s.store.FinishedLooks(ctx, v)
	if err != nil {
		return wireAgreement{}, err
	}
	return s.agreementOf(ctx, v, looks)
}

func (s *Server) agreementOf(ctx context.Context, v tagging.Viewer, looks []tagging.SecondLook) (wireAgreement, error) {
	words, err := s.store.Vocabulary(ctx, v, 0)
	if err != nil {
		return wireAgreement{}, err
	}
	floor, err := s.store.TrustFloor(ctx, v)
	return wireAgreement{floor, secondlook.Gap(looks), each(secondlook.Compare(looks, words, floor), toAgreed)}, err
}

func (s *Server) setTrustFloor(ctx context.Context, v tagging.Viewer, in create[wireFloor]) (none, error) {
	return none{}, s.store.SetTrustFloor(ctx, v, in.Body.Floor)
}
