"""Who sat where how long in a session, from its issued seats and what was noted on the day.

Whoever has nothing noted sat as planned. Ticks out and back do not change what was sat: they are often made late, and
they serve to count heads. What counts is not coming, late, moved, left early, and a closed hide.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime

from trips.core.day.fold import in_force
from trips.core.day.values import (
    HIDE_CLOSED,
    HIDE_OPEN,
    LATE,
    LEFT_EARLY,
    MOVED,
    NOT_COMING,
    OUT,
    DaySession,
    Happening,
    PlannedSeat,
    Sat,
)

Span = tuple[datetime, datetime]


def sat_in(session: DaySession, seats: Iterable[PlannedSeat], log: Iterable[Happening]) -> tuple[Sat, ...]:
    """What was sat in a session as if it were over: of people by key, in the order in which they sat there.

    `seats` and `log` may hold other sessions, doubles and any order. Minutes of one person add up to the session's
    length at most.
    """
    held = [one for one in in_force(log) if one.session == session.key]
    planned = {one.person: one for one in seats if one.session == session.key}
    closed = _closed(session, held)
    found: list[Sat] = []
    for person in sorted({*planned, *(one.person for one in held if one.person)}):
        stretches = _stretches(session, planned.get(person), [one for one in held if one.person == person])
        minutes: dict[tuple[str, str, int], float] = {}
        for span, hide, seat, part in stretches:
            left = _minutes(span) - sum(_minutes(_both(span, shut)) for shut in closed[hide])
            minutes[hide, seat, part] = minutes.get((hide, seat, part), 0.0) + left
        length = _minutes((session.starts_at, session.ends_at))
        found += [
            Sat(session.key, person, hide, seat, sat, sat / length, part)
            for (hide, seat, part), sat in minutes.items()
            if sat > 0
        ]
    return _handed_over(found)


def _closed(session: DaySession, held: Sequence[Happening]) -> dict[str, list[Span]]:
    """When each hide was closed within the session."""
    spans: dict[str, list[Span]] = defaultdict(list)
    for one in held:
        own = spans[one.hide]
        is_closed = bool(own) and own[-1][1] > one.at
        until = min(one.until_at or session.ends_at, session.ends_at)
        if one.kind == HIDE_CLOSED and is_closed:
            own[-1] = (own[-1][0], max(own[-1][1], until))
        elif one.kind == HIDE_CLOSED:
            own.append((max(one.at, session.starts_at), until))
        elif one.kind == HIDE_OPEN and is_closed:
            own[-1] = (own[-1][0], max(one.at, own[-1][0]))
    return spans


def _stretches(
    session: DaySession, planned: PlannedSeat | None, own: Sequence[Happening]
) -> list[tuple[Span, str, str, int]]:
    """(from, to), hide, seat and part of each place a person had, one after the other."""
    places: list[tuple[datetime, str, str, int]] = []
    if planned is not None:
        places.append((session.starts_at, planned.hide, planned.seat, planned.part))
    starts_at, ends_at = session.starts_at, session.ends_at
    word: Happening | None = None
    outs = [one for one in own if one.kind == OUT]
    for one in own:
        if one.kind in (NOT_COMING, LATE, MOVED):
            word = one
        if one.kind == MOVED or (one.kind == OUT and one.hide and not places):
            places.append((max(one.at, session.starts_at), one.hide, one.seat, 0))
            ends_at = session.ends_at
        elif one.kind == LEFT_EARLY:
            ends_at = min(one.at, session.ends_at)
        elif one.kind == LATE:
            arrived = next((out.at for out in outs if out.at >= one.at), one.until_at)
            starts_at = max(session.starts_at, arrived or session.starts_at)
    if not places or (word is not None and word.kind == NOT_COMING and not outs):
        return []
    ends = [*(place[0] for place in places[1:]), ends_at]
    return [
        ((max(begins, starts_at), min(end, ends_at)), hide, seat, part)
        for (begins, hide, seat, part), end in zip(places, ends, strict=True)
    ]


def _handed_over(found: list[Sat]) -> tuple[Sat, ...]:
    """Half the minutes to each of the two who hand one seat over; all of them to whoever had it alone."""
    sharing = Counter((one.hide, one.seat) for one in found if one.part)
    return tuple(
        one
        if not one.part
        else replace(one, minutes=one.minutes / 2, share=one.share / 2)
        if sharing[one.hide, one.seat] > 1
        else replace(one, part=0)
        for one in found
    )


def _minutes(span: Span) -> float:
    return max(0.0, (span[1] - span[0]).total_seconds() / 60)


def _both(one: Span, other: Span) -> Span:
    return max(one[0], other[0]), min(one[1], other[1])
