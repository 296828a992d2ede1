package api

import (
	"context"
	"io"
	"time"

	"github.com/google/uuid"

	"netreel/media"
	"netreel/media/blob"
	"netreel/tagging"
	"netreel/tagging/find"
	"netreel/tagging/lookback"
	"netreel/tagging/plan"
	"netreel/tagging/reading"
	"netreel/tagging/vocabulary"
)

// Store is what the routes need of the database. Every method that takes a
// Viewer answers fault.NotFound for what is not that viewer's to see, and
// fault.Forbidden for what the role may not change.
type Store interface {
	People
	Sessions
	Footage
	Balls
	Measuring
	Reels
	Plans
	Lookback
	Looks
}

// People is accounts, players and sign-in.
type People interface {
	// Account returns an account that is not disabled, or fault.Unauthorised.
	Account(ctx context.Context, id int64) (tagging.Account, error)
	// Login returns the account of an email and its argon2id hash ("" for none), or fault.NotFound.
	Login(ctx context.Context, email string) (tagging.Account, string, error)
	// SetPassword keeps a hash.
	SetPassword(ctx context.Context, accountID int64, hash string) error
	// PeekLink says whose a one-time link is; used, expired or unknown is fault.NotFound.
	PeekLink(ctx context.Context, secret string) (tagging.Account, error)
	// UseLink uses a one-time link up.
	UseLink(ctx context.Context, secret string) (tagging.Account, error)
	// NewLink makes a one-time link for an account and returns its secret.
	NewLink(ctx context.Context, v tagging.Viewer, accountID int64, life time.Duration) (secret string, err error)
	Accounts(ctx context.Context, v tagging.Viewer) ([]tagging.Account, error)
	AddAccount(ctx context.Context, v tagging.Viewer, a tagging.NewAccount) (tagging.Account, error)
	// ChangeAccount changes name, email and whether it is disabled. The last coach can't be disabled.
	ChangeAccount(ctx context.Context, v tagging.Viewer, id int64, name, email string, disabled bool) (tagging.Account, error)
	RenameSquad(ctx context.Context, v tagging.Viewer, name string) error

	Players(ctx context.Context, v tagging.Viewer) ([]tagging.Player, error)
	AddPlayer(ctx context.Context, v tagging.Viewer, p tagging.Player) (tagging.Player, error)
	ChangePlayer(ctx context.Context, v tagging.Viewer, p tagging.Player) (tagging.Player, error)

	// Vocabulary returns an edition; 0 is the current one.
	Vocabulary(ctx context.Context, v tagging.Viewer, number int) (vocabulary.Edition, error)
	// SaveVocabulary keeps a new edition if e.Number is still the current one, else fault.Conflict.
	SaveVocabulary(ctx context.Context, v tagging.Viewer, e vocabulary.Edition) (vocabulary.Edition, error)
}

// Sessions is sessions, blocks and the lane.
type Sessions interface {
	Sessions(ctx context.Context, v tagging.Viewer) ([]tagging.Session, error)
	Session(ctx context.Context, v tagging.Viewer, id int64) (tagging.Session, error)
	AddSession(ctx context.Context, v tagging.Viewer, in tagging.SessionInput) (tagging.Session, error)
	ChangeSession(ctx context.Context, v tagging.Viewer, id int64, in tagging.SessionInput) (tagging.Session, error)
	// DeleteSession removes a session with everything in it.
	DeleteSession(ctx context.Context, v tagging.Viewer, id int64) error
	// SetBlocks replaces the blocks; ones with an ID are kept and changed.
	SetBlocks(ctx context.Context, v tagging.Viewer, session int64, blocks []tagging.Block) ([]tagging.Block, error)
	Lane(ctx context.Context, v tagging.Viewer, session int64) (tagging.Lane, error)
	// SetCut proposes balls from another confidence on, nil: from what the splits propose. What a person touched stays.
	SetCut(ctx context.Context, v tagging.Viewer, session int64, cut *float64) error
	// EditLane applies an edit whole or not at all and returns the balls changed, in the edit's order. Clips whose
	// stretch changed are cut anew.
	EditLane(ctx context.Context, v tagging.Viewer, session int64, e tagging.LaneEdit) ([]tagging.Ball, error)
}

