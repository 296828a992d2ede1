package jobs

import (
	"github.com/riverqueue/river"
	"github.com/riverqueue/river/rivertype"
)

// The queues. Tools share one, so that no more of them run than the machine
// has cores; what is quick does not wait behind them.
const (
	QueueTools = "tools"
	QueueQuick = "quick"
)

// Priorities within a queue; 1 goes first.
const (
	PriorityLookedAt = 1 // somebody waits for it
	PriorityNew      = 2 // first sight of new footage
	PriorityFilm     = 3
	PriorityLater    = 4 // smooth versions that nobody has asked for yet
)

// CutBatch is how many clips one cutting job makes: few enough that the first
// balls can be watched while the rest is still to come.
const CutBatch = 24

// liveStates are the states in which a job of the same arguments is not
// enqueued again. A completed one must not block: clips are cut anew.
var liveStates = []rivertype.JobState{
	rivertype.JobStateAvailable, rivertype.JobStatePending, rivertype.JobStateRunning,
	rivertype.JobStateRetryable, rivertype.JobStateScheduled,
}

// maxAttempts is more than tries, because a server that is killed uses
// attempts up too.
const maxAttempts = 12

func opts(queue string, priority int) river.InsertOpts {
	return river.InsertOpts{
		Queue: queue, Priority: priority, MaxAttempts: maxAttempts,
		UniqueOpts: river.UniqueOpts{ByArgs: true, ByState: liveStates},
	}
}

// LandUpload hashes an uploaded file and makes it a recording.
type LandUpload struct {
	UploadID int64 `json:"upload_id"`
}

// Kind names the job in the database.
func (LandUpload) Kind() string { return "land_upload" }

// InsertOpts says how it is queued.
func (LandUpload) InsertOpts() river.InsertOpts { return opts(QueueQuick, PriorityNew) }

// ProbeRecording reads what a recording is made of.
type ProbeRecording struct {
	RecordingID int64 `json:"recording_id"`
}

// Kind names the job in the database.
func (ProbeRecording) Kind() string { return "probe_recording" }

// InsertOpts says how it is queued.
func (ProbeRecording) InsertOpts() river.InsertOpts { return opts(QueueQuick, PriorityNew) }

// SplitRecording finds the deliveries of a recording.
type SplitRecording struct {
	RecordingID int64 `json:"recording_id"`
}

// Kind names the job in the database.
func (SplitRecording) Kind() string { return "split_recording" }

// InsertOpts says how it is queued.
func (SplitRecording) InsertOpts() river.InsertOpts { return opts(QueueTools, PriorityNew) }

// AlignSession lays the recordings of a session on one clock by their sound.
// Which recordings there were is part of what makes it unique, so that one
// that comes while it runs has its turn.
type AlignSession struct {
	SessionID    int64   `json:"session_id"`
	RecordingIDs []int64 `json:"recording_ids"`
	Anew         bool    `json:"anew,omitempty"` // a person asks: all pairs are compared once more
}

// Kind names the job in the database.
func (AlignSession) Kind() string { return "align_session" }

// InsertOpts says how it is queued.
func (AlignSession) InsertOpts() river.InsertOpts { return opts(QueueTools, PriorityNew) }

// CutClips makes the quick files of clips of one recording in one run. The
// clips' revisions are part of what makes it unique, so that changed edges are
// cut anew while the old ones are still being cut.
type CutClips struct {
	RecordingID int64   `json:"recording_id"`
	ClipIDs     []int64 `json:"clip_ids"`
	Revisions   []int   `json:"revisions"`
}

// Kind names the job in the database.
func (CutClips) Kind() string { return "cut_clips" }

// InsertOpts says how it is queued.
func (CutClips) InsertOpts() river.InsertOpts { return opts(QueueTools, PriorityNew) }

// SmoothClip makes the smooth file of a clip. Its revision is part of what
// makes it unique, so that a changed edge is cut anew while the old one runs.
type SmoothClip struct {
	ClipID   int64 `json:"clip_id"`
	Revision int   `json:"revision"`
}

// Kind names the job in the database.
func (SmoothClip) Kind() string { return "smooth_clip" }

// InsertOpts says how it is queued.
func (SmoothClip) InsertOpts() river.InsertOpts { return opts(QueueTools, PriorityLater) }

// ExportReel makes a reel into one film.
type ExportReel struct {
	ExportID int64 `json:"export_id"`
}

// Kind names the job in the database.
func (ExportReel) Kind() string { return "export_reel" }

// InsertOpts says how it is queued.
func (ExportReel) InsertOpts() river.InsertOpts { return opts(QueueTools, PriorityFilm) }

// Sweep adopts finished uploads whose last call was lost and removes what
// nobody speaks of any more, sign-ins that are over among it.
type Sweep struct{}

// Kind names the job in the database.
func (Sweep) Kind() string { return "sweep" }

// InsertOpts says how it is queued.
func (Sweep) InsertOpts() river.InsertOpts { return opts(QueueQuick, PriorityLater) }
