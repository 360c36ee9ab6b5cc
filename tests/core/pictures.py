"""Picture files written byte by byte: JPEG heads with any Exif tags, sound or hostile."""

import struct
import zlib

SHORT, LONG, RATIO, TEXT = 3, 4, 5, 2

FULL_FRAME = {  # what a 45 MP full-frame body with a 600 mm f/4 writes
    0x0110: (TEXT, "Body 45"),
    0x829A: (RATIO, [(1, 2000)]),
    0x829D: (RATIO, [(45, 10)]),
    0x920A: (RATIO, [(600, 1)]),
    0xA002: (LONG, [8256]),
    0xA003: (LONG, [5504]),
    0xA20E: (RATIO, [(8256 * 10_000, 360_000)]),
    0xA20F: (RATIO, [(5504 * 10_000, 240_000)]),
    0xA210: (SHORT, [4]),
    0xA405: (SHORT, [600]),
    0xA432: (RATIO, [(600, 1), (600, 1), (4, 1), (4, 1)]),
    0xA434: (TEXT, "600 mm f/4"),
}
SIZES = {SHORT: 2, LONG: 4, RATIO: 8, TEXT: 1}


def _packed(kind, values, order):
    if kind == TEXT:
        return values.encode() + b"\x00"
    if kind == RATIO:
        return b"".join(struct.pack(f"{order}II", *pair) for pair in values)
    return struct.pack(f"{order}{len(values)}{'H' if kind == SHORT else 'I'}", *values)


def directory(tags, start, order):
    """One directory of tags at offset `start`, its long values behind it."""
    body, behind = b"", b""
    heap = start + 2 + 12 * len(tags) + 4
    for tag in sorted(tags):
        kind, values = tags[tag]
        packed = _packed(kind, values, order)
        count = len(packed) // SIZES[kind]
        if len(packed) <= 4:
            place = packed.ljust(4, b"\x00")
        else:
            place = struct.pack(f"{order}I", heap + len(behind))
            behind += packed + b"\x00" * (len(packed) % 2)
        body += struct.pack(f"{order}HHI", tag, kind, count) + place
    return struct.pack(f"{order}H", len(tags)) + body + b"\x00" * 4 + behind


def exif_block(tags, order=">", more_top=None):
    """A TIFF block: the model in the first directory, all else in the Exif directory."""
    top = {tag: value for tag, value in tags.items() if tag < 0x8000} | (more_top or {})
    inner = {tag: value for tag, value in tags.items() if tag >= 0x8000}
    start = 8 + len(directory(top | {0x8769: (LONG, [0])}, 8, order))
    first = directory(top | {0x8769: (LONG, [start])}, 8, order)
    mark = b"MM\x00\x2a" if order == ">" else b"II\x2a\x00"
    return mark + struct.pack(f"{order}I", 8) + first + directory(inner, start, order)


def jpeg(tags=None, pixels=(8256, 5504), order=">", block=None, before=b""):
    """The head of a JPEG: other segments, Exif, frame, and the start of the picture data."""
    block = exif_block(FULL_FRAME if tags is None else tags, order) if block is None else block
    payload = b"Exif\x00\x00" + block
    app1 = b"\xff\xe1" + struct.pack(">H", len(payload) + 2) + payload
    frame = b"\xff\xc0" + struct.pack(">HBHHB", 11, 8, pixels[1], pixels[0], 1) + b"\x01\x11\x00"
    return b"\xff\xd8" + before + app1 + frame + b"\xff\xda\x00\x08" + b"\x00" * 64


def png(wide, high):
    """A whole PNG of that many black one-bit pixels, tiny because it packs so well."""
    row = b"\x00" + b"\x00" * ((wide + 7) // 8)
    packer = zlib.compressobj(9)
    data = b"".join(packer.compress(row) for _ in range(high)) + packer.flush()

    def chunk(kind, body):
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    header = struct.pack(">IIBBBBB", wide, high, 1, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", data) + chunk(b"IEND", b"")
