"""The page of one rota in a fixed number of queries, whatever its size; light and counts come as they were saved."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from trips.assemble.cell_light import cell_key
from trips.assemble.drive_rows import DriveRows, rows_of
from trips.assemble.drives import TripDrives
from trips.assemble.drives_told import DriveTold, drives_told
from trips.assemble.sessions import session_label
from trips.assemble.trip import TripValues
from trips.documents.rota_page import StageLine, company_of, short_names, stage_lines
from trips.models import Hide, HideState, Place, Rota, Seat, Session, SessionHide, Turn

GOOD_HEADS = {"early": "Good mornings", "midday": "Good middays", "late": "Good evenings", "night": "Good nights"}


@dataclass(frozen=True, slots=True)
class Cell:
    """One hide in one session with its turns. `state`: of the hide there, or elsewhere (another site)."""

    hide: Hide
    turns: tuple[Turn, ...] = ()
    light: Mapping[str, Any] = field(default_factory=dict)
    state: str = HideState.READY
    reason: str = ""
    free: tuple[Seat, ...] = ()

    @property
    def is_open(self) -> bool:
        """Whether people may sit there, with notice or without."""
        return self.state in (HideState.READY, HideState.NOTICE)


@dataclass(frozen=True, slots=True)
class SessionLine:
    """One session with its cells in the order of the hides, and who rests (name, reason, place).

    `faults`: what of its drives cannot be driven.
    """

    session: str
    name: str
    starts_at: datetime
    ends_at: datetime
    cells: tuple[Cell, ...]
    rests: tuple[tuple[str, str, str], ...] = ()
    faults: tuple[DriveTold, ...] = ()


@dataclass(frozen=True, slots=True)
class CountsLine:
    """One person of the table of counts: `kept` is what the rota keeps; `demand`, `good` in the order of the heads."""

    place: str
    name: str
    kept: Mapping[str, Any]
    demand: tuple[tuple[str, int], ...]
    good: tuple[tuple[str, int], ...]
    company: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RotaPage:
    """Everything the page of one rota shows beside its row; `days`: sessions by the local day they start on.

    `short`: the name that a cell shows, by the full one.
    """

    hides: tuple[str, ...]
    days: tuple[tuple[date, tuple[SessionLine, ...]], ...]
    demand: tuple[str, ...]
    good: tuple[str, ...]
    lines: tuple[CountsLine, ...]
    guarantee: tuple[str, ...]
    stages: tuple[StageLine, ...] = ()
    short: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class _Rows:
    """What a page is read from. `names`: (uuid as text, name) by place; other keys are primary keys too."""

    rota: Rota
    hides: list[Hide]
    sessions: list[Session]
    states: dict[tuple[int, int], SessionHide]
    seats: dict[int, list[Seat]]
    names: dict[int, tuple[str, str]]
    turns: dict[tuple[int, int], list[Turn]]
    resting: dict[int, list[tuple[str, str, str]]]
    company: dict[int, tuple[int, ...]]


def rota_page(rota: Rota) -> RotaPage:
    """Everything that the page of a rota shows, in a dozen queries."""
    rows = _rows(rota)
    hours = {key: (state.starts_at, state.ends_at) for key, state in rows.states.items()}
    drives = TripDrives(DriveRows(rota.trip, tuple(rows.sessions), tuple(rows.hides), hours), rota)
    days: dict[date, list[SessionLine]] = defaultdict(list)
    for session in rows.sessions:
        line = replace(_session_line(rows, session), faults=tuple(drives_told(drives, session.pk)))
        days[line.starts_at.date()].append(line)
    used = {session.kind for session in rows.sessions}
    good = {kind: head for kind, head in GOOD_HEADS.items() if kind in used}
    demand = {str(hide.uuid): hide.name for hide in rows.hides if hide.sought_after}
    return RotaPage(
        hides=tuple(hide.name for hide in rows.hides),
        days=tuple((day, tuple(lines)) for day, lines in sorted(days.items())),
        demand=tuple(demand.values()),
        good=tuple(good.values()),
        lines=_counts(rows, demand, good),
        guarantee=tuple(rota.result.get("told", {}).get("guarantee", ())),
        stages=stage_lines(rota.result.get("stages", ())),
        short=short_names(name for _uuid, name in rows.names.values()),
    )


def undriven_ahead(rota: Rota, values: TripValues, now: datetime) -> list[tuple[str, tuple[DriveTold, ...]]]:
    """What of a rota cannot be driven in the sessions that are not over, by the session's name."""
    drives = TripDrives(rows_of(rota.trip, values.session_rows, values.hide_rows), rota)
    ahead = [row for row in values.session_rows if row.ends_at > now and drives.faults.get(row.pk)]
    return [(session_label(row), tuple(drives_told(drives, row.pk))) for row in ahead]


