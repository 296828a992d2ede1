package main

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"io/fs"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/riverqueue/river"
	"github.com/riverqueue/river/riverdriver/riverpgxv5"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media/blob"
	"netreel/media/ffmpeg/fftest"
	"netreel/media/jobs"
)

// A step is held by a trigger: the transaction that would end it stands still
// just before it commits, as long as the step is listed. What the step has done
// outside the database is done, and the database knows nothing of it.
const sqlHolds = `
	CREATE TABLE held_step (step text PRIMARY KEY);
	CREATE FUNCTION hold_step() RETURNS trigger LANGUAGE plpgsql AS $$
	BEGIN
		IF EXISTS (SELECT FROM held_step WHERE step = TG_ARGV[0]) THEN
			PERFORM set_config('application_name', 'held: ' || TG_ARGV[0], true);
			PERFORM pg_sleep(86400);
		END IF;
		RETURN NULL;
	END $$`

const sqlHold = `
	INSERT INTO held_step VALUES ('%[1]s');
	CREATE CONSTRAINT TRIGGER "hold %[1]s" AFTER %[2]s DEFERRABLE INITIALLY DEFERRED
		FOR EACH ROW WHEN (%[3]s) EXECUTE FUNCTION hold_step('%[1]s')`

// holds are the transactions at whose end the program is killed: that which
// writes down what a step has made, and that which says that its job is done.
var holds = map[string][2]string{
	"upload written": {"UPDATE ON upload", "NEW.state = 'landed'"},
	"land written":   {"INSERT ON recording", "true"},
	"land done":      jobDone(jobs.LandUpload{}),
	"probe written":  {"UPDATE ON recording", "NEW.state = 'probed'"},
	"probe done":     jobDone(jobs.ProbeRecording{}),
	"split written":  {"UPDATE ON recording", "NEW.state = 'split' AND OLD.state = 'probed'"},
	"split done":     jobDone(jobs.SplitRecording{}),
	"cut written":    {"UPDATE ON clip", "NEW.quick_revision IS DISTINCT FROM OLD.quick_revision"},
	"cut done":       jobDone(jobs.CutClips{}),
	"smooth written": {"UPDATE ON clip", "NEW.smooth_revision IS DISTINCT FROM OLD.smooth_revision"},
	"smooth done":    jobDone(jobs.SmoothClip{}),
	"poster written": {"UPDATE ON clip", "NEW.poster_revision IS DISTINCT FROM OLD.poster_revision"},
	"export written": {"UPDATE ON export", "NEW.state = 'done'"},
	"export done":    jobDone(jobs.ExportReel{}),
}

func jobDone(a river.JobArgs) [2]string {
	return [2]string{"UPDATE ON river_job", fmt.Sprintf("NEW.kind = '%s' AND NEW.state = 'completed' AND OLD.state <> 'completed'", a.Kind())}
}

// crashing is a program that is killed over and over, and its coach.
type crashing struct {
	*process
	coach  *client
	db     *pgx.Conn
	starts int
}

// up starts the program; the coach stays signed in.
func (c *crashing) up() {
	c.t.Helper()
	c.start("serve")
	base := c.hears("netreel is at")
	c.db = c.database()
	c.starts++
	if c.coach != nil {
		c.coach.base = base
		return
	}
	var err error
	c.coach, err = signIn(c.t.Context(), base, secretOf(c.hears("First coach")))
	require.NoError(c.t, err)
	c.exec(sqlHolds)
	for step, h := range holds {
		c.exec(fmt.Sprintf(sqlHold, step, h[0], h[1]))
	}
}

// again kills the program, every third time with its PostgreSQL, and starts it
// again. What its rows speak of must be there.
func (c *crashing) again() {
	c.t.Helper()
	if c.starts%3 == 0 {
		c.killBoth()
	} else {
		c.kill()
	}
	c.up()
	for key := range c.spokenOf() {
		assert.FileExists(c.t, filepath.Join(c.data, "files", key))
	}
}

