"""The columns of the files of people and of gear, and how numbers stand in them."""

from decimal import Decimal
from typing import Any

PEOPLE = ("name", "email", "phone", "language", "units", "emergency_contact", "diet")
PEOPLE_COLUMNS = (*PEOPLE, "place")  # with how they come on this trip
# What pages call these columns, as `heading_key` compares headings.
PEOPLE_LABELS = {
    "e_mail": "email",
    "e_mail_address": "email",
    "e_mail_(may_stay_empty)": "email",
    "telephone": "phone",
    "lengths_and_temperatures_in": "units",
    "place_on_the_trip": "place",
    "state": "place",
}
GEAR_FIELDS: dict[str, tuple[str, ...]] = {
    "body": (
        "sensor_width_mm",
        "sensor_height_mm",
        "pixels_wide",
        "pixels_high",
        "frames_per_s",
        "af_limit_f",
        "top_iso",
        "spare",
    ),
    "lens": (
        "focal_min_mm",
        "focal_max_mm",
        "aperture_wide",
        "aperture_long",
        "near_limit_m",
        "max_magnification",
        "takes_converter",
        "weight_g",
        "spare",
    ),
    "converter": ("factor", "spare"),
    "tube": ("length_mm", "spare"),
    "support": ("support", "spare"),
    "battery": ("volts", "ampere_hours", "count", "spare"),
}
GEAR_COLUMNS = ("person", "kind", "name", *dict.fromkeys(field for fields in GEAR_FIELDS.values() for field in fields))
KNOWN = frozenset((*PEOPLE_COLUMNS, *GEAR_COLUMNS))
YES, NO = ("yes", "y", "true", "1", "x"), ("no", "n", "false", "0")


def number_written(value: Any) -> str:
    """A number as it stands in a file: a point, no exponent, and never readable as thousands (6.0960, not 6.096)."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if not isinstance(value, int | float):
        return str(value)
    text = f"{Decimal(repr(value)):f}"
    text = text.removesuffix(".0")
    whole, _, part = text.partition(".")
    return f"{text}0" if len(part) == 3 and 1 <= len(whole.lstrip("-")) <= 3 and whole.lstrip("-")[0] != "0" else text


def yes_or_no(text: str) -> bool | None:
    """What a cell says; None for one that says neither."""
    word = text.strip().lower()
    return True if word in YES else False if word in NO else None
