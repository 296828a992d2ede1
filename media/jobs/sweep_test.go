package jobs_test

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"netreel/media/blob"
	"netreel/media/ffmpeg/fftest"
	"netreel/media/jobs"
	"netreel/tagging"
)

// age makes a file look as if it was last written some time ago.
func age(t *testing.T, path string, by time.Duration) {
	t.Helper()
	then := time.Now().Add(-by)
	require.NoError(t, os.Chtimes(path, then, then))
}

// sweep runs one sweep. Opening runs one too.
func (s *shop) sweep() {
	s.t.Helper()
	stop := s.open(s.deps)
	s.queue(jobs.Sweep{})
	s.idle()
	stop()
}

// TestSweepLandsWhatIsWhole: an upload whose last call was lost, and one that
// could not be landed.
func TestSweepLandsWhatIsWhole(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	content := film(t, fftest.Film{Seconds: 5})
	lost := s.arrive("lost.mp4", content, len(content))
	stuck := s.land("stuck.mp4", append(film(t, fftest.Film{Seconds: 5, Sound: "none"}), 0))
	young := s.arrive("young.mp4", []byte("young"), 5)
	half := s.arrive("half.mp4", []byte("half"), 8)
	s.exec(`DELETE FROM river_job`)
	s.exec(`UPDATE upload SET updated_at = now() - interval '11 minutes' WHERE id <> $1`, young.ID)
	s.sweep()
	assert.Equal(t, tagging.UploadAdopted, s.upload(lost.ID).State)
	assert.Equal(t, tagging.UploadAdopted, s.upload(stuck.ID).State)
	assert.Equal(t, tagging.UploadOpen, s.upload(young.ID).State, "its last call may be on the way")
	assert.Equal(t, tagging.UploadOpen, s.upload(half.ID).State)
	assert.FileExists(t, s.staged(half))
}

// TestSweepGivesUp: uploads that nobody goes on with for a week.
func TestSweepGivesUp(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	stale := s.arrive("stale.mp4", []byte("half"), 8)
	slow := s.arrive("slow.mp4", []byte("half"), 8)
	s.exec(`UPDATE upload SET updated_at = now() - interval '8 days'`)
	age(t, s.staged(stale), 8*24*time.Hour)
	age(t, s.staged(slow), 3*24*time.Hour) // bytes still came three days ago
	s.sweep()
	u := s.upload(stale.ID)
	assert.Equal(t, tagging.UploadFailed, u.State)
	assert.Equal(t, "The upload was not finished within seven days. Upload the file again.", u.Problem)
	assert.NoFileExists(t, s.staged(stale))
	assert.Equal(t, tagging.UploadOpen, s.upload(slow.ID).State)
}

// TestSweepRemovesWhatNobodySpeaksOf, and nothing else.
func TestSweepRemovesWhatNobodySpeaksOf(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	r := s.ready(fftest.Film{Seconds: 5})
	ball := s.put(span(1, 2))[0]
	stop := s.open(s.deps)
	s.idle()
	stop()
	c := s.clip(ball.ID)
	live := s.arrive("live.mp4", []byte("half"), 8)
	orphan := filepath.Join(s.deps.UploadDir, uuid.NewString())
	newborn := filepath.Join(s.deps.UploadDir, uuid.NewString())
	for _, p := range []string{orphan, orphan + ".info", newborn} {
		require.NoError(t, os.WriteFile(p, []byte("x"), 0o600))
	}
	for _, p := range []string{orphan, orphan + ".info", s.staged(live)} {
		age(t, p, 2*time.Hour)
	}
	sum := [32]byte{1}
	old := map[string]bool{ // key: whether it stays
		blob.OriginalKey(r.SHA256):                 true,
		blob.ClipKey(c.ID, c.Revision, "quick"):    true,
		blob.ClipKey(c.ID, c.Revision, "smooth"):   true,
		blob.OriginalKey(sum):                      false,
		blob.ClipKey(c.ID, c.Revision+7, "smooth"): false,
		blob.ClipKey(99999, 1, "quick"):            false,
		blob.ExportKey(99999):                      false,
	}
	for key, known := range old {
		if !known {
			s.store1(key)
		}
		path, err := s.blobs.Path(t.Context(), key)
		require.NoError(t, err)
		age(t, path, 2*time.Hour)
	}
	fresh := blob.ClipKey(99998, 1, "quick") // its row may be on the way
	s.store1(fresh)
	staged, err := s.blobs.Stage("x.mp4")
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(staged, []byte("x"), 0o600))
	age(t, staged, 25*time.Hour)

	s.sweep()
	assert.NoFileExists(t, orphan)
	assert.NoFileExists(t, orphan+".info")
	assert.NoFileExists(t, staged)
	assert.FileExists(t, newborn)
	assert.FileExists(t, s.staged(live))
	left := s.keys("")
	for key, stays := range old {
		if stays {
			assert.Contains(t, left, key)
		} else {
			assert.NotContains(t, left, key)
		}
	}
	assert.Contains(t, left, fresh)
}

// TestSweepForgetsOldSignIns, and keeps the others.
func TestSweepForgetsOldSignIns(t *testing.T) {
	t.Parallel()
	s := newShop(t)
	s.exec(`INSERT INTO sessions (token, data, expiry) VALUES ('over', '', now() - interval '1 second'), ('good', '', now() + interval '1 day')`)
	s.sweep()
	assert.Equal(t, 1, s.count(`SELECT count(*) FROM sessions`))
	assert.Equal(t, 1, s.count(`SELECT count(*) FROM sessions WHERE token = 'good'`))
}

// store1 keeps a file of one byte under a key.
func (s *shop) store1(key string) {
	s.t.Helper()
	path, err := s.blobs.Stage("x")
	require.NoError(s.t, err)
	require.NoError(s.t, os.WriteFile(path, []byte("x"), 0o600))
	require.NoError(s.t, s.blobs.Adopt(s.t.Context(), key, path))
}
