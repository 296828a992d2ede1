package api

import (
	"context"
	"net/http"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"netreel/media/blob"
	"netreel/media/fault"
	"netreel/tagging"
	"netreel/tagging/export"
)

func (s *Server) reelList(ctx context.Context, v tagging.Viewer, _ none) ([]wireReel, error) {
	list, err := s.store.Reels(ctx, v)
	return each(list, toReel), err
}

func (s *Server) reel(ctx context.Context, v tagging.Viewer, in byID) (wireReel, error) {
	r, err := s.store.Reel(ctx, v, in.ID)
	return toReel(r), err
}

func (s *Server) addReel(ctx context.Context, v tagging.Viewer, in create[wireReelInput]) (wireReel, error) {
	r, err := s.store.AddReel(ctx, v, in.Body.input())
	return toReel(r), err
}

func (s *Server) changeReel(ctx context.Context, v tagging.Viewer, in change[wireReelInput]) (wireReel, error) {
	r, err := s.store.ChangeReel(ctx, v, in.ID, in.Body.input())
	return toReel(r), err
}

func (s *Server) deleteReel(ctx context.Context, v tagging.Viewer, in byID) (none, error) {
	return none{}, s.store.DeleteReel(ctx, v, in.ID)
}

func (s *Server) playlist(ctx context.Context, v tagging.Viewer, in byID) (wirePlaylist, error) {
	p, err := s.store.Playlist(ctx, v, in.ID)
	return ownLinks.playlist(p), err
}

func (s *Server) reelCaptions(c echo.Context) error {
	p, err := s.ownPlaylist(c)
	if err != nil {
		return err
	}
	return sendCaptions(c, p)
}

// sendCaptions sends what was seen on a reel's balls as WebVTT.
func sendCaptions(c echo.Context, p tagging.Playlist) error {
	var b strings.Builder
	if err := export.WebVTT(&b, p.Reel.Title, export.ReelCues(p)); err != nil {
		return err
	}
	return sendText(c, "text/vtt; charset=utf-8", p.Reel.Title+".vtt", b.String())
}

func (s *Server) reelTable(c echo.Context) error {
	p, err := s.ownPlaylist(c)
	if err != nil {
		return err
	}
	ctx := c.Request().Context()
	words, err := s.store.Vocabulary(ctx, viewerOf(ctx), 0)
	if err != nil {
		return err
	}
	var b strings.Builder
	if err := export.CSV(&b, p, words); err != nil {
		return err
	}
	return sendText(c, "text/csv; charset=utf-8; header=present", p.Reel.Title+".csv", b.String())
}

func (s *Server) ownPlaylist(c echo.Context) (tagging.Playlist, error) {
	var in byID
	if err := in.bind(c); err != nil {
		return tagging.Playlist{}, err
	}
	ctx := c.Request().Context()
	return s.store.Playlist(ctx, viewerOf(ctx), in.ID)
}

// sendText sends a text as a file that is saved under a name.
func sendText(c echo.Context, contentType, name, text string) error {
	h := c.Response().Header()
	h.Set(echo.HeaderCacheControl, "no-store")
	h.Set(echo.HeaderContentDisposition, savedAs(name))
	return c.Blob(http.StatusOK, contentType, []byte(text))
}

func (s *Server) shares(ctx context.Context, v tagging.Viewer, in byID) ([]wireShare, error) {
	list, err := s.store.Shares(ctx, v, in.ID)
	return each(list, toShare), err
}

func (s *Server) addShare(ctx context.Context, v tagging.Viewer, in change[wireShareInput]) (wireNewShare, error) {
	days := min(max(in.Body.Days, 0), tagging.MaxShareDays+1) // the store refuses what is out of bounds; a time can't hold all of int64
	share, secret, err := s.store.AddShare(ctx, v, in.ID, time.Now().UTC().AddDate(0, 0, int(days)))
	return wireNewShare{toShare(share), s.publicURL + "/shared/" + secret}, err
}

func (s *Server) revokeShare(ctx context.Context, v tagging.Viewer, in byID) (none, error) {
	return none{}, s.store.RevokeShare(ctx, v, in.ID)
}

func (s *Server) exports(ctx context.Context, v tagging.Viewer, in byID) ([]wireExport, error) {
	list, err := s.store.Exports(ctx, v, in.ID)
	return each(list, toExport), err
}

func (s *Server) addExport(ctx context.Context, v tagging.Viewer, in change[wireExportInput]) (wireExport, error) {
	e, err := s.store.AddExport(ctx, v, in.ID, in.Body.Burn)
	return toExport(e), err
}

func (s *Server) cancelExport(ctx context.Context, v tagging.Viewer, in byID) (none, error) {
	return none{}, s.store.CancelExport(ctx, v, in.ID)
}

func (s *Server) film(c echo.Context) error {
	e, title, _, err := s.finishedExport(c)
	if err != nil {
		return err
	}
	c.Response().Header().Set(echo.HeaderContentDisposition, savedAs(title+".mp4"))
	return s.serveBlob(c, blob.ExportKey(e.ID), "video/mp4", askAgain)
}

func (s *Server) filmCaptions(c echo.Context) error {
	_, title, captions, err := s.finishedExport(c)
	if err != nil {
		return err
	}
	return sendText(c, "text/vtt; charset=utf-8", title+".vtt", captions)
}

// finishedExport is a film that is made, with its reel's title and captions.
func (s *Server) finishedExport(c echo.Context) (tagging.Export, string, string, error) {
	var in byID
	if err := in.bind(c); err != nil {
		return tagging.Export{}, "", "", err
	}
	ctx := c.Request().Context()
	v := viewerOf(ctx)
	e, captions, err := s.store.Export(ctx, v, in.ID)
	if err != nil {
		return e, "", "", err
	}
	if e.State != tagging.ExportDone {
		return e, "", "", fault.New(fault.NotFound, "api.film", "The film is not made yet. Wait until it is done.")
	}
	r, err := s.store.Reel(ctx, v, e.ReelID)
	return e, r.Title, captions, err
}
