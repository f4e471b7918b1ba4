-- +goose Up
-- Room for states that grow is a matter of PostgreSQL only.
SELECT 1;
