"""Carrying out what would help where no rota exists. Each is one small change of rows that the leader could type."""

from collections.abc import Callable
from datetime import datetime
from typing import Any

from django.db import transaction
from django.db.models import Q

from participants.core.errors import CoreError
from participants.versions import row_save
from trips.core.rota.problem.values import RAISED_BY
from trips.models import Hide, HideState, Making, MakingState, Seat, SessionHide, Trip
from trips.models.place import PairingKind
from trips.models.site import Doors
from trips.selectors.making import last_making
from trips.services.making import Wanted, making_start
from trips.services.staleness import inputs_changed


class RemedyGone(CoreError):
    """The remedy names rows that are no longer there, or is none that a button can do: `change`."""


@transaction.atomic
def remedy_apply(*, trip: Trip, remedy: dict[str, Any]) -> None:
    """Carry out one remedy of an explanation. Raises RemedyGone; then nothing is written."""
    change = _CHANGES.get(str(remedy.get("change")))
    if change is None:
        raise RemedyGone(change=remedy.get("change"))
    change(trip, remedy)


def _sessions(trip: Trip, remedy: dict[str, Any]) -> list[Any]:
    rows = list(trip.sessions.filter(uuid__in=remedy["sessions"]))
    if not rows or len(rows) != len(remedy["sessions"]):
        raise RemedyGone(change=remedy["change"])
    return rows


def _hide(trip: Trip, remedy: dict[str, Any]) -> Hide:
    row = Hide.objects.filter(site__trips=trip, uuid__in=remedy["hides"][:1]).first()
    if row is None:
        raise RemedyGone(change=remedy["change"])
    return row


def _rest(trip: Trip, remedy: dict[str, Any]) -> None:
    for session in _sessions(trip, remedy):
        session.rests_allowed += int(remedy["figures"]["people"])
        row_save(row=session)


def _session_hide(trip: Trip, remedy: dict[str, Any], **fields: Any) -> None:
    hide = _hide(trip, remedy)
    for session in _sessions(trip, remedy):
        state, is_new = SessionHide.objects.get_or_create(session=session, hide=hide, defaults=fields)
        if not is_new:
            for name, value in fields.items():
                setattr(state, name, value)
            row_save(row=state)


def _share_seat(trip: Trip, remedy: dict[str, Any]) -> None:
    _session_hide(trip, remedy, shares_seat=True)


def _open_hide(trip: Trip, remedy: dict[str, Any]) -> None:
    _session_hide(trip, remedy, state=HideState.READY, reason="")


def _add_seat(trip: Trip, remedy: dict[str, Any]) -> None:
    hide = _hide(trip, remedy)
    taken = set(hide.seats.values_list("name", flat=True))
    name = next(f"added {number}" for number in range(1, 1000) if f"added {number}" not in taken)
    Seat.objects.create(hide=hide, name=name, quality=2)


def _rule(field: str, figure: str = "") -> Callable[[Trip, dict[str, Any]], None]:
    def change(trip: Trip, remedy: dict[str, Any]) -> None:
        setattr(trip.rules, field, int(remedy["figures"][figure]) if figure else False)
        row_save(row=trip.rules)

    return change


def _unpin(trip: Trip, remedy: dict[str, Any]) -> None:
    who = Q(place__isnull=True) if remedy["people"] == [""] else Q(place__uuid__in=remedy["people"])
    if not trip.pins.filter(who, session__uuid__in=remedy["sessions"]).delete()[0]:
        raise RemedyGone(change=remedy["change"])


def _end_pairing(kind: str) -> Callable[[Trip, dict[str, Any]], None]:
    def change(trip: Trip, remedy: dict[str, Any]) -> None:
        pair = remedy["people"]
        found = trip.pairings.filter(kind=kind, first__uuid__in=pair, second__uuid__in=pair)
        if not found.delete()[0]:
            raise RemedyGone(change=remedy["change"])
        inputs_changed([trip])

    return change


def _lower_minimum(trip: Trip, remedy: dict[str, Any]) -> None:
    hide = _hide(trip, remedy)
    hide.minimum_people = max(1, int(remedy["figures"]["minimum"]))
    row_save(row=hide)


def _part_sessions(trip: Trip, remedy: dict[str, Any]) -> None:
    hide = _hide(trip, remedy)
    hide.doors = Doors.SESSION
    row_save(row=hide)


_CHANGES: dict[str, Callable[[Trip, dict[str, Any]], None]] = {
    "rest": _rest,
    "share_seat": _share_seat,
    "open_hide": _open_hide,
    "add_seat": _add_seat,
    **{change: _rule(limit, "most") for change, limit in RAISED_BY.items()},
    "allow_running": _rule("never_twice_running"),
    "unpin": _unpin,
    "let_sit_apart": _end_pairing(PairingKind.TOGETHER),
    "less_together": _end_pairing(PairingKind.HALF),
    "apart_may_meet": _end_pairing(PairingKind.APART),
    "lower_minimum": _lower_minimum,
    "part_sessions": _part_sessions,
}


@transaction.atomic
def making_remedy(*, making: Making, number: int, by: Any, now: datetime) -> str:
    """Carry out one remedy of the trip's latest run and plan again as it did: both, once, or neither.

    Returns what was done, in words. Raises RemedyGone, NothingIssued, NothingToPlan.
    """
    trip = Trip.objects.select_for_update().get(pk=making.trip_id)
    last = last_making(trip)
    if last is None or last != making or last.state != MakingState.IMPOSSIBLE:
        raise RemedyGone(change="")
    remedies = last.explanation.get("remedies", [])
    if number >= len(remedies):
        raise RemedyGone(change="")
    remedy_apply(trip=trip, remedy=remedies[number])
    making_start(trip=trip, wanted=Wanted.again(last), by=by, now=now)
    return str(remedies[number]["phrase"])
