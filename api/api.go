// Package api is HTTP and nothing else: routes, who may call them, JSON in and
// out, uploads, films in parts, events, the page. What it serves is described
// in openapi.yaml.
//
// It must not know the database, the queue or any tool: it asks the interfaces
// in ports.go, in the words of tagging, and every answer it gives has been
// asked for in the name of a viewer.
package api

import (
	_ "embed" // openapi.yaml
	"io"
	"io/fs"
	"log/slog"
	"net"
	"net/http"
	"net/netip"
	"slices"
	"strings"
	"time"

	"github.com/alexedwards/scs/v2"
	"github.com/labstack/echo/v4"
	"github.com/labstack/echo/v4/middleware"

	"netreel/media/fault"
)

//go:embed openapi.yaml
var description []byte

// Config is what a server needs. All fields without a remark must be set.
type Config struct {
	Store     Store
	Blobs     Blobs
	Posters   Posters
	Ears      Ears
	Printer   Printer
	Events    Events
	Log       *slog.Logger
	Page      fs.FS     // the built page; nil when it was not built
	PublicURL string    // how people reach the server, without a slash at the end
	SelfURL   string    // how this machine does, for printing; without a slash at the end
	UploadDir string    // where files on their way in lie; must exist
	Sessions  scs.Store // signed-in browsers; must be iterable (scs.IterableStore)
	Secure    bool      // whether PublicURL is https: cookies are then bound to it
	MaxUpload int64     // bytes of one file; 0 for no limit

	// TrustedProxies are the proxies on other machines whose word on where a request came from is taken. One on this
	// machine is trusted always.
	TrustedProxies []netip.Prefix
}

// Server answers HTTP requests. Close ends what would not end by itself.
type Server struct {
	store     Store
	blobs     Blobs
	posters   Posters
	ears      Ears
	printer   Printer
	feed      Events
	log       *slog.Logger
	pageFiles fs.FS
	publicURL string
	selfURL   string
	heartbeat time.Duration

	sessions  *scs.SessionManager
	passwords *passwords
	tickets   *tickets
	throttle  *throttle
	uploads   *uploads
	streams   *streams
	origins   *http.CrossOriginProtection
	router    *echo.Echo
}

// New makes a server. It starts nothing by itself.
func New(cfg Config) (*Server, error) {
	up, err := newUploads(cfg)
	if err != nil {
		return nil, err
	}
	s := &Server{
		store: cfg.Store, blobs: cfg.Blobs, posters: cfg.Posters, ears: cfg.Ears, printer: cfg.Printer, feed: cfg.Events, log: cfg.Log, pageFiles: cfg.Page,
		publicURL: strings.TrimSuffix(cfg.PublicURL, "/"), selfURL: cfg.SelfURL, heartbeat: heartbeat,
		sessions: newSessions(cfg.Sessions, cfg.Secure), passwords: newPasswords(), tickets: newTickets(), throttle: newThrottle(time.Now),
		uploads: up, streams: newStreams(), origins: http.NewCrossOriginProtection(),
	}
	if err := s.origins.AddTrustedOrigin(s.publicURL); err != nil {
		return nil, fault.Wrap(err, fault.Invalid, "api.New", "The public address must be like https://example.org, without a path.")
	}
	s.router = s.newRouter(cfg)
	return s, nil
}

// Handler is the whole server as one handler. It needs no time limits but
// those on reading headers and on idle connections: films and uploads take as
// long as they take.
func (s *Server) Handler() http.Handler { return s.router }

// Close ends the event streams and waits until they have ended.
func (s *Server) Close() { s.streams.stop() }

// route is a line of the table: an address of openapi.yaml, who may call it,
// and what answers.
type route struct {
	method, path string
	who          who
	handler      echo.HandlerFunc
}

