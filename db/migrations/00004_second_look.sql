-- +goose Up
-- The agreement (Cohen's kappa) under which a term's counts are marked as not to be trusted: the coach's own choice.
ALTER TABLE squad ADD COLUMN trust_floor double precision NOT NULL DEFAULT 0.6 CHECK (trust_floor BETWEEN 0 AND 1);

-- A sample of a session's coded balls that somebody codes once more without seeing what was said the first time.
CREATE TABLE second_look (
    id          bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    session_id  bigint NOT NULL REFERENCES net_session ON DELETE CASCADE,
    first_id    bigint NOT NULL REFERENCES account,  -- whose coding is looked at again
    second_id   bigint NOT NULL REFERENCES account,  -- who looks again: the same account after a gap, or another
    made_by     bigint NOT NULL REFERENCES account,
    groups      text[] NOT NULL,
    spread      text NOT NULL DEFAULT '',            -- the group by whose terms the sample was spread; '' for none
    seed        bigint NOT NULL,                     -- of the draw: the same one draws the same balls
    first_coded timestamptz NOT NULL,                -- when the first coder last spoke of one of them
    created_at  timestamptz NOT NULL DEFAULT now(),
    finished_at timestamptz
);
CREATE INDEX second_look_session ON second_look (session_id);

-- Its balls in the order to be looked at. Codes are as delivery's: 'shot=pull'. The first coder's are kept as they were
-- when the sample was drawn, so that nobody can mend them to fit; the second's never enter the ledger, where those of the
-- same account would supersede the first.
CREATE TABLE second_look_ball (
    look_id      bigint NOT NULL REFERENCES second_look ON DELETE CASCADE,
    position     int NOT NULL,
    delivery_id  bigint NOT NULL REFERENCES delivery ON DELETE CASCADE,
    first_codes  text[] NOT NULL,
    second_codes text[] NOT NULL DEFAULT '{}',
    done_at      timestamptz,
    PRIMARY KEY (look_id, delivery_id)
);
CREATE INDEX second_look_ball_delivery ON second_look_ball (delivery_id);
