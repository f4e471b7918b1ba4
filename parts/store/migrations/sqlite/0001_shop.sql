-- +goose Up
-- What the shop says once: zone, units, address.
CREATE TABLE settings (key TEXT PRIMARY KEY, value TEXT NOT NULL) WITHOUT ROWID;
-- Counters that never go back, such as the serial of the last mark.
CREATE TABLE counters (name TEXT PRIMARY KEY, value INTEGER NOT NULL) WITHOUT ROWID;
-- The log knows people by id; a name may change or be erased.
CREATE TABLE people (id INTEGER PRIMARY KEY, name TEXT NOT NULL UNIQUE);
-- API tokens, by the SHA-256 of their text.
CREATE TABLE tokens (hash BLOB PRIMARY KEY, created INTEGER NOT NULL) WITHOUT ROWID;
CREATE TABLE stations (key TEXT PRIMARY KEY, name TEXT NOT NULL, caution TEXT NOT NULL, place INTEGER NOT NULL) WITHOUT ROWID;
-- Immutable versions of lists of steps; steps is JSON.
CREATE TABLE routings (
  id INTEGER PRIMARY KEY, key TEXT NOT NULL, version INTEGER NOT NULL, name TEXT NOT NULL,
  for_kind TEXT NOT NULL, steps TEXT NOT NULL, UNIQUE (key, version));
CREATE TABLE jobs (id INTEGER PRIMARY KEY, code TEXT NOT NULL UNIQUE, name TEXT NOT NULL, created INTEGER NOT NULL);
-- Lines of cut lists, and the assemblies they go into. Sizes are whole
-- eightieths of a micrometre; 0 is not given.
CREATE TABLE lines (
  id INTEGER PRIMARY KEY, job INTEGER NOT NULL REFERENCES jobs (id), number INTEGER NOT NULL,
  kind TEXT NOT NULL, name TEXT NOT NULL, quantity INTEGER NOT NULL, spares INTEGER NOT NULL,
  length INTEGER NOT NULL, length_to_suit INTEGER NOT NULL, width INTEGER NOT NULL, width_to_suit INTEGER NOT NULL,
  thick INTEGER NOT NULL, thick_to_suit INTEGER NOT NULL, material TEXT NOT NULL, notes TEXT NOT NULL,
  into_line INTEGER NOT NULL, each INTEGER NOT NULL, steps INTEGER NOT NULL, ticket TEXT NOT NULL,
  UNIQUE (job, number));
-- What people asked for, with the answer they got. A repeat is answered from here.
CREATE TABLE commands (
  id BLOB PRIMARY KEY, hash BLOB NOT NULL, kind TEXT NOT NULL, subject TEXT NOT NULL, outcome TEXT NOT NULL,
  code TEXT NOT NULL, answer TEXT NOT NULL, request TEXT NOT NULL, by_person INTEGER NOT NULL, at INTEGER NOT NULL,
  recorded INTEGER NOT NULL, settled INTEGER NOT NULL) WITHOUT ROWID;
CREATE INDEX commands_to_settle ON commands (recorded) WHERE outcome = 'parked' AND settled = 0;
-- The log. Times are UTC milliseconds; detail is JSON, '' for none.
CREATE TABLE events (
  id INTEGER PRIMARY KEY, part TEXT NOT NULL, seq INTEGER NOT NULL, kind TEXT NOT NULL, command BLOB NOT NULL,
  station TEXT NOT NULL, by_person INTEGER NOT NULL, at INTEGER NOT NULL, recorded INTEGER NOT NULL,
  step INTEGER NOT NULL, detail TEXT NOT NULL, UNIQUE (part, seq));
CREATE INDEX events_by_command ON events (command);
-- What the log adds up to, a row a mark: a cache. The columns beside state
-- only serve queries.
CREATE TABLE part_states (
  part TEXT PRIMARY KEY, kind TEXT NOT NULL, job INTEGER NOT NULL, line INTEGER NOT NULL, number INTEGER NOT NULL,
  open INTEGER NOT NULL, spare INTEGER NOT NULL, in_assembly TEXT NOT NULL, label_due INTEGER NOT NULL,
  seq INTEGER NOT NULL, fold INTEGER NOT NULL, state TEXT NOT NULL) WITHOUT ROWID;
CREATE INDEX part_states_by_job ON part_states (job, line, number);
CREATE INDEX part_states_by_line ON part_states (line, number);
CREATE INDEX part_states_spare ON part_states (line, number) WHERE spare = 1;
CREATE INDEX part_states_open ON part_states (job, line) WHERE open = 1;
CREATE INDEX part_states_label_due ON part_states (job, line) WHERE label_due = 1;
CREATE INDEX part_states_in ON part_states (in_assembly) WHERE in_assembly <> '';
-- Print orders: everything a PDF is drawn from.
CREATE TABLE print_orders (
  id INTEGER PRIMARY KEY, job INTEGER NOT NULL, what TEXT NOT NULL, hash BLOB NOT NULL, content TEXT NOT NULL,
  marks TEXT NOT NULL, created INTEGER NOT NULL, spoiled INTEGER NOT NULL);
CREATE INDEX print_orders_by_hash ON print_orders (hash);

-- +goose StatementBegin
CREATE TRIGGER events_are_never_changed BEFORE UPDATE ON events
BEGIN SELECT RAISE(ABORT, 'events are never changed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER events_are_never_deleted BEFORE DELETE ON events
BEGIN SELECT RAISE(ABORT, 'events are never deleted'); END;
-- +goose StatementEnd
