package api

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"netreel/tagging"
)

// The routes of share links. The secret in the address is all the right there
// is: each request asks the store anew whether it still holds, and nothing of
// the answers may be kept without asking.

func (s *Server) shared(c echo.Context) error {
	secret := c.Param("secret")
	p, err := s.store.SharedPlaylist(c.Request().Context(), secret, true)
	if err != nil {
		return err
	}
	return send(c, http.StatusOK, sharedLinks(secret).playlist(p))
}

func (s *Server) sharedCaptions(c echo.Context) error {
	p, err := s.store.SharedPlaylist(c.Request().Context(), c.Param("secret"), false)
	if err != nil {
		return err
	}
	return sendCaptions(c, p)
}

func (s *Server) sharedVideo(c echo.Context) error {
	clip, err := s.sharedClip(c)
	if err != nil {
		return err
	}
	return s.serveClip(c, clip, askAgain)
}

func (s *Server) sharedPoster(c echo.Context) error {
	clip, err := s.sharedClip(c)
	if err != nil {
		return err
	}
	return s.servePoster(c, clip, askAgain)
}

func (s *Server) sharedClip(c echo.Context) (tagging.Clip, error) {
	var in byID
	if err := in.bind(c); err != nil {
		return tagging.Clip{}, err
	}
	return s.store.SharedClip(c.Request().Context(), c.Param("secret"), in.ID)
}
