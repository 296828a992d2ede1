package db_test

import (
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"log/slog"
	"sync/atomic"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/db"
	"netreel/db/dbtest"
	"netreel/media"
	"netreel/media/fault"
	"netreel/media/split"
	"netreel/tagging"
)

// world is a squad in a database of its own, and a second squad that must
// never see anything of it.
type world struct {
	t        testing.TB
	store    *db.Store
	coach    tagging.Viewer
	analyst  tagging.Viewer
	players  []tagging.Player
	asPlayer []tagging.Viewer // the accounts of players
	stranger tagging.Viewer   // the coach of another squad
}

// newWorld makes a squad with two players.
func newWorld(t testing.TB) *world {
	t.Helper()
	w := &world{t: t, store: dbtest.Store(t)}
	a, _, fresh, err := w.store.FirstCoach(t.Context(), "Fenland Women", "Ada Marsh")
	require.NoError(t, err)
	require.True(t, fresh)
	w.coach = viewerOf(a)
	w.analyst = viewerOf(w.account(tagging.NewAccount{Name: "Bo Ferry", Role: tagging.Analyst}))
	for _, name := range []string{"Cleo Reed", "Dot Sedge"} {
		p, err := w.store.AddPlayer(t.Context(), w.coach, tagging.Player{Name: name, Bats: tagging.Right})
		require.NoError(t, err)
		w.players = append(w.players, p)
		w.asPlayer = append(w.asPlayer, viewerOf(w.account(tagging.NewAccount{Name: name, Role: tagging.PlayerRole, PlayerID: p.ID})))
	}
	w.stranger = w.otherSquad()
	return w
}

func viewerOf(a tagging.Account) tagging.Viewer {
	return tagging.Viewer{AccountID: a.ID, SquadID: a.SquadID, Role: a.Role, PlayerID: a.PlayerID}
}

func (w *world) account(in tagging.NewAccount) tagging.Account {
	w.t.Helper()
	a, err := w.store.AddAccount(w.t.Context(), w.coach, in)
	require.NoError(w.t, err)
	return a
}

// otherSquad makes a second squad beside the API, which knows only one.
func (w *world) otherSquad() tagging.Viewer {
	w.t.Helper()
	v := tagging.Viewer{Role: tagging.Coach}
	err := w.store.Pool().QueryRow(w.t.Context(), `
		WITH s AS (INSERT INTO squad (name) VALUES ('Hill Women') RETURNING id),
		a AS (INSERT INTO account (squad_id, name, role) SELECT id, 'Eve Crag', 'coach' FROM s RETURNING id, squad_id),
		e AS (INSERT INTO vocabulary_edition (squad_id, number, body) SELECT s.id, 1, v.body FROM s, vocabulary_edition v)
		SELECT id, squad_id FROM a`).Scan(&v.AccountID, &v.SquadID)
	require.NoError(w.t, err)
	return v
}

// session makes a session of players.
func (w *world) session(players ...int64) int64 {
	w.t.Helper()
	s, err := w.store.AddSession(w.t.Context(), w.coach, tagging.SessionInput{Title: "Winter nets", HeldOn: "2026-01-12", Players: players})
	require.NoError(w.t, err)
	return s.ID
}

var fileCount atomic.Int64

// upload brings a file of its own in and returns its recording, not probed yet.
func (w *world) upload(session int64, camera media.Camera) int64 {
	w.t.Helper()
	n := fileCount.Add(1)
	u := w.open(session, camera, fmt.Sprintf("file %d.mp4", n))
	require.NoError(w.t, w.store.MarkLanded(w.t.Context(), u.TusID))
	landed, err := w.store.LandUpload(w.t.Context(), u.ID, sha256.Sum256(fmt.Append(nil, n)), u.Size)
	require.NoError(w.t, err)
	require.Equal(w.t, tagging.UploadAdopted, landed.State)
	return landed.RecordingID
}

func (w *world) open(session int64, camera media.Camera, name string) tagging.Upload {
	w.t.Helper()
	u, err := w.store.OpenUpload(w.t.Context(), w.analyst, tagging.Upload{
		TusID: uuid.NewString(), SessionID: session, FileName: name, Size: 1000, Camera: camera,
	})
	require.NoError(w.t, err)
	return u
}

// film is a probe of an ordinary file.
func film(seconds float64) media.Probe {
	return media.Probe{
		Container: "mov,mp4,m4a,3gp,3g2,mj2", VideoCodec: "h264", PixelFormat: "yuv420p", AudioCodec: "aac",
		Width: 1280, Height: 720, FrameRate: 50, Duration: media.FromSeconds(seconds),
	}
}

// recording brings a file in and probes it.
func (w *world) recording(session int64, camera media.Camera, p media.Probe) int64 {
	w.t.Helper()
	id := w.upload(session, camera)
	require.NoError(w.t, w.store.SaveProbe(w.t.Context(), id, p))
	return id
}

func (w *world) split(recording int64, found ...media.Delivery) {
	w.t.Helper()
	require.NoError(w.t, w.store.SaveSplit(w.t.Context(), recording, split.Result{
		Deliveries: found, Balls: thoughtOf(found...), Cut: 0.5,
		Sound: media.Trace{Step: 50_000, Values: []byte{1, 2, 3}}, Motion: media.Trace{Step: 50_000, Values: []byte{4, 5}},
	}))
}