// routes is the table that the router, the check of who is calling, and the
// tests are made of.
func (s *Server) routes() []route {
	return []route{
		{http.MethodGet, "/api/me", signedIn, handle(200, s.me)},
		{http.MethodPost, "/api/sign-in", public, s.signIn},
		{http.MethodPost, "/api/sign-out", signedIn, s.signOut},
		{http.MethodPut, "/api/me/password", signedIn, handle(204, s.setPassword)},
		{http.MethodGet, "/api/links/{secret}", public, s.peekLink},
		{http.MethodPost, "/api/links/{secret}", public, s.useLink},
		{http.MethodGet, "/api/accounts", coach, handle(200, s.accounts)},
		{http.MethodPost, "/api/accounts", coach, handle(201, s.invite)},
		{http.MethodPatch, "/api/accounts/{id}", coach, handle(200, s.changeAccount)},
		{http.MethodPost, "/api/accounts/{id}/link", coach, handle(201, s.newLink)},
		{http.MethodPut, "/api/squad", coach, handle(204, s.renameSquad)},
		{http.MethodGet, "/api/players", staff, handle(200, s.players)},
		{http.MethodPost, "/api/players", staff, handle(201, s.addPlayer)},
		{http.MethodPut, "/api/players/{id}", staff, handle(200, s.changePlayer)},
		{http.MethodGet, "/api/vocabulary", signedIn, handle(200, s.vocabulary)},
		{http.MethodPut, "/api/vocabulary", coach, handle(200, s.saveVocabulary)},

		{http.MethodGet, "/api/sessions", signedIn, handle(200, s.sessionList)},
		{http.MethodPost, "/api/sessions", staff, handle(201, s.addSession)},
		{http.MethodGet, "/api/sessions/{id}", signedIn, handle(200, s.session)},
		{http.MethodPut, "/api/sessions/{id}", staff, handle(200, s.changeSession)},
		{http.MethodDelete, "/api/sessions/{id}", coach, handle(204, s.deleteSession)},
		{http.MethodPut, "/api/sessions/{id}/blocks", staff, handle(200, s.setBlocks)},
		{http.MethodGet, "/api/sessions/{id}/lane", staff, handle(200, s.lane)},
		{http.MethodPost, "/api/sessions/{id}/lane-edits", staff, handle(200, s.editLane)},
		{http.MethodPost, "/api/sessions/{id}/align", staff, handle(204, s.alignSession)},
		{http.MethodPut, "/api/sessions/{id}/cut", staff, handle(204, s.setCut)},
		{http.MethodGet, "/api/sessions/{id}/uploads", staff, handle(200, s.uploadRows)},
		{http.MethodGet, "/api/sessions/{id}/balls", signedIn, handle(200, s.sessionBalls)},
		{http.MethodGet, "/api/sessions/{id}/report.pdf", staff, s.report},
		{http.MethodGet, "/api/sessions/{id}/export/balls.csv", staff, s.sessionTable},
		{http.MethodGet, "/api/sessions/{id}/export/annotations.jsonld", staff, s.sessionAnnotations},
		{http.MethodGet, "/api/sessions/{id}/export/captions.vtt", staff, s.sessionCaptions},
		{http.MethodGet, "/api/sessions/{id}/export/archive.zip", staff, s.sessionArchive},

		{http.MethodGet, "/api/sessions/{id}/second-looks", staff, handle(200, s.secondLooks)},
		{http.MethodPost, "/api/sessions/{id}/second-looks", staff, handle(201, s.addSecondLook)},
		{http.MethodGet, "/api/second-looks/{id}", staff, handle(200, s.secondLook)},
		{http.MethodDelete, "/api/second-looks/{id}", staff, handle(204, s.dropSecondLook)},
		{http.MethodPost, "/api/second-looks/{id}/balls", staff, handle(204, s.saveLookBall)},
		{http.MethodPost, "/api/second-looks/{id}/finish", staff, handle(204, s.finishSecondLook)},
		{http.MethodGet, "/api/second-looks/{id}/agreement", staff, handle(200, s.lookAgreement)},
		{http.MethodGet, "/api/agreement", staff, handle(200, s.agreement)},
		{http.MethodPut, "/api/agreement", coach, handle(204, s.setTrustFloor)},

		{http.MethodOptions, "/api/uploads/", public, s.uploads.handle},
		{http.MethodPost, "/api/uploads/", staff, s.uploads.handle},
		{http.MethodHead, "/api/uploads/{tus_id}", staff, s.uploads.handle},
		{http.MethodPatch, "/api/uploads/{tus_id}", staff, s.uploads.handle},
		{http.MethodDelete, "/api/uploads/{tus_id}", staff, s.uploads.handle},
		{http.MethodDelete, "/api/uploads/rows/{id}", staff, handle(204, s.dropUpload)},
		{http.MethodGet, "/api/recordings/{id}", staff, handle(200, s.recording)},
		{http.MethodPatch, "/api/recordings/{id}", staff, handle(200, s.changeRecording)},
		{http.MethodDelete, "/api/recordings/{id}", coach, handle(204, s.deleteRecording)},
		{http.MethodPost, "/api/recordings/{id}/retry", staff, handle(200, s.retryRecording)},
		{http.MethodPost, "/api/recordings/{id}/cancel", staff, handle(200, s.cancelRecording)},
		{http.MethodPost, "/api/recordings/{id}/split", staff, handle(200, s.splitRecording)},
		{http.MethodPost, "/api/recordings/{id}/align", staff, handle(200, s.alignRecording)},
		{http.MethodGet, "/api/recordings/{id}/traces", staff, handle(200, s.traces)},
		{http.MethodGet, "/api/recordings/{id}/original", staff, s.original},
		{http.MethodGet, "/api/recordings/{id}/still", staff, s.still},
		{http.MethodGet, "/api/recordings/{id}/sound.wav", staff, s.soundAround},
		{http.MethodGet, "/api/recordings/{id}/calibration", staff, handle(200, s.calibration)},
		{http.MethodPut, "/api/recordings/{id}/calibration", staff, handle(200, s.saveCalibration)},
		{http.MethodPost, "/api/recordings/{id}/calibration/try", staff, handle(200, s.tryCalibration)},

		{http.MethodGet, "/api/measures", signedIn, handle(200, s.measures)},
		{http.MethodPost, "/api/readings/try", staff, handle(200, s.tryReading)},
		{http.MethodPost, "/api/readings", staff, handle(200, s.addReading)},
		{http.MethodPost, "/api/readings/{id}/verdict", staff, handle(200, s.judgeReading)},
		{http.MethodGet, "/api/balls/{id}/readings", staff, handle(200, s.ballReadings)},
		{http.MethodGet, "/api/sessions/{id}/readings", staff, handle(200, s.sessionReadings)},
		{http.MethodGet, "/api/players/{id}/measures", signedIn, handle(200, s.playerMeasures)},
		{http.MethodPut, "/api/players/{id}/yardsticks", coach, handle(204, s.setYardsticks)},

		{http.MethodGet, "/api/balls/{id}", signedIn, handle(200, s.ball)},
		{http.MethodGet, "/api/balls/{id}/ledger", staff, handle(200, s.ledger)},
		{http.MethodPost, "/api/observations", staff, handle(200, s.observe)},
		{http.MethodGet, "/api/find", signedIn, handle(200, s.find)},
		{http.MethodGet, "/api/side-by-side", signedIn, handle(200, s.sideBySide)},
		{http.MethodGet, "/api/sessions/{id}/lookback", staff, handle(200, s.lookback)},
		{http.MethodGet, "/api/compare", staff, handle(200, s.compare)},
		{http.MethodGet, "/api/players/{id}/progress", staff, handle(200, s.progress)},
		{http.MethodGet, "/api/players/{id}/rules", staff, handle(200, s.rules)},
		{http.MethodPut, "/api/players/{id}/rules", staff, handle(200, s.saveRules)},
		{http.MethodGet, "/api/felt", signedIn, handle(200, s.felt)},
		{http.MethodPost, "/api/felt", signedIn, handle(204, s.sayFelt)},
		{http.MethodGet, "/api/clips/{id}/video", signedIn, s.clipVideo},
		{http.MethodGet, "/api/clips/{id}/poster", signedIn, s.clipPoster},
		{http.MethodPost, "/api/clips/{id}/want", signedIn, handle(204, s.wantClip)},

		{http.MethodGet, "/api/reels", signedIn, handle(200, s.reelList)},
		{http.MethodPost, "/api/reels", staff, handle(201, s.addReel)},
		{http.MethodGet, "/api/reels/{id}", signedIn, handle(200, s.reel)},
		{http.MethodPut, "/api/reels/{id}", staff, handle(200, s.changeReel)},
		{http.MethodDelete, "/api/reels/{id}", staff, handle(204, s.deleteReel)},
		{http.MethodGet, "/api/reels/{id}/playlist", signedIn, handle(200, s.playlist)},
		{http.MethodGet, "/api/reels/{id}/captions.vtt", signedIn, s.reelCaptions},
		{http.MethodGet, "/api/reels/{id}/balls.csv", staff, s.reelTable},
		{http.MethodGet, "/api/reels/{id}/shares", staff, handle(200, s.shares)},
		{http.MethodPost, "/api/reels/{id}/shares", staff, handle(201, s.addShare)},
		{http.MethodDelete, "/api/shares/{id}", staff, handle(204, s.revokeShare)},
		{http.MethodGet, "/api/reels/{id}/exports", staff, handle(200, s.exports)},
		{http.MethodPost, "/api/reels/{id}/exports", staff, handle(201, s.addExport)},
		{http.MethodPost, "/api/exports/{id}/cancel", staff, handle(204, s.cancelExport)},
		{http.MethodGet, "/api/exports/{id}/film", staff, s.film},
		{http.MethodGet, "/api/exports/{id}/captions.vtt", staff, s.filmCaptions},

		{http.MethodGet, "/api/plans", staff, handle(200, s.planList)},
		{http.MethodPost, "/api/plans", staff, handle(201, s.addPlan)},
		{http.MethodPost, "/api/plans/draw", staff, handle(200, s.drawBlock)},
		{http.MethodGet, "/api/plans/{id}", staff, handle(200, s.plan)},
		{http.MethodPut, "/api/plans/{id}", staff, handle(200, s.changePlan)},
		{http.MethodDelete, "/api/plans/{id}", staff, handle(204, s.deletePlan)},
		{http.MethodPost, "/api/plans/{id}/session", staff, handle(201, s.planBecomes)},
		{http.MethodGet, "/api/players/{id}/cells", staff, handle(200, s.cells)},
		{http.MethodGet, "/api/sessions/{id}/proposals", staff, handle(200, s.proposals)},
		{http.MethodGet, "/api/load", staff, handle(200, s.load)},
		{http.MethodGet, "/api/load.csv", staff, s.loadTable},
		{http.MethodPut, "/api/load/limits", coach, handle(200, s.setLimits)},
		{http.MethodGet, "/api/clock", staff, handle(200, s.clock)},
		{http.MethodPost, "/api/net", staff, handle(200, s.takeMarks)},
		{http.MethodGet, "/api/sessions/{id}/net", staff, handle(200, s.net)},
		{http.MethodGet, "/api/sessions/{id}/bangs", staff, handle(200, s.bangs)},
		{http.MethodPut, "/api/sessions/{id}/net-clock", staff, handle(200, s.setZero)},
		{http.MethodPost, "/api/sessions/{id}/net-blocks", staff, handle(200, s.netBlocks)},

		{http.MethodGet, "/api/shared/{secret}", public, s.shared},
		{http.MethodGet, "/api/shared/{secret}/clips/{id}/video", public, s.sharedVideo},
		{http.MethodGet, "/api/shared/{secret}/clips/{id}/poster", public, s.sharedPoster},
		{http.MethodGet, "/api/shared/{secret}/captions.vtt", public, s.sharedCaptions},

		{http.MethodGet, "/api/events", signedIn, s.events},
		{http.MethodGet, "/healthz", public, s.health},
		{http.MethodGet, "/openapi.yaml", public, s.describe},
	}
}

