package jobs_test

import (
	"context"
	"crypto/sha256"
	"log/slog"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"github.com/riverqueue/river"
	"github.com/riverqueue/river/riverdriver/riverpgxv5"
	"github.com/stretchr/testify/require"

	"netreel/db"
	"netreel/db/dbtest"
	"netreel/media"
	"netreel/media/blob"
	"netreel/media/ffmpeg"
	"netreel/media/ffmpeg/fftest"
	"netreel/media/jobs"
	"netreel/media/split"
	"netreel/tagging"
)

func TestMain(m *testing.M) { os.Exit(fftest.Run(m)) }

// shop is a queue with its workers over a real database, real files and the
// real tool.
type shop struct {
	t       *testing.T
	store   *db.Store
	blobs   *blob.Folder
	deps    jobs.Deps
	coach   tagging.Viewer
	session int64
}

func newShop(t *testing.T) *shop {
	t.Helper()
	log := slog.New(slog.NewTextHandler(t.Output(), &slog.HandlerOptions{Level: slog.LevelWarn}))
	s := &shop{t: t, store: dbtest.Store(t)}
	blobs, err := blob.NewFolder(t.TempDir())
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, blobs.Close()) })
	tool, err := ffmpeg.Find(log)
	require.NoError(t, err)
	s.blobs = blobs
	s.deps = jobs.Deps{Store: s.store, Blobs: blobs, Tool: tool, UploadDir: t.TempDir(), Name: "shop", Log: log}
	account, _, _, err := s.store.FirstCoach(t.Context(), "Riverside", "Meera")
	require.NoError(t, err)
	s.coach = tagging.Viewer{AccountID: account.ID, SquadID: account.SquadID, Role: account.Role}
	session, err := s.store.AddSession(t.Context(), s.coach, tagging.SessionInput{Title: "Nets", HeldOn: "2026-01-17", Focus: tagging.DefaultFocus()})
	require.NoError(t, err)
	s.session = session.ID
	return s
}

// open starts the workers; the returned function stops them at once, as far
// as they can be without being killed.
func (s *shop) open(d jobs.Deps) (stop func()) {
	s.t.Helper()
	cfg := jobs.Config(d, 2)
	cfg.TestOnly = true // no staggered start
	client, err := river.NewClient(riverpgxv5.New(s.store.Pool()), cfg)
	require.NoError(s.t, err)
	require.NoError(s.t, client.Start(context.WithoutCancel(s.t.Context())))
	stopped := false
	stop = func() {
		if !stopped {
			stopped = true
			require.NoError(s.t, client.StopAndCancel(context.WithoutCancel(s.t.Context())))
		}
	}
	s.t.Cleanup(stop)
	return stop
}

// until waits until something has become so, with a generous end.
func (s *shop) until(what string, so func() bool) {
	s.t.Helper()
	require.Eventually(s.t, so, 90*time.Second, 20*time.Millisecond, what)
}

// idle waits until no job is left to do.
func (s *shop) idle() {
	s.t.Helper()
	s.until("idle", func() bool {
		return s.count(`SELECT count(*) FROM river_job WHERE state IN ('available', 'pending', 'running', 'retryable', 'scheduled')`) == 0
	})
}

func (s *shop) count(sql string, args ...any) int {
	s.t.Helper()
	var n int
	require.NoError(s.t, s.store.Pool().QueryRow(s.t.Context(), sql, args...).Scan(&n))
	return n
}

func (s *shop) exec(sql string, args ...any) {
	s.t.Helper()
	_, err := s.store.Pool().Exec(s.t.Context(), sql, args...)
	require.NoError(s.t, err)
}

// arrive writes an upload as the upload route does, without its last call.
func (s *shop) arrive(name string, content []byte, size int) tagging.Upload {
	s.t.Helper()
	u, err := s.store.OpenUpload(s.t.Context(), s.coach, tagging.Upload{TusID: uuid.NewString(), SessionID: s.session,
		AccountID: s.coach.AccountID, FileName: name, Size: int64(size), Camera: media.SideOn})
	require.NoError(s.t, err)
	if content != nil {
		require.NoError(s.t, os.WriteFile(s.staged(u), content, 0o600))
		require.NoError(s.t, os.WriteFile(s.staged(u)+".info", []byte("{}"), 0o600))
	}
	return u
}

func (s *shop) staged(u tagging.Upload) string { return filepath.Join(s.deps.UploadDir, u.TusID) }

