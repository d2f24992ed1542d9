-- A book, version 1. Changes are for ever; `record` is their fold and can be
-- made again from them at any time (see rebuild in check.rs).

-- What this book is: device, owner, name, role.
CREATE TABLE about (
    key   TEXT PRIMARY KEY,
    value BLOB NOT NULL
) WITHOUT ROWID;

-- Strands and devices by a small number, since they stand in every row.
CREATE TABLE strand (
    no INTEGER PRIMARY KEY,
    id BLOB NOT NULL UNIQUE CHECK (length(id) = 16)
);
CREATE TABLE author (
    no INTEGER PRIMARY KEY,
    id BLOB NOT NULL UNIQUE CHECK (length(id) = 16)
);

-- The append-only log.
CREATE TABLE change (
    strand     INTEGER NOT NULL REFERENCES strand (no),
    author     INTEGER NOT NULL REFERENCES author (no),
    seq        INTEGER NOT NULL CHECK (seq > 0),
    hlc        INTEGER NOT NULL,
    made_ms    INTEGER NOT NULL,
    offset_min INTEGER NOT NULL,
    kind       INTEGER NOT NULL,
    record     BLOB    NOT NULL CHECK (length(record) = 16),
    body       BLOB    NOT NULL,
    PRIMARY KEY (strand, author, seq)
) WITHOUT ROWID;

-- The fold: one row a record, its merged state as bytes. Identities are in
-- order of time, so a student's shots are one range of this table.
CREATE TABLE record (
    strand  INTEGER NOT NULL,
    kind    INTEGER NOT NULL,
    id      BLOB    NOT NULL,
    removed INTEGER NOT NULL,
    state   BLOB    NOT NULL,
    PRIMARY KEY (strand, kind, id)
) WITHOUT ROWID;

-- How far this book holds other devices' changes without a gap, and their
-- latest clock. This device's own stand in `change`.
CREATE TABLE heard (
    strand INTEGER NOT NULL,
    author INTEGER NOT NULL,
    upto   INTEGER NOT NULL,
    hlc    INTEGER NOT NULL,
    PRIMARY KEY (strand, author)
) WITHOUT ROWID;

-- People that this device exchanges files with. A name alone stands for
-- somebody who has not been heard from yet.
CREATE TABLE person (
    no   INTEGER PRIMARY KEY,
    id   BLOB UNIQUE,
    name TEXT NOT NULL,
    role INTEGER
);
CREATE TABLE device (
    author INTEGER PRIMARY KEY REFERENCES author (no),
    person INTEGER NOT NULL REFERENCES person (no)
);

-- Which strands a person may be sent.
CREATE TABLE reader (
    strand INTEGER NOT NULL REFERENCES strand (no),
    person INTEGER NOT NULL REFERENCES person (no),
    PRIMARY KEY (strand, person)
) WITHOUT ROWID;

-- What a device has proven to hold, by a file of its own.
CREATE TABLE acknowledged (
    device INTEGER NOT NULL REFERENCES author (no),
    strand INTEGER NOT NULL REFERENCES strand (no),
    author INTEGER NOT NULL REFERENCES author (no),
    upto   INTEGER NOT NULL,
    PRIMARY KEY (device, strand, author)
) WITHOUT ROWID;
