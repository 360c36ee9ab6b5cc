"""People and gear of a trip as tables for a file."""

from typing import Any

from participants.core.gear import LIST_OF
from participants.core.table_text import table_written
from participants.models import Participant
from trips.assemble.people import PIECE_LISTS
from trips.documents.gear_columns import GEAR_COLUMNS, GEAR_FIELDS, PEOPLE, PEOPLE_COLUMNS, number_written
from trips.models import NOT_CANCELLED, Trip


def people_on(trip: Trip, *, with_gear: bool = False) -> list[Participant]:
    """Everybody with a place on the trip, by name."""
    people = Participant.objects.filter(places__trip=trip, places__state__in=NOT_CANCELLED, erased_at__isnull=True)
    people = people.distinct().order_by("name", "uuid")
    return list(people.prefetch_related(*PIECE_LISTS) if with_gear else people)


def people_known(asker: Any, trip: Trip) -> list[Participant]:
    """Everybody whom a row of people could mean: those of the trip's leader; for a co-leader, those on the trip."""
    people = Participant.objects.filter(leader=trip.leader, erased_at__isnull=True)
    if trip.leader != asker:
        people = people.filter(pk__in=trip.places.values("participant"))
    return list(people.select_related("leader").order_by("name", "uuid"))


def people_table(trip: Trip) -> bytes:
    """People as a file. Health notes and pairings are not in it."""
    states = dict(trip.places.values_list("participant", "state"))
    rows = [(*(str(getattr(person, column)) for column in PEOPLE), states[person.pk]) for person in people_on(trip)]
    return table_written(PEOPLE_COLUMNS, rows)


def gear_csv_table(trip: Trip) -> bytes:
    """Everybody's gear as a file, a row a piece."""
    rows = []
    for person in people_on(trip, with_gear=True):
        for kind, name in LIST_OF.items():
            for piece in getattr(person, name).all():
                cells = {"person": person.name, "kind": kind, "name": piece.name}
                for field in GEAR_FIELDS[kind]:
                    cells[field] = number_written(getattr(piece, "kind" if field == "support" else field))
                rows.append(tuple(cells.get(column, "") for column in GEAR_COLUMNS))
    return table_written(GEAR_COLUMNS, rows)