// land brings a file in and says that it is there.
func (s *shop) land(name string, content []byte) tagging.Upload {
	s.t.Helper()
	u := s.arrive(name, content, len(content))
	require.NoError(s.t, s.store.MarkLanded(s.t.Context(), u.TusID))
	return u
}

func (s *shop) upload(id int64) tagging.Upload {
	s.t.Helper()
	u, err := s.store.UploadForJob(s.t.Context(), id)
	require.NoError(s.t, err)
	return u
}

func (s *shop) recording(id int64) tagging.Recording {
	s.t.Helper()
	r, err := s.store.RecordingForJob(s.t.Context(), id)
	require.NoError(s.t, err)
	return r
}

// film is a short film of fftest's making.
func film(t *testing.T, f fftest.Film) []byte {
	t.Helper()
	b, err := os.ReadFile(fftest.Make(t, f))
	require.NoError(t, err)
	return b
}

// ready brings a recording to where its clips are cut, with no ball on it and
// no job left.
func (s *shop) ready(f fftest.Film) tagging.Recording {
	s.t.Helper()
	t, ctx := s.t, s.t.Context()
	content := film(t, f)
	u := s.land("film.mp4", content)
	sum := sha256.Sum256(content)
	staged, err := s.blobs.Stage("film.mp4")
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(staged, content, 0o600))
	require.NoError(t, s.blobs.Adopt(ctx, blob.OriginalKey(sum), staged))
	u, err = s.store.LandUpload(ctx, u.ID, sum, u.Size)
	require.NoError(t, err)
	path, err := s.blobs.Path(ctx, blob.OriginalKey(sum))
	require.NoError(t, err)
	p, err := s.deps.Tool.Probe(ctx, path)
	require.NoError(t, err)
	require.NoError(t, s.store.SaveProbe(ctx, u.RecordingID, p))
	require.NoError(t, s.store.SaveSplit(ctx, u.RecordingID, split.Result{}))
	s.exec(`DELETE FROM river_job`)
	return s.recording(u.RecordingID)
}

// clear discards what the split proposed.
func (s *shop) clear() {
	s.t.Helper()
	lane, err := s.store.Lane(s.t.Context(), s.coach, s.session)
	require.NoError(s.t, err)
	var e tagging.LaneEdit
	for _, b := range lane.Balls {
		e.Balls = append(e.Balls, tagging.BallEdit{ID: b.ID, Revision: b.Revision, Span: b.Span, Contact: b.Contact, State: tagging.Discarded})
	}
	if len(e.Balls) > 0 {
		_, err = s.store.EditLane(s.t.Context(), s.coach, s.session, e)
		require.NoError(s.t, err)
	}
}

func span(start, end float64) media.Span {
	return media.Span{Start: media.FromSeconds(start), End: media.FromSeconds(end)}
}

// put adds balls to the lane.
func (s *shop) put(spans ...media.Span) []tagging.Ball {
	s.t.Helper()
	var e tagging.LaneEdit
	for _, sp := range spans {
		e.Balls = append(e.Balls, tagging.BallEdit{Span: sp, State: tagging.Accepted})
	}
	balls, err := s.store.EditLane(s.t.Context(), s.coach, s.session, e)
	require.NoError(s.t, err)
	return balls
}

// clip is a ball's only clip as it is now.
func (s *shop) clip(ball int64) tagging.Clip {
	s.t.Helper()
	b, err := s.store.Ball(s.t.Context(), s.coach, ball)
	require.NoError(s.t, err)
	require.Len(s.t, b.Clips, 1)
	return b.Clips[0]
}

// keys lists the stored files.
func (s *shop) keys(prefix string) (keys []string) {
	s.t.Helper()
	require.NoError(s.t, s.blobs.List(s.t.Context(), prefix, func(i blob.Info) error {
		keys = append(keys, i.Key)
		return nil
	}))
	return keys
}

// queue inserts a job by itself.
func (s *shop) queue(args river.JobArgs) {
	s.t.Helper()
	client, err := river.NewClient(riverpgxv5.New(s.store.Pool()), &river.Config{})
	require.NoError(s.t, err)
	require.NoError(s.t, pgx.BeginFunc(s.t.Context(), s.store.Pool(), func(tx pgx.Tx) error {
		_, err := client.InsertTx(s.t.Context(), tx, args, nil)
		return err
	}))
}
