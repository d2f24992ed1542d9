"""Files that are no good picture, made when asked for. Start at `every`.

`bad` ones must be refused with a sentence; `odd` ones are sound pictures in
an unusual wrapping and must be read or refused, but never crash.
"""

import io
import struct
import zlib

import numpy as np
from PIL import Image


# What a HEIC begins with (ISO/IEC 23008-12, ISO/IEC 14496-12), and nothing.
HEIC = struct.pack(">I", 24) + b"ftypheic" + bytes(4) + b"mif1heic" + bytes(2000)


def _png(chunks):
    out = b"\x89PNG\r\n\x1a\n"
    for name, data in chunks:
        out += struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))
    return out


def png_bomb(side):
    """A PNG that says side x side pixels and holds next to nothing (ISO/IEC 15948)."""
    head = struct.pack(">IIBBBBB", side, side, 8, 2, 0, 0, 0)
    row = zlib.compress(bytes(1 << 20), 9)
    return _png([(b"IHDR", head), (b"IDAT", row), (b"IEND", b"")])


def png_flood(side):
    """A true one: side x side zeros that deflate to a thousandth."""
    head = struct.pack(">IIBBBBB", side, side, 8, 0, 0, 0, 0)
    squeeze, body = zlib.compressobj(9), b""
    for _ in range(side):
        body += squeeze.compress(bytes(side + 1))
    return _png([(b"IHDR", head), (b"IDAT", body + squeeze.flush()), (b"IEND", b"")])


def jpeg_says(jpeg, width, height):
    """The same JPEG with other dimensions in its frame header (ITU-T T.81, B.2.2)."""
    data, at = bytearray(jpeg), 2
    while data[at] == 0xFF:
        marker, length = data[at + 1], struct.unpack(">H", data[at + 2 : at + 4])[0]
        if marker in (0xC0, 0xC1, 0xC2):
            data[at + 5 : at + 9] = struct.pack(">HH", height, width)
            return bytes(data)
        at += 2 + length
    raise ValueError("no frame header")


def _saved(image, kind, **options):
    out = io.BytesIO()
    image.save(out, kind, **options)
    return out.getvalue()


def every(good_jpeg):
    """-> {name of the file: (bytes, must it be refused?)} from one sound JPEG."""
    image = Image.open(io.BytesIO(good_jpeg)).convert("RGB")
    small = image.resize((640, 480))
    grey16 = Image.fromarray(np.asarray(small.convert("L")).astype(np.uint16) * 257)
    frames = [small.rotate(a) for a in (5, 10)]
    odd_exif = Image.Exif()
    odd_exif[0x0112] = 77
    return {
        "empty.jpg": (b"", True),
        "text.jpg": (b"not a picture at all\n" * 50, True),
        "zeros.png": (bytes(5000), True),
        "html.jpg": (b"<!doctype html><html><body>404</body></html>", True),
        "pdf.jpg": (b"%PDF-1.7\n" + bytes(500), True),
        "head_only.jpg": (good_jpeg[:3], True),
        "header_cut.jpg": (good_jpeg[:160], True),
        "cut_early.jpg": (good_jpeg[: len(good_jpeg) // 20], True),
        "cut_half.jpg": (good_jpeg[: len(good_jpeg) // 2], True),
        "one_pixel.png": (_saved(small.resize((1, 1)), "PNG"), True),
        "one_pixel.jpg": (_saved(small.resize((1, 1)), "JPEG"), True),
        "sliver.jpg": (_saved(small.resize((4000, 2)), "JPEG"), True),
        "bomb_header.png": (png_bomb(60_000), True),
        "bomb_most.png": (png_bomb(2**31 - 1), True),
        "bomb_full.png": (png_flood(30_000), True),
        "bomb.jpg": (jpeg_says(good_jpeg, 65_500, 65_500), True),
        "no_height.jpg": (jpeg_says(good_jpeg, 1600, 0), True),
        "photo.heic": (HEIC, True),
        "photo_heic.jpg": (HEIC, True),
        "animated.gif": (_saved(small, "GIF", save_all=True, append_images=frames), True),
        "animated.webp": (_saved(small, "WEBP", save_all=True, append_images=frames), True),
        "still.webp": (_saved(small, "WEBP"), True),
        "picture.tiff": (_saved(small, "TIFF"), True),
        "picture.bmp": (_saved(small, "BMP"), True),
        "png_cut.png": (_saved(small, "PNG")[:20_000], True),
        "png_check_wrong.png": (_flipped(_saved(small, "PNG")), True),
        "animated.png": (_saved(small, "PNG", save_all=True, append_images=frames), False),
        "grey.jpg": (_saved(small.convert("L"), "JPEG"), False),
        "grey16.png": (_saved(grey16, "PNG"), False),
        "palette.png": (_saved(small.convert("P"), "PNG"), False),
        "clear.png": (_saved(small.convert("RGBA"), "PNG"), False),
        "inks.jpg": (_saved(small.convert("CMYK"), "JPEG"), False),
        "steps.jpg": (_saved(small, "JPEG", progressive=True), False),
        "png_named.jpg": (_saved(small, "PNG"), False),
        "jpg_named.png": (_saved(small, "JPEG"), False),
        "odd_turn.jpg": (_saved(small, "JPEG", exif=odd_exif), False),
        "junk_after.jpg": (good_jpeg + b"\x00junk" * 2000, False),
        "exif_junk.jpg": (_saved(small, "JPEG", exif=b"Exif\x00\x00II*\x00\xff\xff\xff\xff"), False),
        "no_name": (_saved(small, "JPEG"), False),
    }


def _flipped(png):
    data = bytearray(png)
    data[len(data) // 2] ^= 0x55
    return bytes(data)


def bad_handles(width, height):
    """Handles that fix no face, by what is wrong with them."""
    w, h = width, height
    return {
        "in a line": "100,400 300,400 500,400 700,400",
        "three in a line": f"{0.2 * w},{0.5 * h} {0.8 * w},{0.5 * h} {0.5 * w},{0.5 * h} {0.5 * w},{0.8 * h}",
        "all the same": "500,500 500,500 500,500 500,500",
        "two the same": f"{0.2 * w},{0.5 * h} {0.2 * w},{0.5 * h} {0.5 * w},{0.3 * h} {0.5 * w},{0.7 * h}",
        "crossed": f"{0.2 * w},{0.5 * h} {0.5 * w},{0.3 * h} {0.8 * w},{0.5 * h} {0.5 * w},{0.7 * h}",
        "outside": f"{-2 * w},{0.5 * h} {0.8 * w},{0.5 * h} {0.5 * w},{0.3 * h} {0.5 * w},{0.7 * h}",
        "far outside": "1e9,1e9 2e9,1e9 1.5e9,0 1.5e9,2e9",
        "not a number": "nan,400 300,400 200,300 200,500",
        "without end": "inf,400 300,400 200,300 200,500",
        "three": "100,400 300,400 200,300",
        "five": "100,400 300,400 200,300 200,500 200,400",
        "words": "heel toe crown sole",
        "nothing": "",
        "too small": "500,500 502,500 501,499 501,501",
    }
