"""What a straight-from-camera JPEG says of the body and lens that took it.

The file's head is read in memory by a short walk over its segments; nothing is decoded, the place data is never
looked at, and every number is checked before it is believed.
"""

import io
import logging
import math
import struct
from dataclasses import dataclass, replace
from typing import Any

from exifread.core.exif_header import ExifHeader

from participants.core.errors import PictureRefused

logging.getLogger("exifread").setLevel(logging.CRITICAL)  # a hostile head would fill the log with its complaints

HEAD_BYTES = 256 * 1024  # what is read of a file
PIXELS_AT_MOST = 62_000_000  # stated on the page
FORMAT_TOLERANCE = 0.03  # formats differ by more, and makers round by less
CONVERTER_TOLERANCE = 0.04  # engraved focal lengths and factors are rounded
COMMON_CONVERTERS = (1.25, 1.4, 1.7, 2.0)  # those on sale; from memory
ENTRIES_AT_MOST = 512  # of a directory: cameras write some dozens, a hostile head claims thousands
VALUES_AT_MOST = 256  # of a tag: the longest wanted is a name
DIAGONAL_35_MM = math.hypot(36.0, 24.0)

KNOWN_FORMATS = (  # name, width and height in millimetres
    ("44 x 33", 44.0, 33.0),
    ("36 x 24", 36.0, 24.0),
    ("23.5 x 15.6", 23.5, 15.6),
    ("22.3 x 14.9", 22.3, 14.9),
    ("17.3 x 13", 17.3, 13.0),
    ("13.2 x 8.8", 13.2, 8.8),
)
UNIT_MM = {2: 25.4, 3: 10.0, 4: 1.0, 5: 0.001}  # FocalPlaneResolutionUnit
TOP_TAGS = {0x0110: ("Model", None), 0x8769: ("Exif", None)}
EXIF_TAGS = {
    0x829A: ("ExposureTime", None),
    0x829D: ("FNumber", None),
    0x920A: ("FocalLength", None),
    0xA002: ("PixelsX", None),
    0xA003: ("PixelsY", None),
    0xA20E: ("ResolutionX", None),
    0xA20F: ("ResolutionY", None),
    0xA210: ("ResolutionUnit", None),
    0xA405: ("Equivalent", None),
    0xA432: ("LensSpecification", None),
    0xA434: ("LensModel", None),
}


@dataclass(frozen=True, slots=True)
class Read:
    """One thing read: its value and where in the file it came from (a key the wording knows)."""

    value: Any
    source: str


@dataclass(frozen=True, slots=True)
class PictureGear:
    """What a picture says; every field is None when it says nothing that can be trusted.

    `sensor_mm`: (width, height) of the known format both routes agree on; `sensor_guesses`: the sizes each route gave
    when they do not; `as_mm`: the 35 mm equivalent, for people only; `converter_hint`: a focal length outside the
    lens's range by a common factor. `asked`: what pictures do not carry and the page has to ask.
    """

    body_name: Read | None = None
    pixels: Read | None = None
    sensor_mm: Read | None = None
    sensor_guesses: tuple[Read, ...] = ()
    lens_name: Read | None = None
    focal_range_mm: Read | None = None
    apertures: Read | None = None
    focal_mm: Read | None = None
    f_number: Read | None = None
    seconds: Read | None = None
    as_mm: Read | None = None
    converter_hint: float | None = None
    asked: tuple[str, ...] = ("near_limit_m", "max_magnification")


class _WantedTags(ExifHeader):
    """ExifRead's header reader, held to the tags asked for and to short values; opens no other directory."""

    def _process_tag(self, *place: Any) -> None:
        wanted, entry = place[2], place[3]
        if wanted is not None and self.s2n(entry + 4, 4) <= VALUES_AT_MOST:
            super()._process_tag(*place)

    def read(self, offset: int, prefix: str, tags: dict[int, tuple[str, None]]) -> dict[str, Any]:
        """The wanted tags of the directory at `offset`."""
        if not 0 < offset < HEAD_BYTES or self.s2n(offset, 2) > ENTRIES_AT_MOST:
            return {}
        self.tags = {}
        self.dump_ifd(offset, prefix, tag_dict=tags, stop_tag="")
        return {name.removeprefix(f"{prefix} "): tag.values for name, tag in self.tags.items()}


