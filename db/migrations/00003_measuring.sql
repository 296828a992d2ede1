-- +goose Up
-- How a camera sees the lane, and what was measured by it. Both are ledgers as that of observations: rows are added,
-- never changed; only holds is derived, and turned off by the row that supersedes.

CREATE TABLE calibration (
    id           bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    recording_id bigint NOT NULL REFERENCES recording ON DELETE CASCADE,
    account_id   bigint NOT NULL REFERENCES account,
    at_us        bigint NOT NULL,             -- the still that was clicked on, recording's own clock
    box          jsonb,                       -- reading.Box: where the batter is to be looked for
    solved       jsonb NOT NULL,              -- measure.Calibration: what was clicked and what follows, the Laws' edition with it
    supersedes   bigint REFERENCES calibration ON DELETE CASCADE,
    holds        boolean NOT NULL DEFAULT true,
    made_at      timestamptz NOT NULL DEFAULT now()
);
CREATE UNIQUE INDEX calibration_holds ON calibration (recording_id) WHERE holds;
CREATE UNIQUE INDEX calibration_supersedes ON calibration (supersedes) WHERE supersedes IS NOT NULL;

-- Points read off a ball's frames on one recording. Those of a proposal and those that were left after it was corrected
-- are both kept.
CREATE TABLE reading (
    id             bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    uuid           uuid NOT NULL UNIQUE,      -- made by the page, so that a repeated save is kept once
    delivery_id    bigint NOT NULL REFERENCES delivery ON DELETE CASCADE,
    recording_id   bigint NOT NULL REFERENCES recording ON DELETE CASCADE,
    calibration_id bigint REFERENCES calibration ON DELETE CASCADE, -- null: only what needs none was computed
    account_id     bigint NOT NULL REFERENCES account,
    sights         jsonb NOT NULL,            -- reading.Sights: what was marked on the frames of stance and contact
    proposed_by    text NOT NULL DEFAULT '',  -- the model; '' for a person
    status         text NOT NULL CHECK (status IN ('proposed', 'accepted', 'rejected')),
    supersedes     bigint REFERENCES reading ON DELETE CASCADE,
    holds          boolean NOT NULL DEFAULT true,
    made_at        timestamptz NOT NULL DEFAULT now()
);
CREATE UNIQUE INDEX reading_holds ON reading (delivery_id, recording_id) WHERE holds;
CREATE UNIQUE INDEX reading_supersedes ON reading (supersedes) WHERE supersedes IS NOT NULL;
CREATE INDEX reading_recording ON reading (recording_id) WHERE holds;
CREATE INDEX reading_calibration ON reading (calibration_id);

-- What was computed from a reading.
CREATE TABLE reading_value (
    reading_id bigint NOT NULL REFERENCES reading ON DELETE CASCADE,
    measure    text NOT NULL,                 -- key of measure.Measures
    value      double precision NOT NULL,
    sigma      double precision NOT NULL,     -- one standard deviation
    low        double precision,              -- of a value that frames bound: no less than this ...
    high       double precision,              -- ... and no more
    caveats    text[] NOT NULL DEFAULT '{}',
    PRIMARY KEY (reading_id, measure)
);
CREATE INDEX reading_value_measure ON reading_value (measure, value);

-- Between which values the coach calls a player's base narrow, sound and wide, and so on (reading.Yardsticks).
CREATE TABLE player_yardsticks (
    player_id bigint PRIMARY KEY REFERENCES player,
    yardsticks jsonb NOT NULL,
    set_by    bigint NOT NULL REFERENCES account,
    set_at    timestamptz NOT NULL DEFAULT now()
);
