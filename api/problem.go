package api

import (
	"cmp"
	"errors"
	"log/slog"
	"net/http"

	"github.com/labstack/echo/v4"

	"netreel/media/fault"
)

// problem is the body of every error answer (RFC 9457).
type problem struct {
	Type      string        `json:"type"`
	Title     string        `json:"title"`
	Status    int           `json:"status"`
	Detail    string        `json:"detail"`
	Instance  string        `json:"instance,omitempty"`
	RequestID string        `json:"request_id,omitempty"`
	Errors    []fault.Field `json:"errors,omitempty"`
}

// answers says how each kind of fault leaves: its status, its title, and the
// detail of a fault that has no text for the person.
var answers = map[fault.Kind]struct {
	status        int
	title, detail string
}{
	fault.Internal: {http.StatusInternalServerError, "Something went wrong here",
		"The server made a mistake. Try again; if it stays, tell whoever runs it, with the number of this request."},
	fault.Invalid:      {http.StatusBadRequest, "That can't be taken as it is", "Mend what you sent and try again."},
	fault.NotFound:     {http.StatusNotFound, "Not here", "There is no such thing here, or it is not yours to see."},
	fault.Conflict:     {http.StatusConflict, "It has changed meanwhile", "Somebody else changed this. Load the page again."},
	fault.TooLarge:     {http.StatusRequestEntityTooLarge, "Too large", "That is more than this server takes."},
	fault.Unsupported:  {http.StatusUnsupportedMediaType, "Not a sort that can be used", "That sort of data can't be used here."},
	fault.Unauthorised: {http.StatusUnauthorized, "Not signed in", "Sign in and try again."},
	fault.Forbidden:    {http.StatusForbidden, "Not allowed", "Your account may not do this. Ask a coach of your squad."},
	fault.Unavailable:  {http.StatusServiceUnavailable, "Not just now", "The server can't do this at the moment. Try again in a minute."},
}

// refusal is an error of the protocol rather than of the house: it has a
// status that no kind of fault has, and may carry headers.
type refusal struct {
	status int
	detail string
	header map[string]string
}

func (r *refusal) Error() string { return http.StatusText(r.status) + ": " + r.detail }

// refusals are the details of what echo and net/http refuse by themselves.
var refusals = map[int]string{
	http.StatusNotFound:                     "There is nothing at this address.",
	http.StatusMethodNotAllowed:             "This address does not take that method.",
	http.StatusRequestedRangeNotSatisfiable: "The file has no such part. Ask for a part of it that exists.",
	http.StatusPreconditionFailed:           "The file is not the one you have in mind. Load the page again.",
}

// writeProblem is the only writer of error answers. It is echo's
// HTTPErrorHandler.
func (s *Server) writeProblem(err error, c echo.Context) {
	p, header := problemOf(err)
	s.logProblem(c, err, p.Status)
	if c.Response().Committed {
		return // the answer is under way, or the client is gone
	}
	p.Instance = c.Request().URL.Path
	p.RequestID = c.Response().Header().Get(echo.HeaderXRequestID)
	h := c.Response().Header()
	for name, value := range header {
		h.Set(name, value)
	}
	h.Set(echo.HeaderCacheControl, "no-store")
	if c.Request().Context().Err() != nil {
		// The read deadline by which tusd ends a broken upload can cancel all that comes after it on the same connection
		// (net/http: a connection's requests share its context). The client must not use that one again.
		h.Set(echo.HeaderConnection, "close")
	}
	h.Del(echo.HeaderContentLength)
	h.Del("Etag")
	h.Del(echo.HeaderLastModified)
	h.Del(echo.HeaderContentDisposition)
	h.Set(echo.HeaderContentType, "application/problem+json")
	if err := c.JSON(p.Status, p); err != nil {
		s.log.DebugContext(c.Request().Context(), "problem not sent", "err", err)
	}
}

// problemOf turns any error into a problem. Nothing of an error that is not
// ours reaches the client but its class.
func problemOf(err error) (problem, map[string]string) {
	if r, ok := errors.AsType[*refusal](err); ok {
		return bare(r.status, r.detail), r.header
	}
	if h, ok := errors.AsType[*echo.HTTPError](err); ok && h.Code < http.StatusInternalServerError {
		return bare(h.Code, refusals[h.Code]), nil
	}
	kind := fault.KindOf(err)
	a := answers[kind]
	p := problem{Type: "/problems/" + kind.String(), Title: a.title, Status: a.status, Detail: cmp.Or(fault.Message(err), a.detail)}
	if e, ok := errors.AsType[*fault.Error](err); ok {
		p.Errors = e.Fields
	}
	header := map[string]string{}
	switch kind {
	case fault.Unauthorised:
		header[echo.HeaderWWWAuthenticate] = `Session realm="netreel"` // RFC 9110, section 15.5.2: must be there
	case fault.Unavailable:
		header["Retry-After"] = "30"
	}
	return p, header
}

// bare is a problem that says no more than its status (RFC 9457, section
// 4.2.1).
func bare(status int, detail string) problem {
	return problem{Type: "about:blank", Title: http.StatusText(status), Status: status,
		Detail: cmp.Or(detail, "The server refused this: "+http.StatusText(status)+".")}
}

// logProblem keeps what a person can't mend. What they can is no news.
func (s *Server) logProblem(c echo.Context, err error, status int) {
	ctx := c.Request().Context()
	level := slog.LevelDebug
	_, refused := errors.AsType[*refusal](err)
	switch {
	case refused, ctx.Err() != nil: // a client's affair, or the client went away
	case status == http.StatusServiceUnavailable:
		level = slog.LevelWarn
	case status >= http.StatusInternalServerError:
		level = slog.LevelError
	}
	s.log.Log(ctx, level, "request failed", "method", c.Request().Method, "route", c.Path(), "status", status,
		"request_id", c.Response().Header().Get(echo.HeaderXRequestID), "err", err)
}
