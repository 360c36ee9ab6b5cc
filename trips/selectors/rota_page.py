"""The page of one rota in a fixed number of queries, whatever its size; light and counts come as they were saved."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from typing import Any
from zoneinfo import ZoneInfo

from trips.assemble.cell_light import cell_key
from trips.documents.rota_page import (
    OPEN_STATES,
    Cell,
    CountsLine,
    CountsTable,
    DayBlock,
    RotaPage,
    Seated,
    SessionLine,
    company_of,
    good_heads,
    stage_lines,
)
from trips.models import Hide, HideState, Place, Rota, Seat, Session, SessionHide

KINDS = ("early", "midday", "late", "night")
TURN_COLUMNS = ("session_id", "hide_id", "seat__name", "place_id", "pinned", "stays", "part")
THE_LEADER = ("", "the leader")


@dataclass(frozen=True)
class _Rows:
    """What a page is read from. `hides` and `names` (of places) carry the uuid as text; keys are primary keys."""

    rota: Rota
    hides: list[tuple[str, Hide]]
    sessions: list[Session]
    states: dict[tuple[int, int], SessionHide]
    seats: dict[int, list[Seat]]
    names: dict[int | None, tuple[str, str]]
    seated: dict[tuple[int, int], list[Seated]]
    resting: dict[int, list[tuple[str, str, str]]]
    company: dict[int, tuple[int, ...]]


def rota_page(rota: Rota) -> RotaPage:
    """Everything that the page of a rota shows, in seven queries."""
    rows = _rows(rota)
    days: dict[date, list[SessionLine]] = defaultdict(list)
    for session in rows.sessions:
        line = _session_line(rows, session)
        days[line.starts_at.date()].append(line)
    return RotaPage(
        number=rota.number,
        state=rota.state,
        hides=tuple((uuid, hide.name) for uuid, hide in rows.hides),
        days=tuple(DayBlock(day, tuple(lines)) for day, lines in sorted(days.items())),
        counts=_counts(rows),
        guarantee=tuple(rota.result.get("told", {}).get("guarantee", ())),
        made_at=rota.made_at,
        stages=stage_lines(rota.result.get("stages", ())),
        is_stopped_early=rota.result.get("status") == "stopped_early",
        is_changed_by_hand=bool(rota.result.get("changed_by_hand")),
    )


def _rows(rota: Rota) -> _Rows:
    trip = rota.trip
    places = Place.objects.filter(trip=trip).order_by("participant__name", "pk")
    names: dict[int | None, tuple[str, str]] = {
        pk: (str(uuid), name) for pk, uuid, name in places.values_list("pk", "uuid", "participant__name")
    }
    turns = list(rota.turns.order_by("seat__name", "part").values_list(*TURN_COLUMNS))
    seated: dict[tuple[int, int], list[Seated]] = defaultdict(list)
    for session, hide, seat, place, pinned, stays, part in turns:
        uuid, name = names.get(place, THE_LEADER)
        seated[session, hide].append(Seated(name, seat, uuid, pinned, stays, part))
    resting: dict[int, list[tuple[str, str, str]]] = defaultdict(list)
    for session, reason, place in rota.rests.values_list("session_id", "reason", "place_id"):
        resting[session].append((names[place][1], reason, names[place][0]))
    seats: dict[int, list[Seat]] = defaultdict(list)
    for row in Seat.objects.filter(hide__site__trips=trip):
        seats[row.hide_id].append(row)
    return _Rows(
        rota=rota,
        hides=[(str(hide.uuid), hide) for hide in Hide.objects.filter(site__trips=trip).order_by("name", "uuid")],
        sessions=list(trip.sessions.select_related("site")),
        states={(state.session_id, state.hide_id): state for state in SessionHide.objects.filter(session__trip=trip)},
        seats=seats,
        names=names,
        seated=seated,
        resting=resting,
        company=company_of([(one[0], one[1], one[3]) for one in turns if one[3]]),
    )


def _session_line(rows: _Rows, session: Session) -> SessionLine:
    zone, uuid = ZoneInfo(session.site.time_zone), str(session.uuid)
    return SessionLine(
        session=uuid,
        name=session.name or session.get_kind_display(),
        kind=session.kind,
        starts_at=session.starts_at.astimezone(zone),
        ends_at=session.ends_at.astimezone(zone),
        cells=tuple(_cell(rows, session, hide, (uuid, hide_uuid)) for hide_uuid, hide in rows.hides),
        rests=tuple(rows.resting.get(session.pk, ())),
    )


def _cell(rows: _Rows, session: Session, hide: Hide, uuids: tuple[str, str]) -> Cell:
    state = rows.states.get((session.pk, hide.pk))
    people = tuple(rows.seated.get((session.pk, hide.pk), ()))
    taken = {one.seat for one in people}
    in_use = [
        seat for seat in rows.seats[hide.pk] if not seat.out_of_use_from or seat.out_of_use_from >= session.ends_at
    ]
    said = "elsewhere" if hide.site_id != session.site_id else state.state if state else HideState.READY
    return Cell(
        hide=uuids[1],
        hide_name=hide.name,
        people=people,
        light=rows.rota.sheet.get(cell_key(*uuids), {}) if people or said in OPEN_STATES else {},
        state=said,
        reason=state.reason if state else "",
        free=tuple((str(seat.uuid), seat.name) for seat in in_use if seat.name not in taken),
    )


def _counts(rows: _Rows) -> CountsTable:
    stored: dict[str, dict[str, Any]] = rows.rota.result.get("people", {})
    used = {session.kind for session in rows.sessions}
    kinds = [kind for kind in KINDS if kind in used]
    heads, demand = good_heads(kinds), [(uuid, hide.name) for uuid, hide in rows.hides if hide.sought_after]
    lines = []
    for pk, (uuid, name) in rows.names.items():
        kept = stored.get(uuid)
        if kept is None or pk is None:
            continue
        lines.append(
            CountsLine(
                name=name,
                place=uuid,
                turns=kept["turns"],
                demand=tuple((hide, kept["demand"].get(key, 0)) for key, hide in demand),
                good=tuple((head, kept["good"].get(kind, 0)) for kind, head in zip(kinds, heads, strict=True)),
                rests=kept["rests"],
                hardships=kept["burdens"],
                company=tuple(sorted(rows.names[other][1] for other in rows.company.get(pk, ()))),
                leader=kept["leader"],
                share=kept["share"],
                points=kept["points"],
                guest=kept["guest"],
            )
        )
    return CountsTable(tuple(hide for _, hide in demand), heads, tuple(lines))
