-- +goose Up
-- A command says what its events are of, '' for its subject alone: they are
-- found by their marks, and a scan writes one index less.
ALTER TABLE commands ADD COLUMN marks TEXT NOT NULL DEFAULT '';
UPDATE commands SET marks = (SELECT string_agg(DISTINCT part, ',') FROM events WHERE command = commands.id)
WHERE EXISTS (SELECT 1 FROM events WHERE command = commands.id AND part <> commands.subject);
DROP INDEX events_by_command;
