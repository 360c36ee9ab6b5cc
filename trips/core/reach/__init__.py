"""Whether a person's gear works in a hide, and what would help."""

from trips.core.reach.help import Addition, Offer, what_would_help
from trips.core.reach.sets import GearSet
from trips.core.reach.verdict import VERDICTS, HideReach, Reach, Remark, ViewReach, hide_reach, pixels_needed, reach

__all__ = [
    "VERDICTS",
    "Addition",
    "GearSet",
    "HideReach",
    "Offer",
    "Reach",
    "Remark",
    "ViewReach",
    "hide_reach",
    "pixels_needed",
    "reach",
    "what_would_help",
]