// killedWhile waits until a step is held, and kills the program there. The
// next time the step is let through.
func (c *crashing) killedWhile(steps ...string) {
	c.t.Helper()
	for _, step := range steps {
		until(c.t, step, func() bool {
			return ask[bool](c, `SELECT EXISTS (SELECT FROM pg_stat_activity
				WHERE application_name = 'held: ' || $1 AND wait_event = 'PgSleep')`, step)
		})
		c.exec(`DELETE FROM held_step WHERE step = $1`, step)
		c.again()
	}
}

// Words by which the command lines of the steps' tools are known.
const (
	looking   = "framecrc" // the split's, which only reads
	cutting   = "null"     // where the cutting's clock goes
	smoothing = "n_forced"
	filming   = ".mov" // a piece of a film
)

// killedAtWork waits until a slow tool is at work, and kills the program there:
// half of what the tool makes is left, and not published.
func (c *crashing) killedAtWork(tool string) {
	c.t.Helper()
	var half []string
	until(c.t, "work of "+tool, func() bool {
		lines := c.running("ffmpeg", tool)
		if half = c.making(lines); tool == looking {
			return len(lines) > 0
		}
		return len(half) > 0
	})
	c.fast(tool)
	c.again()
	for _, path := range half {
		assert.FileExists(c.t, path)
	}
}

// making are the files that command lines name and that have been begun.
func (c *crashing) making(lines []string) (files []string) {
	for _, line := range lines {
		for arg := range strings.SplitSeq(line, "\x00") {
			path := strings.TrimPrefix(arg, "file:")
			if _, err := os.Stat(path); err == nil && strings.Contains(path, "/.staged/") {
				files = append(files, path)
			}
		}
	}
	return files
}

func (c *crashing) exec(sql string, args ...any) {
	c.t.Helper()
	_, err := c.db.Exec(c.t.Context(), sql, args...)
	require.NoError(c.t, err)
}

func ask[T any](c *crashing, sql string, args ...any) (v T) {
	c.t.Helper()
	require.NoError(c.t, c.db.QueryRow(c.t.Context(), sql, args...).Scan(&v))
	return v
}

// spokenOf are the keys of the files that rows speak of.
func (c *crashing) spokenOf() map[string]bool {
	c.t.Helper()
	rows, err := c.db.Query(c.t.Context(), `
		SELECT 'original', 0::bigint, 0, encode(sha256, 'hex') FROM recording
		UNION ALL SELECT 'quick', id, revision, '' FROM clip WHERE quick_revision = revision
		UNION ALL SELECT 'smooth', id, revision, '' FROM clip WHERE smooth_revision = revision
		UNION ALL SELECT 'poster', id, revision, '' FROM clip WHERE poster_revision = revision
		UNION ALL SELECT 'export', id, 0, '' FROM export WHERE state = 'done'`)
	require.NoError(c.t, err)
	keys := map[string]bool{}
	var what, sum string
	var id int64
	var revision int
	_, err = pgx.ForEachRow(rows, []any{&what, &id, &revision, &sum}, func() error {
		switch what {
		case "original":
			b, err := hex.DecodeString(sum)
			keys[blob.OriginalKey([32]byte(b))] = true
			return err
		case "poster":
			keys[blob.PosterKey(id, revision)] = true
		case "export":
			keys[blob.ExportKey(id)] = true
		default:
			keys[blob.ClipKey(id, revision, what)] = true
		}
		return nil
	})
	require.NoError(c.t, err)
	return keys
}

// published are the keys of the files that are there.
func (c *crashing) published() map[string]bool {
	c.t.Helper()
	keys, files := map[string]bool{}, os.DirFS(filepath.Join(c.data, "files"))
	require.NoError(c.t, fs.WalkDir(files, ".", func(path string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() && !strings.HasPrefix(path, ".") {
			keys[path] = true
		}
		return err
	}))
	return keys
}

// idle waits until no job is left to do.
func (c *crashing) idle() {
	c.t.Helper()
	until(c.t, "no job is left", func() bool {
		return ask[int](c, `SELECT count(*) FROM river_job WHERE state IN ('available', 'pending', 'running', 'retryable', 'scheduled')`) == 0
	})
}

