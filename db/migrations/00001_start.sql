-- +goose Up
-- Times of the domain are whole microseconds (bigint, suffix _us) on the session clock, or on a file's own clock where
-- the column says so. Wall-clock times are timestamptz.

CREATE TABLE squad (
    id         bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    name       text NOT NULL CHECK (btrim(name) <> ''),
    created_at timestamptz NOT NULL DEFAULT now()
);

CREATE TABLE player (
    id         bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    squad_id   bigint NOT NULL REFERENCES squad,
    name       text NOT NULL CHECK (btrim(name) <> ''),
    bats       text NOT NULL DEFAULT 'right' CHECK (bats IN ('right', 'left')),
    height_cm  double precision CHECK (height_cm BETWEEN 80 AND 230),
    note       text NOT NULL DEFAULT '',
    retired_at timestamptz,
    created_at timestamptz NOT NULL DEFAULT now()
);
CREATE UNIQUE INDEX player_name ON player (squad_id, lower(name));

CREATE TABLE account (
    id            bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    squad_id      bigint NOT NULL REFERENCES squad,
    name          text NOT NULL CHECK (btrim(name) <> ''),
    email         text CHECK (btrim(email) <> ''),
    role          text NOT NULL CHECK (role IN ('coach', 'analyst', 'player')),
    player_id     bigint REFERENCES player,
    password_hash text,
    disabled_at   timestamptz,
    created_at    timestamptz NOT NULL DEFAULT now(),
    CHECK ((role = 'player') = (player_id IS NOT NULL))
);
CREATE UNIQUE INDEX account_email ON account (lower(email));

-- A link that signs one account in, once. Only the SHA-256 of its secret is kept.
CREATE TABLE one_time_link (
    secret_hash bytea PRIMARY KEY,
    account_id  bigint NOT NULL REFERENCES account ON DELETE CASCADE,
    expires_at  timestamptz NOT NULL,
    used_at     timestamptz,
    created_at  timestamptz NOT NULL DEFAULT now()
);
CREATE INDEX one_time_link_account ON one_time_link (account_id);

-- Signed-in browsers, kept by the scs library (its column names).
CREATE TABLE sessions (
    token  text PRIMARY KEY,
    data   bytea NOT NULL,
    expiry timestamptz NOT NULL
);
CREATE INDEX sessions_expiry ON sessions (expiry);

CREATE TABLE vocabulary_edition (
    squad_id   bigint NOT NULL REFERENCES squad,
    number     int NOT NULL CHECK (number > 0),
    body       jsonb NOT NULL,
    made_by    bigint REFERENCES account,
    made_at    timestamptz NOT NULL DEFAULT now(),
    PRIMARY KEY (squad_id, number)
);

CREATE TABLE net_session (
    id         bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    squad_id   bigint NOT NULL REFERENCES squad,
    title      text NOT NULL CHECK (btrim(title) <> ''),
    held_on    date NOT NULL,
    place      text NOT NULL DEFAULT '',
    note       text NOT NULL DEFAULT '',
    focus      text[] NOT NULL,               -- keys of the groups that the coding page walks through, in order
    created_at timestamptz NOT NULL DEFAULT now()
);
CREATE INDEX net_session_by_date ON net_session (squad_id, held_on DESC, id DESC);

CREATE TABLE net_session_player (
    session_id bigint NOT NULL REFERENCES net_session ON DELETE CASCADE,
    player_id  bigint NOT NULL REFERENCES player,
    position   int NOT NULL,
    PRIMARY KEY (session_id, player_id)
);

CREATE TABLE block (
    id         bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    session_id bigint NOT NULL REFERENCES net_session ON DELETE CASCADE,
    name       text NOT NULL CHECK (btrim(name) <> ''),
    start_us   bigint NOT NULL,
    end_us     bigint NOT NULL CHECK (end_us > start_us),
    player_id  bigint REFERENCES player,
    bowling    text,                          -- term keys of the groups "bowling", "feed" and "bat"
    feed       text,
    bat        text,
    aim        int CHECK (aim BETWEEN 1 AND 1000)
);
CREATE INDEX block_session ON block (session_id, start_us);