def _segments(data: bytes) -> tuple[bytes | None, tuple[int, int] | None]:
    """The Exif block of a JPEG's head and the picture's pixels (wide, high); None for what is not there."""
    block, pixels, place = None, None, 2
    while place + 4 <= len(data) and data[place] == 0xFF:
        kind = data[place + 1]
        if kind == 0xFF:
            place += 1
            continue
        length = struct.unpack(">H", data[place + 2 : place + 4])[0]
        body = data[place + 4 : place + 2 + length]
        if kind == 0xE1 and block is None and body[:6] == b"Exif\x00\x00":
            block = body[6:]
        if 0xC0 <= kind <= 0xCF and kind not in (0xC4, 0xC8, 0xCC) and len(body) >= 5:
            high, wide = struct.unpack(">HH", body[1:5])
            pixels = (wide, high)
            break
        if kind == 0xDA or length < 2:
            break
        place += 2 + length
    return block, pixels


def _refuse_what_is_no_camera_jpeg(data: bytes) -> None:
    """PictureRefused for anything but a JPEG; a PNG is measured first, so that giants are named as such."""
    if data[:8] == b"\x89PNG\r\n\x1a\n" and len(data) >= 24:
        wide, high = struct.unpack(">II", data[16:24])
        _refuse_giants(wide, high)
        raise PictureRefused(reason="not_jpeg", wide=wide, high=high)
    if data[:2] != b"\xff\xd8":
        known = data[:4] in (b"GIF8", b"RIFF", b"II*\x00", b"MM\x00*") or data[4:8] == b"ftyp"
        raise PictureRefused(reason="not_jpeg" if known else "not_a_picture")


def _refuse_giants(wide: int, high: int) -> None:
    if wide * high > PIXELS_AT_MOST:
        raise PictureRefused(reason="too_many_pixels", wide=wide, high=high, most=PIXELS_AT_MOST)


def _tags(block: bytes) -> dict[str, Any]:
    """The wanted tags of an Exif block (a small TIFF file)."""
    if block[:2] not in (b"II", b"MM") or len(block) < 8:
        return {}
    header = _WantedTags(io.BytesIO(block), chr(block[0]), 0, 0, False, detailed=False)
    try:
        top = header.read(header.s2n(4, 4), "Top", TOP_TAGS)
        pointer = top.get("Exif")
        inner = header.read(int(pointer[0]), "Inner", EXIF_TAGS) if pointer else {}
    except (struct.error, ValueError, TypeError, IndexError, KeyError, OverflowError, ZeroDivisionError):
        return {}
    return top | inner


def _number(value: Any, low: float, high: float) -> float | None:
    """A tag's first value as a finite number within low..high, None otherwise (0/0 among them)."""
    try:
        first = value[0]
        if hasattr(first, "den"):
            found = first.num / first.den if first.den else math.nan
        else:
            found = float(first[0] if isinstance(first, tuple) else first)
    except (TypeError, ValueError, IndexError, ZeroDivisionError, OverflowError, AttributeError):
        return None
    return found if math.isfinite(found) and low <= found <= high else None


def _text(value: Any) -> str | None:
    """A tag's text, printable and at most 80 characters; None when there is none."""
    if not isinstance(value, str):
        return None
    kept = " ".join("".join(sign if sign.isprintable() else " " for sign in value).split())[:80]
    return kept or None


def _read(value: Any, source: str) -> Read | None:
    return None if value is None else Read(value, source)


def nearest_format(width_mm: float, height_mm: float) -> tuple[float, float] | None:
    """The known sensor format whose width and height are within 3 % of these, None when there is none."""
    best: tuple[float, float] | None = None
    least = FORMAT_TOLERANCE
    for _, wide, high in KNOWN_FORMATS:
        miss = max(abs(width_mm / wide - 1.0), abs(height_mm / high - 1.0))
        if miss <= least:
            best, least = (wide, high), miss
    return best


def _format_by_resolution(tags: dict[str, Any], pixels: tuple[int, int]) -> tuple[float, float] | None:
    """Sensor size from pixels and focal-plane resolution."""
    across = _number(tags.get("ResolutionX"), 1e-3, 1e7)
    down = _number(tags.get("ResolutionY"), 1e-3, 1e7) or across
    unit = UNIT_MM.get(int(_number(tags.get("ResolutionUnit"), 0, 10) or 2))
    if across is None or down is None or unit is None:
        return None
    wide = (_number(tags.get("PixelsX"), 1, 60_000) or pixels[0]) / across * unit
    high = (_number(tags.get("PixelsY"), 1, 60_000) or pixels[1]) / down * unit
    return max(wide, high), min(wide, high)


