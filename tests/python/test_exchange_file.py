"""Exchange files seen by a reader that shares no code with the product.

chalk.py reads and writes them from their documentation alone. What the demo
wrote is read here and compared with what the demo says and with the CSV logs;
what is damaged or out of order has to be refused by the product. Start at
`test_every_file_of_the_demo_is_whole_and_holds_the_changes_it_says`.
"""

import csv
import dataclasses
import datetime
import random
import shutil
import struct
import zlib
from decimal import Decimal

import cbor2
import chalk
import pytest
from conftest import ROOT

WHO = [("ben", "ben-harlow", "Ben Harlow"), ("ida", "ida-kranz", "Ida Kranz")]
# Field numbers of a shot, from `to_fields` in core/src/model/shot.rs.
MARK = {"toe_mm": 10, "high_mm": 11, "sigma_mm": 12}
AS_WRITTEN = {"launch_deg": 32, "start_deg": 33, "backspin_rpm": 34, "carry_m": 36, "side_m": 37}
AS_WRITTEN |= {"head_speed_mps": 30, "ball_speed_mps": 31}
CONVERTED = {"head_speed_mph": (30, 0.44704), "ball_speed_mph": (31, 0.44704)}
CONVERTED |= {"carry_yd": (36, 0.9144), "side_yd": (37, 0.9144)}
READ = {"photo": 1, "tap": 2, "felt": 3}
FELT_SIGMA = 10.0  # assumed for a felt strike: MarkRead::assumed_sigma_mm


def exchanges(told):
    return [step for step in told["steps"] if step["step"] == "exchange"]


def read(path):
    return chalk.read(path.read_bytes())


def strands_of(folder, short):
    """All changes about one student, over all files of the demo."""
    seen = {}
    for path in sorted(folder.glob(f"{short}-*.chalk")):
        for strand in read(path).strands:
            for change in strand.changes:
                seen[change.device, change.seq] = change
    return list(seen.values())


def test_every_file_of_the_demo_is_whole_and_holds_the_changes_it_says(demo):
    folder, told = demo
    steps = exchanges(told)
    assert len(steps) == len(list(folder.glob("*.chalk"))) == 10
    for step in steps:
        path = folder / step["file"].rsplit("/")[-1]
        assert path.stat().st_size == step["bytes"]
        file = read(path)
        assert file.to_name == step["to"]
        assert [letters for letters, _, _ in file.chunks][:2] == [b"HEAD", b"STRD"]
        assert sum(len(strand.changes) for strand in file.strands) == step["changes"] > 0


def test_headers_say_who_sends_to_whom_and_when(demo):
    folder, _ = demo
    first, back = read(folder / "ben-1-to-ruth.chalk"), read(folder / "ben-2-from-ruth.chalk")
    assert (first.name, first.role, first.to_name, first.to_person) == ("Ben Harlow", 1, "Ruth Ferrand", None)
    assert (back.name, back.role, back.to_name) == ("Ruth Ferrand", 2, "Ben Harlow")
    # She answers the person and the device that she heard from.
    assert back.to_person == first.person and first.device in back.strands[0].holds
    made = datetime.datetime.fromtimestamp(first.made_ms / 1000, datetime.timezone.utc)
    assert made.date() == datetime.date(2026, 4, 12) and first.offset_min == 120


def test_sequence_numbers_run_without_a_gap_up_to_what_the_sender_holds(demo):
    folder, _ = demo
    for short, _, _ in WHO:
        changes = strands_of(folder, short)
        last = read(folder / f"{short}-5-to-ruth.chalk").strands[0]
        devices = {change.device for change in changes}
        assert len(devices) == 2 and devices == set(last.holds)
        for device in devices:
            seqs = sorted(change.seq for change in changes if change.device == device)
            assert seqs == list(range(1, last.holds[device] + 1))


def test_every_body_is_in_its_one_shortest_form(demo):
    folder, _ = demo
    count = 0
    for short, _, _ in WHO:
        for change in strands_of(folder, short):
            assert cbor2.dumps(change.parts) == change.body
            assert list(change.fields) == sorted(change.fields)
            assert all(set(numbers) <= set(change.fields) for _, _, numbers in change.replaces)
            count += 1
    assert count > 300


