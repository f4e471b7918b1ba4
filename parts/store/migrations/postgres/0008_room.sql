-- +goose Up
-- A scan writes the row of a part's state again, a little longer each time, and
-- changes no indexed column. Room on its page keeps it there, and then no index
-- is written. Commands with their answers and events stay as they are.
ALTER TABLE part_states SET (fillfactor = 50);
