"""Heat in words."""

from trips.core.heat import SessionHeat
from trips.documents.wording.light import span_words

HEAT_TIER_WORDS = {
    "unknown": "no humidity forecast, so no heat index",
    "none": "no heat tier",
    "caution": "caution",
    "extreme_caution": "extreme caution",
    "danger": "danger",
    "extreme_danger": "extreme danger",
}
HEAT_SOURCE = (
    "Heat index and its tiers: US National Weather Service; values are for shade, full sun may add up to 15 °F (8 °C). "
    "Water: OSHA names a cup (0.24 l) every 15 to 20 minutes, at most 1.4 l an hour. A reminder, not medical advice."
)


def heat_words(found: SessionHeat) -> str:
    """What the heat means for one hide in one session."""
    water = f"{round(found.water_l, 2):g} l of water each ({found.bottles} bottle{'' if found.bottles == 1 else 's'} of 1 l)"
    if not found.above_limit or found.limit_c is None:
        return water
    if found.starts_at is None or found.ends_at is None:
        return f"above {found.limit_c:g} °C throughout: no half hour fits"
    return f"above {found.limit_c:g} °C: sit {span_words(found.starts_at, found.ends_at)} instead, {water}"
