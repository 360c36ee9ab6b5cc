"""Gear read for pages: a person's pieces, their reach on a trip, the group's table and what can be lent."""

import hashlib
from dataclasses import dataclass, replace
from datetime import date
from typing import Any
from uuid import UUID

from django.http import Http404

from participants.core.gear import Gear
from participants.models import Battery, Body, Converter, Lens, Participant, Support, Tube
from trips.assemble import gear_value, place_key
from trips.assemble.trip import GEAR, TripValues, trip_values
from trips.documents.reach_table import GearOwner, Lender, Loan, PersonHide, Scene, hide_lines, loans
from trips.models import Place, Trip
from trips.selectors.my import place_of

KINDS: dict[str, Any] = {
    "body": Body,
    "lens": Lens,
    "converter": Converter,
    "tube": Tube,
    "support": Support,
    "battery": Battery,
}
LISTS = dict(zip(KINDS, ("bodies", "lenses", "converters", "tubes", "supports", "batteries"), strict=True))


@dataclass(frozen=True)
class PersonReach:
    """A person on a trip: the trip, their place, and what their gear does in every hide."""

    trip: Trip
    place: Place
    lines: tuple[PersonHide, ...]


@dataclass(frozen=True)
class GearRow:
    """One person's line of the leader's table."""

    place: Place
    has_gear: bool
    lines: tuple[PersonHide, ...]


def piece_kind(kind: str) -> Any:
    """The model of a kind of gear; 404 for a word that is none."""
    if kind not in KINDS:
        raise Http404("no such kind of gear")
    return KINDS[kind]


def piece_of(person: Participant, kind: str, uuid: UUID) -> Any:
    """One piece of a person's gear; 404 for anybody else's."""
    found = piece_kind(kind).objects.filter(participant=person, uuid=uuid).first()
    if found is None:
        raise Http404("no such gear")
    return found


def pieces_of(person: Participant) -> dict[str, list[Any]]:
    """All gear of a person by kind, in a fixed number of queries."""
    whole = Participant.objects.prefetch_related(*GEAR).get(pk=person.pk)
    return {kind: list(getattr(whole, name).all()) for kind, name in LISTS.items()}


def gear_digest(pieces: dict[str, list[Any]]) -> str:
    """Another text whenever a person's gear is another: which pieces, and how often each was changed."""
    rows = [(kind, str(piece.uuid), piece.version) for kind, found in pieces.items() for piece in found]
    return hashlib.sha256(repr(sorted(rows)).encode()).hexdigest()[:16]


def gear_of(person: Participant) -> Gear:
    """All gear of a person as values."""
    return gear_value(Participant.objects.prefetch_related(*GEAR).get(pk=person.pk))


def gear_with(gear: Gear, kind: str, piece: Any, replaced: str = "") -> Gear:
    """Gear with one more piece of that kind, in the place of the one whose key is `replaced`, if any."""
    name = LISTS[kind]
    kept = tuple(one for one in getattr(gear, name) if not replaced or one.key != replaced)
    return replace(gear, **{name: (*kept, piece)})


def scene_of(values: TripValues) -> Scene:
    """What a trip offers everybody."""
    lenders, spare = [], []
    for row in values.place_rows:
        for kind in ("lenses", "converters", "tubes"):
            for piece in getattr(row.participant, kind).all():
                if piece.spare:
                    lenders.append(Lender(str(piece.uuid), place_key(row), row.participant.name))
        spare.append(values.gear[place_key(row)])
    whole = Gear(
        lenses=tuple(one for gear in spare for one in gear.lenses),
        converters=tuple(one for gear in spare for one in gear.converters),
        tubes=tuple(one for gear in spare for one in gear.tubes),
    )
    return Scene(values.hides, values.subjects, values.rules.reach, whole, tuple(lenders))


def person_value(values: TripValues, place: Place, units: str, gear: Gear | None = None) -> GearOwner:
    """A person of a trip as values; other gear may be tried on."""
    key = place_key(place)
    owned = values.gear[key] if gear is None else gear
    return GearOwner(key, place.participant.name, owned, values.wishes[key], values.limits[key], units)


def person_reach(
    person: Participant, *, typed_by: Any, today: date, trip_uuid: UUID | str | None = None, gear: Gear | None = None
) -> PersonReach | None:
    """What a person's gear (or the one being typed) does on the trip asked for, else on the running or next one."""
    place = place_of(person, typed_by=typed_by, today=today, trip_uuid=trip_uuid)
    if place is None:
        return None
    values = trip_values(place.trip)
    row = next((one for one in values.place_rows if one.pk == place.pk), None)
    if row is None or not place.photographs:
        return PersonReach(place.trip, place, ())
    return PersonReach(place.trip, place, hide_lines(person_value(values, row, person.units, gear), scene_of(values)))


def gear_rows(trip: Trip) -> tuple[TripValues, tuple[GearRow, ...], tuple[Loan, ...]]:
    """Everybody's reach in every view, and what would help where it is not good. Guests are left out."""
    values = trip_values(trip)
    scene = scene_of(values)
    rows: list[GearRow] = []
    wanted: list[Loan] = []
    for place in values.place_rows:
        if not place.photographs:
            continue
        person = person_value(values, place, trip.units)
        lines = hide_lines(person, scene)
        rows.append(GearRow(place, bool(person.gear.bodies and person.gear.lenses), lines))
        wanted += loans(person, lines, scene)
    return values, tuple(rows), tuple(wanted)
