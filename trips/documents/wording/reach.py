"""What gear can do in a view, in plain words; lengths in metres or feet."""

from participants.core.isolation import isolated
from participants.core.language import decimal_text, list_text, ngettext
from participants.core.language import gettext as _
from participants.core.language import gettext_noop as noted
from participants.core.units import MILLIMETRES_PER_INCH, feet_from_metres
from trips.core.access import Access, Breach
from trips.core.reach import Addition, GearSet, Reach, Remark
from trips.documents.quantities import walk_text
from trips.documents.wording.rota_names import starting

VERDICTS = {
    "good": noted("good"),
    "tight": noted("tight"),
    "needs_crop": noted("needs a crop"),
    "portrait_only": noted("portrait only"),
    "small_file": noted("small file"),
    "out_of_reach": noted("out of reach"),
    "fault": noted("cannot focus here"),
}
REACHES = {
    "good": noted("{subject} fills about {share} % of the frame at {distance} with {set}."),
    "needs_crop": noted(
        "{subject} fills about {share} % of the frame at {distance} with {set}: it needs a crop ({pixels} pixels "
        "remain)."
    ),
    "tight": noted("{subject} fills about {share} % of the frame at {distance} with {set}: tight."),
    "portrait_only": noted(
        "{subject} fills about {share} % of the frame at {distance} with {set}: more than fits, so portraits only."
    ),
    "out_of_reach": noted("{subject} gets {pixels} pixels at {distance} with {set}: fewer than {least}, out of reach."),
    "small_file": noted("{subject} gets {pixels} pixels at {distance} with {set}: {output} asks for {least}."),
}
LEVELS = {"good": "good", "fault": "fault"}  # all others ask for care
OUTPUTS = {
    "web": noted("screen and web"),
    "30x20": noted("a print of 30 x 20 cm"),
    "a3": noted("a print of A3"),
}
ASSUMED = {
    "max_magnification": noted("Maximum magnification assumed: test it with a tape."),
    "near_limit_m": noted("Near limit not known: test it with a tape."),
    "near_m": noted("The distance to the perch is assumed."),
    "far_m": noted("The distance to the perch is assumed."),
    "water_edge_m": noted("The distance to the water's edge is assumed."),
    "gear": noted("No gear typed in yet: counted as good."),
    "top_iso": noted("The body's highest good ISO is assumed."),
}
WARNINGS = {
    "water_edge_inside_limit": noted("Birds at the near water edge, {value}, are inside the near limit of {limit}."),
    "near_part_inside_limit": noted("The near part of the perch, from {value}, is inside the near limit of {limit}."),
    "far_part_beyond_tube": noted("With {piece} nothing beyond {limit} is sharp; the perch goes on to {value}."),
    "near_limit_unknown": noted("The near limit of {piece} is not known: test it with a tape."),
    "focus_uncertain": noted("Whether it focuses here is not certain: test it with a tape."),
    "manual_focus": noted("Autofocus may fail: the widest aperture is f/{value}, and {piece} focuses to f/{limit}."),
}
LACKING = {"no_lens": noted("no usable lens"), "no_body": noted("no usable body")}
ENTRIES = {
    "walk": noted("walking in"),
    "stoop": noted("stooping in"),
    "ladder": noted("a ladder"),
    "crawl": noted("crawling in"),
}


def distance_words(length_m: float, units: str = "metric") -> str:
    """A distance with one decimal: "6.0 m", "19.7 ft"."""
    return decimal_text(f"{feet_from_metres(length_m):.1f} ft" if units == "feet" else f"{length_m:.1f} m")


def width_words(length_mm: float, units: str = "metric") -> str:
    """A width in the frame: centimetres or inches below a metre and a half."""
    if length_mm >= 1500.0:
        return distance_words(length_mm / 1000.0, units)
    return f"{length_mm / MILLIMETRES_PER_INCH:.0f} in" if units == "feet" else f"{length_mm / 10.0:.0f} cm"