def _rows(rota: Rota) -> _Rows:
    trip = rota.trip
    places = Place.objects.filter(trip=trip).order_by("participant__name", "pk")
    names = {pk: (str(uuid), name) for pk, uuid, name in places.values_list("pk", "uuid", "participant__name")}
    found = list(rota.turns.order_by("seat__name", "part").select_related("seat", "place__participant"))
    turns: dict[tuple[int, int], list[Turn]] = defaultdict(list)
    for turn in found:
        turns[turn.session_id, turn.hide_id].append(turn)
    resting: dict[int, list[tuple[str, str, str]]] = defaultdict(list)
    for session, reason, place in rota.rests.values_list("session_id", "reason", "place_id"):
        resting[session].append((names[place][1], reason, names[place][0]))
    seats: dict[int, list[Seat]] = defaultdict(list)
    for row in Seat.objects.filter(hide__site__trips=trip):
        seats[row.hide_id].append(row)
    return _Rows(
        rota=rota,
        hides=list(Hide.objects.filter(site__trips=trip).order_by("name", "uuid")),
        sessions=list(trip.sessions.select_related("site")),
        states={(state.session_id, state.hide_id): state for state in SessionHide.objects.filter(session__trip=trip)},
        seats=seats,
        names=names,
        turns=turns,
        resting=resting,
        company=company_of([(one.session_id, one.hide_id, one.place_id) for one in found if one.place_id]),
    )


def _session_line(rows: _Rows, session: Session) -> SessionLine:
    zone = ZoneInfo(session.site.time_zone)
    return SessionLine(
        session=str(session.uuid),
        name=session.name or session.get_kind_display(),
        starts_at=session.starts_at.astimezone(zone),
        ends_at=session.ends_at.astimezone(zone),
        cells=tuple(_cell(rows, session, hide) for hide in rows.hides),
        rests=tuple(rows.resting.get(session.pk, ())),
    )


def _cell(rows: _Rows, session: Session, hide: Hide) -> Cell:
    state = rows.states.get((session.pk, hide.pk))
    cell = Cell(
        hide,
        tuple(rows.turns.get((session.pk, hide.pk), ())),
        light=rows.rota.cell_light.get(cell_key(str(session.uuid), str(hide.uuid)), {}),
        state="elsewhere" if hide.site_id != session.site_id else state.state if state else HideState.READY,
        reason=state.reason if state else "",
    )
    taken = {turn.seat_id for turn in cell.turns}
    free = tuple(
        seat
        for seat in rows.seats[hide.pk]
        if seat.pk not in taken and (not seat.out_of_use_from or seat.out_of_use_from >= session.ends_at)
    )
    return replace(cell, free=free) if cell.turns or cell.is_open else replace(cell, free=free, light={})


def _counts(rows: _Rows, demand: Mapping[str, str], good: Mapping[str, str]) -> tuple[CountsLine, ...]:
    stored: dict[str, dict[str, Any]] = rows.rota.result.get("people", {})
    return tuple(
        CountsLine(
            place=uuid,
            name=name,
            kept=stored[uuid],
            demand=tuple((hide, stored[uuid]["demand"].get(key, 0)) for key, hide in demand.items()),
            good=tuple((head, stored[uuid]["good"].get(kind, 0)) for kind, head in good.items()),
            company=tuple(sorted(rows.names[other][1] for other in rows.company.get(pk, ()))),
        )
        for pk, (uuid, name) in rows.names.items()
        if uuid in stored
    )
