package api_test

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"testing/fstest"
	"time"

	"github.com/alexedwards/scs/pgxstore"
	"github.com/getkin/kin-openapi/openapi3"
	"github.com/getkin/kin-openapi/openapi3filter"
	"github.com/getkin/kin-openapi/routers"
	"github.com/getkin/kin-openapi/routers/gorillamux"
	"github.com/stretchr/testify/require"

	"netreel/api"
	"netreel/db"
	"netreel/db/dbtest"
	"netreel/media"
	"netreel/media/blob"
	"netreel/tagging"
)

// world is a server over a real database and a real folder of files, with one
// squad that has everything and one that is a stranger to it.
type world struct {
	t       *testing.T
	store   *db.Store
	blobs   *blob.Folder
	server  *api.Server
	http    *httptest.Server
	feed    *feed
	uploads string                 // folder
	ticket  atomic.Pointer[string] // of the last print
	spec    routers.Router
	restart func() // a new server on the same database and folders, once the old one has answered all

	coach, analyst, player, nobody caller
	strangerCoach, strangerPlayer  caller
	ids                            ids
}

// ids are the things of the squad.
type ids struct {
	squad                                   int64
	asha, bela                              int64 // players; asha has the account
	coachAccount, playerAccount             int64
	session, otherSession, recording, spare int64
	ball, otherBall, clip, reading          int64
	reel, share, export, waiting, plan      int64
	secret                                  string
	uploadRow                               int64
	look, openLook                          int64 // second looks by the coach at their own coding; the first is finished
	tusID                                   string
	film                                    []byte // bytes of the clip's file
}

type feed struct {
	mu   sync.Mutex
	subs map[chan tagging.Event]int64
	seen chan struct{} // gets a value for each new subscriber
}

// Subscribe implements api.Events.
func (f *feed) Subscribe(ctx context.Context, squad int64) <-chan tagging.Event {
	ch := make(chan tagging.Event, 16)
	f.mu.Lock()
	f.subs[ch] = squad
	f.mu.Unlock()
	context.AfterFunc(ctx, func() {
		f.mu.Lock()
		defer f.mu.Unlock()
		delete(f.subs, ch)
		close(ch)
	})
	f.seen <- struct{}{}
	return ch
}

func (f *feed) publish(e tagging.Event) {
	f.mu.Lock()
	defer f.mu.Unlock()
	for ch, squad := range f.subs {
		if squad == e.SquadID {
			ch <- e
		}
	}
}

// posterMaker keeps one picture for every clip.
type posterMaker struct{ blobs *blob.Folder }

func (p posterMaker) Poster(ctx context.Context, clip int64) (string, error) {
	key := blob.PosterKey(clip, 1)
	return key, put(ctx, p.blobs, key, []byte("\xFF\xD8\xFFpicture"))
}

// Still gives one picture for every time of a recording that there is.
func (p posterMaker) Still(context.Context, tagging.Recording, media.Micros) (io.ReadSeekCloser, error) {
	return struct {
		io.ReadSeeker
		io.Closer
	}{bytes.NewReader([]byte("\xFF\xD8\xFFpicture")), io.NopCloser(nil)}, nil
}

// clapEars hear one clap in the middle of every stretch.
type clapEars struct{}

func (clapEars) Bangs(_ context.Context, h tagging.Hearing) ([]tagging.Bang, error) {
	own := h.Within.Start + h.Within.Length()/2
	return []tagging.Bang{{RecordingID: h.Recording.ID, At: h.Recording.Clock.ToSession(own), Own: own, Above: 30, Clear: true}}, nil
}

func (clapEars) Wave(context.Context, tagging.Hearing) ([]byte, error) {
	return []byte("RIFF\x04\x00\x00\x00WAVE"), nil
}

func put(ctx context.Context, blobs *blob.Folder, key string, content []byte) error {
	path, err := blobs.Stage(filepath.Base(key))
	if err != nil {
		return err
	}
	if err := os.WriteFile(path, content, 0o600); err != nil {
		return err
	}
	return blobs.Adopt(ctx, key, path)
}

// page is a built page in small.
var page = fstest.MapFS{
	"index.html":       {Data: []byte("<!doctype html><title>netreel</title>")},
	"assets/app-1a.js": {Data: []byte(strings.Repeat("export const a = 1\n", 200))},
	"pose.html":        {Data: []byte("<!doctype html><title>Points of a body</title>")},
	"icon.svg":         {Data: []byte("<svg xmlns='http://www.w3.org/2000/svg'/>")},
	".gitkeep":         {Data: []byte{}},
	"assets/.secret":   {Data: []byte("no")},
}

// reader stands where the browser prints: it reads what a page would ask for
// first, in the name that it is given. The real one is in media/paper, and in
// the journey through the whole program.
type reader struct{ w *world }