// newRouter makes echo of the table.
func (s *Server) newRouter(cfg Config) *echo.Echo {
	e := echo.New()
	e.HTTPErrorHandler = s.writeProblem
	e.IPExtractor = sender(cfg.TrustedProxies)
	e.Logger.SetOutput(io.Discard) // echo's own log; ours is s.log
	e.Pre(middleware.MethodOverrideWithConfig(middleware.MethodOverrideConfig{
		Skipper: func(c echo.Context) bool { return !strings.HasPrefix(c.Request().URL.Path, uploadsPath) },
	}))
	e.Use(s.number, s.logRequests, s.recoverPanics, s.secureHeaders(cfg.Secure), s.sameOrigin,
		middleware.GzipWithConfig(middleware.GzipConfig{Skipper: isRaw, MinLength: 1024}))
	taken := map[string][]string{}
	add := func(method, path string, h echo.HandlerFunc) {
		e.Add(method, path, h)
		taken[path] = append(taken[path], method)
	}
	for _, r := range s.routes() {
		path := strings.NewReplacer("{", ":", "}", "").Replace(r.path)
		h := s.guard(r.who, r.handler)
		add(r.method, path, h)
		if r.method == http.MethodGet && r.path != "/api/events" {
			add(http.MethodHead, path, h) // net/http leaves the body out
		}
	}
	for path, methods := range taken {
		refuseOthers(e, path, methods)
	}
	e.RouteNotFound("/api/*", func(echo.Context) error { return echo.ErrNotFound })
	e.GET("/*", s.page)
	e.HEAD("/*", s.page)
	return e
}

