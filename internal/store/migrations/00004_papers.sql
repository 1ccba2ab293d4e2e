-- Entries of two more kinds, cheques and settlement sheets. They are records like the others, in the tables that are there: the
-- index on what a record is about finds a paper again. The number rises so that a program that does not know the kinds
-- refuses the file instead of passing them over.

-- +goose Up

PRAGMA user_version = 4;
