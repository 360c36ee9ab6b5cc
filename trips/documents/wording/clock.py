"""Sentences about clock times that do not exist or exist twice."""

from datetime import date, datetime

from trips.core.local_time import ClockTimeMissing, ClockTimeTwice


def day_words(day: date) -> str:
    """A day as people write it: "28 March 2027"."""
    return f"{day.day} {day:%B} {day.year}"


def moment_words(moment: datetime) -> str:
    """A moment told apart from its double by the zone's short name and offset: "02:30 CEST (+02:00)"."""
    name = moment.tzname() or ""
    offset = f"{moment:%z}"
    shown = f"{offset[:3]}:{offset[3:]}"
    return f"{moment:%H:%M} ({shown})" if name[:1] in "+-" else f"{moment:%H:%M} {name} ({shown})"


def clock_time_missing(error: ClockTimeMissing) -> str:
    """Why a clock time is refused."""
    leaves, arrives = error.leaves, error.arrives
    there = f"{error.clock:%H:%M} does not exist on {day_words(error.day)} ({error.time_zone})"
    if leaves.date() != arrives.date():
        return f"{there}: that day is left out there."
    return f"{there}: clocks go from {leaves:%H:%M} to {arrives:%H:%M}."


def clock_time_twice(error: ClockTimeTwice) -> str:
    """The question back when a clock time comes twice."""
    return (
        f"{error.clock:%H:%M} comes twice on {day_words(error.day)} ({error.time_zone}), as the clocks go back: "
        f"say which, {moment_words(error.first)} or {moment_words(error.second)}."
    )
