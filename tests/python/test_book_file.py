"""A book opened by another program: Python's own SQLite, read-only.

What core/src/book/{open,check}.rs document is computed again here: what kind
of file it is, how many changes it holds, and its digests; and from the
changes alone, the records. Start at
`test_digests_follow_from_the_rows_as_documented`.
"""

import contextlib
import hashlib
import shutil
import sqlite3
import struct
import uuid

import chalk
import pytest

BOOKS = ["ben", "ida", "ruth"]
# The version of books that are written today.
VERSION = 4


@contextlib.contextmanager
def opened(path):
    db = sqlite3.connect(f"{path.as_uri()}?mode=ro", uri=True)
    try:
        yield db
    finally:
        db.close()


@pytest.fixture(params=BOOKS)
def book(request, demo, tmp_path):
    # A copy: reading a book in WAL mode makes files beside it.
    return shutil.copy(demo[0] / f"{request.param}.book", tmp_path / f"{request.param}.book")


def strands(db):
    return db.execute("SELECT no, id FROM strand ORDER BY id").fetchall()


def changes_of(db, no):
    rows = db.execute(
        "SELECT author.id, seq, hlc, made_ms, offset_min, kind, record, body"
        " FROM change JOIN author ON author.no = change.author WHERE strand = ?",
        [no],
    )
    return [chalk.Change(*row) for row in rows]


def test_a_book_is_a_sound_sqlite_file_that_says_what_it_is(book):
    with opened(book) as db:
        ask = lambda pragma: db.execute(f"PRAGMA {pragma}").fetchall()
        assert ask("integrity_check") == [("ok",)]
        assert ask("foreign_key_check") == []
        assert ask("application_id") == [(int.from_bytes(b"CHLK", "big"),)]
        assert ask("user_version") == [(VERSION,)]
        assert ask("journal_mode") == [("wal",)]
        assert ask("encoding") == [("UTF-8",)]
    # The first bytes say so too: the file format's offsets 60 and 68.
    assert struct.unpack_from(">I4xI", book.read_bytes(), 60) == (VERSION, int.from_bytes(b"CHLK", "big"))


def test_a_book_holds_as_many_changes_as_it_says(book, chalkface):
    with opened(book) as db:
        [count] = db.execute("SELECT count(*) FROM change").fetchone()
    assert count == chalkface.json("book", "check", "--book", book)["changes"] > 100


def test_digests_follow_from_the_rows_as_documented(book, chalkface):
    check = chalkface.json("book", "check", "--book", book)
    whole, found = hashlib.sha256(), []
    with opened(book) as db:
        for no, strand in strands(db):
            one = hashlib.sha256()
            rows = db.execute("SELECT kind, id, state FROM record WHERE strand = ? ORDER BY kind, id", [no])
            for kind, record, state in rows:
                one.update(struct.pack(">H16sQ", kind, record, len(state)) + state)
            whole.update(strand + one.digest())
            found.append(one.hexdigest())
    assert found == [strand["digest"] for strand in check["strands"]]
    assert whole.hexdigest() == check["digest"]


def test_every_record_is_the_fold_of_its_changes_to_the_byte(book):
    with opened(book) as db:
        for no, _ in strands(db):
            folded = chalk.fold(changes_of(db, no))
            states = {key: chalk.state_bytes(*state) for key, state in folded.items()}
            rows = db.execute("SELECT kind, id, state FROM record WHERE strand = ?", [no])
            assert {(kind, record): state for kind, record, state in rows} == states
            assert len(states) > 100


def test_identities_are_uuids_of_their_versions_and_the_first_of_a_strand_is_its_student(book):
    with opened(book) as db:
        for no, strand in strands(db):
            [first] = db.execute(
                "SELECT id FROM record WHERE strand = ? AND kind = ?", [no, chalk.STUDENT]
            ).fetchall()
            assert first == (strand,)
        rows = db.execute(
            "SELECT kind, id FROM record UNION SELECT 0, id FROM author UNION SELECT 0, id FROM strand"
        ).fetchall()
        for kind, record in rows:
            # Who belongs to a strand is a record made from their root: version 8, RFC 9562.
            version = 8 if kind == chalk.MEMBER else 7
            identity = uuid.UUID(bytes=record)
            assert (identity.version, identity.variant) == (version, uuid.RFC_4122)
        assert any(kind == chalk.MEMBER for kind, _ in rows)


def test_a_change_spoilt_by_another_program_is_found_by_the_check(book, chalkface):
    db = sqlite3.connect(book)
    with contextlib.closing(db), db:
        spoilt = db.execute(
            "UPDATE change SET body = x'81a10a0c' WHERE kind = 5 AND record ="
            " (SELECT id FROM record WHERE kind = 5 LIMIT 1)"
        )
        assert spoilt.rowcount >= 1
    done = chalkface.run("book", "check", "--json", "--book", book)
    assert done.returncode == 1 and '"ok": false' in done.stdout and "rebuild" in done.stdout
