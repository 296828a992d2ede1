package api

import (
	"context"
	"time"

	"netreel/tagging"
)

// clock tells a phone the time, so that it knows how far its own is off.
func (s *Server) clock(context.Context, tagging.Viewer, none) (wireNow, error) {
	return wireNow{time.Now().UnixMilli()}, nil
}

func (s *Server) takeMarks(ctx context.Context, v tagging.Viewer, in create[wireNetBatch]) (wireTaken, error) {
	id, err := s.store.TakeMarks(ctx, v, in.Body.batch())
	return wireTaken{id}, err
}

func (s *Server) net(ctx context.Context, v tagging.Viewer, in byID) (wireNet, error) {
	n, err := s.store.Net(ctx, v, in.ID)
	return toNet(n), err
}

func (s *Server) setZero(ctx context.Context, v tagging.Viewer, in change[wireZero]) (wireNet, error) {
	n, err := s.store.SetZero(ctx, v, in.ID, tagging.Zero{At: in.Body.At, By: tagging.ZeroBy(in.Body.By)})
	return toNet(n), err
}

func (s *Server) netBlocks(ctx context.Context, v tagging.Viewer, in byID) ([]wireBlock, error) {
	blocks, err := s.store.NetBlocks(ctx, v, in.ID)
	return each(blocks, toBlock), err
}
