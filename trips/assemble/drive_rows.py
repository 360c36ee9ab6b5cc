"""The rows that drives are made from, and how long each person stays in a hide."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from zoneinfo import ZoneInfo

from trips.core.drives import Sit
from trips.models import ON_TRIP, Happening, Hide, Session, Trip, Turn
from trips.models.site import Doors


@dataclass(frozen=True)
class DriveRows:
    """What drives are made from. `sessions` by start; `hours`: own hours of a hide, by (session id, hide id)."""

    trip: Trip
    sessions: tuple[Session, ...]
    hides: tuple[Hide, ...]
    hours: Mapping[tuple[int, int], tuple[datetime | None, datetime | None]] = field(default_factory=dict)


def rows_of(trip: Trip, sessions: Iterable[Session], hides: Iterable[Hide]) -> DriveRows:
    """The rows of a trip read with `session_hides` prefetched."""
    sessions = tuple(sessions)
    states = (state for row in sessions for state in row.session_hides.all())
    hours = {(state.session_id, state.hide_id): (state.starts_at, state.ends_at) for state in states}
    return DriveRows(trip, sessions, tuple(hides), hours)


def sits_by_turn(rows: DriveRows, turns: Iterable[Turn]) -> dict[int, Sit]:
    """How long the person of each turn (by its row id) stays in the hide without coming back in between."""
    numbers = {row.pk: number for number, row in enumerate(rows.sessions)}
    hides = {hide.pk: hide for hide in rows.hides}
    own: dict[str, list[Turn]] = defaultdict(list)
    for turn in turns:
        if turn.session_id in numbers and turn.hide_id in hides:
            own[person_key(turn)].append(turn)
    found: dict[int, Sit] = {}
    for person, theirs in own.items():
        theirs.sort(key=lambda turn: numbers[turn.session_id])
        chain: list[Turn] = []
        for number, turn in enumerate(theirs):
            chain.append(turn)
            after = theirs[number + 1] if number + 1 < len(theirs) else None
            if after is None or not _goes_on(rows, turn, after, numbers):
                first, last = (numbers[one.session_id] for one in (chain[0], chain[-1]))
                sit = Sit(person, str(hides[turn.hide_id].uuid), first, last)
                found |= {one.pk: sit for one in chain}
                chain = []
    return found


def _goes_on(rows: DriveRows, turn: Turn, after: Turn, numbers: dict[int, int]) -> bool:
    """Whether the person stays in the hide until the next session, by the rota or because its doors stay shut."""
    now, then = numbers[turn.session_id], numbers[after.session_id]
    if after.hide_id != turn.hide_id or then != now + 1:
        return False
    doors = next(hide.doors for hide in rows.hides if hide.pk == turn.hide_id)
    return turn.stays or (doors == Doors.ALL_DAY and _day(rows.sessions[now]) == _day(rows.sessions[then]))


def person_key(turn: Turn | Happening) -> str:
    """What stands for the person of a turn or happening: place-UUID or leader-NUMBER."""
    return f"place-{turn.place.uuid}" if turn.place else f"leader-{turn.leader_id}"


def seated_name(turn: Turn | Happening) -> str:
    """Who sits there, with the state of somebody who is no longer on the trip."""
    name, place = person_name(turn), turn.place
    return name if place is None or place.state in ON_TRIP else f"{name}, {place.get_state_display().lower()}"


def person_name(turn: Turn | Happening) -> str:
    """Who sits there, or whom it is about."""
    if turn.place is not None:
        return str(turn.place.participant.name)
    return turn.leader.get_full_name() or turn.leader.get_username() if turn.leader else ""


def _day(row: Session) -> date:
    return row.starts_at.astimezone(ZoneInfo(row.site.time_zone)).date()
