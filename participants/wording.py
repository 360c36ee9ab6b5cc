"""Sentences about gear: what is wrong with a value, what a picture says, what to pack."""

import math
from typing import Any

from participants.core.errors import BadValue, PictureRefused
from participants.core.exif import PIXELS_AT_MOST, PictureGear, Read
from participants.core.isolation import isolated
from participants.core.language import decimal_text, list_text, ngettext, pgettext
from participants.core.language import gettext as _
from participants.core.language import gettext_noop as noted
from participants.core.packing import Item
from participants.core.units import fahrenheit_from_celsius, quarts_from_litres

FIELDS = {
    "sensor_width_mm": noted("The sensor's width"),
    "sensor_height_mm": noted("The sensor's height"),
    "pixels_wide": noted("The number of pixels across"),
    "pixels_high": noted("The number of pixels down"),
    "frames_per_s": noted("Frames a second"),
    "af_limit_f": noted("The smallest aperture with autofocus"),
    "top_iso": noted("The highest good ISO"),
    "focal_min_mm": noted("The shortest focal length"),
    "focal_max_mm": noted("The longest focal length"),
    "aperture_wide": noted("The widest f-number at the short end"),
    "aperture_long": noted("The widest f-number at the long end"),
    "near_limit_m": noted("The near limit"),
    "max_magnification": noted("The maximum magnification"),
    "weight_g": noted("The weight"),
    "factor": noted("A teleconverter's factor"),
    "length_mm": noted("A tube's length"),
    "volts": noted("The voltage"),
    "ampere_hours": noted("The capacity"),
    "count": noted("The number of batteries"),
}
SOURCES = {
    "model": noted("the camera's name in the picture"),
    "picture": noted("the size of the picture"),
    "both_routes": noted("pixels and resolution of the sensor, and the 35 mm equivalent: both agree"),
    "resolution": noted("pixels and resolution of the sensor"),
    "equivalent": noted("the 35 mm equivalent"),
    "lens_model": noted("the lens's name in the picture"),
    "lens_specification": noted("the lens's own data in the picture"),
    "focal_length": noted("the focal length of this picture"),
    "f_number": noted("the aperture of this picture"),
    "exposure_time": noted("the shutter of this picture"),
}


def bad_value_sentence(error: BadValue) -> str:
    """What a value must be."""
    name = _(FIELDS.get(error.field, noted("This value")))
    unit = f" {error.data.get('unit')}" if error.data.get("unit") else ""
    if error.field == "focal_max_mm" and error.low and error.low > 1.0:
        return _("The long end of a zoom is not shorter than its short end, {length:g} mm.", length=error.low)
    if error.field == "factor":
        return _("A teleconverter's factor is above 1 and at most 4; 1.4 and 2 are usual.")
    return _("{name} is from {low:g} to {high:g}{unit}.", name=name, low=error.low, high=error.high, unit=unit)


def picture_refused_sentence(error: PictureRefused) -> str:
    """Why nothing was read from a file, and what to do."""
    by_hand = _("Take a JPEG straight from the camera, or type the gear in.")
    sentences = {
        "not_a_picture": _("This file is no picture."),
        "not_jpeg": _("This is no JPEG."),
        "no_header": _("This picture carries no data of the camera; editing and messaging programs remove them."),
        "too_many_pixels": _(
            "This picture has more than {number} million pixels, the most that is looked at.",
            number=PIXELS_AT_MOST // 1_000_000,
        ),
    }
    return f"{sentences[error.reason]} {by_hand}"


def read_words(read: Read | None) -> str:
    """Where a value was read, or that it is not known."""
    return _("not known") if read is None else _("from {source}", source=_(SOURCES[read.source]))


def picture_lines(gear: PictureGear) -> tuple[tuple[str, str, str], ...]:
    """What a picture says, as (what, value, where from); what it does not say reads "not known"."""
    lines: list[tuple[str, Read | None, Any]] = [
        (_("Body"), gear.body_name, str),
        (_("Pixels"), gear.pixels, lambda size: _("{wide} × {high} pixels", wide=size[0], high=size[1])),
        (_("Sensor"), gear.sensor_mm, lambda size: decimal_text(f"{size[0]:g} × {size[1]:g} mm")),
        (_("Lens"), gear.lens_name, str),
        (_("Focal length of the lens"), gear.focal_range_mm, _range_words),
        (_("Widest apertures"), gear.apertures, lambda pair: _range(f"f/{pair[0]:g}", f"f/{pair[1]:g}")),
        (_("Focal length in this picture"), gear.focal_mm, "{:g} mm".format),
    ]
    found = [
        (name, write(read.value) if read else _("not known"), read_words(read) if read else "")
        for name, read, write in lines
    ]
    if gear.as_mm and gear.focal_mm:
        frames = _("as {length:g} mm does on 36 × 24 mm", length=gear.as_mm.value)
        found.append((_("Frames"), frames, read_words(gear.as_mm)))
    return tuple(found)


def _range_words(pair: tuple[float, float]) -> str:
    return f"{pair[0]:g} mm" if pair[0] == pair[1] else f"{_range(f'{pair[0]:g}', f'{pair[1]:g}')} mm"


def _range(low: str, high: str) -> str:
    return _("{low} to {high}", low=low, high=high)


