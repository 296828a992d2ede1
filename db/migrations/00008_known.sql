-- +goose Up
-- What is known of a ball, to be searched: its codes, and of what nobody spoke of (bowling, feed, bat) what its block
-- gives. Derived (sqlSettleKnown).
ALTER TABLE delivery ADD COLUMN known text[] NOT NULL DEFAULT '{}';

UPDATE delivery d SET known = d.codes || ARRAY(
    SELECT given.group_key || '=' || given.term_key
    FROM (VALUES ('bat', b.bat), ('bowling', b.bowling), ('feed', b.feed)) AS given (group_key, term_key)
    WHERE given.term_key IS NOT NULL
      AND NOT EXISTS (SELECT FROM unnest(d.codes) AS code WHERE starts_with(code, given.group_key || '='))
) FROM delivery self LEFT JOIN block b ON b.id = self.block_id
WHERE self.id = d.id;
