package api

import (
	"context"
	"net/http"

	"github.com/labstack/echo/v4"

	"netreel/media"
	"netreel/tagging"
)

func (s *Server) sessionList(ctx context.Context, v tagging.Viewer, _ none) ([]wireSession, error) {
	list, err := s.store.Sessions(ctx, v)
	return each(list, toSession), err
}

func (s *Server) session(ctx context.Context, v tagging.Viewer, in byID) (wireSession, error) {
	one, err := s.store.Session(ctx, v, in.ID)
	return toSession(one), err
}

func (s *Server) addSession(ctx context.Context, v tagging.Viewer, in create[wireSessionInput]) (wireSession, error) {
	one, err := s.store.AddSession(ctx, v, in.Body.input())
	return toSession(one), err
}

func (s *Server) changeSession(ctx context.Context, v tagging.Viewer, in change[wireSessionInput]) (wireSession, error) {
	one, err := s.store.ChangeSession(ctx, v, in.ID, in.Body.input())
	return toSession(one), err
}

func (s *Server) deleteSession(ctx context.Context, v tagging.Viewer, in byID) (none, error) {
	return none{}, s.store.DeleteSession(ctx, v, in.ID)
}

func (s *Server) setBlocks(ctx context.Context, v tagging.Viewer, in change[[]wireBlock]) ([]wireBlock, error) {
	blocks, err := s.store.SetBlocks(ctx, v, in.ID, each(in.Body, wireBlock.block))
	return each(blocks, toBlock), err
}

func (s *Server) lane(ctx context.Context, v tagging.Viewer, in byID) (wireLane, error) {
	lane, err := s.store.Lane(ctx, v, in.ID)
	return toLane(lane), err
}

func (s *Server) editLane(ctx context.Context, v tagging.Viewer, in change[wireLaneEdit]) ([]wireLaneBall, error) {
	balls, err := s.store.EditLane(ctx, v, in.ID, in.Body.edit())
	return each(balls, toLaneBall), err
}

func (s *Server) setCut(ctx context.Context, v tagging.Viewer, in change[wireCut]) (none, error) {
	return none{}, s.store.SetCut(ctx, v, in.ID, in.Body.Cut)
}

func (s *Server) sessionBalls(ctx context.Context, v tagging.Viewer, in byID) ([]wireBall, error) {
	balls, err := s.store.SessionBalls(ctx, v, in.ID)
	return each(balls, ownLinks.ball), err
}

func (s *Server) uploadRows(ctx context.Context, v tagging.Viewer, in byID) ([]wireUpload, error) {
	list, err := s.store.Uploads(ctx, v, in.ID)
	return each(list, toUpload), err
}

// dropUpload forgets an upload and removes what came of it. The row goes
// first: bytes without a row are swept up, a row without bytes is not.
func (s *Server) dropUpload(ctx context.Context, v tagging.Viewer, in byID) (none, error) {
	u, err := s.store.DropUpload(ctx, v, in.ID)
	if err != nil {
		return none{}, err
	}
	s.uploads.remove(ctx, u.TusID)
	return none{}, nil
}

func (s *Server) recording(ctx context.Context, v tagging.Viewer, in byID) (wireRecording, error) {
	r, err := s.store.Recording(ctx, v, in.ID)
	return toRecording(r), err
}

func (s *Server) changeRecording(ctx context.Context, v tagging.Viewer, in change[wireRecordingChange]) (wireRecording, error) {
	r, err := s.store.Recording(ctx, v, in.ID)
	if err != nil {
		return wireRecording{}, err
	}
	r, err = s.store.ChangeRecording(ctx, v, in.Body.apply(r))
	return toRecording(r), err
}

func (s *Server) deleteRecording(ctx context.Context, v tagging.Viewer, in byID) (none, error) {
	return none{}, s.store.DeleteRecording(ctx, v, in.ID)
}

func (s *Server) retryRecording(ctx context.Context, v tagging.Viewer, in byID) (wireRecording, error) {
	r, err := s.store.Retry(ctx, v, in.ID)
	return toRecording(r), err
}

func (s *Server) cancelRecording(ctx context.Context, v tagging.Viewer, in byID) (wireRecording, error) {
	r, err := s.store.Cancel(ctx, v, in.ID)
	return toRecording(r), err
}

func (s *Server) splitRecording(ctx context.Context, v tagging.Viewer, in byID) (wireRecording, error) {
	r, err := s.store.SplitAgain(ctx, v, in.ID)
	return toRecording(r), err
}

func (s *Server) alignRecording(ctx context.Context, v tagging.Viewer, in byID) (wireRecording, error) {
	r, err := s.store.AlignAgain(ctx, v, in.ID)
	return toRecording(r), err
}

func (s *Server) alignSession(ctx context.Context, v tagging.Viewer, in byID) (none, error) {
	return none{}, s.store.AlignAll(ctx, v, in.ID)
}

func (s *Server) traces(ctx context.Context, v tagging.Viewer, in byID) (wireTraces, error) {
	sound, motion, err := s.store.Traces(ctx, v, in.ID)
	return wireTraces{toTrace(sound), toTrace(motion)}, err
}

// original sends a recording's file as it came in.
func (s *Server) original(c echo.Context) error {
	var in byID
	if err := in.bind(c); err != nil {
		return err
	}
	ctx := c.Request().Context()
	r, err := s.store.Recording(ctx, viewerOf(ctx), in.ID)
	if err != nil {
		return err
	}
	return s.serveOriginal(c, r)
}

// recordingAt is the recording that a request names, and the time in it.
func (s *Server) recordingAt(c echo.Context) (tagging.Recording, media.Micros, error) {
	var in byID
	if err := in.bind(c); err != nil {
		return tagging.Recording{}, 0, err
	}
	at, err := queryInt(c.QueryParams(), "at_us", 0)
	if err != nil {
		return tagging.Recording{}, 0, err
	}
	ctx := c.Request().Context()
	r, err := s.store.Recording(ctx, viewerOf(ctx), in.ID)
	return r, media.Micros(at), err
}

// still sends the picture at a time, as large as the film. The film never
// changes, so neither does what is there.
func (s *Server) still(c echo.Context) error {
	r, at, err := s.recordingAt(c)
	if err != nil {
		return err
	}
	picture, err := s.posters.Still(c.Request().Context(), r, at)
	if err != nil {
		return err
	}
	defer func() { _ = picture.Close() }()
	c.Response().Header().Set(echo.HeaderCacheControl, cacheForEver)
	return c.Stream(http.StatusOK, "image/jpeg", picture)
}