// thoughtOf is what a split thinks of that finds these.
func thoughtOf(found ...media.Delivery) []split.Ball {
	list := make([]split.Ball, len(found))
	for i, d := range found {
		list[i] = split.Ball{Delivery: d, Passing: tagging.Moment(d.Span(), d.Contact), Struck: 0.8}
	}
	return list
}

// found is a delivery by its seconds; contact 0 means none.
func found(start, contact, end float64) media.Delivery {
	d := media.Delivery{Start: media.FromSeconds(start), End: media.FromSeconds(end), Confidence: 0.9}
	if contact != 0 {
		c := media.FromSeconds(contact)
		d.Contact = &c
	}
	return d
}

// filmed is a session of the first player with so many balls, each 4 s long
// and 6 s after the other, on one side-on recording that is split.
func (w *world) filmed(balls int) (session, recording int64) {
	w.t.Helper()
	session = w.session(w.players[0].ID)
	recording = w.recording(session, media.SideOn, film(float64(6*balls+10)))
	var list []media.Delivery
	for i := range balls {
		from := float64(6*i + 1)
		list = append(list, found(from, from+2, from+4))
	}
	w.split(recording, list...)
	return session, recording
}

func (w *world) lane(session int64) []tagging.Ball {
	w.t.Helper()
	l, err := w.store.Lane(w.t.Context(), w.coach, session)
	require.NoError(w.t, err)
	return l.Balls
}

func (w *world) balls(session int64) []tagging.Ball {
	w.t.Helper()
	list, err := w.store.SessionBalls(w.t.Context(), w.coach, session)
	require.NoError(w.t, err)
	return list
}

func (w *world) edit(session int64, edits ...tagging.BallEdit) []tagging.Ball {
	w.t.Helper()
	list, err := w.store.EditLane(w.t.Context(), w.analyst, session, tagging.LaneEdit{Balls: edits})
	require.NoError(w.t, err)
	return list
}

// as is the edit that leaves a ball as it is.
func as(b tagging.Ball) tagging.BallEdit {
	return tagging.BallEdit{ID: b.ID, Revision: b.Revision, Span: b.Span, Contact: b.Contact, State: b.State, BatterID: b.BatterID}
}

func term(ball int64, group, key string) tagging.Entry {
	return tagging.Entry{UUID: uuid.New(), BallID: ball, Kind: tagging.TermKind, Group: group, Term: key}
}

func note(ball int64, text string) tagging.Entry {
	return tagging.Entry{UUID: uuid.New(), BallID: ball, Kind: tagging.NoteKind, Body: text}
}

func (w *world) say(v tagging.Viewer, entries ...tagging.Entry) []tagging.Observation {
	w.t.Helper()
	now, err := w.store.Observe(w.t.Context(), v, entries)
	require.NoError(w.t, err)
	return now
}

// queued is a job as the queue's table has it.
type queued struct {
	Kind, Args, State string
	Priority          int
}

// jobs lists the jobs of a kind in the order in which they were queued.
func (w *world) jobs(kind string) []queued {
	w.t.Helper()
	rows, err := w.store.Pool().Query(w.t.Context(),
		`SELECT kind, args::text AS args, state::text AS state, priority FROM river_job WHERE kind = $1 ORDER BY id`, kind)
	require.NoError(w.t, err)
	list, err := pgx.CollectRows(rows, pgx.RowToStructByName[queued])
	require.NoError(w.t, err)
	return list
}

// work takes all waiting jobs out of the queue, as if they were done.
func (w *world) work() {
	w.t.Helper()
	_, err := w.store.Pool().Exec(w.t.Context(), `DELETE FROM river_job`)
	require.NoError(w.t, err)
}

// cutAll gives every clip of a session's balls a quick file.
func (w *world) cutAll(session int64) { w.cutAllBut(session, 0) }

func (w *world) cutAllBut(session, clip int64) {
	w.t.Helper()
	for _, b := range w.balls(session) {
		for _, c := range b.Clips {
			if c.ID == clip {
				continue
			}
			kept, err := w.store.SaveQuick(w.t.Context(), c.ID, c.Revision, tagging.ClipFile{Lead: 20_000, Frames: []media.Micros{0, 20_000}})
			require.NoError(w.t, err)
			require.True(w.t, kept)
		}
	}
}

func jsonOf(t testing.TB, v any) string {
	t.Helper()
	b, err := json.Marshal(v)
	require.NoError(t, err)
	return string(b)
}

func (w *world) state(recording int64) tagging.Recording {
	w.t.Helper()
	r, err := w.store.Recording(w.t.Context(), w.coach, recording)
	require.NoError(w.t, err)
	return r
}

func assertKind(t testing.TB, want fault.Kind, err error) {
	t.Helper()
	require.Error(t, err)
	assert.Equal(t, want, fault.KindOf(err), "%v", err)
	assert.NotEmpty(t, fault.Message(err), "a person is told what to do: %v", err)
}

func quiet(t testing.TB) *slog.Logger { return slog.New(slog.NewTextHandler(t.Output(), nil)) }

func seconds(s float64) media.Micros { return media.FromSeconds(s) }

func days(n float64) time.Time { return time.Now().Add(time.Duration(n * 24 * float64(time.Hour))) }