-- An upload under way or ended. The row is written when the upload begins, so that no finish can be lost.
CREATE TABLE upload (
    id           bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    tus_id       text NOT NULL UNIQUE,
    session_id   bigint NOT NULL REFERENCES net_session ON DELETE CASCADE,
    account_id   bigint NOT NULL REFERENCES account,
    file_name    text NOT NULL,
    size         bigint NOT NULL CHECK (size >= 0),
    camera       text NOT NULL CHECK (camera IN ('side-on', 'behind-the-arm', 'other')),
    state        text NOT NULL DEFAULT 'open' CHECK (state IN ('open', 'landed', 'adopted', 'duplicate', 'failed')),
    recording_id bigint,                      -- the recording it became, or the one that was there already
    problem      text NOT NULL DEFAULT '',
    created_at   timestamptz NOT NULL DEFAULT now(),
    updated_at   timestamptz NOT NULL DEFAULT now()
);
CREATE INDEX upload_session ON upload (session_id, id);

CREATE TABLE recording (
    id            bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    session_id    bigint NOT NULL REFERENCES net_session ON DELETE CASCADE,
    title         text NOT NULL,
    camera        text NOT NULL CHECK (camera IN ('side-on', 'behind-the-arm', 'other')),
    sha256        bytea NOT NULL CHECK (length(sha256) = 32),
    size          bigint NOT NULL,
    state         text NOT NULL DEFAULT 'landed'
                  CHECK (state IN ('landed', 'probed', 'split', 'ready', 'failed', 'cancelled')),
    problem       text NOT NULL DEFAULT '',
    probe         jsonb,                      -- media.Probe; null until probed
    offset_us     bigint NOT NULL DEFAULT 0,  -- media.Clock
    rate_ppm      double precision NOT NULL DEFAULT 0,
    sound_step_us bigint,                     -- media.Trace of the sound's envelope; null until split
    sound_trace   bytea,
    motion_step_us bigint,
    motion_trace  bytea,
    found         jsonb,                      -- []media.Delivery on the recording's own clock; null until split
    step          text NOT NULL DEFAULT '',   -- what is being done: 'probe', 'split', 'clips', '' when nothing is
    progress      double precision NOT NULL DEFAULT 0,    -- of that step, 0 to 1
    created_at    timestamptz NOT NULL DEFAULT now(),
    UNIQUE (session_id, sha256)
);
ALTER TABLE upload ADD FOREIGN KEY (recording_id) REFERENCES recording ON DELETE SET NULL;
CREATE INDEX upload_recording ON upload (recording_id);
CREATE INDEX recording_sha256 ON recording (sha256);

-- One ball. number, block_id and player_id are derived (sqlSettle) and kept here to be searched by index.
CREATE TABLE delivery (
    id         bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    session_id bigint NOT NULL REFERENCES net_session ON DELETE CASCADE,
    start_us   bigint NOT NULL,
    contact_us bigint,
    end_us     bigint NOT NULL,
    confidence double precision NOT NULL CHECK (confidence BETWEEN 0 AND 1),
    origin     text NOT NULL CHECK (origin IN ('split', 'person')),
    state      text NOT NULL CHECK (state IN ('proposed', 'accepted', 'discarded')),
    touched_by bigint REFERENCES account,     -- the last person who changed it; null while only the split has
    touched_at timestamptz,
    revision   int NOT NULL DEFAULT 1,        -- counts changes, so that a stale page can't overwrite
    batter_id  bigint REFERENCES player,      -- set by a person; else the block's or the session's only player
    number     int,                           -- 1, 2, 3 ... in the session; null when discarded
    block_id   bigint REFERENCES block ON DELETE SET NULL,
    player_id  bigint REFERENCES player,
    codes      text[] NOT NULL DEFAULT '{}',  -- 'shot=pull': the terms that hold, whoever said them; derived, see coding
    created_at timestamptz NOT NULL DEFAULT now(),
    CHECK (end_us > start_us),
    CHECK (contact_us >= start_us AND contact_us <= end_us)
);
CREATE INDEX delivery_session ON delivery (session_id, start_us);
CREATE INDEX delivery_player ON delivery (player_id, session_id) WHERE state <> 'discarded';
CREATE INDEX delivery_block ON delivery (block_id);