def test_folding_the_changes_anew_gives_the_digest_in_the_file_and_the_conflict_told(demo, chalkface):
    folder, told = demo
    for short, _, name in WHO:
        folded = chalk.fold(strands_of(folder, short))
        digest = chalk.digest(folded)
        assert digest == read(folder / f"{short}-5-to-ruth.chalk").strands[0].digest
        says = {strand["student"]: strand["digest"] for strand in told["strands"]}
        assert digest.hex().startswith(says[name])
        check = chalkface.json("book", "check", "--book", folder / f"{short}.book")
        assert {"student": name, "digest": digest.hex()} in check["strands"]
        # Both sides set the repetitions (field 4) of one planned drill (kind 9).
        standing = [
            [fields[4] for _, _, fields in writes if 4 in fields]
            for (kind, _), (writes, _) in folded.items()
            if kind == 9
        ]
        assert sorted(values for values in standing if len(values) > 1) == [[12, 6]]


def number(cell):
    return Decimal(cell.replace(",", "."))


def rows_of(folder):
    for path in sorted((ROOT / "desk/demo" / folder).glob("*.csv")):
        text = path.read_text()
        yield from csv.DictReader(text.splitlines(), delimiter=";" if ";" in text.splitlines()[0] else ",")


@pytest.mark.parametrize(("short", "folder", "name"), WHO, ids=lambda value: value)
def test_shots_are_the_rows_of_the_logs_to_the_digit(demo, short, folder, name):
    records = {key: chalk.current(writes) for key, (writes, _) in chalk.fold(strands_of(demo[0], short)).items()}
    students = [fields for (kind, _), fields in records.items() if kind == chalk.STUDENT]
    assert [fields[1] for fields in students] == [name]
    sessions = {record: fields for (kind, record), fields in records.items() if kind == chalk.SESSION}
    # Identities are in the order in which rows were logged.
    shots = [fields for (kind, _), fields in sorted(records.items()) if kind == chalk.SHOT]
    rows = list(rows_of(folder))
    assert len(shots) == len(rows) > 100
    compared = 0
    for shot, row in zip(shots, rows, strict=True):
        session = sessions[shot[1]]
        day = datetime.date(1970, 1, 1) + datetime.timedelta(days=session[2])
        assert (session[1], day.isoformat()) == (row["session"], row["day"])
        assert shot[4] is (row["finish_held"] == "yes")
        for column, no in (MARK | AS_WRITTEN).items():
            cell = row.get(column) or ""
            if column == "sigma_mm" and not cell and row["toe_mm"]:
                assert row["read"] == "felt" and shot[no] == FELT_SIGMA
            elif column in row or no not in {no for no, _ in CONVERTED.values()}:
                # A decimal fraction compares exactly, digit by digit.
                assert shot.get(no) == (number(cell) if cell else None), (column, row)
                compared += bool(cell)
        for column, (no, factor) in CONVERTED.items():
            if cell := row.get(column):
                assert float(shot[no]) == float(number(cell)) * factor, (column, row)
                compared += 1
        assert shot.get(13) == (READ[row["read"]] if row["read"] else None)
    assert compared > 500


@pytest.fixture
def coach(chalkface, demo, tmp_path):
    """A coach's book that was sent nothing yet, and files to try on it."""
    chalkface.json("book", "new", "--name", "Ruth Ferrand", "--role", "coach", "--book", tmp_path / "new.book")
    return tmp_path / "new.book"


def written(book, data):
    path = book.parent / "tried.chalk"
    path.write_bytes(data)
    return path


def receive(chalkface, book, data):
    return chalkface.json("receive", written(book, data), "--book", book)


def refused(chalkface, book, data):
    before = chalkface.json("book", "check", "--book", book)
    said = chalkface.refused("receive", written(book, data), "--book", book)
    assert chalkface.json("book", "check", "--book", book) == before
    return said


