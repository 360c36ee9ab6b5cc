"""The running day: who is where now, who is overdue, and who sat where, folded from what was noted.

In: the issued seats, sessions and happenings. Out: `DayState` and `Sat`. See docs/day.md.
"""

from trips.core.day.fold import fold_day, in_force
from trips.core.day.sat import sat_in
from trips.core.day.values import (
    Contradiction,
    DaySession,
    DayState,
    Happening,
    PersonNow,
    PlannedSeat,
    Sat,
    SessionNow,
)
