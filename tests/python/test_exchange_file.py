"""Exchange files seen by a reader that shares no code with the product.

chalk.py reads and writes them from their documentation alone. What the demo
wrote is read here and compared with what the demo says and with the CSV logs;
what is damaged or out of order has to be refused by the product. Start at
`test_every_file_of_the_demo_is_whole_and_holds_the_changes_it_says`.
"""

import csv
import dataclasses
import pathlib
import datetime
import random
import shutil
import struct
import zlib
from decimal import Decimal

import cbor2
import age
import chalk
import pyrage
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


def keys_for(path):
    """The keys of the device that a file of the demo is sealed to."""
    short = path.stem.rsplit("-", 1)[1] if "-to-" in path.stem else path.stem.split("-")[0]
    return chalk.Keys.read(path.parent / f"{short}.book.key")


def opened(path):
    return age.unseal(path.read_bytes(), keys_for(path).sealing)


def read(path):
    return chalk.read(opened(path))


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
        letters = [letters for letters, _, _ in file.chunks]
        assert letters[:2] == [b"HEAD", b"WHOS"] and b"STRD" in letters
        assert sum(len(strand.changes) for strand in file.strands) == step["changes"] > 0


def test_headers_say_who_sends_to_whom_and_when(demo):
    folder, _ = demo
    first, back = read(folder / "ben-1-to-ruth.chalk"), read(folder / "ben-2-from-ruth.chalk")
    assert (first.name, first.role, first.to_name) == ("Ben Harlow", 1, "Ruth Ferrand")
    assert (back.name, back.role, back.to_name) == ("Ruth Ferrand", 2, "Ben Harlow")
    # She answers the person and the device that she heard from.
    assert back.to_person == first.person and first.device in back.strands[0].holds
    assert (back.to_root, back.root) == (first.root, first.to_root)
    assert first.strands[0].owner == first.strands[0].founder == first.root
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


@dataclasses.dataclass
class Coach:
    """A coach's book that was sent nothing yet but has met Ben, and files to try on it."""

    book: pathlib.Path
    card: chalk.Card
    ben: chalk.Keys
    cards: dict

    def head(self, file):
        """The header of Ben's file as if it had been written to this coach."""
        return chalk.head(dataclasses.replace(file, to_person=self.card.identity, to_root=self.card.person.root))

    def sealed(self, parts, keys=None, **more):
        return age.seal(chalk.write(parts, keys or self.ben, **more), [self.card.sealing])


@pytest.fixture
def coach(chalkface, demo, tmp_path):
    folder, _ = demo
    book = tmp_path / "new.book"
    chalkface.json("book", "new", "--name", "Cleo Nord", "--role", "coach", "--book", book)
    shown = chalkface.json("card", "--book", folder / "ben.book")["card"]
    chalkface.json("meet", shown, "--book", book)
    card = chalk.Card.read(chalkface.json("card", "--book", book)["card"])
    return Coach(book, card, chalk.Keys.read(folder / "ben.book.key"), {"ben": shown})


def written(coach, data):
    path = coach.book.parent / "tried.chalk"
    path.write_bytes(data)
    return path


def receive(chalkface, coach, data):
    return chalkface.json("receive", written(coach, data), "--book", coach.book)


def refused(chalkface, coach, data):
    before = chalkface.json("book", "check", "--book", coach.book)
    said = chalkface.refused("receive", written(coach, data), "--book", coach.book)
    assert chalkface.json("book", "check", "--book", coach.book) == before
    return said


def first_file(demo):
    return opened(demo[0] / "ben-1-to-ruth.chalk")


def parts_of(demo, coach):
    """Ben's first file, but for its end, as if to this coach."""
    data = first_file(demo)
    parts = [(letters, payload) for letters, payload, _ in chalk.chunks(data)[:-1]]
    return [(b"HEAD", coach.head(chalk.read(data))), *parts[1:]]


