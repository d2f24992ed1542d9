"""Sound picture files with bytes changed, cut, repeated and swapped, read by the program for minutes on end.

The rule: every file ends in an answer or in a sentence, never in a panic, a
signal, a long wait or much memory. What broke it once is kept in `corpus/`
and is tried first. A run is its seed. Start at `main`.

    python tests/photo/mutate.py --minutes 10 [--seed 1] [--program target/release/chalkface]
"""

import argparse
import io
import pathlib
import struct
import subprocess
import sys
import tempfile
import time
import zlib

import numpy as np
from PIL import Image

CORPUS = pathlib.Path(__file__).with_name("corpus")
HANDLES = "40,120 280,120 160,60 160,180"
BATCH = 32


def sound():
    """Small files of every sort that the reader knows, made here."""
    v, u = np.mgrid[0:240, 0:320]
    face = ((u - 160) / 120) ** 2 + ((v - 120) / 60) ** 2 < 1
    mark = (u - 180) ** 2 + (v - 110) ** 2 < 25**2
    grey = (60 + 150 * face - 70 * mark + 10 * np.sin(u / 3) * np.cos(v / 5)).clip(0, 255).astype(np.uint8)
    image = Image.fromarray(np.stack([grey, grey, grey // 2 + 60], -1))
    exif = Image.Exif()
    exif[0x0112] = 6
    exif.get_ifd(0x8769)[0xA405] = 26
    sorts = [
        (image, "JPEG", {"quality": 70, "exif": exif}),
        (image, "JPEG", {"quality": 90, "subsampling": 0}),
        (image, "JPEG", {"progressive": True}),
        (image, "JPEG", {"restart_marker_blocks": 4}),
        (image.convert("L"), "JPEG", {}),
        (image.convert("CMYK"), "JPEG", {}),
        (image, "PNG", {"exif": exif}),
        (image.convert("RGBA"), "PNG", {}),
        (image.convert("P"), "PNG", {"transparency": 3}),
        (image.convert("1"), "PNG", {}),
        (Image.fromarray(grey.astype(np.uint16) * 257), "PNG", {}),
        (image, "PNG", {"save_all": True, "append_images": [image.rotate(5)]}),
    ]
    files = []
    for picture, kind, options in sorts:
        out = io.BytesIO()
        picture.save(out, kind, **options)
        files.append(out.getvalue())
    return files


def changed(data, rng):
    """One to twelve small harms; half of the PNGs get right checks again, so that they are read further."""
    data = bytearray(data)
    for _ in range(int(rng.integers(1, 13))):
        if len(data) < 8:
            break
        # Headers are near the front: half of the harm is done there.
        at = int(rng.integers(0, min(len(data), 700) if rng.random() < 0.5 else len(data)))
        sort = rng.integers(0, 7)
        if sort == 0:
            data[at] ^= 1 << int(rng.integers(0, 8))
        elif sort == 1:
            data[at] = int(rng.choice([0, 1, 2, 4, 8, 16, 0x7F, 0x80, 0xD8, 0xD9, 0xFE, 0xFF]))
        elif sort == 2:
            width = int(rng.choice([2, 4]))
            value = int(rng.choice([0, 1, 0x7FFF, 0xFFFF, 0x7FFFFFFF, 0xFFFFFFFF])) & ((1 << 8 * width) - 1)
            data[at : at + width] = value.to_bytes(width, "big")
        elif sort == 3:
            del data[at : at + int(rng.integers(1, 40))]
        elif sort == 4:
            data[at:at] = data[at : at + int(rng.integers(1, 200))]
        elif sort == 5:
            data[at:at] = rng.bytes(int(rng.integers(1, 20)))
        elif rng.random() < 0.2:
            del data[at:]
    if data[:4] == b"\x89PNG" and rng.random() < 0.5:
        data = checked(data)
    return bytes(data)


def checked(data):
    """A PNG's chunks with their CRCs made right, as far as the chunks can be followed."""
    out, at = bytearray(data[:8]), 8
    while at + 12 <= len(data):
        (length,) = struct.unpack(">I", data[at : at + 4])
        if length > len(data) - at - 12:
            break
        body = bytes(data[at + 4 : at + 8 + length])
        out += data[at : at + 4] + body + struct.pack(">I", zlib.crc32(body))
        at += 12 + length
    return out + data[at:]


def read(program, files, handles):
    """-> what is wrong with the program's end, or nothing."""
    words = [program, "photo", *map(str, files), "--json"] + (["--handles", HANDLES] if handles else [])
    try:
        done = subprocess.run(words, capture_output=True, text=True, timeout=20 + 5 * len(files))
    except subprocess.TimeoutExpired:
        return "takes too long"
    if done.returncode not in (0, 1) or "panicked" in done.stderr:
        return f"exit code {done.returncode}: {done.stderr[-500:]}"
    return None


def main():
    ask = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    ask.add_argument("--minutes", type=float, default=10)
    ask.add_argument("--seed", type=int, default=1)
    ask.add_argument("--program", default="target/release/chalkface")
    ask.add_argument("--seeds-into", type=pathlib.Path, help="only write the sound files there, as fuzz/ takes them")
    given = ask.parse_args()
    if given.seeds_into:
        for n, data in enumerate(sound()):
            # Two bytes that say what is asked, eight for the handles (fuzz/src/main.rs).
            (given.seeds_into / f"sound-{n:02d}").write_bytes(bytes([n % 8, 0x88] + [0] * 8) + data)
        return
    rng, ends = np.random.default_rng([given.seed, 17]), time.monotonic() + 60 * given.minutes
    seeds, tried, broke = sound(), 0, 0
    seeds += [path.read_bytes() for path in sorted(CORPUS.glob("*"))] if CORPUS.exists() else []
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        while time.monotonic() < ends:
            files = []
            for i in range(BATCH):
                data = seeds[i] if tried == 0 and i < len(seeds) else changed(seeds[int(rng.integers(len(seeds)))], rng)
                files.append(folder / f"{i:02d}")
                files[-1].write_bytes(data)
            handles = bool(rng.random() < 0.6)
            if read(given.program, files, handles):
                for file in files:
                    if problem := read(given.program, [file], handles):
                        broke += 1
                        CORPUS.mkdir(exist_ok=True)
                        kept = CORPUS / f"broke-{zlib.crc32(file.read_bytes()):08x}"
                        kept.write_bytes(file.read_bytes())
                        print(f"{kept}: {problem}")
            tried += BATCH
    print(f"{tried} files in {given.minutes:g} minutes, seed {given.seed}: {broke} broke the program")
    sys.exit(1 if broke else 0)


if __name__ == "__main__":
    main()
