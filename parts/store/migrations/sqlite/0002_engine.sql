-- +goose Up
-- Test pieces of a line, how many parts one of its blanks becomes, its pattern
-- of holes and its hand.
ALTER TABLE lines ADD COLUMN tests INTEGER NOT NULL DEFAULT 0;
ALTER TABLE lines ADD COLUMN per_blank INTEGER NOT NULL DEFAULT 0;
ALTER TABLE lines ADD COLUMN pattern TEXT NOT NULL DEFAULT '';
ALTER TABLE lines ADD COLUMN hand TEXT NOT NULL DEFAULT '';
-- The cart a piece lies on.
ALTER TABLE part_states ADD COLUMN cart TEXT NOT NULL DEFAULT '';
CREATE INDEX part_states_on_cart ON part_states (cart) WHERE cart <> '';
-- What goes wrong and how it is repaired; content is JSON.
CREATE TABLE defects (key TEXT PRIMARY KEY, place INTEGER NOT NULL, content TEXT NOT NULL) WITHOUT ROWID;
-- Patterns of holes; content is JSON.
CREATE TABLE patterns (key TEXT PRIMARY KEY, content TEXT NOT NULL) WITHOUT ROWID;
-- Formats of paper with labels: the shop's own, and how far its printer is off
-- on each; content is JSON.
CREATE TABLE formats (key TEXT PRIMARY KEY, content TEXT NOT NULL) WITHOUT ROWID;
-- Pictures of defects, by the SHA-256 of their bytes in hexadecimal.
CREATE TABLE photos (name TEXT PRIMARY KEY, type TEXT NOT NULL, data BLOB NOT NULL, recorded INTEGER NOT NULL) WITHOUT ROWID;