// Footage is uploads and recordings.
type Footage interface {
	// OpenUpload writes the row of an upload that begins.
	OpenUpload(ctx context.Context, v tagging.Viewer, u tagging.Upload) (tagging.Upload, error)
	// MarkLanded says that all bytes of a tus upload are there, and enqueues its landing.
	MarkLanded(ctx context.Context, tusID string) error
	// UploadByTus returns the upload of a tus id if it is the viewer's own, else fault.NotFound.
	UploadByTus(ctx context.Context, v tagging.Viewer, tusID string) (tagging.Upload, error)
	Uploads(ctx context.Context, v tagging.Viewer, session int64) ([]tagging.Upload, error)
	// DropUpload forgets an upload (its row); bytes on the way are the caller's to remove.
	DropUpload(ctx context.Context, v tagging.Viewer, id int64) (tagging.Upload, error)
	Recording(ctx context.Context, v tagging.Viewer, id int64) (tagging.Recording, error)
	// ChangeRecording changes title, camera, distance and clock; a new clock moves what nobody has touched, and sound
	// does not change it again.
	ChangeRecording(ctx context.Context, v tagging.Viewer, r tagging.Recording) (tagging.Recording, error)
	DeleteRecording(ctx context.Context, v tagging.Viewer, id int64) error
	// Retry starts a failed or cancelled recording again where it stopped.
	Retry(ctx context.Context, v tagging.Viewer, id int64) (tagging.Recording, error)
	// Cancel stops the work on a recording.
	Cancel(ctx context.Context, v tagging.Viewer, id int64) (tagging.Recording, error)
	// AlignAll has all cameras of a session compared by their sound once more; fault.Conflict where there are no two
	// that hear.
	AlignAll(ctx context.Context, v tagging.Viewer, sessionID int64) error
	// AlignAgain gives a clock that a person has set back to the sound.
	AlignAgain(ctx context.Context, v tagging.Viewer, id int64) (tagging.Recording, error)
	// SplitAgain finds the deliveries anew; what a person has touched stays.
	SplitAgain(ctx context.Context, v tagging.Viewer, id int64) (tagging.Recording, error)
	// Traces returns the sound's envelope and the motion; nil before the split.
	Traces(ctx context.Context, v tagging.Viewer, id int64) (sound, motion *media.Trace, err error)
}

// Balls is clips, observations and the question.
type Balls interface {
	// SessionBalls lists a session's balls (not the discarded) with clips and what holds of the observations.
	SessionBalls(ctx context.Context, v tagging.Viewer, session int64) ([]tagging.Ball, error)
	Ball(ctx context.Context, v tagging.Viewer, id int64) (tagging.Ball, error)
	// SideBySide gives two balls that the viewer may see, left and right.
	SideBySide(ctx context.Context, v tagging.Viewer, left, right int64) ([2]tagging.PlaylistItem, error)
	// Clip returns a clip that the viewer may see.
	Clip(ctx context.Context, v tagging.Viewer, id int64) (tagging.Clip, error)
	// WantClip puts the smooth version of a clip at the head of the queue.
	WantClip(ctx context.Context, v tagging.Viewer, id int64) error
	// Observe adds entries to the ledger, whole or not at all; an entry that is there already changes nothing. It
	// returns what now holds on each ball spoken of. A term of a group of which one may hold supersedes the same
	// coder's earlier one.
	Observe(ctx context.Context, v tagging.Viewer, entries []tagging.Entry) ([]tagging.Observation, error)
	// Ledger is all that was ever said of a ball, oldest first, retractions too.
	Ledger(ctx context.Context, v tagging.Viewer, ball int64) ([]tagging.LedgerLine, error)
	Find(ctx context.Context, v tagging.Viewer, q find.Question, page find.Page) (find.Found, error)
}

// Looks is second looks: a sample of balls coded twice, the second time blind.
type Looks interface {
	SecondLooks(ctx context.Context, v tagging.Viewer, session int64) ([]tagging.SecondLook, error)
	// SecondLook tells what the first coder said only once it is finished.
	SecondLook(ctx context.Context, v tagging.Viewer, id int64) (tagging.SecondLook, error)
	AddSecondLook(ctx context.Context, v tagging.Viewer, session int64, in tagging.LookInput) (tagging.SecondLook, error)
	// SaveLookBall is the second coder's alone, until it is finished.
	SaveLookBall(ctx context.Context, v tagging.Viewer, id, ball int64, said tagging.Codes) error
	FinishSecondLook(ctx context.Context, v tagging.Viewer, id int64) error
	DropSecondLook(ctx context.Context, v tagging.Viewer, id int64) error
	FinishedLooks(ctx context.Context, v tagging.Viewer) ([]tagging.SecondLook, error)
	// TrustFloor is the kappa under which a term is marked as not to be trusted.
	TrustFloor(ctx context.Context, v tagging.Viewer) (float64, error)
	SetTrustFloor(ctx context.Context, v tagging.Viewer, floor float64) error
}

