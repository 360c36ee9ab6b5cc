"""The settings card in plain words."""

import math

from trips.core.advice import Carry, Depth, Line, Setting, Why
from trips.documents.quantities import length_text
from trips.documents.wording.reach import distance_words, width_words

SUPPORTS = {"tripod": "tripod", "bean_bag": "bean bag", "clamp": "clamp", "monopod": "monopod"}
FOCUS = {
    "single_point": "continuous, one point on the eye",
    "group": "continuous, a group of points",
}
DRIVE = {"short_bursts": "short bursts", "high": "the fastest your body gives"}


def setting_words(setting: Setting) -> str:
    """ "1/2000 s at f/5, ISO about 1600"; a light that is too low says so."""
    words = f"1/{setting.shutter_part} s at f/{setting.f_number:g}"
    if setting.iso is None:
        return f"{words}, automatic ISO"
    return f"{words}, ISO about {setting.iso}" + (" (more than this body gives well)" if setting.too_low else "")


def iso_words(line: Line) -> str:
    """The ISO expected at start, middle and end: "6400, 1600, 400, to a stop either way"."""
    values = [setting.iso for setting in line.moments]
    if None in values:
        return "not known without a time and a sky"
    start, middle, end = values
    return f"about {start} at the start, {middle} in the middle, {end} at the end; a stop either way"


def why_sentence(why: Why) -> str:
    """One reason of a line."""
    value, limit = why.value or 0.0, why.limit or 0.0
    if why.kind.startswith("speed_"):
        movement = why.kind.removeprefix("speed_").replace("_", " ")
        return f"Computed for {movement} at {value:g} m/s and {limit:g} pixels of blur."
    sentences = {
        "manual_with_auto_iso": "Manual exposure with automatic ISO: shutter and aperture stay, the ISO follows.",
        "working_shutter": f"1/{value:.0f} s is the working speed; 1/{limit:.0f} s is often too slow for small birds "
        "(common practice).",
        "still_shutter": f"1/{value:.0f} s for a subject at rest (common practice).",
        "stop_down": f"Two thirds of a stop down from f/{limit:.2g} (common practice).",
        "stop_down_converter": f"A full stop down from f/{limit:.2g}, because of the converter (common practice).",
        "open_up_first": f"Where the light fails, open up to f/{value:g} first.",
        "shutter_follows_light": f"Then slow down to 1/{value:.0f} s.",
        "light_too_low": f"The light is simply too low for a while: it would take ISO {value:.0f}, "
        f"and {limit:.0f} is the most this body gives well.",
        "iso_acceptable": f"ISO {value:.0f} to {limit:.0f} is acceptable (common practice).",
    }
    return sentences[why.kind]


def depth_words(depth: Depth, units: str = "metric") -> str:
    """Depth of field at a distance: "11 cm at 6.0 m and f/5"."""
    at = f"at {distance_words(depth.distance_m, units)} and f/{depth.f_number:g}"
    if math.isinf(depth.far_m):
        return f"from {distance_words(depth.near_m, units)} on {at}"
    spread_mm = (depth.far_m - depth.near_m) * 1000.0
    if spread_mm < 100.0 and units != "feet":
        return f"{spread_mm:.0f} mm {at}"
    return f"{width_words(spread_mm, units)} {at}"


def carry_sentences(carry: Carry, units: str = "metric") -> tuple[str, ...]:
    """What to carry, on which support, and the weight on a long walk."""
    pieces = ", ".join(piece for piece in carry.pieces if piece)
    support = SUPPORTS[carry.support]
    own = f": {carry.support_name}" if carry.support_name else ", which is not in your list: ask your leader"
    own = "" if carry.support_name.strip().lower() == support else own
    found = [f"Carry {pieces}.", f"The seat takes a {support}{own}."]
    if carry.long_walk:
        weight = "" if carry.weight_g is None else f" The lens alone weighs {carry.weight_g / 1000.0:.1f} kg."
        left = f" Leave {', '.join(carry.left_behind)} behind." if carry.left_behind else ""
        found.append(f"The walk is {length_text(carry.walk_m, units)}.{weight}{left}")
    return tuple(found)