def first_file(demo):
    return (demo[0] / "ben-1-to-ruth.chalk").read_bytes()


def test_a_file_written_by_another_writer_is_taken_in(demo, coach, chalkface):
    file = chalk.read(first_file(demo))
    [strand] = file.strands
    parts = [(b"HEAD", chalk.head(file)), (b"STRD", chalk.strand_head(strand))]
    # Other cuts than the product would make, and another compressor.
    for at in range(0, len(strand.changes), 7):
        parts.append((b"BLCK", chalk.close_block(strand.changes[at : at + 7])))
    receipt = receive(chalkface, coach, chalk.write(parts))
    assert (receipt["taken"], receipt["refused"]) == (len(strand.changes), [])
    assert receipt["strands"][0]["agrees"] is True
    check = chalkface.json("book", "check", "--book", coach)
    assert check["strands"] == [{"student": "Ben Harlow", "digest": strand.digest.hex()}]


def test_headers_are_written_to_the_byte_as_documented(demo):
    for path in demo[0].glob("*.chalk"):
        file = read(path)
        assert file.chunks[0][1] == chalk.head(file)
        assert file.chunks[1][1] == chalk.strand_head(file.strands[0])
        # The same parts give the same file: nothing in it is undocumented.
        parts = [(letters, payload) for letters, payload, _ in file.chunks[:-1]]
        assert chalk.write(parts) == path.read_bytes()


def test_a_flipped_bit_in_any_byte_is_noticed_and_the_product_refuses_a_hundred_of_them(demo, coach, chalkface):
    whole = first_file(demo)
    dice = random.Random(20260601)
    for at in range(len(whole)):
        flipped = bytearray(whole)
        flipped[at] ^= 1 << dice.randrange(8)
        with pytest.raises((chalk.Bad, struct.error)):
            chalk.chunks(bytes(flipped))
    # All of the frame's first bytes, then anywhere.
    places = [*range(24), *(dice.randrange(len(whole)) for _ in range(80))]
    for at in places:
        flipped = bytearray(whole)
        flipped[at] ^= 1 << dice.randrange(8)
        chalkface.refused("receive", written(coach, flipped), "--book", coach)
    assert chalkface.json("book", "check", "--book", coach)["changes"] == 0
    assert receive(chalkface, coach, whole)["taken"] == 45


def test_chunks_in_another_order_lost_or_twice_are_refused(demo, coach, chalkface):
    whole = first_file(demo)
    starts = [start for _, _, start in chalk.chunks(whole)] + [len(whole)]
    frame, pieces = whole[:12], [whole[a:b] for a, b in zip(starts, starts[1:])]
    assert len(pieces) == 4  # HEAD, STRD, BLCK, DONE
    for order in [(0, 2, 1, 3), (1, 0, 2, 3), (0, 1, 3), (0, 2, 3), (0, 1, 2, 2, 3), (0, 1, 3, 2), (0, 1, 2)]:
        said = refused(chalkface, coach, frame + b"".join(pieces[n] for n in order))
        assert "damaged" in said or "cut short" in said, (order, said)


def test_a_part_of_another_files_whole_chunk_is_refused(demo, coach, chalkface):
    ours, theirs = first_file(demo), (demo[0] / "ida-1-to-ruth.chalk").read_bytes()
    a, b = ([start for _, _, start in chalk.chunks(data)] for data in (ours, theirs))
    mixed = ours[: a[2]] + theirs[b[2] : b[3]] + ours[a[3] :]
    assert "damaged" in refused(chalkface, coach, mixed)


def test_parts_of_a_newer_version_are_skipped_or_refused_by_their_first_letter(demo, coach, chalkface):
    parts = [(letters, payload) for letters, payload, _ in chalk.chunks(first_file(demo))[:-1]]
    said = refused(chalkface, coach, chalk.write([*parts, (b"NEWS", b"more")]))
    assert "NEWS" in said
    said = refused(chalkface, coach, chalk.write(parts, versions=(2, 2)))
    assert "version 2" in said
    # Written by a newer version, readable by this one: items at the ends of
    # arrays and chunks with a small first letter are passed over.
    head, strand = (cbor2.dumps([*cbor2.loads(payload), "more"]) for _, payload in parts[:2])
    newer = [(b"HEAD", head), (b"news", b"more"), (b"STRD", strand), *parts[2:]]
    assert receive(chalkface, coach, chalk.write(newer, versions=(7, 1)))["taken"] == 45


