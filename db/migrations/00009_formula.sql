-- +goose Up
-- Which state of the formulas a reading's values were computed by (measure.Formula): those of an earlier one are computed
-- anew from their points. What was kept before this was noted is of the first.
ALTER TABLE reading ADD COLUMN formula integer NOT NULL DEFAULT 1;
ALTER TABLE reading ALTER COLUMN formula DROP DEFAULT;
CREATE INDEX reading_formula ON reading (formula) WHERE holds;
