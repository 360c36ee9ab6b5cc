"""What gear can do in a view, in plain words; lengths in metres or feet."""

from participants.core.isolation import isolated
from participants.core.units import MILLIMETRES_PER_INCH, feet_from_metres
from trips.core.access import Access, Breach
from trips.core.reach import Addition, GearSet, Reach, Remark
from trips.documents.quantities import walk_text

VERDICTS = {
    "good": "good",
    "tight": "tight",
    "needs_crop": "needs a crop",
    "portrait_only": "portrait only",
    "small_file": "small file",
    "out_of_reach": "out of reach",
    "fault": "cannot focus here",
}
LEVELS = {"good": "good", "fault": "fault"}  # all others ask for care
OUTPUTS = {"web": "screen and web", "30x20": "a print of 30 x 20 cm", "a3": "a print of A3"}
ASSUMED = {
    "max_magnification": "Maximum magnification assumed: test it with a tape.",
    "near_limit_m": "Near limit not known: test it with a tape.",
    "near_m": "The distance to the perch is assumed.",
    "far_m": "The distance to the perch is assumed.",
    "water_edge_m": "The distance to the water's edge is assumed.",
    "gear": "No gear typed in yet: counted as good.",
    "top_iso": "The body's highest good ISO is assumed.",
}
LACKING = {"no_lens": "No usable lens", "no_body": "No usable body"}
ENTRIES = {"walk": "walking in", "stoop": "stooping in", "ladder": "a ladder", "crawl": "crawling in"}


def distance_words(length_m: float, units: str = "metric") -> str:
    """A distance with one decimal: "6.0 m", "19.7 ft"."""
    return f"{feet_from_metres(length_m):.1f} ft" if units == "feet" else f"{length_m:.1f} m"


def width_words(length_mm: float, units: str = "metric") -> str:
    """A width in the frame: centimetres or inches below a metre and a half."""
    if length_mm >= 1500.0:
        return distance_words(length_mm / 1000.0, units)
    return f"{length_mm / MILLIMETRES_PER_INCH:.0f} in" if units == "feet" else f"{length_mm / 10.0:.0f} cm"


def verdict_words(verdict: str) -> str:
    """The verdict as people read it."""
    return VERDICTS[verdict]


def verdict_level(verdict: str) -> str:
    """How a verdict is marked: good, care or fault."""
    return LEVELS.get(verdict, "care")


def set_words(gear: GearSet) -> str:
    """The set by name: "200-600 mm f/5.6-6.3 at 450 mm with 1.4x and 25 mm tube"."""
    lens = gear.lens
    words = lens.name
    if lens.focal_min_mm < lens.focal_max_mm:
        words += f" at {gear.focal_mm:.0f} mm"
    extras = [one.name or "another" for one in (gear.converter, gear.tube) if one is not None]
    return f"{words} with {' and '.join(extras)}" if extras else words


def focal_words(gear: GearSet) -> str:
    """The set by its numbers alone: "600 mm", "600 mm x 1.4", "450 mm + 25 mm tube"."""
    words = f"{gear.focal_mm:.0f} mm"
    if gear.converter is not None:
        words += f" × {gear.converter_factor:g}"
    return words + (f" + {gear.tube_mm:g} mm tube" if gear.tube is not None else "")


def reach_words(reach: Reach) -> str:
    """The verdict of a reach as people read it; gear that is away is not a matter of focus."""
    return LACKING[reach.reason.kind].lower() if reach.reason.kind in LACKING else verdict_words(reach.verdict)


def other_set_words(card: GearSet, gear: GearSet, fill: float | None) -> str:
    """What another set of the same person would do, by its difference alone: "with the 2×: 60 %"."""
    told = [gear.body.name] if gear.body != card.body else []
    if gear.lens != card.lens:
        told.append(focal_words(gear) if gear.lens.focal_min_mm < gear.lens.focal_max_mm else set_words(gear))
    else:
        if gear.converter != card.converter:
            told.append(f"the {gear.converter_factor:g}×" if gear.converter else "no converter")
        if gear.tube != card.tube:
            told.append(f"the {gear.tube_mm:g} mm tube" if gear.tube else "no tube")
        if gear.focal_mm != card.focal_mm:
            told.append(f"{gear.focal_mm:.0f} mm")
    return f"with {' and '.join(told)}: {100 * (fill or 0.0):.0f} %"