def place(parts, letters):
    return [at for at, (found, _) in enumerate(parts) if found == letters]


def blocks(coach, strand, changes, cut=7):
    """Blocks of `cut` changes, each with one run that Ben signs anew."""
    found, before = [], None
    changes = sorted(changes, key=lambda change: change.seq)
    for at in range(0, len(changes), cut):
        part = changes[at : at + cut]
        run = chalk.sign_run(coach.ben, strand.strand, part, before)
        before, _ = chalk.run_ends(run, strand.strand, coach.ben.device, part)
        found += [(b"BLCK", chalk.close_block(part)), (b"SIGN", chalk.sign(coach.ben.device, [run]))]
    return found


def test_the_reference_implementation_of_another_language_opens_our_files_and_we_open_its(demo, coach, chalkface):
    """pyrage is the Rust implementation; age.py is from the specification. Both open what the other sealed."""
    for path in sorted(demo[0].glob("*.chalk")):
        lines = (demo[0] / f"{keys_for_name(path)}.book.key").read_text().splitlines()
        identity = pyrage.x25519.Identity.from_str(next(line for line in lines if line.startswith("AGE-SECRET")))
        assert pyrage.decrypt(path.read_bytes(), [identity]) == opened(path)
    plain = chalk.write(parts_of(demo, coach), coach.ben)
    theirs = pyrage.encrypt(plain, [pyrage.x25519.Recipient.from_str(recipient(coach.card.sealing))])
    assert receive(chalkface, coach, theirs)["taken"] == 46


def keys_for_name(path):
    return path.stem.rsplit("-", 1)[1] if "-to-" in path.stem else path.stem.split("-")[0]


def recipient(public):
    """A receiver as age writes it: Bech32 (BIP 173)."""

    def polymod(values):
        check = 1
        for value in values:
            top = check >> 25
            check = (check & 0x1FFFFFF) << 5 ^ value
            for bit, term in enumerate((0x3B6A57B2, 0x26508E6D, 0x1EA119FA, 0x3D4233DD, 0x2A1462B3)):
                check ^= term if top >> bit & 1 else 0
        return check

    number = int.from_bytes(public, "big") << 4
    digits = [number >> 5 * at & 31 for at in reversed(range(52))]
    prefix = [ord(c) >> 5 for c in "age"] + [0] + [ord(c) & 31 for c in "age"]
    check = polymod([*prefix, *digits, 0, 0, 0, 0, 0, 0]) ^ 1
    digits += [check >> 5 * (5 - at) & 31 for at in range(6)]
    return "age1" + "".join(age.LETTERS[digit] for digit in digits)


def test_sizes_are_padded_and_say_little(demo):
    sizes = {len(opened(path)) for path in demo[0].glob("*.chalk")}
    for size in sizes:
        exponent = size.bit_length() - 1
        assert size >= 4096 and size % (1 << exponent - exponent.bit_length()) == 0, size


def test_a_file_written_by_another_writer_is_taken_in(demo, coach, chalkface):
    file = chalk.read(first_file(demo))
    [strand] = file.strands
    parts = parts_of(demo, coach)
    head = parts[: place(parts, b"BLCK")[0]]
    # Other cuts than the product would make, other runs, and another compressor.
    receipt = receive(chalkface, coach, coach.sealed([*head, *blocks(coach, strand, strand.changes)]))
    assert (receipt["taken"], receipt["refused"]) == (len(strand.changes), [])
    assert receipt["strands"][0]["agrees"] is True
    check = chalkface.json("book", "check", "--book", coach.book)
    assert check["strands"] == [{"student": "Ben Harlow", "digest": strand.digest.hex()}]