def _formats_by_equivalent(focal_mm: float, as_mm: float) -> list[tuple[float, float]]:
    """Known formats whose crop factor, by diagonal or by width, is within 3 % of equivalent / focal length."""
    crop = as_mm / focal_mm
    slack = FORMAT_TOLERANCE + 0.5 / as_mm  # the equivalent is a whole number
    found = []
    for _, wide, high in KNOWN_FORMATS:
        crops = (DIAGONAL_35_MM / math.hypot(wide, high), 36.0 / wide)
        if min(abs(crop / one - 1.0) for one in crops) <= slack:
            found.append((wide, high))
    return found


def _sensor(tags: dict[str, Any], pixels: tuple[int, int] | None, gear: PictureGear) -> PictureGear:
    """The sensor's size where both routes agree on a known format; else the guesses, to be asked."""
    measured = _format_by_resolution(tags, pixels) if pixels else None
    by_resolution = nearest_format(*measured) if measured else None
    by_equivalent = (
        _formats_by_equivalent(gear.focal_mm.value, gear.as_mm.value) if gear.focal_mm and gear.as_mm else []
    )
    if by_resolution is not None and by_resolution in by_equivalent:
        return replace(gear, sensor_mm=Read(by_resolution, "both_routes"))
    guesses = [Read(one, "equivalent") for one in by_equivalent]
    if measured is not None:
        seen = by_resolution or (round(measured[0], 1), round(measured[1], 1))
        if 3.0 <= seen[0] <= 70.0 and seen[0] / 2.0 <= seen[1]:
            guesses.insert(0, Read(seen, "resolution"))
    return replace(gear, sensor_guesses=tuple(guesses))


def _lens(tags: dict[str, Any], gear: PictureGear) -> PictureGear:
    """The lens's range and apertures from its specification, and a hint at a converter."""
    given = tags.get("LensSpecification")
    parts = [given[place : place + 1] for place in range(4)] if isinstance(given, list) else [[]] * 4
    short, long = _number(parts[0], 1, 5000), _number(parts[1], 1, 5000)
    wide, narrow = _number(parts[2], 0.5, 64), _number(parts[3], 0.5, 64)
    if short is None or long is None or long < short:
        return gear
    apertures = Read((wide, narrow), "lens_specification") if wide and narrow else None
    hint = None
    if gear.focal_mm is not None:
        times = gear.focal_mm.value / long
        hint = next((one for one in COMMON_CONVERTERS if abs(times / one - 1.0) <= CONVERTER_TOLERANCE), None)
    return replace(
        gear, focal_range_mm=Read((short, long), "lens_specification"), apertures=apertures, converter_hint=hint
    )


def read_picture(data: bytes) -> PictureGear:
    """What the head of a JPEG file (at most the first 256 KiB are looked at) says of the gear that took it.

    PictureRefused when it is no picture, no JPEG, has more than 62 million pixels or carries no header. Numbers that
    cannot be (0/0, negative, endless) read as not known.
    """
    head = bytes(data[:HEAD_BYTES])
    _refuse_what_is_no_camera_jpeg(head)
    block, pixels = _segments(head)
    if pixels is not None:
        _refuse_giants(*pixels)
    tags = _tags(block) if block is not None else {}
    if not tags:
        raise PictureRefused(reason="no_header")
    pixels = pixels if pixels and min(pixels) > 0 else None
    gear = PictureGear(
        body_name=_read(_text(tags.get("Model")), "model"),
        pixels=_read((max(pixels), min(pixels)) if pixels else None, "picture"),
        lens_name=_read(_text(tags.get("LensModel")), "lens_model"),
        focal_mm=_read(_number(tags.get("FocalLength"), 1, 5000), "focal_length"),
        f_number=_read(_number(tags.get("FNumber"), 0.5, 64), "f_number"),
        seconds=_read(_number(tags.get("ExposureTime"), 1e-6, 3600), "exposure_time"),
        as_mm=_read(_number(tags.get("Equivalent"), 1, 20_000), "equivalent"),
    )
    return _lens(tags, _sensor(tags, pixels, gear))