def reach_sentence(reach: Reach, subject: str = "", units: str = "metric") -> str:
    """The verdict as a sentence that gives its numbers."""
    reason = reach.reason
    if reach.verdict == "fault":
        return _fault_sentence(reason, units)
    if reach.best is None or reach.judged_at_m is None:
        return ASSUMED["gear"]
    at = f"at {distance_words(reach.judged_at_m, units)} with {focal_words(reach.best)}"
    if reason.kind == "distance_only":
        seen = width_words(reach.field_mm or 0.0, units)
        return f"The frame is {seen} wide {at}; no subject is known here, so the distance alone counts."
    pixels = f"{reach.pixels or 0:,}".replace(",", "\u00a0")
    if reach.verdict == "out_of_reach":
        return f"{subject} gets {pixels} pixels {at}: fewer than {reason.limit:.0f}, out of reach."
    if reach.verdict == "small_file":
        return f"{subject} gets {pixels} pixels {at}: {OUTPUTS[reason.item]} asks for {reason.limit:.0f}."
    fill = f"{100 * (reach.fill or 0.0):.0f} %"
    endings = {
        "good": ".",
        "needs_crop": f": it needs a crop ({pixels} pixels remain).",
        "tight": ": tight.",
        "portrait_only": ": more than fits, so portraits only.",
    }
    return f"{subject} fills about {fill} of the frame {at}{endings[reach.verdict]}"


def _fault_sentence(reason: Remark, units: str) -> str:
    if reason.kind in LACKING:
        away = f" ({isolated(reason.item)} is away)" if reason.item else ""
        return f"{LACKING[reason.kind]}{away}: no picture from here."
    limit, there = distance_words(reason.limit or 0.0, units), distance_words(reason.value or 0.0, units)
    if reason.kind == "beyond_tube":
        return f"With {reason.item or 'the tube'} nothing beyond {limit} is sharp, and the perch is at {there}."
    return f"{reason.item} focuses from {limit} on, and the perch is at {there}: it cannot focus here."


def warning_sentence(remark: Remark, units: str = "metric") -> str:
    """A warning in words."""
    value = distance_words(remark.value or 0.0, units)
    limit = distance_words(remark.limit or 0.0, units)
    sentences = {
        "water_edge_inside_limit": f"Birds at the near water edge, {value}, are inside the near limit of {limit}.",
        "near_part_inside_limit": f"The near part of the perch, from {value}, is inside the near limit of {limit}.",
        "far_part_beyond_tube": f"With {remark.item or 'the tube'} nothing beyond {limit} is sharp; "
        f"the perch goes on to {value}.",
        "near_limit_unknown": f"The near limit of {remark.item} is not known: test it with a tape.",
        "focus_uncertain": "Whether it focuses here is not certain: test it with a tape.",
        "manual_focus": f"Autofocus may fail: the widest aperture is f/{remark.value or 0:.1f}, "
        f"and {remark.item} focuses to f/{remark.limit or 0:g}.",
    }
    return sentences[remark.kind]


def assumed_sentences(names: tuple[str, ...]) -> tuple[str, ...]:
    """What was assumed, each said once."""
    return tuple(dict.fromkeys(ASSUMED[name] for name in names if name in ASSUMED))


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
    can = "at most" if breach.firm else "rather at most"
    if breach.what == "steps":
        return f"{breach.asked:g} steps, {can} {breach.limit:g}"
    if breach.what == "walk_m":
        asked, limit = (walk_text(float(length), units) for length in (breach.asked, breach.limit))
        return f"a walk of {asked}, {can} {limit}"
    if breach.what == "hours":
        return f"{breach.asked:g} hours at a stretch, {can} {breach.limit:g}"
    return f"{ENTRIES[str(breach.asked)]}, {can} {ENTRIES[str(breach.limit)]}"


def access_sentence(found: Access, hide_name: str, units: str = "metric") -> str:
    """Everything that stands against a person in a hide, or nothing ("")."""
    parts = []
    if found.cannot:
        parts.append(f"{hide_name} does not fit the limits given: {_joined(found.cannot, units)}.")
    if found.rather_not:
        parts.append(f"{hide_name} is possible, though rather not: {_joined(found.rather_not, units)}.")
    if found.unsure:
        parts.append(f"{hide_name} may not suit, by a number nobody measured: {_joined(found.unsure, units)}.")
    return " ".join(parts)


def _joined(breaches: tuple[Breach, ...], units: str) -> str:
    return "; ".join(breach_sentence(breach, units) for breach in breaches)