def verdict_words(verdict: str) -> str:
    """The verdict as people read it."""
    return _(VERDICTS[verdict])


def verdict_level(verdict: str) -> str:
    """How a verdict is marked: good, care or fault."""
    return LEVELS.get(verdict, "care")


def set_words(gear: GearSet) -> str:
    """The set by name: "200-600 mm f/5.6-6.3 at 450 mm with 1.4x and 25 mm tube"."""
    lens = gear.lens
    words = lens.name
    if lens.focal_min_mm < lens.focal_max_mm:
        words = _("{lens} at {focal:.0f} mm", lens=lens.name, focal=gear.focal_mm)
    extras = [one.name or _("another") for one in (gear.converter, gear.tube) if one is not None]
    return _("{lens} with {extras}", lens=words, extras=list_text(extras)) if extras else words


def focal_words(gear: GearSet) -> str:
    """The set by its numbers alone: "600 mm", "600 mm x 1.4", "450 mm + 25 mm tube"."""
    words = f"{gear.focal_mm:.0f} mm"
    if gear.converter is not None:
        words += f" × {gear.converter_factor:g}"
    return words if gear.tube is None else _("{set} + {length:g} mm tube", set=words, length=gear.tube_mm)


def reach_words(reach: Reach) -> str:
    """The verdict of a reach as people read it; gear that is away is not a matter of focus."""
    return _(LACKING[reach.reason.kind]) if reach.reason.kind in LACKING else verdict_words(reach.verdict)


def other_set_words(card: GearSet, gear: GearSet, fill: float | None) -> str:
    """What another set of the same person would do, by its difference alone: "with the 2×: 60 %"."""
    told = [gear.body.name] if gear.body != card.body else []
    if gear.lens != card.lens:
        told.append(focal_words(gear) if gear.lens.focal_min_mm < gear.lens.focal_max_mm else set_words(gear))
    else:
        if gear.converter != card.converter:
            factor = f"{gear.converter_factor:g}"
            told.append(_("the {factor}×", factor=factor) if gear.converter else _("no converter"))
        if gear.tube != card.tube:
            told.append(_("the {length:g} mm tube", length=gear.tube_mm) if gear.tube else _("no tube"))
        if gear.focal_mm != card.focal_mm:
            told.append(f"{gear.focal_mm:.0f} mm")
    return _("with {set}: {share:.0f} %", set=list_text(told), share=100 * (fill or 0.0))


def reach_sentence(reach: Reach, subject: str = "", units: str = "metric") -> str:
    """The verdict as a sentence that gives its numbers."""
    reason = reach.reason
    if reach.verdict == "fault":
        return _fault_sentence(reason, units)
    if reach.best is None or reach.judged_at_m is None:
        return _(ASSUMED["gear"])
    here = {"distance": distance_words(reach.judged_at_m, units), "set": focal_words(reach.best)}
    if reason.kind == "distance_only":
        return _(
            "The frame is {width} wide at {distance} with {set}; no subject is known here, "
            "so the distance alone counts.",
            width=width_words(reach.field_mm or 0.0, units),
            **here,
        )
    here |= {"subject": isolated(subject), "pixels": f"{reach.pixels or 0:,}".replace(",", "\u00a0")}
    if reach.verdict in ("out_of_reach", "small_file"):
        here |= {"least": f"{reason.limit:.0f}", "output": _(OUTPUTS.get(reason.item, ""))}
    return _(REACHES[reach.verdict], share=f"{100 * (reach.fill or 0.0):.0f}", **here)


