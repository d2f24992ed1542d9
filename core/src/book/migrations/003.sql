-- Version 3: keys and signatures.

-- Who somebody is, by their keys. One row a person: the public key
-- of their root, what was said of their devices (see sync/identity.rs), and
-- whether their card was taken in here or they are only known through others.
-- The owner's row has no person. Secret keys are never in a book.
CREATE TABLE identity (
    root       BLOB    PRIMARY KEY CHECK (length(root) = 32),
    person     INTEGER UNIQUE REFERENCES person (no),
    statements BLOB    NOT NULL,
    met        INTEGER NOT NULL
) WITHOUT ROWID;

-- Signed runs of changes (see sync/run.rs), and the chain at the end of each.
CREATE TABLE run (
    strand INTEGER NOT NULL REFERENCES strand (no),
    author INTEGER NOT NULL REFERENCES author (no),
    first  INTEGER NOT NULL,
    count  INTEGER NOT NULL,
    after  BLOB    NOT NULL CHECK (length(after) = 32),
    run    BLOB    NOT NULL,
    PRIMARY KEY (strand, author, first)
) WITHOUT ROWID;

-- Who says who belongs to a strand: the root of its owner, and of who made it
-- (see book/members.rs).
ALTER TABLE strand ADD COLUMN owner BLOB;
ALTER TABLE strand ADD COLUMN founder BLOB;
