"""The settings card in plain words."""

import math
from datetime import datetime
from itertools import pairwise

from participants.core.units import pounds_from_kilograms
from trips.core.advice import Carry, Depth, Setting, ShutterStep, Why
from trips.documents.days import ViewPage
from trips.documents.quantities import clock_text, length_text
from trips.documents.wording.reach import distance_words, width_words

SUPPORTS = {"tripod": "tripod", "bean_bag": "bean bag", "clamp": "clamp", "monopod": "monopod"}
LIGHT_SHORT = {
    "front": "front",
    "side": "side",
    "back": "back",
    "top": "sun overhead",
    "soft": "soft, no direction",
    "shade": "shade",
    "none": "no sun",
}
FOCUS = {"single_point": "one point on the eye", "group": "a group of points"}
STEPS = {"rest": " on a rest", "still": "", "moving": ""}
TOO_DARK = "too dark"
COMPENSATION = (
    "Dial: stops of exposure compensation. A meter shows middle grey: white and back light take more, black takes less "
    "(common practice)."
)
POINTS = ("N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE", "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW")
BACKGROUNDS = {
    "front": "in the sun like the subject: look for an even part of it",
    "side": "lit from the side: a dark part of it sets the subject off",
    "back": "in shade behind a bright rim: dark parts of it are best",
    "soft": "as grey as the sky: look for colour behind the subject",
}
REFLECTIONS = {
    "low": "From low over the water, leave room under the subject for its reflection; wind breaks it.",
    "below": "You look down on the water: it is the background, and reflects little of the subject.",
}


def setting_words(setting: Setting | None) -> str:
    """ "1/2000 s, f/5, ISO 1600", or that it is too dark."""
    if setting is None:
        return TOO_DARK
    iso = "automatic ISO" if setting.iso is None else f"ISO {setting.iso}"
    return f"1/{setting.shutter_part} s, f/{setting.f_number:g}, {iso}"


def light_short(name: str) -> str:
    """The light on the perch in a word or two."""
    return LIGHT_SHORT.get(name, name)


def stops_words(stops: float) -> str:
    """Exposure compensation as on the dial, empty for none: +1, −1."""
    return f"{stops:+g}".replace("-", "−") if stops else ""


def step_sentences(view: ViewPage) -> tuple[str, ...]:
    """What dawn and dusk allow: "Too dark until 07:06." and "1/125 s on a rest from 07:06, 1/2000 s from 07:41."."""
    if not view.steps:
        return ()
    spans = view.steps[0].spans
    if not spans:
        return ("Too dark for a picture throughout, with all that body, lens and seat give.",)
    whole = (view.rows[0].at, view.rows[-1].at)  # a hide may have its own hours in a session
    dark = [f"until {clock_text(spans[0][0])}"] if spans[0][0] > whole[0] else []
    dark += [f"{clock_text(one[1])} to {clock_text(after[0])}" for one, after in pairwise(spans)]
    if spans[-1][1] < whole[1]:
        dark.append(f"from {clock_text(spans[-1][1])}")
    told = [f"1/{step.shutter_part} s{STEPS[step.kind]} {_spans_words(step, whole)}" for step in view.steps]
    return (*((f"Too dark {', '.join(dark)}.",) if dark else ()), f"Wide open at the top ISO: {', '.join(told)}.")


def _spans_words(step: ShutterStep, whole: tuple[datetime, datetime]) -> str:
    said = []
    for begun, over in step.spans:
        late, early = begun > whole[0], over < whole[1]
        if late and early:
            said.append(f"{clock_text(begun)}–{clock_text(over)}")
        elif late or early:
            said.append(f"from {clock_text(begun)}" if late else f"until {clock_text(over)}")
        else:
            said.append("throughout")
    return " and ".join(said) or "never"


def handling_sentence(view: ViewPage) -> str:
    """Focus and bursts of both lines in one sentence."""
    if view.moving is None:
        return ""
    group = f", {FOCUS['group']} for flight" if view.moving.focus == "group" else ""
    return (
        f"Focus continuous: {FOCUS['single_point']}{group}. "
        "Short bursts at rest, the fastest your body gives for movement."
    )


def settings_reasons(view: ViewPage) -> tuple[str, ...]:
    """Why the settings are what they are, each reason once."""
    said = [_why_sentence(why, line.kind) for line in view.lines for why in line.reasons]
    if any(row.compensation for row in view.rows):
        said.append(COMPENSATION)
    return tuple(dict.fromkeys(sentence for sentence in said if sentence))


def _why_sentence(why: Why, kind: str) -> str:
    """One reason of a line; empty for a kind that is no longer told."""
    value, limit = why.value or 0.0, why.limit or 0.0
    if why.kind.startswith("speed_"):
        movement = why.kind.removeprefix("speed_").replace("_", " ")
        return (
            f"{kind.capitalize()}: {movement} at {value:g} m/s smears {limit:g} pixels at most, at the size of your "
            "picture."
        )
    sentences = {
        "manual_with_auto_iso": "Manual exposure, automatic ISO: it follows the light, to a stop either way.",
        "working_shutter": f"Moving: 1/{value:.0f} s; 1/{limit:.0f} s is often too slow for small birds (common "
        "practice).",
        "still_shutter": f"Still: 1/{value:.0f} s (common practice).",
        "panning": f"Follow a flight with the lens: {value:.0%} of its speed are left, 1/{limit:.0f} s is enough "
        "(common practice).",
        "stop_down": f"Two thirds of a stop down from f/{limit:.2g}, less in poor light, more in glare (common "
        "practice).",
        "stop_down_converter": f"A full stop down from f/{limit:.2g}, because of the converter (common practice).",
        "iso_acceptable": f"ISO {value:.0f} to {limit:.0f} is acceptable (common practice).",
    }
    return sentences.get(why.kind, "")


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
        weight = "" if carry.weight_g is None else f" The lens alone weighs {_weight_words(carry.weight_g, units)}."
        left = f" Leave {', '.join(carry.left_behind)} behind." if carry.left_behind else ""
        found.append(f"The walk is {length_text(carry.walk_m, units)}.{weight}{left}")
    return tuple(found)


def _weight_words(weight_g: float, units: str) -> str:
    kilograms = weight_g / 1000.0
    return f"{pounds_from_kilograms(kilograms):.1f} lb" if units == "feet" else f"{kilograms:.1f} kg"


def compass_text(bearing_deg: float) -> str:
    """A bearing with its compass point: 250° (WSW)."""
    return f"{bearing_deg:.0f}° ({POINTS[round(bearing_deg / 22.5) % 16]})"


def background_sentence(view: ViewPage) -> str:
    """What stands behind the subject in the light that lasts longest, and its reflection (common practice)."""
    if view.bearing_deg is None or not view.light:
        return ""
    longest = max(view.light, key=lambda part: part.ends_at - part.starts_at)
    told = BACKGROUNDS.get(longest.name)
    behind = f"Background, {compass_text(view.bearing_deg)}: {told}." if told else ""
    return " ".join(part for part in (behind, REFLECTIONS.get(view.water, "")) if part)
