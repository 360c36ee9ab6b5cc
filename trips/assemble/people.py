"""People's rows into values: kit, what of it is where in each session, wishes, limits."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import combinations, product
from typing import Any

from participants.core import kit
from participants.models import Participant
from trips.assemble.from_row import from_row
from trips.core.values import Limit, Wishes
from trips.models import GearAway, Place, Session

GEAR: dict[str, type[Any]] = {
    "bodies": kit.Body,
    "lenses": kit.Lens,
    "converters": kit.Converter,
    "tubes": kit.Tube,
    "supports": kit.Support,
    "batteries": kit.Battery,
}  # the relation of a person, and what each of its rows is


def place_key(place: Place) -> str:
    """The key that stands for a place in all values."""
    return str(place.uuid)


def kit_value(participant: Participant) -> kit.Kit:
    """All gear of a person. Prefetch the gear's relations where several people are read."""
    gear = {name: tuple(from_row(kind, row) for row in getattr(participant, name).all()) for name, kind in GEAR.items()}
    return kit.Kit(**gear)


def wishes_value(place: Place) -> Wishes:
    """What a person wishes on the trip; a blank light wish is front."""
    return Wishes(
        light=place.light_wish or "front",
        output=place.output,
        marks=tuple(sorted((str(wish.subject.uuid), wish.marks) for wish in place.wishes.all())),
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
    """Gear in sessions, by place and session key: kits that are not as typed in, and who shares a piece with whom."""

    kits: dict[tuple[str, str], kit.Kit] = field(default_factory=dict)
    sharers: frozenset[tuple[str, str, str]] = frozenset()


def gear_then(
    places: Sequence[Place], sessions: Iterable[Session], away: Iterable[GearAway], kits: Mapping[str, kit.Kit]
) -> GearThen:
    """Who has what in each session, from what is lost, lent or shared; loans to people who do not come do not count."""
    owners = {row.participant_id: row for row in places}
    coming = {row.pk for row in places}
    pieces: dict[Any, list[GearAway]] = {}
    for row in away:
        if row.piece.participant_id in owners and (row.borrower_id is None or row.borrower_id in coming):
            pieces.setdefault(row.piece, []).append(row)
    changed: dict[tuple[str, str], kit.Kit] = {}
    sharers: set[tuple[str, str, str]] = set()
    for session, (piece, rows) in product(sessions, pieces.items()):
        now = [row for row in rows if row.covers(session)]
        if not now:
            continue
        owner, kind = owners[piece.participant_id], now[0].kind
        users = piece_users(owner, now)
        value = kits[place_key(owner)].piece(kind, str(piece.uuid))
        for place in {owner, *users}:
            cell = (place_key(place), str(session.uuid))
            before = changed.get(cell, kits[cell[0]])
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
