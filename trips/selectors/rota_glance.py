"""The rota at a glance: people or hides by sessions, each turn with what it is worth."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from functools import cached_property
from typing import Any
from zoneinfo import ZoneInfo

from trips.assemble.drives import TripDrives
from trips.assemble.drives_told import DriveTold, drives_told
from trips.assemble.presence_and_states import is_present
from trips.documents.rota_page import worth_step
from trips.models import ON_TRIP, Hide, HideState, Place, Rota, Seat, Session, SessionHide, Turn


@dataclass(frozen=True, slots=True)
class Column:
    """One session. `begins_day`: the first of its day; `is_shown`: the one that a phone shows; `faults`: of drives."""

    session: str
    kind: str
    name: str
    starts_at: datetime
    ends_at: datetime
    begins_day: bool = False
    is_shown: bool = False
    faults: tuple[DriveTold, ...] = ()


@dataclass(frozen=True, slots=True)
class Seated:
    """A turn as a table shows it. `worth`: 1 to 5, 0 for a leader; `company`: sits with the person who is followed.

    `was`: where the issued rota that a draft follows has them, if elsewhere.
    """

    turn: Turn
    worth: int
    is_followed: bool = False
    company: bool = False
    was: str = ""


@dataclass(frozen=True, slots=True)
class HideCell:
    """One hide in one session. `state`: of the hide there, or elsewhere (another site)."""

    column: Column
    seated: tuple[Seated, ...] = ()
    state: str = HideState.READY
    reason: str = ""
    free: tuple[Seat, ...] = ()

    @property
    def is_open(self) -> bool:
        """Whether people may sit there, with notice or without."""
        return self.state in (HideState.READY, HideState.NOTICE)


@dataclass(frozen=True, slots=True)
class HideRow:
    """One hide over all sessions."""

    hide: Hide
    cells: tuple[HideCell, ...]


@dataclass(frozen=True, slots=True)
class PersonCell:
    """One person in one session. `instead` of a turn: rests, away, or empty where a seat is still to find."""

    column: Column
    seated: Seated | None = None
    instead: str = ""
    reason: str = ""


@dataclass(frozen=True, slots=True)
class CountsLine:
    """One person of the table of counts: `kept` is what the rota keeps; `demand`, `good` in the order of the heads."""

    place: str
    name: str
    kept: Mapping[str, Any]
    demand: tuple[tuple[str, int], ...]
    good: tuple[tuple[str, int], ...]
    company: tuple[str, ...]

    @property
    def sought(self) -> int:
        """Turns in sought-after hides."""
        return sum(visits for _hide, visits in self.demand)

    @property
    def good_turns(self) -> int:
        """Good turns at any time of day."""
        return sum(turns for _head, turns in self.good)


@dataclass(frozen=True, slots=True)
class PersonTurns:
    """One person over all sessions, with their counts; without a place the leader."""

    place: str
    name: str
    cells: tuple[PersonCell, ...]
    counts: CountsLine | None = None
    is_followed: bool = False


@dataclass(frozen=True, slots=True)
class Asked:
    """What a reader of the page asked for: `rows` people or hides; a session for a phone, and whom to follow, by uuid.

    `now` chooses the session where none is asked for.
    """

    now: datetime
    rows: str = "people"
    session: str = ""
    follow: str = ""


@dataclass(frozen=True)
class GlanceRows:
    """What a page is read from. `asked` with the primary key of whom to follow; other keys are primary keys too."""

    rota: Rota
    asked: Asked
    followed: int | None
    hides: list[Hide]
    sessions: list[Session]
    states: dict[tuple[int, int], SessionHide]
    places: list[Place]
    turns: list[Turn]
    resting: dict[tuple[int, int], str]
    before: dict[tuple[int | None, int], str]

    def seated(self, turn: Turn) -> Seated:
        """A turn as a table shows it."""
        own = self.followed is not None and turn.place_id == self.followed
        beside = (turn.session_id, turn.hide_id) in self.followed_cells and not own
        was = self.before.get((turn.place_id, turn.session_id), "no seat") if self.before else ""
        is_same = was == f"{turn.hide.name}, {turn.seat.name}"
        return Seated(turn, worth_step(turn.points) if turn.place_id else 0, own, beside, "" if is_same else was)

    @cached_property
    def followed_cells(self) -> set[tuple[int, int]]:
        """(session, hide) of the person who is followed."""
        own = (one for one in self.turns if self.followed is not None and one.place_id == self.followed)
        return {(one.session_id, one.hide_id) for one in own}


def columns_of(rows: GlanceRows, drives: TripDrives) -> dict[int, Column]:
    """The sessions by primary key, in their order; one of them is shown on a phone."""
    asked = next((row.pk for row in rows.sessions if str(row.uuid) == rows.asked.session), None)
    ahead = next((row.pk for row in rows.sessions if row.ends_at > rows.asked.now), None)
    shown = asked or ahead or (rows.sessions[0].pk if rows.sessions else None)
    found: dict[int, Column] = {}
    day = None
    for row in rows.sessions:
        zone = ZoneInfo(row.site.time_zone)
        starts_at = row.starts_at.astimezone(zone)
        found[row.pk] = Column(
            session=str(row.uuid),
            kind=row.get_kind_display(),
            name=row.name or row.get_kind_display(),
            starts_at=starts_at,
            ends_at=row.ends_at.astimezone(zone),
            begins_day=starts_at.date() != day,
            is_shown=row.pk == shown,
            faults=tuple(drives_told(drives, row.pk)),
        )
        day = starts_at.date()
    return found


def hide_rows(rows: GlanceRows, columns: dict[int, Column]) -> tuple[HideRow, ...]:
    """Every hide by name, with who sits there and which seats are free. One query."""
    turns: dict[tuple[int, int], list[Turn]] = defaultdict(list)
    for turn in rows.turns:
        turns[turn.session_id, turn.hide_id].append(turn)
    seats: dict[int, list[Seat]] = defaultdict(list)
    for row in Seat.objects.filter(hide__site__trips=rows.rota.trip):
        seats[row.hide_id].append(row)
    return tuple(
        HideRow(
            hide,
            tuple(
                _hide_cell(rows, (session, hide), (columns[session.pk], turns[session.pk, hide.pk], seats[hide.pk]))
                for session in rows.sessions
            ),
        )
        for hide in rows.hides
    )


def _hide_cell(rows: GlanceRows, where: tuple[Session, Hide], found: tuple[Column, list[Turn], list[Seat]]) -> HideCell:
    (session, hide), (column, turns, seats) = where, found
    state = rows.states.get((session.pk, hide.pk))
    cell = HideCell(
        column,
        tuple(map(rows.seated, turns)),
        state="elsewhere" if hide.site_id != session.site_id else state.state if state else HideState.READY,
        reason=state.reason if state else "",
    )
    taken = {turn.seat_id for turn in turns}
    free = (
        seat
        for seat in seats
        if seat.pk not in taken and (not seat.out_of_use_from or seat.out_of_use_from >= session.ends_at)
    )
    return replace(cell, free=tuple(free)) if cell.is_open else cell


def person_lines(
    rows: GlanceRows, columns: dict[int, Column], lines: Mapping[str, CountsLine]
) -> tuple[PersonTurns, ...]:
    """Everybody of the rota by name, then the leader where they have a turn."""
    turns = {(turn.place_id, turn.session_id): turn for turn in rows.turns}
    people = [place for place in rows.places if str(place.uuid) in lines or any(place.pk == who for who, _ in turns)]
    found = []
    for place in (*people, *([None] if any(who is None for who, _ in turns) else [])):
        cells = []
        for session in rows.sessions:
            turn = turns.get((place.pk if place else None, session.pk))
            cell = PersonCell(columns[session.pk], rows.seated(turn) if turn else None)
            cells.append(cell if turn or place is None else _without_turn(rows, cell, (place, session)))
        uuid, name = (str(place.uuid), place.participant.name) if place else ("", "leader")
        is_followed = place is not None and place.pk == rows.followed
        found.append(PersonTurns(uuid, name, tuple(cells), lines.get(uuid), is_followed))
    return tuple(found)


def _without_turn(rows: GlanceRows, cell: PersonCell, where: tuple[Place, Session]) -> PersonCell:
    """A rest, an absence with its reason, or a person who is there and has no seat."""
    place, session = where
    if (place.pk, session.pk) in rows.resting:
        return replace(cell, instead="rests", reason=rows.resting[place.pk, session.pk])
    if is_present(place, session) and place.state in ON_TRIP:
        return cell
    reasons = [absence.reason for absence in place.absences.all() if absence.session_id == session.pk]
    return replace(cell, instead="away", reason=next(iter(reasons), ""))
