"""The settings card in plain words."""

import math
from collections.abc import Collection
from datetime import datetime
from itertools import pairwise

from participants.core.isolation import isolated
from participants.core.language import decimal_text, list_text, pgettext
from participants.core.language import gettext as _
from participants.core.language import gettext_noop as noted
from participants.core.units import pounds_from_kilograms
from trips.core.advice import Carry, Depth, Setting, ShutterStep, Why
from trips.documents.days import ViewPage
from trips.documents.quantities import clock_text, length_text
from trips.documents.wording.reach import distance_words, width_words

SUPPORTS = {
    "tripod": noted("tripod"),
    "bean_bag": noted("bean bag"),
    "clamp": noted("clamp"),
    "monopod": noted("monopod"),
}
LIGHT_SHORT = {
    "front": noted("front"),
    "side": noted("side"),
    "back": noted("back"),
    "top": noted("sun overhead"),
    "soft": noted("soft, no direction"),
    "shade": noted("shade"),
    "none": noted("no sun"),
}
TOO_DARK = noted("too dark")
COMPENSATION = noted(
    "Dial: stops of exposure compensation. A meter shows middle grey: white and back light take more, black takes less "
    "(common practice)."
)
TO_DO = ("manual_with_auto_iso", "panning")  # reasons that ask something of the hands
LINES = {"still": noted("Still"), "moving": noted("Moving")}
MOVEMENTS = {
    "speed_still": noted("small movements"),
    "speed_feeding": noted("feeding"),
    "speed_head_turn": noted("head turn"),
    "speed_hop": noted("hop"),
    "speed_flight": noted("flight"),
}
REASONS = {
    "manual_with_auto_iso": noted("Manual exposure, automatic ISO: it follows the light, to a stop either way."),
    "working_shutter": noted("Moving: 1/{value} s; 1/{limit} s is often too slow for small birds (common practice)."),
    "still_shutter": noted("Still: 1/{value} s (common practice)."),
    "panning": noted(
        "Follow a flight with the lens: {share} of its speed is left, 1/{limit} s is enough (common practice)."
    ),
    "stop_down": noted(
        "Two thirds of a stop down from f/{aperture}, less in poor light, more in glare (common practice)."
    ),
    "stop_down_converter": noted("A full stop down from f/{aperture}, because of the converter (common practice)."),
    "iso_acceptable": noted("ISO {value} to {limit} is acceptable (common practice)."),
}
BACKGROUNDS = {
    "front": noted("in the sun like the subject: look for an even part of it"),
    "side": noted("lit from the side: a dark part of it sets the subject off"),
    "back": noted("in shade behind a bright rim: dark parts of it are best"),
    "soft": noted("as grey as the sky: look for colour behind the subject"),
}
REFLECTIONS = {
    "low": noted("From low over the water, leave room under the subject for its reflection; wind breaks it."),
    "below": noted("You look down on the water: it is the background, and reflects little of the subject."),
}


def setting_words(setting: Setting | None) -> str:
    """ "1/2000 s, f/5, ISO 1600", or that it is too dark."""
    if setting is None:
        return _(TOO_DARK)
    iso = _("automatic ISO") if setting.iso is None else f"ISO {setting.iso}"
    return f"1/{setting.shutter_part} s, f/{setting.f_number:g}, {iso}"


def setting_short(setting: Setting | None) -> str:
    """The same for a narrow column: "1/2000 f/5 ISO 1600", which breaks before the ISO alone."""
    return setting_words(setting).replace(" s, ", "\u00a0").replace(", ", " ").replace("ISO ", "ISO\u00a0")


def light_short(name: str) -> str:
    """The light on the perch in a word or two."""
    return _(LIGHT_SHORT.get(name, name))


def stops_words(stops: float) -> str:
    """Exposure compensation as on the dial, empty for none: +1, −1."""
    return decimal_text(f"{stops:+g}".replace("-", "−")) if stops else ""


def step_sentences(view: ViewPage) -> tuple[str, ...]:
    """What dawn and dusk allow: "Too dark until 07:06." and "1/125 s on a rest from 07:06, 1/2000 s from 07:41."."""
    if not view.steps:
        return ()
    spans = view.steps[0].spans
    if not spans:
        return (_("Too dark for a picture throughout, with all that body, lens and seat give."),)
    whole = (view.rows[0].at, view.rows[-1].at)  # a hide may have its own hours in a session
    dark = [_("until {clock}", clock=clock_text(spans[0][0]))] if spans[0][0] > whole[0] else []
    dark += [_("{low} to {high}", low=clock_text(one[1]), high=clock_text(after[0])) for one, after in pairwise(spans)]
    if spans[-1][1] < whole[1]:
        dark.append(_("from {clock}", clock=clock_text(spans[-1][1])))
    after = (*(step.spans for step in view.steps[1:]), None)
    steps = [step for step, shorter in zip(view.steps, after, strict=True) if step.spans != shorter]
    told = ", ".join(_step_words(step, whole) for step in steps)
    wide_open = _("Wide open at the top ISO: {steps}.", steps=told)
    return (_("Too dark {spans}.", spans=", ".join(dark)), wide_open) if dark else (wide_open,)


def _step_words(step: ShutterStep, whole: tuple[datetime, datetime]) -> str:
    """One shutter time and when it is long enough: "1/125 s on a rest from 07:06"."""
    values = {"shutter": f"1/{step.shutter_part} s", "spans": _spans_words(step, whole)}
    if step.kind == "rest":
        return _("{shutter} on a rest {spans}", **values)
    return _("{shutter} by hand {spans}", **values) if step.kind == "hand" else "{shutter} {spans}".format(**values)