// sender finds the address that a request came from: the nearest one that is
// no trusted proxy's.
func sender(proxies []netip.Prefix) echo.IPExtractor {
	trust := []echo.TrustOption{echo.TrustLoopback(true), echo.TrustLinkLocal(false), echo.TrustPrivateNet(false)}
	for _, p := range proxies {
		trust = append(trust, echo.TrustIPRange(&net.IPNet{
			IP: p.Masked().Addr().AsSlice(), Mask: net.CIDRMask(p.Bits(), p.Addr().BitLen())}))
	}
	return echo.ExtractIPFromXFFHeader(trust...)
}

// refuseOthers answers the methods that an address does not take. Left to
// itself echo would find the page's route for them.
func refuseOthers(e *echo.Echo, path string, taken []string) {
	allow := map[string]string{echo.HeaderAllow: strings.Join(taken, ", ")}
	for _, method := range []string{http.MethodGet, http.MethodHead, http.MethodPost, http.MethodPut, http.MethodPatch, http.MethodDelete} {
		if !slices.Contains(taken, method) {
			e.Add(method, path, func(echo.Context) error {
				return &refusal{status: http.StatusMethodNotAllowed, detail: refusals[http.StatusMethodNotAllowed], header: allow}
			})
		}
	}
}

// isRaw says of a route that it must not be compressed: films are so already
// and are asked for in parts, events and uploads must not wait in a buffer.
func isRaw(c echo.Context) bool {
	p := c.Path()
	for _, end := range []string{"/video", "/poster", "/still", "/original", "/film", ".zip", ".pdf", "/events"} {
		if strings.HasSuffix(p, end) {
			return true
		}
	}
	return strings.HasPrefix(p, uploadsPath)
}

type wireHealth struct {
	OK bool `json:"ok"`
}

// health asks the database for a session that is not there.
func (s *Server) health(c echo.Context) error {
	if _, _, err := s.sessions.Store.Find("none"); err != nil {
		return fault.Wrap(err, fault.Unavailable, "api.health", "The database does not answer.")
	}
	return send(c, http.StatusOK, wireHealth{true})
}

func (s *Server) describe(c echo.Context) error {
	c.Response().Header().Set(echo.HeaderCacheControl, "no-cache")
	return c.Blob(http.StatusOK, "application/yaml", description)
}
