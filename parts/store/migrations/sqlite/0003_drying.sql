-- +goose Up
-- Readings of the air: of the whole shop, or of a station or a cart by its
-- key or mark. at and recorded are UTC milliseconds. Of two of one place and
-- time the later one counts.
CREATE TABLE readings (
  id INTEGER PRIMARY KEY, place TEXT NOT NULL DEFAULT '', at INTEGER NOT NULL, celsius REAL NOT NULL, humidity REAL NOT NULL,
  source TEXT NOT NULL, who INTEGER NOT NULL, recorded INTEGER NOT NULL);
CREATE INDEX readings_by_time ON readings (at);
-- Immutable versions of glues and finishes, as their data sheets say; body is JSON.
CREATE TABLE products (
  id INTEGER PRIMARY KEY, key TEXT NOT NULL, version INTEGER NOT NULL, body TEXT NOT NULL, UNIQUE (key, version));
