"""What rows say of people, sessions and hides: who is there and paired, what is ready, shared, joined or a hardship."""

from datetime import date, datetime, timedelta
from typing import Any

from participants.core.gear import Gear, gear_together
from trips.assemble.people import place_key
from trips.assemble.trip import TripValues
from trips.core.access import access
from trips.core.rota.problem.values import LEADER, NO_SEAT, Pin
from trips.core.values import Hide, Session
from trips.models import HideState
from trips.models import Place as PlaceRow
from trips.models import Session as SessionRow
from trips.models.place import PairingKind
from trips.models.site import Doors


def is_present(place: PlaceRow, session: SessionRow) -> bool:
    """Whether a person is on the site for the whole session and has no absence there."""
    if place.arrives_at is not None and place.arrives_at > session.starts_at:
        return False
    if place.leaves_at is not None and place.leaves_at < session.ends_at:
        return False
    return all(absence.session_id != session.pk for absence in place.absences.all())


def gear_brought(values: TripValues, place: PlaceRow) -> Gear:
    """What a person has with them in any of their sessions; as typed in where they have none."""
    key = place_key(place)
    then = [values.gear_then(key, str(row.uuid)) for row in values.session_rows if is_present(place, row)]
    return gear_together(then or [values.gear[key]])


def gear_packed(values: TripValues, place: PlaceRow) -> Gear:
    """What a person packs for the trip: their own pieces, those they lend too, and none that others bring and lend."""
    gear, own = gear_brought(values, place), values.gear[place_key(place)]
    for row in values.away_rows:
        key = str(row.piece.uuid)
        mine, here = own.piece(row.kind, key), gear.piece(row.kind, key)
        if row.borrower_id == place.pk and here is not None:
            gear = gear.without(row.kind, here)
        elif row.borrower_id is not None and mine is not None and here is None:
            gear = gear.with_piece(row.kind, mine)
    return gear


def is_hot(hide: Hide, session: Session) -> bool:
    """Whether air plus the hide's measured excess reaches the session's heat limit at any forecast hour of it."""
    if session.heat_limit_c is None:
        return False
    hour = timedelta(hours=1)
    inside = [
        forecast.air_c
        for forecast in session.forecast
        if session.starts_at - hour < forecast.moment < session.ends_at + hour
    ]
    return bool(inside) and max(inside) + (hide.excess_c or 0.0) >= session.heat_limit_c


def hardships(values: TripValues) -> frozenset[tuple[int, int]]:
    """(session, hide) that count as a hardship: a long walk, or heat."""
    return frozenset(
        (s, h)
        for s, session in enumerate(values.sessions)
        for h, hide in enumerate(values.hides)
        if hide.walk_m > values.rules.hardship_walk_m or is_hot(hide, session)
    )


def closed(values: TripValues) -> frozenset[tuple[int, int]]:
    """Hides that the owner has not made ready: unavailable, or possible only with notice; and those of other sites."""
    numbers = {row.pk: index for index, row in enumerate(values.hide_rows)}
    closed = set()
    for s, session in enumerate(values.session_rows):
        closed |= {(s, h) for h, hide in enumerate(values.hide_rows) if hide.site_id != session.site_id}
        for state in session.session_hides.all():
            if state.state != HideState.READY and state.hide_id in numbers:
                closed.add((s, numbers[state.hide_id]))
    return frozenset(closed)


def openable(values: TripValues, now: datetime) -> frozenset[tuple[int, int]]:
    """(session, hide) that are closed but still possible: notice enough is left at `now`."""
    numbers = {row.pk: index for index, row in enumerate(values.hide_rows)}
    return frozenset(
        (s, numbers[state.hide_id])
        for s, session in enumerate(values.session_rows)
        for state in session.session_hides.all()
        if state.state == HideState.NOTICE
        and state.hide_id in numbers
        and now + timedelta(hours=state.notice_h or 0.0) <= session.starts_at
    )


def shared(values: TripValues) -> frozenset[tuple[int, int]]:
    """(session, hide) in which one seat is handed over between two people."""
    numbers = {row.pk: index for index, row in enumerate(values.hide_rows)}
    return frozenset(
        (s, numbers[state.hide_id])
        for s, session in enumerate(values.session_rows)
        for state in session.session_hides.all()
        if state.shares_seat and state.hide_id in numbers
    )


