-- +goose Up
-- A session that began at the net has a number that the phone gave it, so that it can be made twice and is there once;
-- and every session may say where its clock's zero lies on the wall clock.
ALTER TABLE net_session ADD COLUMN uuid uuid UNIQUE;
ALTER TABLE net_session ADD COLUMN zero_at timestamptz;
ALTER TABLE net_session ADD COLUMN zero_by text NOT NULL DEFAULT '' CHECK (zero_by IN ('', 'recording', 'start', 'clap', 'hand'));

-- What was pressed at the net. Rows are added, never changed; undo names the one that it takes back.
CREATE TABLE net_mark (
    uuid        uuid PRIMARY KEY,             -- made by the phone, so that a repeated send is kept once
    session_id  bigint NOT NULL REFERENCES net_session ON DELETE CASCADE,
    account_id  bigint NOT NULL REFERENCES account,
    kind        text NOT NULL CHECK (kind IN ('start', 'block', 'given', 'look', 'good', 'term', 'word', 'clap', 'undo')),
    made_at     timestamptz NOT NULL,         -- by the server's clock, as far as the phone knew it
    doubt_ms    int NOT NULL,                 -- by how much that may be off
    plan_block  int,                          -- of the session's plan, counted from 0
    plan_ball   int,                          -- of that block's sequence, counted from 0
    group_key   text NOT NULL DEFAULT '',
    term_key    text NOT NULL DEFAULT '',
    body        text NOT NULL DEFAULT '',
    undoes      uuid,                         -- may come before what it takes back
    received_at timestamptz NOT NULL DEFAULT now(),
    CHECK ((kind = 'undo') = (undoes IS NOT NULL)),
    CHECK ((kind = 'term') = (term_key <> ''))
);
CREATE INDEX net_mark_session ON net_mark (session_id, made_at);