// Measuring is calibrations and what is measured by them.
type Measuring interface {
	// Calibration returns how a recording's camera sees the lane; nil when nobody has said so yet.
	Calibration(ctx context.Context, v tagging.Viewer, recording int64) (*reading.Calibration, error)
	// TryCalibration solves what was clicked and keeps nothing; SaveCalibration keeps it, in place of the one before.
	TryCalibration(ctx context.Context, v tagging.Viewer, recording int64, in reading.CalibrationInput) (reading.Calibration, error)
	SaveCalibration(ctx context.Context, v tagging.Viewer, recording int64, in reading.CalibrationInput) (reading.Calibration, error)

	// TryReading computes what follows from points and keeps nothing; AddReading keeps it, in place of the ball's
	// earlier reading on the same recording. One that is there already changes nothing.
	TryReading(ctx context.Context, v tagging.Viewer, in reading.Input) (reading.Outcome, error)
	AddReading(ctx context.Context, v tagging.Viewer, in reading.Input) (reading.Reading, reading.Outcome, error)
	// Judge accepts or rejects a reading as it stands.
	Judge(ctx context.Context, v tagging.Viewer, id int64, status reading.Status) (reading.Reading, error)
	BallReadings(ctx context.Context, v tagging.Viewer, ball int64) ([]reading.Reading, error)
	// SessionReadings lists a session's readings, what looks wrong first.
	SessionReadings(ctx context.Context, v tagging.Viewer, session int64) ([]reading.Reading, error)
	// PlayerMeasures says what is usual for a player, and whether it changed.
	PlayerMeasures(ctx context.Context, v tagging.Viewer, player int64) (reading.History, error)
	SetYardsticks(ctx context.Context, v tagging.Viewer, player int64, y reading.Yardsticks) error
}

// Reels is reels, shares and films.
type Reels interface {
	Reels(ctx context.Context, v tagging.Viewer) ([]tagging.Reel, error)
	Reel(ctx context.Context, v tagging.Viewer, id int64) (tagging.Reel, error)
	AddReel(ctx context.Context, v tagging.Viewer, in tagging.ReelInput) (tagging.Reel, error)
	ChangeReel(ctx context.Context, v tagging.Viewer, id int64, in tagging.ReelInput) (tagging.Reel, error)
	DeleteReel(ctx context.Context, v tagging.Viewer, id int64) error
	Playlist(ctx context.Context, v tagging.Viewer, reel int64) (tagging.Playlist, error)

	Shares(ctx context.Context, v tagging.Viewer, reel int64) ([]tagging.Share, error)
	AddShare(ctx context.Context, v tagging.Viewer, reel int64, expires time.Time) (tagging.Share, string, error)
	RevokeShare(ctx context.Context, v tagging.Viewer, id int64) error
	// SharedPlaylist is the playlist of a share link that holds; else fault.NotFound. opened counts a first look.
	SharedPlaylist(ctx context.Context, secret string, opened bool) (tagging.Playlist, error)
	// SharedClip is a clip of the reel of a share link that holds; else fault.NotFound.
	SharedClip(ctx context.Context, secret string, clip int64) (tagging.Clip, error)

	Exports(ctx context.Context, v tagging.Viewer, reel int64) ([]tagging.Export, error)
	AddExport(ctx context.Context, v tagging.Viewer, reel int64, burn bool) (tagging.Export, error)
	Export(ctx context.Context, v tagging.Viewer, id int64) (tagging.Export, string, error) // with its WebVTT captions
	CancelExport(ctx context.Context, v tagging.Viewer, id int64) error
}

