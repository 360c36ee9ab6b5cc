"""People's rows into values: gear, what of it is where in each session, wishes, limits."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import combinations, product
from typing import Any

from participants.core import gear
from participants.models import Participant
from trips.assemble.from_row import from_row
from trips.core.values import Limit, Wishes
from trips.models import GearAway, Place, Session

PIECE_LISTS: dict[str, type[Any]] = {
    "bodies": gear.Body,
    "lenses": gear.Lens,
    "converters": gear.Converter,
    "tubes": gear.Tube,
    "supports": gear.Support,
    "batteries": gear.Battery,
}  # the relation of a person, and what each of its rows is


def place_key(place: Place) -> str:
    """The key that stands for a place in all values."""
    return str(place.uuid)


def gear_value(participant: Participant) -> gear.Gear:
    """All gear of a person. Prefetch the gear's relations where several people are read."""
    rows = {name: getattr(participant, name).all() for name in PIECE_LISTS}
    return gear.Gear(**{name: tuple(from_row(PIECE_LISTS[name], row) for row in found) for name, found in rows.items()})


def wishes_value(place: Place) -> Wishes:
    """What a person wishes on the trip; a blank light wish is front."""
    return Wishes(
        light=place.light_wish or "front",
        output=place.output,
        votes=tuple(sorted((str(wish.subject.uuid), wish.votes) for wish in place.wishes.all())),
        again=tuple(sorted(str(again.hide.uuid) for again in place.agains.all())),
        photographs=place.photographs,
    )


def limit_values(place: Place) -> tuple[Limit, ...]:
    """What a person cannot or would rather not do."""
    said = (
        ("steps", place.steps_limit, place.steps_firm),
        ("walk_m", place.walk_limit_m, place.walk_firm),
        ("entry", place.entry_limit or None, place.entry_firm),
        ("hours", place.hours_limit, place.hours_firm),
    )
    return tuple(Limit(what, most, firm) for what, most, firm in said if most is not None)


@dataclass(frozen=True, slots=True)
class GearThen:
    """Gear in sessions, by place and session key: what is not as typed in, and who shares a piece with whom."""

    changed: dict[tuple[str, str], gear.Gear] = field(default_factory=dict)
    sharers: frozenset[tuple[str, str, str]] = frozenset()


def gear_then(
    places: Sequence[Place], sessions: Iterable[Session], away: Iterable[GearAway], typed: Mapping[str, gear.Gear]
) -> GearThen:
    """Who has what in each session, from what is lost, lent or shared; loans to people who do not come do not count."""
    owners = {row.participant_id: row for row in places}
    coming = {row.pk for row in places}
    pieces: dict[Any, list[GearAway]] = {}
    for row in away:
        if row.piece.participant_id in owners and (row.borrower_id is None or row.borrower_id in coming):
            pieces.setdefault(row.piece, []).append(row)
    changed: dict[tuple[str, str], gear.Gear] = {}
    sharers: set[tuple[str, str, str]] = set()
    for session, (piece, rows) in product(sessions, pieces.items()):
        now = [row for row in rows if row.covers(session)]
        if not now:
            continue
        owner, kind = owners[piece.participant_id], now[0].kind
        users = piece_users(owner, now)
        value = typed[place_key(owner)].piece(kind, str(piece.uuid))
        for place in {owner, *users}:
            cell = (place_key(place), str(session.uuid))
            before = changed.get(cell, typed[cell[0]])
            if place == owner and owner not in users:
                changed[cell] = before.without(kind, value)
            elif place != owner:
                changed[cell] = before.with_piece(kind, value)
        keys = sorted(place_key(place) for place in users if place.photographs)
        sharers |= {(one, other, str(session.uuid)) for one, other in combinations(keys, 2)}
    return GearThen(changed, frozenset(sharers))


def piece_users(owner: Place, now: Sequence[GearAway]) -> set[Place]:
    """Who uses a piece while these rows say where it is: nobody once it is lost, its owner where all of them share."""
    if any(row.borrower is None for row in now):
        return set()
    return {row.borrower for row in now if row.borrower} | ({owner} if all(row.shared for row in now) else set())
