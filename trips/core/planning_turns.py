"""Which run of the planner comes next, where several leaders wait for one."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

MOST_OF_A_LEADER = 2  # runs under way at once; common practice, no source


@dataclass(frozen=True, slots=True)
class WaitingRun:
    """A run that nobody has begun: its `key`, whose it is, and when it was asked for. A trip has one at most."""

    key: Any
    leader: Any
    asked_at: datetime


def next_run(
    waiting: Iterable[WaitingRun],
    under_way: Mapping[Any, int],
    served_at: Mapping[Any, datetime],
    most: int = MOST_OF_A_LEADER,
) -> WaitingRun | None:
    """The run whose turn it is; None where none may begin.

    A leader with `most` runs under way (`under_way`, by leader) waits. Of the others comes first whoever was served
    longest ago (`served_at`: the last moment at which a run of theirs was under way; never served: first), and of
    theirs the one asked for first. So a leader with many trips never holds up another's one.
    """
    free = [run for run in waiting if under_way.get(run.leader, 0) < most]

    def turn(run: WaitingRun) -> tuple[bool, datetime, datetime, str]:
        served = served_at.get(run.leader)
        return served is not None, served or run.asked_at, run.asked_at, str(run.key)

    return min(free, key=turn, default=None)
