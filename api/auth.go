package api

import (
	"context"
	"net/http"
	"time"

	"github.com/alexedwards/scs/v2"
	"github.com/labstack/echo/v4"

	"netreel/media/fault"
	"netreel/tagging"
)

// A signed-in browser stays so for sessionLife after it was last seen; the
// cookie is renewed at most once in renewAfter, so that a page's many requests
// don't each write to the database.
const (
	sessionLife = 60 * 24 * time.Hour
	renewAfter  = 24 * time.Hour
	accountKey  = "account"
)

// newSessions sets the session library up. Its middleware is not used: it
// writes the session on every answer, films too. Nor is scs.New, which starts a
// store in memory that only the end of the process stops.
func newSessions(store scs.Store, secure bool) *scs.SessionManager {
	name := "netreel"
	if secure {
		name = "__Host-netreel" // bound to this host and to https by the browser
	}
	return &scs.SessionManager{
		Store: store, Codec: scs.GobCodec{}, Lifetime: sessionLife,
		Cookie: scs.SessionCookie{Name: name, Path: "/", HttpOnly: true, Secure: secure, SameSite: http.SameSiteLaxMode, Persist: true},
	}
}

type accountInContext struct{}

// accountOf is who signed the request in; guard has put it there.
func accountOf(ctx context.Context) tagging.Account {
	a, _ := ctx.Value(accountInContext{}).(tagging.Account)
	return a
}

// viewerOf is accountOf as the store wants it.
func viewerOf(ctx context.Context) tagging.Viewer {
	a := accountOf(ctx)
	return tagging.Viewer{AccountID: a.ID, SquadID: a.SquadID, Role: a.Role, PlayerID: a.PlayerID}
}

// who says which accounts may call a route.
type who string

// The sorts of callers, in the words of the API's description.
const (
	public   who = "public" // nobody is asked who they are
	signedIn who = "any"
	staff    who = "staff"
	coach    who = "coach"
)

func (w who) admits(r tagging.Role) bool {
	switch w {
	case public:
		return true
	case signedIn:
		return r.Valid()
	case staff:
		return r.Staff()
	case coach:
		return r == tagging.Coach
	}
	return false
}

// guard lets only those through whom the route is for, and tells the handler
// who they are. What of it they may see is the store's to say.
func (s *Server) guard(w who, next echo.HandlerFunc) echo.HandlerFunc {
	if w == public {
		return next
	}
	return func(c echo.Context) error {
		if id := s.tickets.holder(c.Request()); id != 0 {
			return s.byTicket(c, id, w, next)
		}
		ctx, err := s.loadSession(c)
		if err != nil {
			return err
		}
		account, err := s.whoseSession(ctx)
		if err != nil {
			return err
		}
		if !w.admits(account.Role) {
			return fault.New(fault.Forbidden, "api.guard", "")
		}
		if time.Until(s.sessions.Deadline(ctx)) < sessionLife-renewAfter {
			s.sessions.SetDeadline(ctx, time.Now().Add(sessionLife))
			if err := s.keepSession(ctx, c); err != nil {
				return err
			}
		}
		return as(ctx, c, account, next)
	}
}

// byTicket lets the browser through that prints a page in an account's name.
func (s *Server) byTicket(c echo.Context, id int64, w who, next echo.HandlerFunc) error {
	ctx, err := s.sessions.Load(c.Request().Context(), "") // no browser's: there is a ticket in its stead
	if err != nil {
		return fault.Wrap(err, fault.Unavailable, "api.byTicket", "")
	}
	account, err := s.store.Account(ctx, id)
	if err != nil {
		return err
	}
	if !w.admits(account.Role) {
		return fault.New(fault.Forbidden, "api.byTicket", "")
	}
	return as(ctx, c, account, next)
}

// as goes on in an account's name.
func as(ctx context.Context, c echo.Context, account tagging.Account, next echo.HandlerFunc) error {
	c.SetRequest(c.Request().WithContext(context.WithValue(ctx, accountInContext{}, account)))
	return next(c)
}

// loadSession reads the session that the request's cookie names into its
// context; without a good cookie that is an empty one.
func (s *Server) loadSession(c echo.Context) (context.Context, error) {
	token := ""
	if cookie, err := c.Request().Cookie(s.sessions.Cookie.Name); err == nil {
		token = cookie.Value
	}
	ctx, err := s.sessions.Load(c.Request().Context(), token)
	return ctx, fault.Wrap(err, fault.Unavailable, "api.loadSession", "")
}

// whoseSession is the account of a loaded session. It is read anew for each
// request, so that whoever is disabled is out at once.
func (s *Server) whoseSession(ctx context.Context) (tagging.Account, error) {
	id := s.sessions.GetInt64(ctx, accountKey)
	if id == 0 {
		return tagging.Account{}, fault.New(fault.Unauthorised, "api.whoseSession", "")
	}
	return s.store.Account(ctx, id)
}

// keepSession writes a session to the database and its cookie to the answer.
func (s *Server) keepSession(ctx context.Context, c echo.Context) error {
	token, expiry, err := s.sessions.Commit(ctx)
	if err != nil {
		return fault.Wrap(err, fault.Unavailable, "api.keepSession", "")
	}
	s.sessions.WriteSessionCookie(ctx, c.Response(), token, expiry)
	return nil
}

// beginSession signs an account in. The session gets a new token, so that one
// that somebody planted before is worth nothing.
func (s *Server) beginSession(c echo.Context, account tagging.Account) error {
	ctx, err := s.loadSession(c)
	if err != nil {
		return err
	}
	if err := s.sessions.RenewToken(ctx); err != nil {
		return fault.Wrap(err, fault.Unavailable, "api.beginSession", "")
	}
	s.sessions.Put(ctx, accountKey, account.ID)
	return s.keepSession(ctx, c)
}

// signOut ends the caller's session.
func (s *Server) signOut(c echo.Context) error {
	ctx := c.Request().Context()
	if err := s.sessions.Destroy(ctx); err != nil {
		return fault.Wrap(err, fault.Unavailable, "api.signOut", "")
	}
	s.sessions.WriteSessionCookie(ctx, c.Response(), "", time.Time{})
	c.Response().Header().Set("Clear-Site-Data", `"cache"`) // clips are kept by the browser for ever otherwise
	return send(c, http.StatusNoContent, nil)
}

// endOtherSessions signs an account out of every browser but the caller's.
func (s *Server) endOtherSessions(ctx context.Context, accountID int64) error {
	own := s.sessions.Token(ctx)
	err := s.sessions.Iterate(ctx, func(ctx context.Context) error {
		if s.sessions.GetInt64(ctx, accountKey) != accountID || s.sessions.Token(ctx) == own {
			return nil
		}
		return s.sessions.Destroy(ctx)
	})
	return fault.Wrap(err, fault.Unavailable, "api.endOtherSessions", "")
}