-- Which recordings' splits found a ball. One that nobody touched goes when none finds it any more.
CREATE TABLE proposal (
    delivery_id  bigint NOT NULL REFERENCES delivery ON DELETE CASCADE,
    recording_id bigint NOT NULL REFERENCES recording ON DELETE CASCADE,
    PRIMARY KEY (delivery_id, recording_id)
);
CREATE INDEX proposal_recording ON proposal (recording_id);

-- One ball on one recording: its files. Frame times are on the file's own clock.
CREATE TABLE clip (
    id              bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    delivery_id     bigint NOT NULL REFERENCES delivery ON DELETE CASCADE,
    recording_id    bigint NOT NULL REFERENCES recording ON DELETE CASCADE,
    start_us        bigint NOT NULL,          -- asked stretch, on the recording's own clock
    end_us          bigint NOT NULL CHECK (end_us > start_us),
    revision        int NOT NULL DEFAULT 1,   -- counts changes of the stretch; files of an older one are stale
    quick_revision  int,                      -- the revision the quick file shows; null while there is none
    quick_lead_us   bigint,                   -- from the quick file's first frame to start_us
    quick_frames    bigint[],
    smooth_revision int,
    smooth_lead_us  bigint,                   -- start_us minus the source time of its first frame; 0 or below
    smooth_frames   bigint[],
    poster_revision int,
    problem         text NOT NULL DEFAULT '',
    UNIQUE (delivery_id, recording_id)
);
CREATE INDEX clip_recording ON clip (recording_id, start_us);

-- What somebody saw. A ledger: rows are added, never changed; a correction supersedes, an undo retracts. Only holds is
-- derived: it is turned off by the entry that supersedes or retracts.
CREATE TABLE observation (
    id           bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    uuid         uuid NOT NULL UNIQUE,        -- made by the page, so that a repeated save is kept once
    delivery_id  bigint NOT NULL REFERENCES delivery ON DELETE CASCADE,
    account_id   bigint NOT NULL REFERENCES account,
    kind         text NOT NULL CHECK (kind IN ('term', 'note', 'drawing', 'retraction')),
    at_us        bigint,                      -- session clock; null: of the ball as a whole
    until_us     bigint CHECK (until_us > at_us),
    group_key    text,
    term_key     text,
    edition      int,                         -- of the vocabulary in which it was said
    wording      text NOT NULL DEFAULT '',    -- the term's name in that edition
    body         text NOT NULL DEFAULT '',    -- a note's text
    drawing      jsonb,                       -- tagging.Drawing
    recording_id bigint REFERENCES recording ON DELETE SET NULL, -- the picture a drawing lies on
    supersedes   bigint REFERENCES observation ON DELETE CASCADE,
    holds        boolean NOT NULL,            -- neither superseded nor retracted, nor itself a retraction
    made_at      timestamptz NOT NULL DEFAULT now(),
    words        tsvector GENERATED ALWAYS AS (to_tsvector('english', body)) STORED,
    CHECK ((kind = 'term') = (group_key IS NOT NULL AND term_key IS NOT NULL AND edition IS NOT NULL)),
    CHECK ((kind = 'drawing') = (drawing IS NOT NULL)),
    CHECK (kind <> 'note' OR btrim(body) <> ''),
    CHECK (kind <> 'retraction' OR (supersedes IS NOT NULL AND NOT holds))
);
CREATE INDEX observation_delivery ON observation (delivery_id, id);
CREATE INDEX observation_words ON observation USING gin (words) WHERE holds AND kind = 'note';
CREATE INDEX observation_recording ON observation (recording_id) WHERE recording_id IS NOT NULL;
CREATE UNIQUE INDEX observation_supersedes ON observation (supersedes) WHERE supersedes IS NOT NULL;

