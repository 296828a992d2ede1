package api

import (
	"fmt"
	"net/http"
	"net/url"

	"github.com/labstack/echo/v4"
)

// report sends a session's look-back as PDF: the page as the reader sees it,
// printed by a browser on the server. What the page is asked for, such as whose
// balls, is in the address of both.
func (s *Server) report(c echo.Context) error {
	var in byID
	if err := in.bind(c); err != nil {
		return err
	}
	ctx := c.Request().Context()
	v := viewerOf(ctx)
	session, err := s.store.Session(ctx, v, in.ID)
	if err != nil {
		return err
	}
	ticket, revoke := s.tickets.issue(v.AccountID)
	defer revoke()
	page := url.URL{Path: fmt.Sprintf("/sessions/%d/look-back", in.ID), RawQuery: c.QueryParams().Encode()}
	pdf, err := s.printer.Print(ctx, s.selfURL+page.String(), map[string]string{ticketHeader: ticket}, s.publicURL)
	if err != nil {
		return err
	}
	h := c.Response().Header()
	h.Set(echo.HeaderCacheControl, "no-store")
	h.Set(echo.HeaderContentDisposition, savedAs(fmt.Sprintf("%s %s.pdf", session.Title, session.HeldOn)))
	return c.Blob(http.StatusOK, "application/pdf", pdf)
}