def picture_questions(gear: PictureGear) -> tuple[str, ...]:
    """What the page has to ask after a picture was read."""
    found = []
    if gear.sensor_mm is None:
        sizes = [
            f"{decimal_text(f'{one.value[0]:g} × {one.value[1]:g} mm')} ({read_words(one)})"
            for one in gear.sensor_guesses
        ]
        guesses = list_text(sizes, "or")
        found.append(
            _("The sensor's size is not certain: {guesses}. Please choose it.", guesses=guesses)
            if guesses
            else _("The sensor's size is not certain. Please choose it.")
        )
    if gear.converter_hint is not None:
        found.append(
            _(
                "This picture was taken at {factor:g} times the lens's longest focal length: "
                "a teleconverter was probably on. Add it below your lenses.",
                factor=gear.converter_hint,
            )
        )
    found.append(
        _("Pictures do not carry the near limit and the maximum magnification: see the lens's sheet or use a tape.")
    )
    return tuple(found)


AIR = {
    "free": noted("up to 100 Wh: in the cabin, without asking"),
    "ask_carrier": noted("between 100 and 160 Wh: in the cabin, two at most, and only if the carrier agrees"),
    "not_allowed": noted("above 160 Wh: not allowed on passenger aircraft"),
}
SUPPORTS = {
    "tripod": noted("Tripod"),
    "bean_bag": noted("Bean bag"),
    "clamp": noted("Clamp"),
    "monopod": noted("Monopod"),
}
PLAIN = {
    "quiet_soles": noted("Quiet soles"),
    "muted_colours": noted("Muted colours, nothing that rustles"),
    "red_light": noted("A head lamp with red light"),
    "forecast_to_follow": noted("Warm or light clothing: forecast to follow"),
    "silent_shutter": noted("Know how to switch your camera to silent, and its lamps and beeps off"),
    "one_bag": noted("One bag a seat"),
    "gear_to_follow": noted("Camera and lens: to follow"),
    "too_many_large": noted("More than two batteries between 100 and 160 Wh: leave the rest at home"),
}


NUMBERED = {
    "cards": noted("Cards for {names}: about {amount:.0f} GB for the fullest day"),
    "charged_batteries": noted("Charged batteries for {names}: {amount:.0f} for the fullest day"),
}
CABIN_BAG = {
    "over": noted("lenses {weight:g} kg, the lenses alone are above your limit"),
    "some_unknown": noted("lenses {weight:g} kg, some weights are not known"),
    "within": noted("lenses {weight:g} kg, the lenses fit; weigh the whole bag"),
}


def item_sentence(item: Item, units: str = "metric") -> str:
    """One line of the packing list."""
    names, amount = ", ".join(map(isolated, item.names)), item.amount or 0.0
    if item.kind == "gear":
        return names
    if item.kind in SUPPORTS:
        support = _(SUPPORTS[item.kind])
        if item.rule == "own":
            return _("{support} for {hides}", support=support, hides=names)
        return _("{support} for {hides}: not in your list, ask your leader", support=support, hides=names)
    if item.kind == "bottles":
        return _("Water for the fullest day: {water}", water=water_text(float(names), units))
    if item.kind == "cabin_bag":
        return _cabin_words(item)
    if item.kind == "spare_battery":
        battery = {"battery": _battery_words(names), "energy": amount, "rule": _(AIR.get(item.rule, ""))}
        return _("{battery}, {energy:g} Wh: {rule}", **battery)
    if item.kind in NUMBERED:
        sentence = _(NUMBERED[item.kind], names=names, amount=amount)
        return _("{thing} (an estimate)", thing=sentence) if item.assumed else sentence
    sentences = {
        "warm_layers": _("Warm layers for sitting still: air down to {air}", air=_degrees(amount, units)),
        "sun_and_salt": _("Sun hat and something salty: air up to {air}", air=_degrees(amount, units)),
        "knee_pad": _("Something to kneel on for {hides}", hides=names),
    }
    return sentences.get(item.kind) or _(PLAIN[item.kind])


def water_text(litres: float, units: str) -> str:
    """Water in litres or US quarts, and the bottles of one of these that hold it."""
    if units == "feet":
        amount = quarts_from_litres(litres)
        return ngettext(
            "{water:.1f} US quarts in {number} bottle of one US quart",
            "{water:.1f} US quarts in {number} bottles of one US quart",
            math.ceil(amount - 1e-9),
            water=amount,
        )
    bottles = math.ceil(litres - 1e-9)
    water = round(litres, 2)
    return ngettext(
        "{water:g} l in {number} bottle of one litre",
        "{water:g} l in {number} bottles of one litre",
        bottles,
        water=water,
    )


def _battery_words(name: str) -> str:
    """A spare battery by its name, said to be one where the name does not say so itself."""
    says_so = any(part in name.lower() for part in ("batter", pgettext("in the name of a battery", "batter")))
    return name[:1].upper() + name[1:] if says_so else _("Spare battery {name}", name=name).strip()


def _degrees(temperature_c: float, units: str) -> str:
    if units == "feet":
        return f"{fahrenheit_from_celsius(temperature_c):.0f} °F"
    return f"{temperature_c:.0f} °C"


def _cabin_words(item: Item) -> str:
    weighed = _(CABIN_BAG[item.rule], weight=item.amount or 0.0)
    if item.names:
        return _("Cabin bag ({limit}): {weighed}", limit=", ".join(map(isolated, item.names)), weighed=weighed)
    return _("Cabin bag: {weighed}", weighed=weighed)


DEVICES = {
    "phone": noted("phone"),
    "tablet": noted("tablet"),
    "phone or tablet": noted("phone or tablet"),
    "computer": noted("computer"),
    "device": noted("device"),
}


def device_words(name: str) -> str:
    """A device's name, such as "phone (iOS)", in the language in use."""
    kind, bracket, system = name.partition(" (")
    return f"{_(DEVICES[kind]) if kind in DEVICES else kind}{bracket}{system}"


AIR_NOTE = noted(
    "Spare batteries fly in the cabin only, their contacts covered. ICAO/IATA passenger rules, from memory; "
    "rules change: ask the carrier."
)