def absent(values: TripValues) -> frozenset[tuple[int, int]]:
    """(person, session) of those who are not there."""
    return frozenset(
        (p, s)
        for p, place in enumerate(values.place_rows)
        for s, session in enumerate(values.session_rows)
        if not is_present(place, session)
    )


def access_limits(values: TripValues) -> tuple[set[tuple[int, int, int]], set[tuple[int, int]]]:
    """(cannot_then by hours, cannot by steps, walk and entrance)."""
    then: set[tuple[int, int, int]] = set()
    never: set[tuple[int, int]] = set()
    for p, place in enumerate(values.place_rows):
        limits = values.limits[str(place.uuid)]
        lasting = tuple(limit for limit in limits if limit.what != "hours")
        hours = tuple(limit for limit in limits if limit.what == "hours")
        for h, hide in enumerate(values.hides):
            if not access(lasting, hide).open:
                never.add((p, h))
            for s, session in enumerate(values.sessions):
                length_h = (session.ends_at - session.starts_at).total_seconds() / 3600
                if hours and not access(hours, hide, length_h).open:
                    then.add((p, s, h))
    return then, never


def joined(values: TripValues) -> tuple[tuple[int, tuple[int, ...]], ...]:
    """All-day hides join the sessions of one local day at their site."""
    found = []
    for h, (hide, row) in enumerate(zip(values.hides, values.hide_rows, strict=True)):
        if hide.doors != Doors.ALL_DAY:
            continue
        days: dict[date, list[int]] = {}
        for s, session in enumerate(values.session_rows):
            if session.site_id == row.site_id:
                days.setdefault(values.sessions[s].starts_at.date(), []).append(s)
        found += [(h, tuple(sessions)) for sessions in days.values() if len(sessions) > 1]
    return tuple(found)


def people_facts(values: TripValues) -> dict[str, Any]:
    """Guests, helpers, pairings, and who shares a piece of gear."""
    keys = {place_key(row): index for index, row in enumerate(values.place_rows)}
    when = {session.key: index for index, session in enumerate(values.sessions)}
    numbers = {row.pk: index for index, row in enumerate(values.place_rows)}
    pairs: dict[str, list[tuple[int, int]]] = {kind: [] for kind in PairingKind}
    for pairing in values.trip.pairings.order_by("uuid"):
        if pairing.first_id in numbers and pairing.second_id in numbers:
            first, second = sorted((numbers[pairing.first_id], numbers[pairing.second_id]))
            pairs[pairing.kind].append((first, second))
    return {
        "guests": frozenset(p for p, row in enumerate(values.place_rows) if not row.photographs),
        "helpers": tuple(
            (p, numbers[row.helps_id]) for p, row in enumerate(values.place_rows) if row.helps_id in numbers
        ),
        "sharers": frozenset(
            (*sorted((keys[one], keys[other])), when[session]) for one, other, session in values.gear_by_session.sharers
        ),
        "together": tuple(sorted(pairs[PairingKind.TOGETHER])),
        "half_together": tuple(sorted(pairs[PairingKind.HALF])),
        "apart": tuple(sorted(pairs[PairingKind.APART])),
    }


def pins(values: TripValues) -> tuple[Pin, ...]:
    """Who is pinned to which hide and, where it is named, seat."""
    people = {row.pk: index for index, row in enumerate(values.place_rows)}
    sessions = {row.pk: index for index, row in enumerate(values.session_rows)}
    hides = {row.pk: index for index, row in enumerate(values.hide_rows)}
    seats = {seat.pk: index for row in values.hide_rows for index, seat in enumerate(row.seats.all())}
    found = []
    for pin in values.trip.pins.all():
        person = LEADER if pin.place_id is None else people.get(pin.place_id)
        if person is not None and pin.session_id in sessions and pin.hide_id in hides:
            seat = seats.get(pin.seat_id, NO_SEAT) if pin.seat_id else NO_SEAT
            found.append(Pin(person, sessions[pin.session_id], hides[pin.hide_id], seat))
    return tuple(sorted(found, key=lambda pin: (pin.session, pin.person)))