// Print implements api.Printer.
func (r reader) Print(ctx context.Context, address string, headers map[string]string, home string) ([]byte, error) {
	request, err := http.NewRequestWithContext(ctx, http.MethodGet, r.w.http.URL+"/api/me", nil)
	if err != nil {
		return nil, err
	}
	for name, value := range headers {
		request.Header.Set(name, value)
		r.w.ticket.Store(&value)
	}
	answer, err := http.DefaultClient.Do(request)
	if err != nil {
		return nil, err
	}
	defer func() { _ = answer.Body.Close() }()
	me, err := io.ReadAll(answer.Body)
	return fmt.Appendf(nil, "%s %s %s", me, address, home), err
}

type option func(*api.Config)

// newWorld starts a server over an empty database with the accounts of two
// squads. fill puts footage in.
func newWorld(t *testing.T, options ...option) *world {
	t.Helper()
	w := &world{t: t, store: dbtest.Store(t), feed: &feed{subs: map[chan tagging.Event]int64{}, seen: make(chan struct{}, 64)}, uploads: t.TempDir()}
	blobs, err := blob.NewFolder(t.TempDir())
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, blobs.Close()) })
	w.blobs = blobs
	cfg := api.Config{
		Store: w.store, Blobs: blobs, Posters: posterMaker{blobs}, Ears: clapEars{}, Printer: reader{w}, Events: w.feed, Log: slog.New(slog.NewTextHandler(t.Output(), nil)),
		Page: page, PublicURL: "http://netreel.example", UploadDir: w.uploads, MaxUpload: 1 << 20,
		Sessions: pgxstore.NewWithCleanupInterval(w.store.Pool(), 0),
	}
	for _, o := range options {
		o(&cfg)
	}
	var running sync.WaitGroup
	w.restart = func() {
		running.Wait()
		server, err := api.New(cfg)
		require.NoError(t, err)
		t.Cleanup(server.Close)
		w.server = server
	}
	w.restart()
	w.http = httptest.NewServer(http.HandlerFunc(func(rw http.ResponseWriter, r *http.Request) {
		running.Add(1)
		defer running.Done()
		w.server.Handler().ServeHTTP(rw, r)
	}))
	t.Cleanup(w.http.Close)
	w.spec = description(t)
	w.people()
	return w
}

var description = func() func(t *testing.T) routers.Router {
	for _, mediaType := range []string{"video/mp4", "image/jpeg", "text/vtt", "text/csv", "text/event-stream", "application/ld+json", "application/zip", "application/pdf"} {
		openapi3filter.RegisterBodyDecoder(mediaType, openapi3filter.FileBodyDecoder)
	}
	var once sync.Once
	var router routers.Router
	return func(t *testing.T) routers.Router {
		once.Do(func() {
			doc := document(t)
			var err error
			router, err = gorillamux.NewRouter(doc)
			require.NoError(t, err)
		})
		return router
	}
}()

func document(t *testing.T) *openapi3.T {
	t.Helper()
	doc, err := openapi3.NewLoader().LoadFromFile("openapi.yaml")
	require.NoError(t, err)
	require.NoError(t, doc.Validate(t.Context()))
	return doc
}

// people makes two squads. The second one can't be made by the store, which
// has one squad a server for now.
func (w *world) people() {
	t, ctx := w.t, w.t.Context()
	first, secret, fresh, err := w.store.FirstCoach(ctx, "Riverside", "Meera")
	require.NoError(t, err)
	require.True(t, fresh)
	w.ids.squad, w.ids.coachAccount = first.SquadID, first.ID
	v := viewer(first)
	asha, err := w.store.AddPlayer(ctx, v, tagging.Player{Name: "Asha", Bats: tagging.Right})
	require.NoError(t, err)
	bela, err := w.store.AddPlayer(ctx, v, tagging.Player{Name: "Bela", Bats: tagging.Left})
	require.NoError(t, err)
	w.ids.asha, w.ids.bela = asha.ID, bela.ID
	analyst, err := w.store.AddAccount(ctx, v, tagging.NewAccount{Name: "Noor", Role: tagging.Analyst})
	require.NoError(t, err)
	player, err := w.store.AddAccount(ctx, v, tagging.NewAccount{Name: "Asha", Role: tagging.PlayerRole, PlayerID: asha.ID})
	require.NoError(t, err)
	w.ids.playerAccount = player.ID

	w.nobody = w.caller("nobody")
	w.coach = w.caller("coach").join(secret)
	w.analyst = w.caller("analyst").join(w.link(analyst.ID))
	w.player = w.caller("player").join(w.link(player.ID))

	var squad, strangePlayer, coachAccount, playerAccount int64
	row := func(sql string, into *int64, args ...any) {
		t.Helper()
		require.NoError(t, w.store.Pool().QueryRow(ctx, sql+" RETURNING id", args...).Scan(into))
	}
	row(`INSERT INTO squad (name) VALUES ('Hilltop')`, &squad)
	_, err = w.store.Pool().Exec(ctx, `INSERT INTO vocabulary_edition (squad_id, number, body) SELECT $1, number, body FROM vocabulary_edition WHERE squad_id = $2`, squad, first.SquadID)
	require.NoError(t, err)
	row(`INSERT INTO player (squad_id, name) VALUES ($1, 'Chitra')`, &strangePlayer, squad)
	row(`INSERT INTO account (squad_id, name, role) VALUES ($1, 'Devi', 'coach')`, &coachAccount, squad)
	row(`INSERT INTO account (squad_id, name, role, player_id) VALUES ($1, 'Chitra', 'player', $2)`, &playerAccount, squad, strangePlayer)
	w.strangerCoach = w.caller("stranger coach").join(w.link(coachAccount))
	w.strangerPlayer = w.caller("stranger player").join(w.link(playerAccount))
}

