"""A second reader and writer of exchange files, from their documentation alone.

Written from the headers of core/src/sync/{file,block,change,state,run,erasure,
identity,card,keys}.rs, not from their code: where this can't be written, the
documentation lacks something. Start at `read`; `write` makes a file that the
product takes in; `fold` and `digest` say what a set of changes comes to.
"""

import base64
import hashlib
import io
import struct
import zlib
from dataclasses import dataclass, field

import age
import cbor2
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

MAGIC = b"\x89CHK\r\n\x1a\n"
VERSION = 3
STUDENT, SESSION, SHOT, MEMBER, ERASURE = 1, 4, 5, 14, 16
REMOVED = 60_000


class Bad(Exception):
    """Not a whole exchange file."""


def need(holds, what):
    if not holds:
        raise Bad(what)


@dataclass
class Change:
    device: bytes
    seq: int
    clock: int
    made_ms: int
    offset_min: int
    kind: int
    record: bytes
    body: bytes

    @property
    def stamp(self):
        return self.clock, self.device

    @property
    def fields(self):
        return self.parts[0]

    @property
    def replaces(self):
        return self.parts[1] if len(self.parts) > 1 else []

    @property
    def parts(self):
        return cbor2.loads(self.body)


@dataclass
class Keys:
    """A device's secrets, from the file beside its book."""

    device: bytes
    signing: Ed25519PrivateKey
    sealing: bytes

    @classmethod
    def read(cls, path):
        lines = path.read_text().splitlines()
        after = {start: line[len(start) :] for line in lines for start in ("# device: ", "# signing: ") if line.startswith(start)}
        secret = next(line for line in lines if line.startswith("AGE-SECRET-KEY-1"))
        signing = Ed25519PrivateKey.from_private_bytes(bytes.fromhex(after["# signing: "]))
        return cls(bytes.fromhex(after["# device: "].replace("-", "")), signing, age.secret_of(secret))

    @property
    def public(self):
        return age.public_of(self.sealing)


def is_signed(key, message, signature):
    try:
        Ed25519PublicKey.from_public_bytes(key).verify(signature, message)
    except InvalidSignature:
        return False
    return True


@dataclass
class Person:
    """A root, and the devices that its rosters and their vouches name."""

    root: bytes
    statements: list

    @property
    def devices(self):
        """Every device that was ever named by a statement with a good signature, by identity."""
        found = {}
        for _ in self.statements:
            for *said, signature in self.statements:
                message = b"chalkface statement 1" + self.root + cbor2.dumps(said)
                if said[0] == 1 and is_signed(self.root, message, signature):
                    found |= {device: keys for device, *keys in said[2] if device not in found}
                elif said[0] == 2 and said[2] in found and is_signed(found[said[2]][0], message, signature):
                    device, *keys = said[3]
                    found.setdefault(device, keys)
        return found


@dataclass
class Card:
    person: Person
    identity: bytes
    name: str
    role: int
    sealing: bytes

    @classmethod
    def read(cls, text):
        letters = text.strip().removeprefix("CHALK:")
        said = cbor2.loads(base64.b32decode(letters + "=" * (-len(letters) % 8)))
        version, (root, statements), identity, name, role, _, _, by, signature = said
        need(version == 1, "version")
        person = Person(root, statements)
        signing, sealing = person.devices[by]
        need(is_signed(signing, b"chalkface card 1" + cbor2.dumps(said[:-1]), signature), "the card's signature")
        return cls(person, identity, name, role, sealing)


@dataclass
class Strand:
    strand: bytes
    digest: bytes
    holds: dict
    owner: bytes = None
    founder: bytes = None
    changes: list = field(default_factory=list)
    runs: list = field(default_factory=list)


@dataclass
class File:
    device: bytes
    person: bytes
    name: str
    role: int
    made_ms: int
    offset_min: int
    to_name: str
    to_person: bytes
    root: bytes
    to_root: bytes
    strands: list
    chunks: list
    people: list

    @property
    def chunks_only(self):
        """Letters and payload of every chunk."""
        return [(letters, payload) for letters, payload, _ in self.chunks]


def items(column, count):
    """Exactly `count` CBOR items that fill a column."""
    decoder = cbor2.CBORDecoder(io.BytesIO(column))
    found = [decoder.decode() for _ in range(count)]
    need(b"".join(cbor2.dumps(item) for item in found) == column, "a column has bytes left over")
    return found


def pairs(flat):
    return list(zip(flat[::2], flat[1::2], strict=True))


