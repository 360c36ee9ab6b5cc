"""The light in words: titles and descriptions of drawings, classes, cautions."""

import numpy as np

from participants.core.isolation import isolated
from participants.core.language import gettext as _
from participants.core.language import gettext_noop as noted
from participants.core.language import pgettext
from trips.core.light import Caution, Interval, SessionLight, ViewLight, YearMap
from trips.core.values import LightSettings
from trips.documents.quantities import clock_range_text, clock_text, distance_range

MONTHS_SHORT = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
CLASS_WORDS = {
    "none": noted("no sun"),
    "front": noted("front light"),
    "side": noted("side light"),
    "back": noted("back light"),
    "top": noted("top light"),
    "soft": noted("soft light, no direction"),
    "shade": noted("perch in shade"),
}
DRAWN_WORDS = {"front": noted("front"), "side": noted("side"), "back": noted("back"), "top": noted("top")}
CAUTIONS = {
    "sun_in_frame": noted("Sun inside the frame {span}: do not look through the lens at it"),
    "shadow_on_perch": noted("The hide's own shadow lies on the perch {span}, {until}"),
    "shadow_on_water": noted("The hide's own shadow lies on the near edge of the water {span}, {until}"),
    "behind_horizon": noted("The sun is behind the horizon line {span}, {until}"),
    "scent": noted("Wind from behind the seat carries scent to the subject"),
}
ASSUMED_WORDS = {
    "horizon": "open horizon, assumed",
    "perch_height_m": "perch on the ground, assumed",
    "glass_loss_stops": "glass takes 1.5 stops, assumed",
    "width_m": "hide 3 m wide, assumed",
    "roof_height_m": "roof not measured: no shadow of the hide, assumed",
    "excess_c": "as warm as the air, assumed",
}


def class_words(name: str) -> str:
    """A class of light in words."""
    return _(CLASS_WORDS.get(name, name))


def drawn_word(name: str) -> str:
    """A class of light in one word, for a drawing."""
    return _(DRAWN_WORDS[name])


def compass_letter(name: str) -> str:
    """The letter for N, E, S or W."""
    north, east = pgettext("compass", "N"), pgettext("compass", "E")
    return {"N": north, "E": east, "S": pgettext("compass", "S"), "W": pgettext("compass", "W")}[name]


def interval_words(interval: Interval) -> str:
    """A class with its time: "front light 07:18–11:48"."""
    return f"{class_words(interval.name)} {clock_range_text(interval.starts_at, interval.ends_at)}"


def seat_title(light: ViewLight) -> str:
    """Title of the seat's drawing."""
    return _("{hide}, {view}: the light from the seat", hide=isolated(light.hide.name), view=isolated(light.view.name))


def seat_description(light: ViewLight, units: str = "metric") -> str:
    """The seat's drawing in words."""
    view = light.view
    distance = distance_range(view.near_m, view.far_m, units)
    parts = [
        _(
            "The lens looks along {bearing:.0f}° at a subject {distance} away, drawn at the top.",
            bearing=view.bearing_deg,
            distance=distance,
        ),
        _("Light: {stretches}.", stretches="; ".join(interval_words(interval) for interval in light.on_perch)),
    ]
    if view.horizon:
        highest = max(view.horizon, key=lambda point: point[1])
        values = {"height": highest[1], "bearing": highest[0]}
        parts.append(_("Hills stand on the rim, highest {height:.0f}° at {bearing:.0f}°.", **values))
    else:
        parts.append(_("Open horizon, assumed."))
    parts += [f"{caution_words(caution)}." for caution in light.cautions if caution.kind != "class_changes"]
    return " ".join(parts)


def caution_words(caution: Caution) -> str:
    """What to watch for, with its times."""
    span = clock_range_text(caution.starts_at, caution.ends_at)
    until = _("clears {clock}", clock=clock_text(caution.ends_at))
    if not caution.clears:
        until = _("does not clear in this session")
    if caution.kind == "class_changes":
        told = {"before": class_words(caution.before), "after": class_words(caution.after)}
        return _("{clock}: from {before} to {after}", clock=clock_text(caution.starts_at), **told)
    return _(CAUTIONS[caution.kind], span=span, until=until)


def best_words(found: SessionLight) -> str:
    """The light of a hide in a session in a few words: "front light 07:18–10:45, score 0.92"."""
    if not found.views:
        return "no view entered"
    best = found.best_view
    longest = max(best.on_perch, key=lambda interval: interval.ends_at - interval.starts_at)
    return f"{interval_words(longest)}, score {found.score:.2f}"


def year_title(year: YearMap, name: str) -> str:
    """Title of the year map."""
    return f"{name}: light through {year.year}, for {year.wish} light under a {year.sky} sky"


def year_description(year: YearMap) -> str:
    """The year map in words: the best quarter-hour of each month."""
    told = []
    for month in range(1, 13):
        weeks = [week for week, day in enumerate(year.days) if day.month == month]
        scores = year.scores[weeks].mean(axis=0)
        best = int(np.argmax(scores))
        told.append(f"{MONTHS_SHORT[month - 1]} {scores[best]:.1f} at {best // 4:02d}:{best % 4 * 15:02d}")
    return "Weeks across, hours of the day down. Best moment of each month: " + ", ".join(told) + "."


def scoring_description(settings: LightSettings) -> str:
    """The plot of the scoring in words."""
    heights = ", ".join(f"{height:g}° {factor:g}" for height, factor in settings.height_scoring)
    return (
        f"Factor by height of the sun: {heights}. By direction at 0°, 45°, 90°, 180° from straight behind the seat: "
        f"front {_list(settings.wish_front)}; side {_list(settings.wish_side)}; back {_list(settings.wish_back)}."
    )


def _list(factors: tuple[float, ...]) -> str:
    return ", ".join(f"{factor:g}" for factor in factors)
