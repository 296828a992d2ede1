package api

import (
	"crypto/rand"
	"strings"
	"time"

	"github.com/labstack/echo/v4"
	"github.com/labstack/echo/v4/middleware"

	"netreel/media/fault"
)

// number gives each request a number, by which the log tells more of a
// problem than the person is told.
func (s *Server) number(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		c.Response().Header().Set(echo.HeaderXRequestID, strings.ToLower(rand.Text()[:12]))
		return next(c)
	}
}

// logRequests logs the route and not the address, which may hold a secret.
func (s *Server) logRequests(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		begun := time.Now()
		err := next(c)
		if err != nil {
			c.Error(err) // writes the problem, so that its status is known here
		}
		s.log.DebugContext(c.Request().Context(), "request", "method", c.Request().Method, "route", c.Path(),
			"status", c.Response().Status, "bytes", c.Response().Size, "took", time.Since(begun),
			"request_id", c.Response().Header().Get(echo.HeaderXRequestID))
		return nil
	}
}

// recoverPanics turns a panic into an internal fault.
func (s *Server) recoverPanics(next echo.HandlerFunc) echo.HandlerFunc {
	return middleware.RecoverWithConfig(middleware.RecoverConfig{
		DisablePrintStack: false, DisableErrorHandler: true,
		LogErrorFunc: func(c echo.Context, err error, stack []byte) error {
			s.log.ErrorContext(c.Request().Context(), "panic", "route", c.Path(), "err", err, "stack", string(stack))
			return fault.Wrap(err, fault.Internal, "api", "")
		},
	})(next)
}

// secureHeaders sets what every answer has. A page's own policy replaces the
// strict one.
func (s *Server) secureHeaders(secure bool) echo.MiddlewareFunc {
	return func(next echo.HandlerFunc) echo.HandlerFunc {
		return func(c echo.Context) error {
			h := c.Response().Header()
			h.Set("X-Content-Type-Options", "nosniff")
			h.Set("Referrer-Policy", "no-referrer") // addresses hold secrets
			h.Set("Content-Security-Policy", "default-src 'none'; frame-ancestors 'none'")
			h.Set("Cross-Origin-Opener-Policy", "same-origin")
			h.Set("Cross-Origin-Resource-Policy", "same-origin")
			if secure {
				h.Set("Strict-Transport-Security", "max-age=31536000")
			}
			return next(c)
		}
	}
}

// sameOrigin refuses writes that another site's page sends in a reader's name.
func (s *Server) sameOrigin(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		if err := s.origins.Check(c.Request()); err != nil {
			return fault.Wrap(err, fault.Forbidden, "api.sameOrigin", "This request came from another site's page. Open netreel itself and try again.")
		}
		return next(c)
	}
}