// TestKilledAtEveryStep kills the program in the middle of every step of a
// film's way, from its first byte to the film of a reel, and just before what
// the step has done is written down, and once more when all but its job's end
// is. Started again it goes on, and in the end everything is there once and
// whole.
func TestKilledAtEveryStep(t *testing.T) {
	t.Parallel()
	film := rendered(t, smallScene())
	content, err := os.ReadFile(film.path)
	require.NoError(t, err)

	c := &crashing{process: newProcess(t)}
	c.up()
	var session struct{ ID int64 }
	require.NoError(t, c.coach.post(t.Context(), "/api/sessions", map[string]any{"title": "Front foot", "held_on": "2026-01-31"}, &session))
	c.uploads(content, session.ID)
	for _, tool := range []string{looking, cutting, smoothing} {
		c.slow(tool)
	}
	c.killedWhile("land written", "land done", "probe written", "probe done")
	c.killedAtWork(looking)
	c.killedWhile("split written", "split done")
	c.killedAtWork(cutting)
	c.killedWhile("cut written", "cut done")
	c.killedAtWork(smoothing)
	c.killedWhile("smooth written", "smooth done")
	c.idle()
	c.posters()
	c.export(session.ID)
	c.idle()
	c.checkAll(content)
	require.NoError(t, c.cmd.Process.Signal(os.Interrupt))
	_, err = io.Copy(io.Discard, c.says)
	require.NoError(t, err)
	require.NoError(t, c.cmd.Wait(), "told to end, it ends well")
	assert.Empty(t, c.running("postgres", ""))
}

// uploads sends a film; the program is killed while bytes come in, and again
// when the last one has come.
func (c *crashing) uploads(content []byte, session int64) {
	t, half := c.t, len(content)/2
	t.Helper()
	made, err := c.coach.tus(t.Context(), http.MethodPost, c.at("/api/uploads/"), nil, map[string]string{
		"Upload-Length": strconv.Itoa(len(content)), "Upload-Metadata": uploadMeta("nets.mp4", session, "side-on")})
	require.NoError(t, err)
	path := made.Get("Location")
	body, feed := io.Pipe()
	broken := make(chan error, 1)
	go func() { broken <- c.patch(path, 0, body) }()
	_, err = feed.Write(content[:half])
	require.NoError(t, err)
	until(t, "half the film has come in", func() bool {
		info, err := os.Stat(filepath.Join(c.data, "uploads", filepath.Base(path)))
		return err == nil && info.Size() == int64(half)
	})
	c.again()
	require.NoError(t, feed.CloseWithError(io.ErrClosedPipe))
	require.Error(t, <-broken)
	require.Equal(t, half, c.offset(path), "what came in is kept")

	go func() { broken <- c.patch(path, half, strings.NewReader(string(content[half:]))) }()
	c.killedWhile("upload written")
	require.Error(t, <-broken, "its answer was lost")
	require.Equal(t, len(content), c.offset(path), "so the client asks, and need not send it again")
}

func (c *crashing) at(path string) *url.URL {
	u, err := url.Parse(c.coach.base + path)
	require.NoError(c.t, err)
	return u
}

func (c *crashing) patch(path string, from int, body io.Reader) error {
	_, err := c.coach.tus(context.WithoutCancel(c.t.Context()), http.MethodPatch, c.at(path), body, map[string]string{
		"Content-Type": "application/offset+octet-stream", "Upload-Offset": strconv.Itoa(from)})
	return err
}

func (c *crashing) offset(path string) int {
	c.t.Helper()
	head, err := c.coach.tus(c.t.Context(), http.MethodHead, c.at(path), nil, nil)
	require.NoError(c.t, err)
	n, err := strconv.Atoi(head.Get("Upload-Offset"))
	require.NoError(c.t, err)
	return n
}

// posters asks for a picture; the program is killed when it is made.
func (c *crashing) posters() {
	c.t.Helper()
	at := fmt.Sprintf("/api/clips/%d/poster", ask[int64](c, `SELECT min(id) FROM clip`))
	broken := make(chan error, 1)
	go func() { broken <- c.coach.get(context.WithoutCancel(c.t.Context()), at, nil) }()
	c.killedWhile("poster written")
	require.Error(c.t, <-broken)
	require.NoError(c.t, c.coach.get(c.t.Context(), at, nil))
}

