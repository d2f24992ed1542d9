-- Version 2: what was computed from records and can be computed again, so that
-- it need not be. No part of digest, rebuild or exchange; losing a row, or the
-- whole table, costs time only (see kept.rs).
CREATE TABLE IF NOT EXISTS kept (
    strand INTEGER NOT NULL,
    kind   INTEGER NOT NULL,
    id     BLOB    NOT NULL CHECK (length(id) = 16),
    print  BLOB    NOT NULL CHECK (length(print) = 16),
    value  BLOB    NOT NULL,
    PRIMARY KEY (strand, kind, id)
) WITHOUT ROWID;