-- What one coder's words on a ball come to, to be searched: a row when anything of theirs holds, with the terms that do.
-- Derived from the ledger (sqlAddCoding), as delivery.codes is from this.
CREATE TABLE coding (
    delivery_id bigint NOT NULL REFERENCES delivery ON DELETE CASCADE,
    account_id  bigint NOT NULL REFERENCES account,
    codes       text[] NOT NULL,
    PRIMARY KEY (delivery_id, account_id)
);

CREATE TABLE reel (
    id         bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    squad_id   bigint NOT NULL REFERENCES squad,
    title      text NOT NULL CHECK (btrim(title) <> ''),
    note       text NOT NULL DEFAULT '',
    question   text,                          -- find.Question in its printed form; null for a hand-picked reel
    made_by    bigint NOT NULL REFERENCES account,
    revision   int NOT NULL DEFAULT 1,
    created_at timestamptz NOT NULL DEFAULT now(),
    updated_at timestamptz NOT NULL DEFAULT now()
);
CREATE INDEX reel_squad ON reel (squad_id, updated_at DESC);

-- Balls of a hand-picked reel, and titles and notes on balls of either sort.
CREATE TABLE reel_ball (
    reel_id     bigint NOT NULL REFERENCES reel ON DELETE CASCADE,
    delivery_id bigint NOT NULL REFERENCES delivery ON DELETE CASCADE,
    position    int,                          -- null in a reel from a question
    title       text NOT NULL DEFAULT '',
    note        text NOT NULL DEFAULT '',
    PRIMARY KEY (reel_id, delivery_id)
);
CREATE INDEX reel_ball_delivery ON reel_ball (delivery_id);

CREATE TABLE reel_player (
    reel_id   bigint NOT NULL REFERENCES reel ON DELETE CASCADE,
    player_id bigint NOT NULL REFERENCES player,
    PRIMARY KEY (reel_id, player_id)
);
CREATE INDEX reel_player_player ON reel_player (player_id);

-- A link to one reel that works without an account. Only the SHA-256 of its secret is kept.
CREATE TABLE share (
    id          bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    reel_id     bigint NOT NULL REFERENCES reel ON DELETE CASCADE,
    secret_hash bytea NOT NULL UNIQUE,
    made_by     bigint NOT NULL REFERENCES account,
    created_at  timestamptz NOT NULL DEFAULT now(),
    expires_at  timestamptz NOT NULL,
    revoked_at  timestamptz,
    opened      int NOT NULL DEFAULT 0
);
CREATE INDEX share_reel ON share (reel_id);

-- A reel made into one file.
CREATE TABLE export (
    id         bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    reel_id    bigint NOT NULL REFERENCES reel ON DELETE CASCADE,
    burn       boolean NOT NULL,              -- terms burned into the picture; else a WebVTT track beside it
    made_by    bigint NOT NULL REFERENCES account,
    state      text NOT NULL DEFAULT 'waiting' CHECK (state IN ('waiting', 'working', 'done', 'failed', 'cancelled')),
    progress   double precision NOT NULL DEFAULT 0,
    problem    text NOT NULL DEFAULT '',
    captions   text NOT NULL DEFAULT '',      -- the WebVTT track on the film's clock
    created_at timestamptz NOT NULL DEFAULT now()
);
CREATE INDEX export_reel ON export (reel_id, id DESC);
