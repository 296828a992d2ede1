-- +goose Up
-- Whether a block is a challenge: its balls count, effective or not, on a card.
ALTER TABLE block ADD COLUMN challenge boolean NOT NULL DEFAULT false;

-- What the coach wants of a player, ball by ball (lookback.Rules).
CREATE TABLE player_rules (
    player_id bigint PRIMARY KEY REFERENCES player,
    rules     jsonb NOT NULL,
    revision  int NOT NULL DEFAULT 1,        -- counts changes, so that a stale page can't overwrite
    made_by   bigint NOT NULL REFERENCES account,
    made_at   timestamptz NOT NULL DEFAULT now()
);

-- How a ball, or a block as a whole, felt to who batted. A ledger as that of observations: rows are added, never
-- changed; the latest of a ball or block holds.
CREATE TABLE felt (
    id          bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    uuid        uuid NOT NULL UNIQUE,        -- made by the page, so that a repeated save is kept once
    delivery_id bigint REFERENCES delivery ON DELETE CASCADE,
    block_id    bigint REFERENCES block ON DELETE CASCADE,
    account_id  bigint NOT NULL REFERENCES account,
    words       text[] NOT NULL,             -- keys of lookback.FeltWords; none: taken back
    said_at     timestamptz NOT NULL DEFAULT now(),
    CHECK ((delivery_id IS NULL) <> (block_id IS NULL))
);
CREATE INDEX felt_delivery ON felt (delivery_id, id DESC) WHERE delivery_id IS NOT NULL;
CREATE INDEX felt_block ON felt (block_id, id DESC) WHERE block_id IS NOT NULL;
