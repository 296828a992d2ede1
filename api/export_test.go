package api

import (
	"net/http"
	"time"

	"netreel/media/fault"
)

// Route is a line of the table, for tests.
type Route struct{ Method, Path, Who string }

// Routes is the table.
func (s *Server) Routes() []Route {
	var out []Route
	for _, r := range s.routes() {
		out = append(out, Route{r.method, r.path, string(r.who)})
	}
	return out
}

// SetClock sets the clock by which sign-ins are throttled.
func (s *Server) SetClock(now func() time.Time) { s.throttle.now = now }

// SetHeartbeat sets how often a silent event stream is looked after.
func (s *Server) SetHeartbeat(d time.Duration) { s.heartbeat = d }

// StatusOf is the status of a kind of fault; false when the table lacks it.
func StatusOf(k fault.Kind) (int, bool) {
	a, ok := answers[k]
	return a.status, ok && a.status >= http.StatusBadRequest && a.title != "" && a.detail != ""
}

// Names that tests of whole requests compare with.
var (
	FileName     = fileName
	SessionLife  = sessionLife
	TriesAtOnce  = triesAtOnce
	TryEvery     = tryEvery
	PasswordCost = *passwordCost
	Decoy        = decoy
	NotBuilt     = notBuilt
)

// CheapPasswords makes hashing cheap. PasswordCost stays what it was.
func CheapPasswords() { passwordCost.Memory, passwordCost.Iterations = 64, 1 }
