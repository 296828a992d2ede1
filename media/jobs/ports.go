// Package jobs holds the work that goes on behind the page, one file a kind:
// its arguments, how it is queued, and the worker. A job is one bounded run of
// a tool; arguments hold ids, never paths. Every worker may be killed at any
// point and run again.
//
// The package must not know SQL or HTTP: what it needs of the database it
// declares here as Store.
package jobs

import (
	"context"
	"time"

	"netreel/media"
	"netreel/media/align"
	"netreel/media/split"
	"netreel/tagging"
)

// Store is what the workers need of the database. Each method is one
// transaction, and enqueues the jobs that follow in the same one.
type Store interface {
	// UploadForJob returns an upload, or fault.NotFound.
	UploadForJob(ctx context.Context, id int64) (tagging.Upload, error)
	// LandUpload makes the recording of a landed upload and enqueues its probe. A file already in the session makes
	// the upload a duplicate of the recording that is there. Running it again changes nothing.
	LandUpload(ctx context.Context, uploadID int64, sha256 [32]byte, size int64) (tagging.Upload, error)
	// FailUpload records why an upload came to nothing, for the person.
	FailUpload(ctx context.Context, id int64, problem string) error
	// OpenUploads lists uploads in state open or landed that were last touched before a time.
	OpenUploads(ctx context.Context, before time.Time) ([]tagging.Upload, error)
	// MarkLanded says that all bytes of a tus upload are there, and enqueues its landing.
	MarkLanded(ctx context.Context, tusID string) error

	// RecordingForJob returns a recording, or fault.NotFound.
	RecordingForJob(ctx context.Context, id int64) (tagging.Recording, error)
	// SaveProbe keeps what ffprobe told and enqueues the split.
	SaveProbe(ctx context.Context, id int64, p media.Probe) error
	// SplitHints says what is known of a recording's balls and its camera's position before it is split.
	SplitHints(ctx context.Context, id int64) (split.Hints, error)
	// SaveHeard keeps what the split of a recording that was never split before has found by sound, while it goes on,
	// and enqueues the cuts.
	SaveHeard(ctx context.Context, id int64, r split.Result) error
	// SaveSplit keeps the traces and all that the split thought of, decides over all cameras together, replaces the
	// proposals nobody has touched, makes the clips of all balls on this recording and enqueues their cuts. Balls that a person touched stay; a proposal that overlaps one is dropped.
	SaveSplit(ctx context.Context, id int64, r split.Result) error
	// ToAlign returns a session's recordings that have sound, and the pairs that have been compared already, by the
	// recordings' ids.
	ToAlign(ctx context.Context, session int64) ([]tagging.Recording, []align.Pair, error)
	// SaveMatches keeps how pairs of recordings lie on each other by their sound alone, A's id below B's, and sets the
	// clocks that no person has set.
	SaveMatches(ctx context.Context, session int64, found []align.Pair) error
	// LayAnew is SaveMatches of all pairs, which a person has asked for: where the sound is sure it goes before what
	// was laid by hand, which stays where it is not.
	LayAnew(ctx context.Context, session int64, found []align.Pair) error
	// SetProgress tells pages how far a step is: at most a call a second.
	SetProgress(ctx context.Context, recordingID int64, step string, share float64) error
	// FailRecording records why a recording came to nothing, for the person.
	FailRecording(ctx context.Context, id int64, problem string) error

	// ClipsForJob returns clips with their recording's content and probe; those that are gone are left out.
	ClipsForJob(ctx context.Context, ids []int64) ([]ClipTask, error)
	// SaveQuick and SaveSmooth keep a finished file of a clip if its revision is still wanted, else say so (false).
	SaveQuick(ctx context.Context, clipID int64, revision int, f tagging.ClipFile) (kept bool, err error)
	SaveSmooth(ctx context.Context, clipID int64, revision int, f tagging.ClipFile) (kept bool, err error)
	// SavePoster says that the poster of a revision is there.
	SavePoster(ctx context.Context, clipID int64, revision int) error
	// FailClip records why a clip could not be cut.
	FailClip(ctx context.Context, clipID int64, problem string) error

	// ExportForJob returns what a film is made of, or fault.NotFound. Items whose clips have no file yet are in it.
	ExportForJob(ctx context.Context, id int64) (tagging.Export, tagging.Playlist, error)
	// SetExport records state, progress, problem and the WebVTT captions of a film.
	SetExport(ctx context.Context, id int64, state tagging.ExportState, progress float64, problem, captions string) error

	// Unreferenced says which of these blob keys no row speaks of any more.
	Unreferenced(ctx context.Context, keys []string) ([]string, error)
	// DropOldSignIns forgets the signed-in browsers whose time is over.
	DropOldSignIns(ctx context.Context) error
	// RenewReadings computes anew, from their points, the readings whose values are of formulas that have changed.
	RenewReadings(ctx context.Context) error
}

// ClipTask is a clip to cut.
type ClipTask struct {
	Clip   tagging.Clip
	SHA256 [32]byte // of the recording: its blob is blob.OriginalKey(SHA256)
	Probe  media.Probe
	// Poster is where the poster is taken, on the recording's own clock: the contact, else the clip's middle.
	Poster media.Micros
}
