-- +goose Up
-- On SQLite two tables get another form here; PostgreSQL has it from the start.
SELECT 1;
