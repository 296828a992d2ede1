-- +goose Up
-- A session to come.
CREATE TABLE plan (
    id         bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    squad_id   bigint NOT NULL REFERENCES squad,
    title      text NOT NULL CHECK (btrim(title) <> ''),
    player_id  bigint REFERENCES player,
    minutes    int NOT NULL CHECK (minutes > 0),
    work_on    text[] NOT NULL,               -- 'shot=pull': the terms that it is for
    note       text NOT NULL DEFAULT '',
    helmets    boolean NOT NULL,              -- a coach ticked that they are worn
    blocks     jsonb NOT NULL,                -- []plan.Block, with the sequences as they were drawn
    session_id bigint REFERENCES net_session ON DELETE SET NULL, -- that it became
    made_by    bigint NOT NULL REFERENCES account,
    revision   int NOT NULL DEFAULT 1,        -- counts changes, so that a stale page can't overwrite
    created_at timestamptz NOT NULL DEFAULT now(),
    updated_at timestamptz NOT NULL DEFAULT now()
);
CREATE INDEX plan_squad ON plan (squad_id, updated_at DESC);
CREATE UNIQUE INDEX plan_session ON plan (session_id);

-- Who fed a block and how fast, and which block of which plan it was.
ALTER TABLE block ADD COLUMN feeder text;
ALTER TABLE block ADD COLUMN speed_kph double precision CHECK (speed_kph > 0 AND speed_kph <= 200);
ALTER TABLE block ADD COLUMN plan_id bigint REFERENCES plan ON DELETE SET NULL;
ALTER TABLE block ADD COLUMN plan_block int; -- counted from 0
CREATE INDEX block_plan ON block (plan_id);

-- How many balls a coach, or their board, wants nobody to go over. Empty to begin with.
CREATE TABLE load_limit (
    id       bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    squad_id bigint NOT NULL REFERENCES squad,
    doing    text NOT NULL CHECK (doing IN ('facing', 'feeding')),
    person   text NOT NULL,                   -- '' for anybody
    feed     text NOT NULL,                   -- a term key; '' for all together
    days     int NOT NULL CHECK (days BETWEEN 1 AND 28),
    balls    int NOT NULL CHECK (balls > 0),
    words    text NOT NULL                    -- whose limit it is
);
CREATE INDEX load_limit_squad ON load_limit (squad_id, id);