def test_headers_are_written_to_the_byte_as_documented(demo):
    for path in demo[0].glob("*.chalk"):
        file = read(path)
        assert file.chunks[0][1] == chalk.head(file)
        [at] = place(file.chunks_only, b"STRD")
        assert file.chunks[at][1] == chalk.strand_head(file.strands[0])
        # The same parts and keys give the same file: nothing in it is
        # undocumented, and a signature of RFC 8032 is the same every time.
        sender = next(
            keys
            for keys in (chalk.Keys.read(path.parent / f"{short}.book.key") for short in ("ben", "ida", "ruth"))
            if keys.device == file.device
        )
        assert chalk.write(file.chunks_only[:-1], sender) == opened(path)


def test_a_flipped_bit_in_any_byte_is_noticed_and_the_product_refuses_a_hundred_of_them(demo, coach, chalkface):
    inner = first_file(demo)
    dice = random.Random(20260601)
    for at in range(len(inner)):
        flipped = bytearray(inner)
        flipped[at] ^= 1 << dice.randrange(8)
        with pytest.raises((chalk.Bad, struct.error)):
            chalk.chunks(bytes(flipped))
    whole = coach.sealed(parts_of(demo, coach))
    # All of the seal's first bytes, then anywhere.
    places = [*range(24), *(dice.randrange(len(whole)) for _ in range(80))]
    for at in places:
        flipped = bytearray(whole)
        flipped[at] ^= 1 << dice.randrange(8)
        chalkface.refused("receive", written(coach, flipped), "--book", coach.book)
    # Also inside, where somebody who may open it seals it again.
    plain = chalk.write(parts_of(demo, coach), coach.ben)
    for at in [*range(24), *(dice.randrange(len(plain)) for _ in range(80))]:
        flipped = bytearray(plain)
        flipped[at] ^= 1 << dice.randrange(8)
        chalkface.refused("receive", written(coach, age.seal(bytes(flipped), [coach.card.sealing])), "--book", coach.book)
    assert chalkface.json("book", "check", "--book", coach.book)["changes"] == 0
    assert receive(chalkface, coach, whole)["taken"] == 46


def test_chunks_in_another_order_lost_or_twice_are_refused(demo, coach, chalkface):
    inner = chalk.write(parts_of(demo, coach), coach.ben)
    starts = [start for _, _, start in chalk.chunks(inner)] + [len(inner)]
    frame, pieces = inner[:12], [inner[a:b] for a, b in zip(starts, starts[1:])]
    letters = [letters for letters, _, _ in chalk.chunks(inner)]
    assert letters == [b"HEAD", b"WHOS", b"WHOS", b"STRD", b"BLCK", b"SIGN", b"BLCK", b"SIGN", b"padd", b"DONE"]
    for lost in range(len(pieces)):
        without = frame + b"".join(piece for at, piece in enumerate(pieces) if at != lost)
        said = refused(chalkface, coach, age.seal(without, [coach.card.sealing]))
        assert "damaged" in said or "cut short" in said, (lost, said)
        twice = frame + b"".join(pieces[: lost + 1] + pieces[lost:])
        refused(chalkface, coach, age.seal(twice, [coach.card.sealing]))


def test_what_lies_open_is_refused(demo, coach, chalkface):
    assert "damaged" in refused(chalkface, coach, chalk.write(parts_of(demo, coach), coach.ben))


def test_a_file_signed_by_somebody_else_is_refused(demo, coach, chalkface):
    ida = chalk.Keys.read(demo[0] / "ida.book.key")
    said = refused(chalkface, coach, coach.sealed(parts_of(demo, coach), keys=ida))
    assert "signature" in said
    # A block without its signature is refused too, whoever signs the whole.
    parts = [part for part in parts_of(demo, coach) if part[0] != b"SIGN"]
    assert "signature" in refused(chalkface, coach, coach.sealed(parts))


