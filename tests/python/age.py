"""The age format, version 1, from its specification alone (c2sp.org/age).

X25519 receivers only. Start at `unseal`; `seal` writes what the product opens.
"""

import base64
import hashlib
import hmac
import os

from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric.x25519 import X25519PrivateKey, X25519PublicKey
from cryptography.hazmat.primitives.ciphers.aead import ChaCha20Poly1305
from cryptography.hazmat.primitives.kdf.hkdf import HKDF

START = b"age-encryption.org/v1\n"
LABEL = b"age-encryption.org/v1/X25519"
PIECE = 64 * 1024
LETTERS = "qpzry9x8gf2tvdw0s3jn54khce6mua7l"


class Bad(Exception):
    """Not an age file, or not for this key."""


def derived(secret, salt, label):
    return HKDF(hashes.SHA256(), 32, salt, label).derive(secret)


def b64(data):
    return base64.b64encode(data).rstrip(b"=")


def unb64(text):
    data = base64.b64decode(text + b"=" * (-len(text) % 4))
    if b64(data) != text:
        raise Bad("not the one form of base 64")
    return data


def secret_of(line):
    """The 32 bytes of a line AGE-SECRET-KEY-1... (Bech32, BIP 173; its check is not looked at)."""
    digits = [LETTERS.index(letter) for letter in line.lower().rsplit("1", 1)[1]][:-6]
    number = 0
    for digit in digits:
        number = number << 5 | digit
    spare = len(digits) * 5 - 256
    return (number >> spare).to_bytes(32, "big")


def public_of(secret):
    raw = serialization.Encoding.Raw, serialization.PublicFormat.Raw
    return X25519PrivateKey.from_private_bytes(secret).public_key().public_bytes(*raw)


def pieces(data, size):
    return [data[at : at + size] for at in range(0, len(data), size)] or [b""]


def nonce(count, last):
    return count.to_bytes(11, "big") + (b"\1" if last else b"\0")


def parse(data):
    """The header's stanzas, what its MAC covers, the MAC, and what follows."""
    if not data.startswith(START):
        raise Bad("foreign")
    at, stanzas = len(START), []
    while not data[at:].startswith(b"---"):
        end = data.index(b"\n", at)
        words = data[at:end].split(b" ")
        if words[0] != b"->":
            raise Bad("no stanza")
        body, at = b"", end + 1
        while True:
            end = data.index(b"\n", at)
            line, at = data[at:end], end + 1
            body += line
            if len(line) < 64:
                break
        stanzas.append((words[1:], unb64(body)))
    covered = data[: at + 3]
    end = data.index(b"\n", at)
    return stanzas, covered, unb64(data[at + 4 : end]), data[end + 1 :]


def unseal(data, secret):
    stanzas, covered, mac, rest = parse(data)
    ours = X25519PrivateKey.from_private_bytes(secret)
    for words, body in stanzas:
        if words[0] != b"X25519":
            continue
        share = unb64(words[1])
        shared = ours.exchange(X25519PublicKey.from_public_bytes(share))
        key = derived(shared, share + public_of(secret), LABEL)
        try:
            file_key = ChaCha20Poly1305(key).decrypt(bytes(12), body, None)
        except Exception:  # noqa: BLE001, S112: it is another receiver's
            continue
        if hmac.new(derived(file_key, b"", b"header"), covered, hashlib.sha256).digest() != mac:
            raise Bad("the header's MAC")
        stream = ChaCha20Poly1305(derived(file_key, rest[:16], b"payload"))
        sealed = pieces(rest[16:], PIECE + 16)
        opened = [stream.decrypt(nonce(n, n == len(sealed) - 1), piece, None) for n, piece in enumerate(sealed)]
        return b"".join(opened)
    raise Bad("sealed to others")


def seal(data, publics):
    file_key, header = os.urandom(16), START
    for public in publics:
        ephemeral = os.urandom(32)
        share = public_of(ephemeral)
        shared = X25519PrivateKey.from_private_bytes(ephemeral).exchange(X25519PublicKey.from_public_bytes(public))
        body = ChaCha20Poly1305(derived(shared, share + public, LABEL)).encrypt(bytes(12), file_key, None)
        header += b"-> X25519 " + b64(share) + b"\n" + b64(body) + b"\n"
    header += b"---"
    header += b" " + b64(hmac.new(derived(file_key, b"", b"header"), header, hashlib.sha256).digest()) + b"\n"
    salt = os.urandom(16)
    stream = ChaCha20Poly1305(derived(file_key, salt, b"payload"))
    plain = pieces(data, PIECE)
    sealed = [stream.encrypt(nonce(n, n == len(plain) - 1), piece, None) for n, piece in enumerate(plain)]
    return header + salt + b"".join(sealed)
