-- +goose Up
-- Which way the grain of a line's parts runs: lengthwise, crosswise or none;
-- empty when the list does not say.
ALTER TABLE lines ADD COLUMN grain TEXT NOT NULL DEFAULT '';