def test_parts_of_a_newer_version_are_skipped_or_refused_by_their_first_letter(demo, coach, chalkface):
    parts = parts_of(demo, coach)
    said = refused(chalkface, coach, coach.sealed([*parts, (b"NEWS", b"more")]))
    assert "NEWS" in said
    said = refused(chalkface, coach, coach.sealed(parts, versions=(4, 4)))
    assert "version 4" in said
    # Written by a newer version, readable by this one: items at the ends of
    # arrays and chunks with a small first letter are passed over.
    longer = [
        (letters, cbor2.dumps([*cbor2.loads(payload), "more"])) if letters in (b"HEAD", b"STRD") else (letters, payload)
        for letters, payload in parts
    ]
    newer = [longer[0], (b"news", b"more"), *longer[1:]]
    assert receive(chalkface, coach, coach.sealed(newer, versions=(7, 2)))["taken"] == 46


def test_a_whole_frame_around_a_broken_block_is_refused(demo, coach, chalkface):
    parts = parts_of(demo, coach)
    at = place(parts, b"BLCK")[-1]
    block = parts[at][1]
    changes = chalk.open_block(block)
    (length,) = struct.unpack_from("<I", block)
    inner = zlib.decompress(block[4:], -15)
    far = dataclasses.replace(changes[0], clock=(1 << 46) << 16)
    broken = {
        "says more than it opens to": struct.pack("<I", length + 1) + block[4:],
        "says less than it opens to": struct.pack("<I", length - 1) + block[4:],
        "is not compressed": struct.pack("<I", length) + inner,
        "ends early": block[:-3],
        "has a clock beyond all time": chalk.close_block([far]),
        "counts from 0": chalk.close_block([dataclasses.replace(changes[0], seq=0)]),
        "is empty": b"",
    }
    for what, payload in broken.items():
        said = refused(chalkface, coach, coach.sealed([*parts[:at], (b"BLCK", payload), *parts[at + 1 :]]))
        assert "damaged" in said, (what, said)


def test_a_change_that_can_not_be_read_is_kept_out_and_told_and_the_rest_goes_in(demo, coach, chalkface):
    file = chalk.read(first_file(demo))
    [strand] = file.strands
    parts = parts_of(demo, coach)
    head = parts[: place(parts, b"BLCK")[0]]
    changes = list(strand.changes)
    changes[10] = dataclasses.replace(changes[10], body=b"\x81\x07")
    receipt = receive(chalkface, coach, coach.sealed([*head, *blocks(coach, strand, changes, 50)]))
    assert receipt["taken"] == 45
    assert [refusal["changes"] for refusal in receipt["refused"]] == [1]


def test_a_changed_change_is_kept_out_with_all_of_its_run(demo, coach, chalkface):
    file = chalk.read(first_file(demo))
    [strand] = file.strands
    parts = parts_of(demo, coach)
    # Who belongs to the strand is said first, in a block and a run of its own.
    at = place(parts, b"BLCK")[-1]
    changes = [change for change in strand.changes if change.kind != chalk.MEMBER]
    changes[10] = dataclasses.replace(changes[10], made_ms=changes[10].made_ms + 1)
    receipt = receive(chalkface, coach, coach.sealed([*parts[:at], (b"BLCK", chalk.close_block(changes)), *parts[at + 1 :]]))
    assert receipt["taken"] == 1
    assert [(refusal["changes"], "signature" in refusal["reason"]) for refusal in receipt["refused"]] == [(45, True)]


def test_changes_before_any_strand_are_kept_out_and_told(demo, coach, chalkface):
    parts = parts_of(demo, coach)
    [at] = place(parts, b"STRD")
    moved = [*parts[:at], *parts[at + 1 : at + 5], parts[at], *parts[at + 5 :]]
    receipt = receive(chalkface, coach, coach.sealed(moved))
    assert receipt["taken"] == 0
    assert [refusal["changes"] for refusal in receipt["refused"]] == [46]


