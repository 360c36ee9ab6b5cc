"""Rotas of a trip: the one to show, its page in a fixed number of queries, and what changed since it was made."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import QuerySet
from django.http import Http404

from participants import models as people
from trips.assemble.sheet import cell_key
from trips.documents.rota_page import (
    Cell,
    CountsTable,
    DayBlock,
    PersonLine,
    RotaPage,
    Seated,
    SessionLine,
    company_of,
    good_heads,
)
from trips.models import (
    Absence,
    Again,
    Change,
    Forecast,
    Hide,
    HideSubject,
    Place,
    Rota,
    Seat,
    Session,
    SessionHide,
    Trip,
    TripRules,
    View,
    Wish,
)

KINDS = ("early", "midday", "late", "night")
TURN_COLUMNS = (
    "session__uuid",
    "hide__uuid",
    "seat__name",
    "place__uuid",
    "place__participant__name",
    "pinned",
    "stays",
    "part",
    "reasons",
)


def rotas_of(trip: Trip) -> list[Rota]:
    """All rotas of a trip, the newest first."""
    return list(trip.rotas.select_related("made_by", "follows").order_by("-number"))


def rota_for(trip: Trip, number: int | None = None) -> Rota | None:
    """The rota of that number (404 where there is none); without a number the newest draft or the issued one."""
    rotas = trip.rotas.select_related("made_by", "follows", "trip")
    if number is not None:
        rota = rotas.filter(number=number).first()
        if rota is None:
            raise Http404("no such rota")
        return rota
    return rotas.exclude(state="retired").order_by("-number").first()


def change_for(rota: Rota, uuid: UUID | str) -> Change:
    """The change of that uuid."""
    change = rota.changes.filter(uuid=uuid).first()
    if change is None:
        raise Http404("no such change")
    return change


def changes_of(rota: Rota) -> list[Change]:
    """What was changed by hand, the latest first."""
    return list(rota.changes.select_related("who").order_by("-when", "-pk"))


@dataclass(frozen=True)
class _Rows:
    """What a page is read from, beside the turns."""

    rota: Rota
    hides: list[Hide]
    sessions: list[Session]
    states: dict[tuple[int, int], SessionHide]
    seats: dict[int, list[Seat]]


def _rows(rota: Rota) -> _Rows:
    trip = rota.trip
    hides = list(Hide.objects.filter(site__trips=trip).order_by("name", "uuid"))
    sessions = list(trip.sessions.select_related("site"))
    states = {(state.session_id, state.hide_id): state for state in SessionHide.objects.filter(session__trip=trip)}
    seats: dict[int, list[Seat]] = defaultdict(list)
    for seat in Seat.objects.filter(hide__site__trips=trip):
        seats[seat.hide_id].append(seat)
    return _Rows(rota, hides, sessions, states, seats)


def rota_page(rota: Rota) -> RotaPage:
    """The page of a rota: seven queries, whatever its size; light and counts come as they were saved."""
    rows = _rows(rota)
    turns = list(rota.turns.values_list(*TURN_COLUMNS))
    rests = list(rota.rests.values_list("session__uuid", "place__participant__name", "reason", "place__uuid"))
    seated: dict[tuple[Any, Any], list[Seated]] = defaultdict(list)
    for session, hide, seat, place, name, pinned, stays, part, reasons in turns:
        who = Seated(name or "the leader", seat, str(place or ""), pinned, stays, part, "; ".join(reasons))
        seated[session, hide].append(who)
    resting: dict[Any, list[tuple[str, str, str]]] = defaultdict(list)
    for session, name, reason, place in rests:
        resting[session].append((name, reason, str(place)))
    days: dict[Any, list[SessionLine]] = defaultdict(list)
    for row in rows.sessions:
        line = _session_line(rows, row, seated, resting)
        days[line.starts_at.date()].append(line)
    company = company_of([(str(one[0]), str(one[1]), one[4]) for one in turns if one[3]])
    return RotaPage(
        number=rota.number,
        state=rota.state,
        hides=tuple((str(hide.uuid), hide.name) for hide in rows.hides),
        days=tuple(DayBlock(day, tuple(lines)) for day, lines in sorted(days.items())),
        counts=_counts(rows, company),
        guarantee=tuple(rota.result.get("told", {}).get("guarantee", ())),
        made_at=rota.made_at,
        stages=tuple(rota.result.get("stages", ())),
    )


def _session_line(
    rows: _Rows, session: Session, seated: dict[Any, list[Seated]], resting: dict[Any, list[tuple[str, str, str]]]
) -> SessionLine:
    zone = ZoneInfo(session.site.time_zone)
    cells = []
    for hide in rows.hides:
        state = rows.states.get((session.pk, hide.pk))
        people = tuple(seated.get((session.uuid, hide.uuid), ()))
        in_use = [
            seat
            for seat in rows.seats[hide.pk]
            if seat.out_of_use_from is None or seat.out_of_use_from >= session.ends_at
        ]
        elsewhere = hide.site_id != session.site_id
        cells.append(
            Cell(
                hide=str(hide.uuid),
                hide_name=hide.name,
                people=people,
                light=rows.rota.sheet.get(cell_key(str(session.uuid), str(hide.uuid)), {}),
                state="elsewhere" if elsewhere else state.state if state else "ready",
                reason=state.reason if state else "",
                free=max(0, len(in_use) - len({one.seat for one in people})),
            )
        )
    return SessionLine(
        session=str(session.uuid),
        name=session.name or session.get_kind_display(),
        kind=session.kind,
        starts_at=session.starts_at.astimezone(zone),
        ends_at=session.ends_at.astimezone(zone),
        cells=tuple(cells),
        rests=tuple(resting.get(session.uuid, ())),
    )


def _counts(rows: _Rows, company: dict[str, tuple[str, ...]]) -> CountsTable:
    stored: dict[str, dict[str, Any]] = rows.rota.result.get("people", {})
    used = {session.kind for session in rows.sessions}
    kinds = [kind for kind in KINDS if kind in used]
    heads, demand = good_heads(kinds), [hide for hide in rows.hides if hide.in_demand]
    names = dict(Place.objects.filter(trip=rows.rota.trip).values_list("uuid", "participant__name"))
    lines = []
    for uuid, name in sorted(names.items(), key=lambda one: one[1]):
        kept = stored.get(str(uuid))
        if kept is None:
            continue
        lines.append(
            PersonLine(
                name=name,
                place=str(uuid),
                turns=kept["turns"],
                demand=tuple((hide.name, kept["demand"].get(str(hide.uuid), 0)) for hide in demand),
                good=tuple((head, kept["good"].get(kind, 0)) for kind, head in zip(kinds, heads, strict=True)),
                rests=kept["rests"],
                burdens=kept["burdens"],
                company=company.get(name, ()),
                leader=kept["leader"],
                share=kept["share"],
                points=kept["points"],
                guest=kept["guest"],
            )
        )
    return CountsTable(tuple(hide.name for hide in demand), heads, tuple(lines))


def changed_since(rota: Rota) -> datetime | None:
    """When anything that the rota was made from changed last, if that is after it was made. One query."""
    first, *others = (source.order_by().values_list("changed_at") for source in _sources(rota.trip))
    last = next((moment for (moment,) in first.union(*others, all=True).order_by("-changed_at")[:1]), None)
    made = rota.changed_at if rota.state == "draft" else rota.made_at
    return last if last is not None and last > made else None


def _sources(trip: Trip) -> list[QuerySet[Any]]:
    """The rows that a rota is made from; pins are left out, the checker asks for them."""
    gear = [
        model.objects.filter(participant__places__trip=trip)
        for model in (people.Body, people.Lens, people.Converter, people.Tube)
    ]
    return [
        TripRules.objects.filter(trip=trip),
        trip.sessions.all(),
        trip.places.all(),
        trip.pairings.all(),
        Hide.objects.filter(site__trips=trip),
        Seat.objects.filter(hide__site__trips=trip),
        View.objects.filter(hide__site__trips=trip),
        HideSubject.objects.filter(hide__site__trips=trip),
        SessionHide.objects.filter(session__trip=trip),
        Forecast.objects.filter(session__trip=trip),
        Wish.objects.filter(place__trip=trip),
        Again.objects.filter(place__trip=trip),
        Absence.objects.filter(place__trip=trip),
        *gear,
    ]


def turn_words(rota: Rota, session: Session, place: Place | None) -> str:
    """Where a person (None: the leader) is in a session of a rota: "Alder, left", "a rest" or "no turn"."""
    turn = rota.turns.filter(session=session, place=place).select_related("hide", "seat").first()
    if turn is not None:
        return f"{turn.hide.name}, {turn.seat.name}"
    return "a rest" if place is not None and rota.rests.filter(session=session, place=place).exists() else "no turn"


def turn_reasons(rota: Rota, session: Session, place: Place) -> tuple[list[str], list[str]]:
    """(why this turn, for everybody; what only leaders may read of it)."""
    why = rota.result.get("why", {}).get(f"{place.uuid}/{session.uuid}", [])
    turn = rota.turns.filter(session=session, place=place).first()
    rules = [f"Rule: {reason}." for reason in turn.reasons] if turn else []
    return [*why, *rules], list(turn.leader_reasons) if turn else []


def turn_cell(rota: Rota, session: Session, place: Place) -> dict[str, Any]:
    """What the turn's cell shows of light, empty for a rest, with `pinned`: whether later plans keep the turn."""
    turn = rota.turns.filter(session=session, place=place).select_related("hide").first()
    pinned = rota.trip.pins.filter(session=session, place=place).exists()
    cell = rota.sheet.get(cell_key(str(session.uuid), str(turn.hide.uuid)), {}) if turn else {}
    return cell | {"pinned": pinned}


def drop_asked(rota: Rota, session: Session, asked: dict[str, str]) -> dict[str, Any]:
    """What dropping a name asks for, as the change form's fields: onto a hide the best free seat, or a swap."""
    if asked.get("person"):
        other = rota.trip.places.filter(uuid=_uuid(asked["person"])).first()
        return {"kind": "swap", "other": other.pk if other else ""}
    taken = rota.turns.filter(session=session).values_list("seat_id", flat=True)
    seats = Seat.objects.filter(hide__uuid=_uuid(asked.get("hide", "")), hide__site=session.site)
    usable = seats.exclude(out_of_use_from__lt=session.ends_at)
    free = usable.exclude(pk__in=taken).order_by("-quality", "name").first() or usable.order_by("-quality").first()
    return {"kind": "move", "seat": free.pk if free else ""}


def _uuid(text: str) -> UUID:
    """A uuid as somebody's address gave it; what is none names nothing."""
    try:
        return UUID(text)
    except ValueError:
        return UUID(int=0)
