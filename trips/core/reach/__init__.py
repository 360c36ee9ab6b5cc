"""Whether a person's gear works in a hide, and what would help."""

from trips.core.reach.help import Addition, Offer, what_would_help
from trips.core.reach.hides import HideReach, OneSetReach, ViewReach, hide_reach, with_one_set
from trips.core.reach.sets import GearSet
from trips.core.reach.verdict import VERDICTS, Reach, Remark, pixels_needed, reach