def test_a_cleared_field_and_a_newer_field_pass_through_a_book(demo, chalkface, tmp_path):
    """What this version can't read travels on byte for byte, with its author."""
    book = shutil.copy(demo[0] / "ruth.book", tmp_path / "ruth.book")
    shutil.copy(demo[0] / "ruth.book.key", tmp_path / "ruth.book.key")
    file, ben = read(demo[0] / "ben-5-to-ruth.chalk"), chalk.Keys.read(demo[0] / "ben.book.key")
    ruth = chalk.Keys.read(demo[0] / "ruth.book.key")
    [strand] = file.strands
    seq = strand.holds[file.device] + 1
    clock = max(change.clock for change in strand.changes) + (60_000 << 16)
    odd = {1: None, 777: [1, {"a": 1.5}], 778: Decimal("1e30"), 779: b"\x00" * 5}
    body = cbor2.dumps([odd, [], "an item of a newer version"])
    change = chalk.Change(file.device, seq, clock, clock >> 16, -300, 900, b"\xff" * 16, body)
    own = [run for run in strand.runs if run[0] + run[1] == seq]
    covered = [c for c in strand.changes if c.device == file.device and c.seq >= own[0][0]]
    before, _ = chalk.run_ends(own[0], strand.strand, ben.device, covered)
    run = chalk.sign_run(ben, strand.strand, [change], before)
    strand.holds[file.device] = seq
    parts = [(letters, payload) for letters, payload in file.chunks_only if letters in (b"HEAD", b"WHOS")]
    parts += [
        (b"STRD", chalk.strand_head(strand)),
        (b"BLCK", chalk.close_block([change])),
        (b"SIGN", chalk.sign(file.device, [run])),
    ]
    path = tmp_path / "odd.chalk"
    path.write_bytes(age.seal(chalk.write(parts, ben), [ruth.public]))
    assert chalkface.json("receive", path, "--book", book)["taken"] == 1
    assert chalkface.json("book", "check", "--book", book)["ok"] is True
    out = tmp_path / "on.chalk"
    chalkface.json("send", "Ben Harlow", "--to", "Ben Harlow", "--all", "--out", out, "--book", book)
    on = chalk.read(age.unseal(out.read_bytes(), ben.sealing))
    assert change in on.strands[0].changes and run in on.strands[0].runs


def test_what_was_erased_leaves_a_hole_that_says_only_that_and_every_signature_holds(demo, chalkface, tmp_path):
    book = shutil.copy(demo[0] / "ben.book", tmp_path / "ben.book")
    shutil.copy(demo[0] / "ben.book.key", tmp_path / "ben.book.key")
    erased = chalkface.json("erase", "Ben Harlow", "--last-balls", "2", "--book", book)["erased"]
    assert erased["records"] >= 2 and erased["scrubbed"]
    out = tmp_path / "all.chalk"
    chalkface.json("send", "Ben Harlow", "--to", "Ruth Ferrand", "--all", "--out", out, "--book", book)
    ruth = chalk.Keys.read(demo[0] / "ruth.book.key")
    before = {(change.kind, change.record) for change in strands_of(demo[0], "ben")}
    [strand] = chalk.read(age.unseal(out.read_bytes(), ruth.sealing)).strands
    there = {(change.kind, change.record) for change in strand.changes}
    tags = {record for kind, record in there if kind == chalk.ERASURE}
    gone = before - there
    assert {chalk.tag_of(strand.strand, *about) for about in gone} == tags and len(tags) == erased["records"]
    holes = [salt for run in strand.runs if not isinstance(run[3], bytes) for salt in run[3] if len(salt) != 16]
    assert len(holes) == erased["changes"] and {hole[:16] for hole in holes} == tags
    says = [change.parts for change in strand.changes if change.kind == chalk.ERASURE]
    assert all(said == [{1: 1}] for said in says)
    # Nor is anything of it in the book, whose other changes have no gap.
    assert not any(record in book.read_bytes() for _, record in gone)
    assert chalk.digest(chalk.fold(strand.changes)) == strand.digest
    assert chalkface.json("book", "check", "--book", book)["ok"] is True