func viewer(a tagging.Account) tagging.Viewer {
	return tagging.Viewer{AccountID: a.ID, SquadID: a.SquadID, Role: a.Role, PlayerID: a.PlayerID}
}

// staff is the first coach as the store knows them.
func (w *world) staff() tagging.Viewer {
	return tagging.Viewer{AccountID: w.ids.coachAccount, SquadID: w.ids.squad, Role: tagging.Coach}
}

func (w *world) link(account int64) string {
	w.t.Helper()
	secret, err := w.store.NewLinkFor(w.t.Context(), account, time.Hour)
	require.NoError(w.t, err)
	return secret
}

// caller is somebody with a browser.
type caller struct {
	w      *world
	name   string
	client *http.Client
}

func (w *world) caller(name string) caller {
	jar, err := cookiejar.New(nil)
	require.NoError(w.t, err)
	return caller{w, name, &http.Client{Jar: jar, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}}
}

func (c caller) join(secret string) caller {
	c.w.t.Helper()
	c.post("/api/links/"+secret, `{}`).is(http.StatusOK)
	return c
}

// answer is a response with its body read.
type answer struct {
	t      *testing.T
	what   string
	status int
	header http.Header
	body   []byte
}

func (a answer) is(status int) answer {
	a.t.Helper()
	require.Equal(a.t, status, a.status, "%s: %s", a.what, a.body)
	return a
}

// problem is the detail of an error answer.
func (a answer) problem(status int) string {
	a.t.Helper()
	a.is(status)
	require.Equal(a.t, "application/problem+json", a.header.Get("Content-Type"))
	var p struct {
		Status int
		Detail string
	}
	a.into(&p)
	require.Equal(a.t, status, p.Status)
	return p.Detail
}

func (a answer) into(v any) answer {
	a.t.Helper()
	require.NoError(a.t, json.Unmarshal(a.body, v), "%s: %s", a.what, a.body)
	return a
}

// field is one value of a JSON object.
func (a answer) field(name string) any {
	a.t.Helper()
	var m map[string]any
	a.into(&m)
	require.Contains(a.t, m, name)
	return m[name]
}

func (c caller) get(path string, header ...string) answer {
	return c.do(http.MethodGet, path, nil, header...)
}

func (c caller) post(path, body string) answer { return c.json(http.MethodPost, path, body) }

func (c caller) json(method, path, body string, header ...string) answer {
	return c.do(method, path, []byte(body), append([]string{"Content-Type", "application/json"}, header...)...)
}

// do sends a request and holds the answer against the description: a status,
// a type of body or a field that is not in it fails the test.
func (c caller) do(method, path string, body []byte, header ...string) answer {
	t := c.w.t
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), method, c.w.http.URL+path, bytes.NewReader(body))
	require.NoError(t, err)
	for i := 0; i+1 < len(header); i += 2 {
		r.Header.Set(header[i], header[i+1])
	}
	response, err := c.client.Do(r)
	require.NoError(t, err)
	defer func() { require.NoError(t, response.Body.Close()) }()
	got, err := io.ReadAll(response.Body)
	require.NoError(t, err)
	a := answer{t, fmt.Sprintf("%s: %s %s", c.name, method, path), response.StatusCode, response.Header, got}
	c.w.conforms(r, a)
	return a
}

// conforms checks an answer of a described route.
func (w *world) conforms(r *http.Request, a answer) {
	t := w.t
	t.Helper()
	described := r.Clone(t.Context())
	described.URL.Scheme, described.URL.Host = "", ""
	if r.Method == http.MethodHead && !strings.HasPrefix(r.URL.Path, "/api/uploads/") {
		return // the same as GET without a body
	}
	route, params, err := w.spec.FindRoute(described)
	if err != nil {
		return // not in the description: the page, or an address that is not there
	}
	err = openapi3filter.ValidateResponse(t.Context(), &openapi3filter.ResponseValidationInput{
		RequestValidationInput: &openapi3filter.RequestValidationInput{Request: described, PathParams: params, Route: route},
		Status:                 a.status, Header: a.header, Body: io.NopCloser(bytes.NewReader(a.body)),
		Options: &openapi3filter.Options{IncludeResponseStatus: true, MultiError: true},
	})
	if err != nil {
		why := err.Error() // goes on with the whole description
		t.Fatalf("%s: the answer is not as openapi.yaml describes it: %d %.500s: %.300s", a.what, a.status, a.body, why)
	}
}

func sumOf(b []byte) [32]byte { return sha256.Sum256(b) }
