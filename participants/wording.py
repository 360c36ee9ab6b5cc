"""Sentences about gear: what is wrong with a value, what a picture says, what to pack."""

import math
from typing import Any

from participants.core.errors import BadValue, PictureRefused
from participants.core.exif import PIXELS_AT_MOST, PictureGear, Read
from participants.core.isolation import isolated
from participants.core.packing import Item
from participants.core.units import fahrenheit_from_celsius, quarts_from_litres

FIELDS = {
    "sensor_width_mm": "The sensor's width",
    "sensor_height_mm": "The sensor's height",
    "pixels_wide": "The number of pixels across",
    "pixels_high": "The number of pixels down",
    "frames_per_s": "Frames a second",
    "af_limit_f": "The smallest aperture with autofocus",
    "top_iso": "The highest good ISO",
    "focal_min_mm": "The shortest focal length",
    "focal_max_mm": "The longest focal length",
    "aperture_wide": "The widest f-number at the short end",
    "aperture_long": "The widest f-number at the long end",
    "near_limit_m": "The near limit",
    "max_magnification": "The maximum magnification",
    "weight_g": "The weight",
    "factor": "A teleconverter's factor",
    "length_mm": "A tube's length",
    "volts": "The voltage",
    "ampere_hours": "The capacity",
    "count": "The number of batteries",
}
SOURCES = {
    "model": "the camera's name in the picture",
    "picture": "the size of the picture",
    "both_routes": "pixels and resolution of the sensor, and the 35 mm equivalent: both agree",
    "resolution": "pixels and resolution of the sensor",
    "equivalent": "the 35 mm equivalent",
    "lens_model": "the lens's name in the picture",
    "lens_specification": "the lens's own data in the picture",
    "focal_length": "the focal length of this picture",
    "f_number": "the aperture of this picture",
    "exposure_time": "the shutter of this picture",
}


def bad_value_sentence(error: BadValue) -> str:
    """What a value must be."""
    name = FIELDS.get(error.field, "This value")
    unit = f" {error.data.get('unit')}" if error.data.get("unit") else ""
    if error.field == "focal_max_mm" and error.low and error.low > 1.0:
        return f"The long end of a zoom is not shorter than its short end, {error.low:g} mm."
    if error.field == "factor":
        return "A teleconverter's factor is above 1 and at most 4; 1.4 and 2 are usual."
    return f"{name} is from {error.low:g} to {error.high:g}{unit}."


def picture_refused_sentence(error: PictureRefused) -> str:
    """Why nothing was read from a file, and what to do."""
    by_hand = "Take a JPEG straight from the camera, or type the gear in."
    sentences = {
        "not_a_picture": "This file is no picture.",
        "not_jpeg": "This is no JPEG.",
        "no_header": "This picture carries no data of the camera; editing and messaging programs remove them.",
        "too_many_pixels": f"This picture has more than {PIXELS_AT_MOST // 1_000_000} million pixels, "
        "the most that is looked at.",
    }
    return f"{sentences[error.reason]} {by_hand}"


def read_words(read: Read | None) -> str:
    """Where a value was read, or that it is not known."""
    return "not known" if read is None else f"from {SOURCES[read.source]}"


def picture_lines(gear: PictureGear) -> tuple[tuple[str, str, str], ...]:
    """What a picture says, as (what, value, where from); what it does not say reads "not known"."""
    wide_high = "{0[0]} × {0[1]} pixels".format
    lines: list[tuple[str, Read | None, Any]] = [
        ("Body", gear.body_name, str),
        ("Pixels", gear.pixels, wide_high),
        ("Sensor", gear.sensor_mm, "{0[0]:g} × {0[1]:g} mm".format),
        ("Lens", gear.lens_name, str),
        ("Focal length of the lens", gear.focal_range_mm, _range_words),
        ("Widest apertures", gear.apertures, lambda pair: f"f/{pair[0]:g} to f/{pair[1]:g}"),
        ("Focal length in this picture", gear.focal_mm, "{:g} mm".format),
    ]
    found = [
        (name, write(read.value) if read else "not known", read_words(read) if read else "")
        for name, read, write in lines
    ]
    if gear.as_mm and gear.focal_mm:
        found.append(("Frames", f"as {gear.as_mm.value:g} mm does on 36 × 24 mm", read_words(gear.as_mm)))
    return tuple(found)


def _range_words(pair: tuple[float, float]) -> str:
    return f"{pair[0]:g} mm" if pair[0] == pair[1] else f"{pair[0]:g} to {pair[1]:g} mm"