def _spans_words(step: ShutterStep, whole: tuple[datetime, datetime]) -> str:
    said = []
    for begun, over in step.spans:
        late, early = begun > whole[0], over < whole[1]
        if late and early:
            said.append(f"{clock_text(begun)}–{clock_text(over)}")
        elif late or early:
            said.append(
                _("from {clock}", clock=clock_text(begun)) if late else _("until {clock}", clock=clock_text(over))
            )
        else:
            said.append(_("throughout"))
    return list_text(said) if said else _("never")


def handling_sentences(view: ViewPage) -> tuple[str, ...]:
    """Focus and bursts of both lines."""
    if view.moving is None:
        return ()
    flight = (_("For flight, focus with a group of points."),) if view.moving.focus == "group" else ()
    bursts = _("Short bursts at rest, the fastest your body gives for movement.")
    return (_("Focus continuous: one point on the eye."), *flight, bursts)


def settings_reasons(view: ViewPage, kinds: Collection[str] = ()) -> tuple[str, ...]:
    """Why the settings are what they are, each reason once; with `kinds` those reasons alone."""
    said = [
        _why_sentence(why, line.kind) for line in view.lines for why in line.reasons if not kinds or why.kind in kinds
    ]
    if any(row.dial for row in view.rows):
        said.append(_(COMPENSATION))
    return tuple(dict.fromkeys(sentence for sentence in said if sentence))


def _why_sentence(why: Why, kind: str) -> str:
    """One reason of a line; empty for a kind that is no longer told."""
    value, limit = why.value or 0.0, why.limit or 0.0
    if why.kind.startswith("speed_"):
        return _(
            "{kind}: {movement} at {speed:g} m/s smears {pixels:g} pixels at most, at the size of your picture.",
            kind=_(LINES[kind]),
            movement=_(MOVEMENTS.get(why.kind, why.kind.removeprefix("speed_").replace("_", " "))),
            speed=value,
            pixels=limit,
        )
    numbers = {"value": f"{value:.0f}", "limit": f"{limit:.0f}", "share": f"{value:.0%}", "aperture": f"{limit:.2g}"}
    return _(REASONS[why.kind], **numbers) if why.kind in REASONS else ""


def depth_words(depth: Depth, units: str = "metric") -> str:
    """Depth of field at a distance: "11 cm at 6.0 m and f/5"."""
    at = {"distance": distance_words(depth.distance_m, units), "aperture": f"{depth.f_number:g}"}
    if math.isinf(depth.far_m):
        near = distance_words(depth.near_m, units)
        return _("from {near} on at {distance} and f/{aperture}", near=near, **at)
    spread_mm = (depth.far_m - depth.near_m) * 1000.0
    is_small = spread_mm < 100.0 and units != "feet"
    depth_shown = f"{spread_mm:.0f} mm" if is_small else width_words(spread_mm, units)
    return _("{depth} at {distance} and f/{aperture}", depth=depth_shown, **at)


def carry_sentences(carry: Carry, units: str = "metric") -> tuple[str, ...]:
    """What to carry, on which support, and the weight on a long walk."""
    pieces = ", ".join(piece for piece in carry.pieces if piece)
    found = [_("Carry {pieces}.", pieces=pieces), _support_sentence(carry)]
    if carry.long_walk:
        walk = [_("The walk is {walk}.", walk=length_text(carry.walk_m, units))]
        if carry.weight_g is not None:
            walk.append(_("The lens alone weighs {weight}.", weight=_weight_words(carry.weight_g, units)))
        if carry.left_behind:
            walk.append(_("Leave {pieces} behind.", pieces=", ".join(map(isolated, carry.left_behind))))
        found.append(" ".join(walk))
    return tuple(found)


def support_words(support: str) -> str:
    """What the set stands on, in a word or two."""
    return _(SUPPORTS[support]) if support in SUPPORTS else ""


def _support_sentence(carry: Carry) -> str:
    """What the seat takes, and which of the person's supports that is."""
    own, support = carry.support_name.strip(), _(SUPPORTS[carry.support])
    if not own:
        return _("The seat takes a {support}, which is not in your list: ask your leader.", support=support)
    if own.lower() in (SUPPORTS[carry.support], support.lower()):
        return _("The seat takes a {support}.", support=support)
    return _("The seat takes a {support}: {own}.", support=support, own=isolated(own))


def _weight_words(weight_g: float, units: str) -> str:
    kilograms = weight_g / 1000.0
    return decimal_text(f"{pounds_from_kilograms(kilograms):.1f} lb" if units == "feet" else f"{kilograms:.1f} kg")


def compass_text(bearing_deg: float) -> str:
    """A bearing with its compass point: 250° (WSW)."""
    points = pgettext("compass", "N NNE NE ENE E ESE SE SSE S SSW SW WSW W WNW NW NNW").split()
    return f"{bearing_deg:.0f}° ({points[round(bearing_deg / 22.5) % 16]})"


def background_sentences(view: ViewPage) -> tuple[str, ...]:
    """What stands behind the subject in the light that lasts longest, and its reflection (common practice)."""
    if view.bearing_deg is None or not view.light:
        return ()
    told = BACKGROUNDS.get(_longest(view))
    where = compass_text(view.bearing_deg)
    behind = _("Background, {bearing}: {light}.", bearing=where, light=_(told)) if told else ""
    return tuple(part for part in (behind, _(REFLECTIONS[view.water]) if view.water in REFLECTIONS else "") if part)


def background_light(view: ViewPage) -> str:
    """The light that what is said of the background holds for: "back"; empty where no light is known."""
    return light_short(_longest(view)) if view.light else ""


def _longest(view: ViewPage) -> str:
    return max(view.light, key=lambda part: part.ends_at - part.starts_at).name


def background_sentence(view: ViewPage) -> str:
    """The same as one text."""
    return " ".join(background_sentences(view))