def test_a_whole_frame_around_a_broken_block_is_refused(demo, coach, chalkface):
    parts = [(letters, payload) for letters, payload, _ in chalk.chunks(first_file(demo))[:-1]]
    block = parts[2][1]
    changes = chalk.open_block(block)
    (length,) = struct.unpack_from("<I", block)
    opened = zlib.decompress(block[4:], -15)
    far = dataclasses.replace(changes[0], clock=(1 << 46) << 16)
    broken = {
        "says more than it opens to": struct.pack("<I", length + 1) + block[4:],
        "says less than it opens to": struct.pack("<I", length - 1) + block[4:],
        "is not compressed": struct.pack("<I", length) + opened,
        "ends early": block[:-3],
        "has a clock beyond all time": chalk.close_block([far]),
        "counts from 0": chalk.close_block([dataclasses.replace(changes[0], seq=0)]),
        "is empty": b"",
    }
    for what, payload in broken.items():
        said = refused(chalkface, coach, chalk.write([*parts[:2], (b"BLCK", payload)]))
        assert "damaged" in said, (what, said)


def test_a_change_that_can_not_be_read_is_kept_out_and_told_and_the_rest_goes_in(demo, coach, chalkface):
    parts = [(letters, payload) for letters, payload, _ in chalk.chunks(first_file(demo))[:-1]]
    changes = chalk.open_block(parts[2][1])
    changes[10] = dataclasses.replace(changes[10], body=b"\x81\x07")
    receipt = receive(chalkface, coach, chalk.write([*parts[:2], (b"BLCK", chalk.close_block(changes))]))
    assert receipt["taken"] == 44
    assert [refusal["changes"] for refusal in receipt["refused"]] == [1]
    # The whole file mends it.
    again = receive(chalkface, coach, first_file(demo))
    assert (again["taken"], again["already_had"], again["strands"][0]["agrees"]) == (1, 44, True)


def test_changes_before_any_strand_are_kept_out_and_told(demo, coach, chalkface):
    head, strand, block = ((letters, payload) for letters, payload, _ in chalk.chunks(first_file(demo))[:3])
    receipt = receive(chalkface, coach, chalk.write([head, block, strand]))
    assert receipt["taken"] == 0
    assert [refusal["changes"] for refusal in receipt["refused"]] == [45]


def test_a_cleared_field_and_a_newer_field_pass_through_a_book(demo, chalkface, tmp_path):
    """What this version can't read travels on byte for byte."""
    book = shutil.copy(demo[0] / "ruth.book", tmp_path / "ruth.book")
    file = read(demo[0] / "ben-5-to-ruth.chalk")
    [strand] = file.strands
    seq = strand.holds[file.device] + 1
    clock = max(change.clock for change in strand.changes) + (60_000 << 16)
    odd = {1: None, 777: [1, {"a": 1.5}], 778: Decimal("1e30"), 779: b"\x00" * 5}
    body = cbor2.dumps([odd, [], "an item of a newer version"])
    change = chalk.Change(file.device, seq, clock, clock >> 16, -300, 900, b"\xff" * 16, body)
    strand.holds[file.device] = seq
    parts = [
        (b"HEAD", chalk.head(file)),
        (b"STRD", chalk.strand_head(strand)),
        (b"BLCK", chalk.close_block([change])),
    ]
    assert receive(chalkface, book, chalk.write(parts))["taken"] == 1
    assert chalkface.json("book", "check", "--book", book)["ok"] is True
    out = tmp_path / "on.chalk"
    chalkface.json("send", "Ben Harlow", "--to", "Ben Harlow", "--all", "--out", out, "--book", book)
    assert change in read(out).strands[0].changes