def picture_questions(gear: PictureGear) -> tuple[str, ...]:
    """What the page has to ask after a picture was read."""
    found = []
    if gear.sensor_mm is None:
        guesses = " or ".join(
            f"{one.value[0]:g} × {one.value[1]:g} mm ({read_words(one)})" for one in gear.sensor_guesses
        )
        found.append(f"The sensor's size is not certain{': ' + guesses if guesses else ''}. Please choose it.")
    if gear.converter_hint is not None:
        found.append(
            f"This picture was taken at {gear.converter_hint:g} times the lens's longest focal length: "
            "a teleconverter was probably on. Add it below your lenses."
        )
    found.append(
        "Pictures do not carry the near limit and the maximum magnification: see the lens's sheet or use a tape."
    )
    return tuple(found)


AIR = {
    "free": "up to 100 Wh: in the cabin, without asking",
    "ask_carrier": "between 100 and 160 Wh: in the cabin, two at most, and only if the carrier agrees",
    "not_allowed": "above 160 Wh: not allowed on passenger aircraft",
}
SUPPORTS = {"tripod": "Tripod", "bean_bag": "Bean bag", "clamp": "Clamp", "monopod": "Monopod"}
PLAIN = {
    "quiet_soles": "Quiet soles",
    "muted_colours": "Muted colours, nothing that rustles",
    "red_light": "A head lamp with red light",
    "forecast_to_follow": "Warm or light clothing: forecast to follow",
    "silent_shutter": "Know how to switch your camera to silent, and its lamps and beeps off",
    "one_bag": "One bag a seat",
    "gear_to_follow": "Camera and lens: to follow",
    "too_many_large": "More than two batteries between 100 and 160 Wh: leave the rest at home",
}


def item_sentence(item: Item, units: str = "metric") -> str:
    """One line of the packing list."""
    names, amount = ", ".join(map(isolated, item.names)), item.amount or 0.0
    about = " (an estimate)" if item.assumed else ""
    if item.kind == "gear":
        return names
    if item.kind in SUPPORTS:
        return f"{SUPPORTS[item.kind]} for {names}" + (
            "" if item.rule == "own" else ": not in your list, ask your leader"
        )
    if item.kind == "bottles":
        return f"Water for the fullest day: {water_text(float(names), units)}"
    if item.kind == "cabin_bag":
        return _cabin_words(item)
    sentences = {
        "cards": f"Cards for {names}: about {amount:.0f} GB for the fullest day{about}",
        "charged_batteries": f"Charged batteries for {names}: {amount:.0f} for the fullest day{about}",
        "spare_battery": f"{_battery_words(names)}, {amount:g} Wh: {AIR.get(item.rule, '')}",
        "warm_layers": f"Warm layers for sitting still: air down to {_degrees(amount, units)}",
        "sun_and_salt": f"Sun hat and something salty: air up to {_degrees(amount, units)}",
        "knee_pad": f"Something to kneel on for {names}",
    }
    return sentences.get(item.kind) or PLAIN[item.kind]


def water_text(litres: float, units: str) -> str:
    """Water in litres or US quarts, and the bottles of one of these that hold it."""
    amount, unit = (quarts_from_litres(litres), "US quart") if units == "feet" else (litres, "litre")
    shown = f"{amount:.1f} US quarts" if units == "feet" else f"{round(amount, 2):g} l"
    bottles = math.ceil(amount - 1e-9)
    return f"{shown} in {bottles} bottle{'' if bottles == 1 else 's'} of one {unit}"


def _battery_words(name: str) -> str:
    """A spare battery by its name, said to be one where the name does not say so itself."""
    return name[:1].upper() + name[1:] if "batter" in name.lower() else f"Spare battery {name}".strip()


def _degrees(temperature_c: float, units: str) -> str:
    if units == "feet":
        return f"{fahrenheit_from_celsius(temperature_c):.0f} °F"
    return f"{temperature_c:.0f} °C"


def _cabin_words(item: Item) -> str:
    limit = f"Cabin bag ({', '.join(map(isolated, item.names))}): " if item.names else "Cabin bag: "
    endings = {
        "over": "the lenses alone are above your limit",
        "some_unknown": "some weights are not known",
        "within": "the lenses fit; weigh the whole bag",
    }
    return f"{limit}lenses {item.amount or 0.0:g} kg, {endings[item.rule]}"


DEVICES = {
    "de": {"phone": "Telefon", "tablet": "Tablet", "phone or tablet": "Telefon oder Tablet", "device": "Gerät"},
    "es": {
        "phone": "teléfono",
        "tablet": "tableta",
        "phone or tablet": "teléfono o tableta",
        "computer": "ordenador",
        "device": "dispositivo",
    },
}


def device_words(name: str, language: str) -> str:
    """A device's name, such as "phone (iOS)", for a mail in that language."""
    kind, bracket, system = name.partition(" (")
    return f"{DEVICES.get(language, {}).get(kind, kind)}{bracket}{system}"


AIR_NOTE = (
    "Spare batteries fly in the cabin only, their contacts covered. ICAO/IATA passenger rules, from memory; "
    "rules change: ask the carrier."
)
