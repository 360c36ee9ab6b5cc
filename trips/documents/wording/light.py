"""The light in words: titles and descriptions of drawings, classes, cautions."""

import numpy as np

from trips.core.light import Caution, Interval, SessionLight, ViewLight, YearMap
from trips.core.values import LightSettings
from trips.documents.quantities import clock_range_text, clock_text, distance_range

MONTHS_SHORT = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
CLASS_WORDS = {
    "none": "no sun",
    "front": "front light",
    "side": "side light",
    "back": "back light",
    "top": "top light",
    "soft": "soft light, no direction",
    "shade": "perch in shade",
}
ASSUMED_WORDS = {
    "horizon": "open horizon, assumed",
    "perch_height_m": "perch on the ground, assumed",
    "glass_loss_stops": "glass takes 1.5 stops, assumed",
    "width_m": "hide 3 m wide, assumed",
    "roof_height_m": "roof not measured: no shadow of the hide, assumed",
    "excess_c": "as warm as the air, assumed",
}


def interval_words(interval: Interval) -> str:
    """A class with its time: "front light 07:18–11:48"."""
    return f"{CLASS_WORDS.get(interval.name, interval.name)} {clock_range_text(interval.starts_at, interval.ends_at)}"


def seat_title(light: ViewLight) -> str:
    """Title of the seat's drawing."""
    return f"{light.hide.name}, {light.view.name}: the light from the seat"


def seat_description(light: ViewLight, units: str = "metric") -> str:
    """The seat's drawing in words."""
    view = light.view
    distance = distance_range(view.near_m, view.far_m, units)
    parts = [
        f"The lens looks along {view.bearing_deg:.0f}° at a subject {distance} away, drawn at the top.",
        "Light: " + "; ".join(interval_words(interval) for interval in light.on_perch) + ".",
    ]
    if view.horizon:
        highest = max(view.horizon, key=lambda point: point[1])
        parts.append(f"Hills stand on the rim, highest {highest[1]:.0f}° at {highest[0]:.0f}°.")
    else:
        parts.append("Open horizon, assumed.")
    parts += [f"{caution_words(caution)}." for caution in light.cautions if caution.kind != "class_changes"]
    return " ".join(parts)


def caution_words(caution: Caution) -> str:
    """What to watch for, with its times."""
    span = clock_range_text(caution.starts_at, caution.ends_at)
    until = f"clears {clock_text(caution.ends_at)}" if caution.clears else "does not clear in this session"
    if caution.kind == "class_changes":
        after = CLASS_WORDS[caution.after]
        return f"{clock_text(caution.starts_at)}: from {CLASS_WORDS[caution.before]} to {after}"
    return {
        "sun_in_frame": f"Sun inside the frame {span}: do not look through the lens at it",
        "shadow_on_perch": f"The hide's own shadow lies on the perch {span}, {until}",
        "shadow_on_water": f"The hide's own shadow lies on the near edge of the water {span}, {until}",
        "behind_horizon": f"The sun is behind the horizon line {span}, {until}",
        "scent": "Wind from behind the seat carries scent to the subject",
    }[caution.kind]


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