def chunks(data):
    """Every chunk as (letters, payload, where it begins), all checks verified."""
    need(data[:8] == MAGIC, "foreign")
    _, lowest = struct.unpack_from("<HH", data, 8)
    need(lowest <= VERSION, "too new")
    at, found = 12, []
    while at < len(data):
        start, letters = at, data[at : at + 4]
        need(len(data) >= at + 8, "cut short")
        (length,) = struct.unpack_from("<I", data, at + 4)
        at += 8 + length
        need(len(data) >= at + 8, "cut short")
        need(hashlib.sha256(data[:at]).digest()[:8] == data[at : at + 8], f"the check of {letters}")
        found.append((letters, data[start + 8 : at], start))
        at += 8
    need(found and found[-1][0] == b"DONE", "no end")
    last, payload, start = found[-1]
    need(payload[:32] == hashlib.sha256(data[:start]).digest(), "the check over all of it")
    need(len(payload) == (32 if lowest == 1 else 96), "its signature")
    need(all(letters != b"DONE" for letters, _, _ in found[:-1]), "something follows the end")
    return found


def open_block(payload):
    (length,) = struct.unpack_from("<I", payload)
    inflate = zlib.decompressobj(-15)
    opened = inflate.decompress(payload[4:]) + inflate.flush()
    need(inflate.eof and not inflate.unused_data and len(opened) == length, "a block's length")
    device, first, count, clocks, made, kinds, ids, lengths, bodies = cbor2.loads(opened)[:9]
    need(len(device) == 16 and len(ids) == 10 * count, "a block's count")
    clocks, made, lengths = (pairs(items(column, 2 * count)) for column in (clocks, made, lengths))
    kinds = items(kinds, count)
    found, ms, offset, at = [], 0, 0, 0
    for i in range(count):
        ms += clocks[i][0]
        offset += made[i][1]
        id_ms, size = ms + lengths[i][0], lengths[i][1]
        record = id_ms.to_bytes(6, "big") + ids[10 * i : 10 * i + 10]
        body = bodies[at : at + size]
        at += size
        clock = ms << 16 | clocks[i][1]
        found.append(Change(device, first + i, clock, made[i][0] + ms, offset, kinds[i], record, body))
    need(at == len(bodies), "bodies left over")
    return found


def salted(kind, *parts):
    return hashlib.sha256(f"chalkface {kind} 1".encode() + b"".join(parts)).digest()


def tag_of(strand, kind, record):
    """What names a record in an erasure: a UUID of version 8 (RFC 9562)."""
    tag = bytearray(salted("erased", strand, struct.pack(">H", kind), record)[:16])
    tag[6] = tag[6] & 0x0F | 0x80
    tag[8] = tag[8] & 0x3F | 0x80
    return bytes(tag)


def said(change, salt):
    fixed = struct.pack(">QQqhH", change.seq, change.clock, change.made_ms, change.offset_min, change.kind)
    return salted("leaf", salt, fixed, change.record, struct.pack(">I", len(change.body)), change.body)


def tagged(tag, hashed):
    return hashlib.sha256(b"chalkface leaf 2" + tag + hashed).digest()


def salt_of(seed, seq):
    return salted("salt", seed, struct.pack(">Q", seq))[:16]


def leaf(run, strand, change, salt):
    if len(run) < 6 or change.kind in (MEMBER, ERASURE):
        return said(change, salt)
    return tagged(tag_of(strand, change.kind, change.record), said(change, salt))


def present(run):
    """How many changes of a run were not erased."""
    return run[1] if isinstance(run[3], bytes) else sum(len(salt) == 16 for salt in run[3])


def run_ends(run, strand, device, changes):
    """The chain at a run's end, and what its device signed."""
    first, count, chain, salts, _ = run[:5]
    need(len(run) < 6 or run[5] == 2, "a newer run")
    before, left = chain, list(changes)
    for at, seq in enumerate(range(first, first + count)):
        salt = salt_of(salts, seq) if isinstance(salts, bytes) else salts[at]
        if len(salt) == 16:
            need(left and left[0].seq == seq, "a run's numbers")
            link = leaf(run, strand, left.pop(0), salt)
        else:
            link = tagged(salt[:16], salt[16:]) if len(salt) == 48 else salt
        chain = salted("link", chain, link)
    need(not left, "a run's numbers")
    numbers = struct.pack(">QI", first, count)
    form = b"chalkface run 2" if len(run) >= 6 else b"chalkface run 1"
    return chain, form + strand + device + numbers + before + chain


def sign_run(keys, strand, changes, before=None, seed=b"s" * 16):
    before = before or salted("base", strand, keys.device)
    run = [changes[0].seq, len(changes), before, seed, b"", 2]
    _, message = run_ends(run, strand, keys.device, changes)
    run[4] = keys.signing.sign(message)
    return run


def sign(device, runs):
    return cbor2.dumps([device, runs])


