-- +goose Up
-- All that a recording's split thought of, so that another cut needs no new analysis; how its clock was found; and from
-- which confidence the session's balls are proposed.
ALTER TABLE recording
    ADD COLUMN cut double precision NOT NULL DEFAULT 0.5, -- that its split proposes
    ADD COLUMN candidates jsonb,                          -- []split.Ball on the recording's own clock; null until split
    ADD COLUMN breaks jsonb NOT NULL DEFAULT '[]',        -- []media.Span on the recording's own clock
    ADD COLUMN notes text[] NOT NULL DEFAULT '{}',        -- what its split could not use and why
    ADD COLUMN metres double precision CHECK (metres BETWEEN 0 AND 200), -- from the camera to the batter
    ADD COLUMN clock_by text NOT NULL DEFAULT 'guess' CHECK (clock_by IN ('guess', 'sound', 'person')),
    ADD COLUMN clock_sure double precision,               -- when by sound: how sure, 0 to 1
    ADD COLUMN clock_note text NOT NULL DEFAULT '';       -- why its clock could not be found by sound

ALTER TABLE net_session ADD COLUMN cut double precision CHECK (cut BETWEEN 0 AND 1); -- null: each recording's own

ALTER TABLE delivery ADD COLUMN struck double precision; -- the split's guess whether the bat was hit, 0 to 1

-- How recording b's clock lies on a's by their sound alone (align.Match), before any sound's travel is taken off.
CREATE TABLE recording_match (
    a          bigint NOT NULL REFERENCES recording ON DELETE CASCADE,
    b          bigint NOT NULL REFERENCES recording ON DELETE CASCADE,
    offset_us  bigint NOT NULL,
    rate_ppm   double precision NOT NULL,
    at_us      bigint NOT NULL,               -- middle of the overlap, on b's clock
    confidence double precision NOT NULL,
    why        text NOT NULL,
    PRIMARY KEY (a, b),
    CHECK (a < b)
);
CREATE INDEX recording_match_b ON recording_match (b);

-- What the last split from a camera position taught (split.Profile), for the next one.
CREATE TABLE camera_profile (
    squad_id bigint NOT NULL REFERENCES squad,
    place    text NOT NULL,
    camera   text NOT NULL,
    profile  jsonb NOT NULL,
    PRIMARY KEY (squad_id, place, camera)
);
