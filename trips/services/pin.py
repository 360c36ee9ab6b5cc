"""Turns fixed for all later plans: each pin is noted among the rota's changes, and undone like one."""

from datetime import datetime
from typing import Any

from django.db import transaction
from django.db.models import Q

from participants.core.errors import CoreError
from participants.versions import row_save
from trips.documents.wording.effect import pin_words
from trips.models import Change, Hide, Pin, Place, Rota, RotaState, Seat, Trip
from trips.models import Turn as TurnRow
from trips.selectors.session import local_hours
from trips.services.rota import RotaNotDraft
from trips.services.turn import ChangeOverwritten


class SeatPinned(CoreError):
    """The seat is pinned for somebody else in that session: `who`, `hide`, `seat`."""


@transaction.atomic
def turn_pin(*, turn: TurnRow, by: Any, now: datetime, with_seat: bool = True) -> Pin:
    """Fix a turn for all later plans; in a hand-over the hide alone. Raises SeatPinned."""
    Trip.objects.select_for_update().get(pk=turn.rota.trip_id)
    seat = turn.seat if with_seat and not turn.part else None
    others = Pin.objects.filter(session=turn.session, seat=seat).exclude(place=turn.place)
    other = others.select_related("place__participant").first() if seat else None
    if other is not None:
        raise SeatPinned(who=_name(other.place), hide=turn.hide.name, seat=turn.seat.name)
    old = _pin_data(_pin_of(turn))
    pin, _ = Pin.objects.update_or_create(
        trip=turn.rota.trip, session=turn.session, place=turn.place, defaults={"hide": turn.hide, "seat": seat}
    )
    _noted(turn, (old, _pin_data(pin)), by, now)
    return pin


@transaction.atomic
def turn_unpin(*, turn: TurnRow, by: Any, now: datetime) -> None:
    """Let later plans move this turn again."""
    Trip.objects.select_for_update().get(pk=turn.rota.trip_id)
    pin = _pin_of(turn)
    if pin is None:
        return
    old = _pin_data(pin)
    pin.delete()
    _noted(turn, (old, []), by, now)


def is_of_pin(change: Change) -> bool:
    """Whether a change is about a pin, not about turns."""
    return any("pinned" in one for one in (*change.old, *change.new))


@transaction.atomic
def pin_undo(*, change: Change, by: Any, now: datetime) -> Change:
    """Put a pin back to how it was before a change; only while it was not changed since."""
    trip = Trip.objects.select_for_update().get(pk=change.rota.trip_id)
    rota = Rota.objects.get(pk=change.rota_id)
    if rota.state != RotaState.DRAFT:
        raise RotaNotDraft(rota=rota)
    change.refresh_from_db()
    about = (*change.old, *change.new)[0]
    who = Q(place__uuid=about["place"]) if about["place"] else Q(place__isnull=True)
    turn = rota.turns.filter(who, session__uuid=about["session"]).first()
    if turn is None or change.undone_at is not None or _pin_data(_pin_of(turn)) != change.new:
        raise ChangeOverwritten(change=change)
    Pin.objects.filter(trip=trip, session=turn.session, place=turn.place).delete()
    for one in change.old:
        hide = Hide.objects.filter(uuid=one["hide"]).first()
        seat = Seat.objects.filter(hide=hide, uuid=one["seat"]).first() if one["seat"] else None
        if hide is None or bool(one["seat"]) != bool(seat):
            raise ChangeOverwritten(change=change)
        Pin.objects.create(trip=trip, session=turn.session, place=turn.place, hide=hide, seat=seat)
    undone = _noted(turn, (change.new, change.old), by, now)
    for row in (change, undone):
        row.undone_at = now
        row_save(row=row)
    return undone


def _pin_of(turn: TurnRow) -> Pin | None:
    pins = Pin.objects.filter(trip=turn.rota.trip, session=turn.session, place=turn.place)
    return pins.select_related("hide", "seat", "session", "place").first()


def _pin_data(pin: Pin | None) -> list[dict[str, Any]]:
    """A pin as a Change keeps it."""
    if pin is None:
        return []
    return [
        {
            "pinned": True,
            "place": str(pin.place.uuid) if pin.place else "",
            "session": str(pin.session.uuid),
            "hide": str(pin.hide.uuid),
            "seat": str(pin.seat.uuid) if pin.seat else "",
        }
    ]


def _noted(turn: TurnRow, old_new: tuple[list[Any], list[Any]], by: Any, now: datetime) -> Change:
    """Keep who pinned what and when; a draft shows the pin, an issued rota keeps what it said."""
    old, new = old_new
    if turn.rota.state == RotaState.DRAFT:
        turn.pinned = bool(new)
        row_save(row=turn)
    where = turn.hide.name if turn.part else f"{turn.hide.name}, {turn.seat.name}"
    why = pin_words(_name(turn.place), where, local_hours(turn.session), is_pinned=bool(new))
    return Change.objects.create(rota=turn.rota, who=by, when=now, why=why[:300], old=old, new=new)


def _name(place: Place | None) -> str:
    return place.participant.name if place else "the leader"