def read(data):
    """A whole file that was opened, every check and signature verified."""
    parts = chunks(data)
    letters, payload, _ = parts[0]
    need(letters == b"HEAD", "no header")
    file = File(*cbor2.loads(payload)[:10], strands=[], chunks=parts, people=[])
    waiting, devices = [], {}
    for letters, payload, _ in parts[1:-1]:
        if letters == b"WHOS":
            file.people.append(Person(*cbor2.loads(payload)))
            devices |= file.people[-1].devices
        elif letters == b"STRD":
            strand, digest, holds, owner, founder = cbor2.loads(payload)[:5]
            file.strands.append(Strand(strand, digest, dict(pairs(holds)), owner, founder))
        elif letters == b"BLCK":
            waiting += open_block(payload)
        elif letters == b"SIGN":
            strand = file.strands[-1]
            device, runs = cbor2.loads(payload)
            for run in runs:
                covered, waiting = waiting[: present(run)], waiting[present(run) :]
                _, message = run_ends(run, strand.strand, device, covered)
                need(all(change.device == device for change in covered), "a run of several devices")
                need(is_signed(devices[device][0], message, run[4]), "a run's signature")
                strand.changes += covered
                strand.runs.append(run)
            need(not waiting, "changes without a signature")
        elif letters == b"padd":
            need(payload == bytes(len(payload)), "padding")
        else:
            need(letters[:1].islower(), f"an unknown part {letters}")
    need(not waiting, "changes without a signature")
    end = parts[-1][1]
    need(is_signed(devices[file.device][0], b"chalkface file 2" + end[:32], end[32:]), "the sender's signature")
    return file


def write(parts, keys, versions=(VERSION, VERSION)):
    """A file of these (letters, payload), with checks and a signature that hold."""
    data = MAGIC + struct.pack("<HH", *versions)
    for letters, payload in [*parts, (b"DONE", None)]:
        if payload is None:
            whole = hashlib.sha256(data).digest()
            payload = whole + keys.signing.sign(b"chalkface file 2" + whole)
        data += letters + struct.pack("<I", len(payload)) + payload
        data += hashlib.sha256(data).digest()[:8]
    return data


def close_block(changes):
    """A block's payload of one device's changes, in sequence."""
    clocks, made, kinds, ids, lengths, bodies = (bytearray() for _ in range(6))
    last_ms = last_offset = 0
    for change in changes:
        ms = change.clock >> 16
        clocks += cbor2.dumps(ms - last_ms) + cbor2.dumps(change.clock & 0xFFFF)
        made += cbor2.dumps(change.made_ms - ms) + cbor2.dumps(change.offset_min - last_offset)
        kinds += cbor2.dumps(change.kind)
        ids += change.record[6:]
        lengths += cbor2.dumps(int.from_bytes(change.record[:6], "big") - ms)
        lengths += cbor2.dumps(len(change.body))
        bodies += change.body
        last_ms, last_offset = ms, change.offset_min
    columns = [bytes(column) for column in (clocks, made, kinds, ids, lengths, bodies)]
    opened = cbor2.dumps([changes[0].device, changes[0].seq, len(changes), *columns])
    deflate = zlib.compressobj(9, zlib.DEFLATED, -15)
    return struct.pack("<I", len(opened)) + deflate.compress(opened) + deflate.flush()


def head(file):
    return cbor2.dumps(
        [file.device, file.person, file.name, file.role, file.made_ms, file.offset_min, file.to_name, file.to_person]
        + [file.root, file.to_root]
    )


def strand_head(strand):
    flat = [item for pair in sorted(strand.holds.items()) for item in pair]
    return cbor2.dumps([strand.strand, strand.digest, flat, strand.owner, strand.founder])


def fold(changes):
    """What changes come to, record by record: standing writes and what was replaced.

    A write of a field stands unless some change names it, or a later write of
    the same device and field, as replaced.
    """
    records = {}
    for change in changes:
        records.setdefault((change.kind, change.record), []).append(change)
    folded = {}
    for key, written in records.items():
        replaced = {}
        for change in written:
            for clock, device, numbers in change.replaces:
                for number in numbers:
                    spot = number, device
                    replaced[spot] = max(replaced.get(spot, 0), clock)
        writes = []
        for change in sorted(written, key=lambda change: change.stamp):
            stands = {
                number: value
                for number, value in change.fields.items()
                if change.clock > replaced.get((number, change.device), -1)
            }
            if stands:
                writes.append((change.clock, change.device, stands))
        folded[key] = writes, replaced
    return folded


def current(writes):
    """The values that count: of each field the latest that stands."""
    values = {}
    for _, _, fields in writes:
        values.update(fields)
    return {number: value for number, value in values.items() if value is not None}


def state_bytes(writes, replaced):
    flat = [item for write in writes for item in write]
    old = [item for (number, device), clock in sorted(replaced.items()) for item in (number, device, clock)]
    return cbor2.dumps([flat, old])


def digest(folded):
    """The digest of one strand's records."""
    whole = hashlib.sha256()
    for (kind, record), (writes, replaced) in sorted(folded.items()):
        state = state_bytes(writes, replaced)
        whole.update(struct.pack(">H16sQ", kind, record, len(state)) + state)
    return whole.digest()
