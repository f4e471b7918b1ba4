-- +goose Up
-- Commands and states are long rows. Without a rowid the tree of a table holds
-- whole rows above its leaves too, so few to a page: it is deep, and a row
-- that is added or changed makes the upper pages be written with it.
CREATE TABLE commands_by_row (
  id BLOB PRIMARY KEY NOT NULL, hash BLOB NOT NULL, kind TEXT NOT NULL, subject TEXT NOT NULL, outcome TEXT NOT NULL,
  code TEXT NOT NULL, answer TEXT NOT NULL, request TEXT NOT NULL, by_person INTEGER NOT NULL, at INTEGER NOT NULL,
  recorded INTEGER NOT NULL, settled INTEGER NOT NULL);
INSERT INTO commands_by_row (id, hash, kind, subject, outcome, code, answer, request, by_person, at, recorded, settled)
SELECT id, hash, kind, subject, outcome, code, answer, request, by_person, at, recorded, settled FROM commands ORDER BY id;
DROP TABLE commands;
ALTER TABLE commands_by_row RENAME TO commands;
CREATE INDEX commands_to_settle ON commands (recorded) WHERE outcome = 'parked' AND settled = 0;

CREATE TABLE states_by_row (
  part TEXT PRIMARY KEY NOT NULL, kind TEXT NOT NULL, job INTEGER NOT NULL, line INTEGER NOT NULL, number INTEGER NOT NULL,
  open INTEGER NOT NULL, spare INTEGER NOT NULL, in_assembly TEXT NOT NULL, label_due INTEGER NOT NULL,
  seq INTEGER NOT NULL, fold INTEGER NOT NULL, cart TEXT NOT NULL DEFAULT '', state TEXT NOT NULL);
INSERT INTO states_by_row (part, kind, job, line, number, open, spare, in_assembly, label_due, seq, fold, cart, state)
SELECT part, kind, job, line, number, open, spare, in_assembly, label_due, seq, fold, cart, state FROM part_states ORDER BY part;
DROP TABLE part_states;
ALTER TABLE states_by_row RENAME TO part_states;
CREATE INDEX part_states_by_job ON part_states (job, line, number);
CREATE INDEX part_states_by_line ON part_states (line, number);
CREATE INDEX part_states_spare ON part_states (line, number) WHERE spare = 1;
CREATE INDEX part_states_open ON part_states (job, line) WHERE open = 1;
CREATE INDEX part_states_label_due ON part_states (job, line) WHERE label_due = 1;
CREATE INDEX part_states_in ON part_states (in_assembly) WHERE in_assembly <> '';
CREATE INDEX part_states_on_cart ON part_states (cart) WHERE cart <> '';
