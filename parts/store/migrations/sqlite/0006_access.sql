-- +goose Up
-- What people sign on with; who has no row is only a name. password and pin
-- are Argon2id in their text form, '' for none.
CREATE TABLE accounts (
  person INTEGER PRIMARY KEY REFERENCES people (id), owner INTEGER NOT NULL, password TEXT NOT NULL, pin TEXT NOT NULL, badge TEXT NOT NULL);
-- Phones and screens that are in the shop. secret is the SHA-256 of what the
-- cookie holds; times are UTC milliseconds, 0 for never.
CREATE TABLE devices (
  id INTEGER PRIMARY KEY, name TEXT NOT NULL, role TEXT NOT NULL, secret BLOB NOT NULL UNIQUE, person INTEGER NOT NULL,
  owner INTEGER NOT NULL, owner_until INTEGER NOT NULL, made INTEGER NOT NULL, used INTEGER NOT NULL, ended INTEGER NOT NULL);
-- Who has ever signed on to a phone: what it kept without a network may be theirs.
CREATE TABLE sign_ons (device INTEGER NOT NULL REFERENCES devices (id), person INTEGER NOT NULL, PRIMARY KEY (device, person)) WITHOUT ROWID;
-- Codes that let somebody in, by their SHA-256.
CREATE TABLE invites (
  hash BLOB PRIMARY KEY, kind TEXT NOT NULL, name TEXT NOT NULL, made INTEGER NOT NULL, until INTEGER NOT NULL, ended INTEGER NOT NULL) WITHOUT ROWID;
-- Tokens from before there were scopes keep what they could do.
ALTER TABLE tokens ADD COLUMN name TEXT NOT NULL DEFAULT '';
ALTER TABLE tokens ADD COLUMN scopes TEXT NOT NULL DEFAULT 'read,scan,office,gauge';
ALTER TABLE tokens ADD COLUMN used INTEGER NOT NULL DEFAULT 0;
ALTER TABLE tokens ADD COLUMN ended INTEGER NOT NULL DEFAULT 0;
-- What was set up, when and by whom.
CREATE TABLE changes (
  id INTEGER PRIMARY KEY, at INTEGER NOT NULL, person INTEGER NOT NULL, device INTEGER NOT NULL, token TEXT NOT NULL, what TEXT NOT NULL, detail TEXT NOT NULL);