def _fault_sentence(reason: Remark, units: str) -> str:
    if reason.kind in LACKING:
        lacks = starting(_(LACKING[reason.kind]))
        if reason.item:
            return _("{lacks} ({piece} is away): no picture from here.", lacks=lacks, piece=isolated(reason.item))
        return _("{lacks}: no picture from here.", lacks=lacks)
    limit, there = distance_words(reason.limit or 0.0, units), distance_words(reason.value or 0.0, units)
    if reason.kind == "beyond_tube":
        return _(
            "With {piece} nothing beyond {limit} is sharp, and the perch is at {distance}.",
            piece=reason.item or _("the tube"),
            limit=limit,
            distance=there,
        )
    return _(
        "{piece} focuses from {limit} on, and the perch is at {distance}: it cannot focus here.",
        piece=reason.item,
        limit=limit,
        distance=there,
    )


def warning_sentence(remark: Remark, units: str = "metric") -> str:
    """A warning in words."""
    value = distance_words(remark.value or 0.0, units)
    limit = distance_words(remark.limit or 0.0, units)
    if remark.kind == "manual_focus":
        value, limit = f"{remark.value or 0:.1f}", f"{remark.limit or 0:g}"
    return _(WARNINGS[remark.kind], value=value, limit=limit, piece=remark.item or _("the tube"))


def assumed_sentences(names: tuple[str, ...]) -> tuple[str, ...]:
    """What was assumed, each said once."""
    return tuple(dict.fromkeys(_(ASSUMED[name]) for name in names if name in ASSUMED))


def help_sentence(one: Addition, lender: str = "", loses: str = "") -> str:
    """One thing that would help; `lender`: whose spare piece it is; `loses`: what that person then does without."""
    becomes = verdict_words(one.reach.verdict)
    if loses:
        return f"{help_sentence(one, lender)} {lender} {loses}."
    whose = f" (lent by {lender})" if lender else ""
    if one.kind == "view":
        return f"The view “{one.item}” of the same hide: {becomes}."
    if one.kind == "converter":
        return f"A {one.size:g}× converter{whose}: {becomes}."
    if one.kind == "tube":
        return f"An extension tube of {one.size:g} mm{whose}: {becomes}."
    return f"The {one.kind} {one.item}{whose}: {becomes}."


def loss_words(worse: int, views: int) -> str:
    """What a lender does without: "loses nothing", "loses reach in 2 of 6 views"."""
    return f"loses reach in {worse} of {views} views" if worse else "loses nothing"


def breach_sentence(breach: Breach, units: str = "metric") -> str:
    """One limit a hide goes beyond, with both numbers."""
    if breach.what == "steps":
        asked = ngettext("{number:g} step", "{number:g} steps", float(breach.asked))
        limit = decimal_text(f"{breach.limit:g}")
    elif breach.what == "walk_m":
        way, limit = (walk_text(float(length), units) for length in (breach.asked, breach.limit))
        asked = _("a walk of {walk}", walk=way)
    elif breach.what == "hours":
        asked, limit = _("{hours:g} hours at a stretch", hours=breach.asked), decimal_text(f"{breach.limit:g}")
    else:
        asked, limit = (_(ENTRIES[str(entry)]) for entry in (breach.asked, breach.limit))
    if breach.firm:
        return _("{asked}, at most {limit}", asked=asked, limit=limit)
    return _("{asked}, rather at most {limit}", asked=asked, limit=limit)


def access_sentence(found: Access, hide_name: str, units: str = "metric") -> str:
    """Everything that stands against a person in a hide, or nothing ("")."""
    parts, hide = [], isolated(hide_name)
    if found.cannot:
        limits = _joined(found.cannot, units)
        parts.append(_("{hide} does not fit the limits given: {limits}.", hide=hide, limits=limits))
    if found.rather_not:
        limits = _joined(found.rather_not, units)
        parts.append(_("{hide} is possible, though rather not: {limits}.", hide=hide, limits=limits))
    if found.unsure:
        limits = _joined(found.unsure, units)
        parts.append(_("{hide} may not suit, by a number nobody measured: {limits}.", hide=hide, limits=limits))
    return " ".join(parts)


def _joined(breaches: tuple[Breach, ...], units: str) -> str:
    return "; ".join(breach_sentence(breach, units) for breach in breaches)
