-- +goose Up
-- Mixes as the shop wrote them; version counts the changes, content is JSON.
CREATE TABLE mixes (key TEXT PRIMARY KEY, version INTEGER NOT NULL, content TEXT NOT NULL) WITHOUT ROWID;
-- What finish is dosed with; content is JSON.
CREATE TABLE measures (key TEXT PRIMARY KEY, content TEXT NOT NULL) WITHOUT ROWID;
-- Batches. Volumes are sixteenths of a nanolitre, times UTC milliseconds.
-- adjusted is by how much a person corrected what is left; closed is 0 while
-- it is in use; content is JSON of what was so when it was mixed.
CREATE TABLE batches (
  id INTEGER PRIMARY KEY AUTOINCREMENT, mix TEXT NOT NULL REFERENCES mixes (key), mixed_at INTEGER NOT NULL,
  by_person INTEGER NOT NULL, volume INTEGER NOT NULL, jar INTEGER NOT NULL, adjusted INTEGER NOT NULL,
  closed INTEGER NOT NULL, content TEXT NOT NULL);
CREATE INDEX batches_of_mix ON batches (mix, closed);
-- Sample boards; content is JSON with the approval.
CREATE TABLE samples (id INTEGER PRIMARY KEY AUTOINCREMENT, mix TEXT NOT NULL REFERENCES mixes (key), content TEXT NOT NULL);
-- Cans of ingredients on the shelf; content is JSON.
CREATE TABLE cans (id INTEGER PRIMARY KEY AUTOINCREMENT, content TEXT NOT NULL);
-- Lines of a job whose pieces will stand side by side; lines is JSON.
CREATE TABLE colour_groups (
  id INTEGER PRIMARY KEY AUTOINCREMENT, job INTEGER NOT NULL REFERENCES jobs (id), name TEXT NOT NULL, lines TEXT NOT NULL,
  UNIQUE (job, name));
-- The batch that a coat in the log took from, and how much, for adding up.
-- Both are in its detail too.
ALTER TABLE events ADD COLUMN batch INTEGER NOT NULL DEFAULT 0;
ALTER TABLE events ADD COLUMN used INTEGER NOT NULL DEFAULT 0;
CREATE INDEX events_of_batch ON events (batch) WHERE batch <> 0;