// Plans is what comes next, what was noted at the net, and how much everybody
// has done.
type Plans interface {
	Plans(ctx context.Context, v tagging.Viewer) ([]plan.Plan, error)
	Plan(ctx context.Context, v tagging.Viewer, id int64) (plan.Plan, error)
	// SavePlan adds a plan (ID 0) or changes all of one, with its sequences drawn anew.
	SavePlan(ctx context.Context, v tagging.Viewer, p plan.Plan) (plan.Plan, error)
	DeletePlan(ctx context.Context, v tagging.Viewer, id int64) error
	// PlanBecomes makes a session of a plan, or joins it to one that is there (sessionID above 0).
	PlanBecomes(ctx context.Context, v tagging.Viewer, id, sessionID int64, heldOn, place string) (tagging.Session, error)
	// Cells says how a player's balls of a group's terms (none named: all) went, and how to weigh them.
	Cells(ctx context.Context, v tagging.Viewer, player int64, group string, terms []string) ([]plan.Cell, error)
	// Proposals lists terms that are likely to hold on a session's balls, until a person says so.
	Proposals(ctx context.Context, v tagging.Viewer, session int64) ([]tagging.Proposal, error)
	// Load returns who faced and fed how many balls between two ISO dates, and the limits that were set.
	Load(ctx context.Context, v tagging.Viewer, from, to string) ([]plan.Stint, []plan.Limit, error)
	// LatestLoad is the latest day with a ball, "" when there is none.
	LatestLoad(ctx context.Context, v tagging.Viewer) (day string, err error)
	SetLimits(ctx context.Context, v tagging.Viewer, limits []plan.Limit) ([]plan.Limit, error)

	// TakeMarks keeps what a phone at the net sends, each mark once, and returns the session that it is of.
	TakeMarks(ctx context.Context, v tagging.Viewer, in tagging.NetBatch) (session int64, err error)
	Net(ctx context.Context, v tagging.Viewer, session int64) (tagging.Net, error)
	// SetZero lays a session's clock on the wall clock.
	SetZero(ctx context.Context, v tagging.Viewer, session int64, z tagging.Zero) (tagging.Net, error)
	// NetBlocks makes the session's blocks begin where they did at the net.
	NetBlocks(ctx context.Context, v tagging.Viewer, session int64) ([]tagging.Block, error)
}

// Lookback is sessions, sets and players in numbers, and what is said for it.
type Lookback interface {
	// Lookback gathers a session for lookback.Look: of one player, or with player 0 of all.
	Lookback(ctx context.Context, v tagging.Viewer, session, player int64) (lookback.Session, error)
	// CountedBalls is what a question finds, to be counted: in the order played, oldest session first.
	CountedBalls(ctx context.Context, v tagging.Viewer, q find.Question) ([]lookback.Ball, error)
	// Visits lists a player's sessions, oldest first.
	Visits(ctx context.Context, v tagging.Viewer, player int64) ([]lookback.Visit, error)
	// Rules returns the coach's rules for a player and their revision; 0 before there are any.
	Rules(ctx context.Context, v tagging.Viewer, player int64) (lookback.Rules, int, error)
	// SaveRules replaces them if revision is still theirs, else fault.Conflict.
	SaveRules(ctx context.Context, v tagging.Viewer, player int64, r lookback.Rules, revision int) (int, error)
	// SayFelt adds how a ball or block felt; a UUID that is there already changes nothing.
	SayFelt(ctx context.Context, v tagging.Viewer, id uuid.UUID, f lookback.Felt) error
	// Felt is what was last said of balls and blocks; to a player of their own ones.
	Felt(ctx context.Context, v tagging.Viewer, balls, blocks []int64) ([]lookback.Felt, error)
}

// Blobs is where files are read from.
type Blobs interface {
	Open(ctx context.Context, key string) (io.ReadSeekCloser, blob.Info, error)
}

// Posters makes pictures of films: a clip's poster when it is first needed,
// which is kept, and any other still.
type Posters interface {
	// Poster returns the blob key of a clip's poster.
	Poster(ctx context.Context, clipID int64) (key string, err error)
	// Still is the picture at a time of the recording's own clock, a JPEG of the film's size.
	Still(ctx context.Context, r tagging.Recording, at media.Micros) (io.ReadSeekCloser, error)
}

// Ears hear stretches of recordings. A recording without sound is
// fault.Unsupported.
type Ears interface {
	// Bangs are a stretch's sharpest sounds, a few at most, in the order of time.
	Bangs(ctx context.Context, h tagging.Hearing) ([]tagging.Bang, error)
	// Wave is a stretch as a WAVE file.
	Wave(ctx context.Context, h tagging.Hearing) ([]byte, error)
}

// Printer makes a PDF of a page of this server.
type Printer interface {
	// Print asks for the page at an address of this machine, with headers on every request that it makes. Links lead
	// to home, the address by which people reach the server. It is fault.Unavailable where printing can't be done.
	Print(ctx context.Context, address string, headers map[string]string, home string) ([]byte, error)
}

// Events hands on what changed.
type Events interface {
	// Subscribe gives the events of a squad until ctx ends; a reader that is too slow loses the oldest and is told
	// by an event of topic "everything".
	Subscribe(ctx context.Context, squadID int64) <-chan tagging.Event
}
