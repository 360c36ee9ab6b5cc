"""Gear read for pages: a person's pieces, their reach on a trip, the group's table and what can be lent."""

import hashlib
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from django.http import Http404
from django.shortcuts import get_object_or_404

from participants.core.gear import LIST_OF, Gear
from participants.models import Battery, Body, Converter, Lens, Participant, Support, Tube
from trips.assemble import gear_value, place_key
from trips.assemble.loans import gear_away_words, lent_words, person_value, scene_of
from trips.assemble.people import PIECE_LISTS
from trips.assemble.trip import TripValues, trip_values
from trips.documents.reach_table import Loan, PersonHide, hide_lines, loans
from trips.models import ON_TRIP, GearAway, Place, Session, Trip
from trips.models.gear_away import OWNED_PIECES, PIECES

KINDS: dict[str, Any] = {
    "body": Body,
    "lens": Lens,
    "converter": Converter,
    "tube": Tube,
    "support": Support,
    "battery": Battery,
}


@dataclass(frozen=True)
class PersonReach:
    """A person on a trip: the trip, their place, and what their gear does in every hide.

    `away`: what is said of their pieces that are lost, lent or shared; `borrowed`: what others lend them.
    """

    trip: Trip
    place: Place
    lines: tuple[PersonHide, ...]
    away: dict[UUID, str] = field(default_factory=dict)
    borrowed: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class GearRow:
    """One person's line of the leader's table; `has_gear`: any was typed in; `lacks`: "lens" or "body" is missing."""

    place: Place
    has_gear: bool
    lacks: str
    lines: tuple[PersonHide, ...]


@dataclass(frozen=True)
class GearOfTrip:
    """The leader's table for a session (its key): rows, and the loans wanted, who has no usable gear first."""

    values: TripValues
    session: str
    rows: tuple[GearRow, ...]
    wanted: tuple[Loan, ...]


def piece_kind(kind: str) -> Any:
    """The model of a kind of gear; 404 for a word that is none."""
    if kind not in KINDS:
        raise Http404("no such kind of gear")
    return KINDS[kind]


def piece_of(person: Participant, kind: str, uuid: UUID) -> Any:
    """One piece of a person's gear; 404 for anybody else's."""
    return get_object_or_404(piece_kind(kind).objects, participant=person, uuid=uuid)


def pieces_of(person: Participant) -> dict[str, list[Any]]:
    """All gear of a person by kind, in a fixed number of queries."""
    whole = Participant.objects.prefetch_related(*PIECE_LISTS).get(pk=person.pk)
    return {kind: list(getattr(whole, name).all()) for kind, name in LIST_OF.items()}


def gear_digest(pieces: dict[str, list[Any]]) -> str:
    """Another text whenever a person's gear is another: which pieces, and how often each was changed."""
    rows = [(kind, str(piece.uuid), piece.version) for kind, found in pieces.items() for piece in found]
    return hashlib.sha256(repr(sorted(rows)).encode()).hexdigest()[:16]


def gear_of(person: Participant) -> Gear:
    """All gear of a person as values."""
    return gear_value(Participant.objects.prefetch_related(*PIECE_LISTS).get(pk=person.pk))


def pieces_on_trip(trip: Trip) -> list[tuple[str, Any]]:
    """(kind, piece) of everything that decides reach and belongs to somebody who comes, by owner."""
    places = trip.places.filter(state__in=ON_TRIP).select_related("participant")
    lists = [f"participant__{LIST_OF[kind]}" for kind in PIECES]
    people = [place.participant for place in places.prefetch_related(*lists)]
    found = [(kind, piece) for person in people for kind in PIECES for piece in getattr(person, LIST_OF[kind]).all()]
    for _kind, piece in found:
        piece.participant = next(person for person in people if person.pk == piece.participant_id)
    return found


def gear_away_of(trip: Trip) -> list[GearAway]:
    """What is lost, lent or shared on a trip, with its owners and who has it, the earliest first."""
    return list(trip.gear_away.select_related("borrower__participant", *OWNED_PIECES))


def sessions_to_name(trip: Trip) -> QuerySet[Session]:
    """The sessions with what their names are made of."""
    return trip.sessions.select_related("site").prefetch_related("forecasts")


def gear_away_rows(values: TripValues) -> list[tuple[GearAway, str]]:
    """What is lost, lent or shared, with words: "lent to Ben, Sat 8 May, early to Sun 9 May, late"."""
    return [(row, gear_away_words(row, values)) for row in values.away_rows]


def away_words(person: Participant, values: TripValues) -> tuple[dict[UUID, str], list[str]]:
    """What is said of a person's pieces on a trip, by uuid, and what others lend them."""
    rows = values.away_rows
    own = {row.piece.uuid: gear_away_words(row, values) for row in rows if row.piece.participant_id == person.pk}
    theirs = [row for row in rows if row.borrower and row.borrower.participant_id == person.pk]
    return own, [lent_words(row, values) for row in theirs]


def gear_away_for(trip: Trip, uuid: UUID) -> GearAway:
    """One of them; 404 for another trip's."""
    found = next((row for row in gear_away_of(trip) if row.uuid == uuid), None)
    if found is None:
        raise Http404("no such loan")
    return found


def lost_rows(place: Place, kind: str, piece: Any) -> list[GearAway]:
    """What says that a piece is lost or broken on the trip of that place."""
    return list(place.trip.gear_away.filter(borrower=None, **{kind: piece}))


def session_asked(values: TripValues, now: datetime, session_uuid: str | None = None) -> str:
    """The key of the session whose gear is asked for: a known one, else the next that is not over, else the last."""
    known = {session.key for session in values.sessions}
    if session_uuid in known:
        return str(session_uuid)
    ahead = [session.key for session in values.sessions if session.ends_at > now]
    return (ahead or [session.key for session in values.sessions[-1:]] or [""])[0]


def person_reach(
    person: Participant, place: Place | None, *, now: datetime, gear: Gear | None = None
) -> PersonReach | None:
    """What a person's gear (or the one being typed) does on the trip of their place; None without one.

    Without gear being typed: what they have in the session that runs or comes next, be it lent to them or not.
    """
    if place is None:
        return None
    values = trip_values(place.trip)
    row = next((one for one in values.place_rows if one.pk == place.pk), None)
    if row is None or not place.photographs:
        return PersonReach(place.trip, place, ())
    session = session_asked(values, now)
    owner = person_value(values, row, person.units, gear or values.gear_then(place_key(row), session))
    return PersonReach(place.trip, place, hide_lines(owner, scene_of(values, session)), *away_words(person, values))


def gear_rows(trip: Trip, *, now: datetime, session_uuid: str | None = None) -> GearOfTrip:
    """Everybody's reach in every view in a session, and what would help where it is not good. Guests are left out."""
    values = trip_values(trip)
    session = session_asked(values, now, session_uuid)
    scene = scene_of(values, session, losses=True)
    rows: list[GearRow] = []
    wanted: list[Loan] = []
    for place in values.place_rows:
        if not place.photographs:
            continue
        gear = values.gear_then(place_key(place), session)
        person = person_value(values, place, trip.units, gear)
        lines = hide_lines(person, scene)
        rows.append(GearRow(place, gear.is_entered, gear.lacks, lines))
        wanted += loans(person, lines, scene)
    return GearOfTrip(values, session, tuple(rows), tuple(sorted(wanted, key=lambda loan: not loan.lacks)))
