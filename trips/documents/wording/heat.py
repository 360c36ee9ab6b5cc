"""Heat in words."""

from participants.core.units import fahrenheit_from_celsius
from participants.wording import water_text
from trips.core.heat import SessionHeat, work_rest_min
from trips.documents.quantities import clock_range_text, temperature_text

HEAT_TIER_WORDS = {
    "unknown": "no humidity forecast, so no heat index",
    "none": "heat index below caution",
    "caution": "heat index: caution",
    "extreme_caution": "heat index: extreme caution",
    "danger": "heat index: danger",
    "extreme_danger": "heat index: extreme danger",
}
HEAT_SOURCE = (
    "Heat index and its tiers: US National Weather Service; values are for shade, full sun may add up to 15 °F (8 °C). "
    "Water: OSHA names a cup (0.24 l) every 15 to 20 minutes, at most 1.4 l an hour. A reminder, not medical advice."
)


def heat_words(found: SessionHeat, units: str) -> str:
    """What the heat means for one hide in one session."""
    water = f"water for each: {water_text(found.water_l, units)}"
    if not found.above_limit or found.limit_c is None:
        return water
    if found.starts_at is None or found.ends_at is None:
        return f"air above {temperature_text(found.limit_c, units)} throughout: no half hour fits"
    cooler, limit = clock_range_text(found.starts_at, found.ends_at), temperature_text(found.limit_c, units)
    return f"air above {limit}: sit {cooler} instead, {water}; typed as the hide's own hours, its car follows"


def rest_words(found: SessionHeat, units: str) -> str:
    """NIOSH's minutes of work and rest for walking with gear at the hottest moment; empty where none are asked for."""
    if found.worst_hide_c is None:
        return ""
    work, rest = work_rest_min(fahrenheit_from_celsius(found.worst_hide_c), "moderate")
    if rest == 0:
        return ""
    told = "stop" if work == 0 else f"{work} min of it, then {rest} min of rest, in each hour"
    source = "NIOSH, moderate work, before its additions for sun and humidity"
    return f"Carrying gear in air of {temperature_text(found.worst_hide_c, units)}: {told} ({source})."