// export makes a film of all balls; the program is killed on the way.
func (c *crashing) export(session int64) {
	t := c.t
	t.Helper()
	var balls []struct{ ID int64 }
	require.NoError(t, c.coach.get(t.Context(), fmt.Sprintf("/api/sessions/%d/balls", session), &balls))
	type pick struct {
		BallID int64 `json:"ball_id"`
	}
	var picks []pick
	for _, b := range balls {
		picks = append(picks, pick{b.ID})
	}
	var reel struct{ ID int64 }
	require.NoError(t, c.coach.post(t.Context(), "/api/reels", map[string]any{"title": "Front foot", "balls": picks}, &reel))
	c.slow(filming)
	require.NoError(t, c.coach.post(t.Context(), fmt.Sprintf("/api/reels/%d/exports", reel.ID), map[string]any{"burn": true}, nil))
	c.killedAtWork(filming)
	c.killedWhile("export written", "export done")
}

// checkAll looks whether everything is there once and whole.
func (c *crashing) checkAll(content []byte) {
	t := c.t
	t.Helper()
	assert.Zero(t, ask[int](c, `SELECT count(*) FROM held_step`), "it was killed at every step")
	assert.Zero(t, ask[int](c, `SELECT count(*) FROM river_job WHERE state <> 'completed'`), "and every job has been done")
	assert.Equal(t, []string{"ready"}, ask[[]string](c, `SELECT array_agg(state) FROM recording`))
	assert.Equal(t, []string{"adopted"}, ask[[]string](c, `SELECT array_agg(state) FROM upload`))
	assert.Equal(t, []string{"done"}, ask[[]string](c, `SELECT array_agg(state) FROM export`))
	found := ask[int](c, `SELECT jsonb_array_length(found) FROM recording`)
	assert.Positive(t, found)
	assert.Equal(t, found, ask[int](c, `SELECT count(*) FROM delivery`), "each ball once")
	assert.Equal(t, found, ask[int](c, `SELECT count(*) FROM clip WHERE quick_revision = revision AND smooth_revision = revision AND problem = ''`))
	assert.Equal(t, found, ask[int](c, `SELECT count(*) FROM clip`))
	assert.Zero(t, ask[int](c, `SELECT count(*) FROM delivery a JOIN delivery b ON a.id < b.id AND a.start_us < b.end_us AND b.start_us < a.end_us`))

	c.sweep()
	keys := c.spokenOf()
	assert.Equal(t, keys, c.published(), "no file is missing, none is left over")
	assert.True(t, keys[blob.OriginalKey(sha256.Sum256(content))])
	for _, folder := range []string{"files/.staged", "uploads"} {
		left, err := os.ReadDir(filepath.Join(c.data, folder))
		require.NoError(t, err)
		assert.Empty(t, left, folder)
	}
	for key := range keys {
		path := filepath.Join(c.data, "files", key)
		_, err := tool(t).Probe(t.Context(), path)
		if !strings.HasSuffix(key, ".jpg") {
			require.NoError(t, err, key)
		}
		fftest.FFmpeg(t, "-xerror", "-i", path, "-f", "null", "-") // every picture can be decoded
	}
	kept, err := os.ReadFile(filepath.Join(c.data, "files", blob.OriginalKey(sha256.Sum256(content))))
	require.NoError(t, err)
	assert.True(t, slices.Equal(content, kept), "the original is not altered")
}

// sweep makes what lies in the making look old and runs the sweep.
func (c *crashing) sweep() {
	t := c.t
	t.Helper()
	then := time.Now().Add(-25 * time.Hour)
	dir := filepath.Join(c.data, "files", ".staged")
	left, err := os.ReadDir(dir)
	require.NoError(t, err)
	require.NotEmpty(t, left, "kills leave something to sweep")
	for _, e := range left {
		require.NoError(t, os.Chtimes(filepath.Join(dir, e.Name()), then, then))
	}
	queue, err := river.NewClient[pgx.Tx](riverpgxv5.New(nil), &river.Config{})
	require.NoError(t, err)
	require.NoError(t, pgx.BeginFunc(t.Context(), c.db, func(tx pgx.Tx) error {
		_, err := queue.InsertTx(t.Context(), tx, jobs.Sweep{}, nil)
		return err
	}))
	c.idle()
}
