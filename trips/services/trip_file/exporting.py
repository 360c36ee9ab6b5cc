"""A trip as a file."""

import json
from collections.abc import Iterable
from datetime import UTC, date, datetime, time
from typing import Any
from uuid import UUID

from django.contrib.auth import get_user_model
from django.db.models import Q, QuerySet
from django.utils import timezone

from participants.models import HealthNote, HealthReading, Participant, Row
from trips.models import Hide, Site, Subject, Trip
from trips.models.rota import ACTIVE_MAKING_STATES
from trips.services.snapshot import snapshot
from trips.services.trip_file.tables import FORMAT, FORMAT_VERSION, LEADER_KEYS, TABLES, FileTable

KIT = ("bodies", "lenses", "converters", "tubes", "batteries", "supports")


def trip_file_bytes(*, trip: Trip, with_health: bool = False) -> bytes:
    """The trip as a file. Taking the health notes along counts as a reading by the trip's leader."""
    with snapshot():
        data = trip_data(trip, with_health=with_health)
    if with_health:
        now = timezone.now()
        for note in HealthNote.objects.filter(participant__places__trip=trip).distinct():
            HealthReading.objects.create(participant_id=note.participant_id, reader=trip.leader, read_at=now)
    return file_bytes(data)


def trip_data(trip: Trip, *, with_health: bool = False) -> dict[str, Any]:
    """The trip as plain JSON values, in the file's order."""
    found = {table.name: list(_rows_of(table, trip, with_health)) for table in TABLES}
    names: dict[str, dict[int, str]] = {"leaders": dict(get_user_model().objects.values_list("pk", "username"))}
    for table in TABLES:
        names[table.name] = {row.pk: str(row.uuid) for row in found[table.name]}
    tables: dict[str, Any] = {}
    for table in TABLES:
        rows = sorted((_row_data(table, row, names) for row in found[table.name]), key=_order(table))
        tables[table.name] = (rows[0] if rows else None) if table.single else rows
    head = {"format": FORMAT, "format_version": FORMAT_VERSION, "health_notes_included": with_health}
    return head | {"leaders": _leaders(tables)} | tables


def plain_value(value: Any) -> Any:
    """A column's value as the file shows it: moments in UTC."""
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat().replace("+00:00", "Z")
    if isinstance(value, date | time):
        return value.isoformat()
    return str(value) if isinstance(value, UUID) else value


def _rows_of(table: FileTable, trip: Trip, with_health: bool) -> QuerySet[Any]:
    everything: QuerySet[Any] = table.model._default_manager.order_by()
    participants = Participant.objects.filter(places__trip=trip)
    sites = Site.objects.filter(Q(trips=trip) | Q(sessions__trip=trip))
    hides = Hide.objects.filter(site__in=sites)
    subjects = Subject.objects.filter(
        Q(trips=trip)
        | Q(hide_subjects__hide__in=hides)
        | Q(wishes__place__trip=trip)
        | Q(sightings__log__session__trip=trip)
    )
    picked = {
        "participants": Q(pk__in=participants),
        "health_notes": Q(participant__in=participants) if with_health else Q(pk__in=[]),
        "sites": Q(pk__in=sites),
        "hides": Q(site__in=sites),
        "views": Q(hide__in=hides),
        "seats": Q(hide__in=hides),
        "subjects": Q(pk__in=subjects),
        "hide_subjects": Q(hide__in=hides),
        "trip": Q(pk=trip.pk),
        # A run of the solver that still goes on belongs to this server's worker.
        "makings": Q(trip=trip) & ~Q(state__in=ACTIVE_MAKING_STATES),
    } | {kit: Q(participant__in=participants) for kit in KIT}
    return everything.filter(picked[table.name] if table.name in picked else Q(**{table.to_trip: trip}))


def _row_data(table: FileTable, row: Row, names: dict[str, dict[int, str]]) -> dict[str, Any]:
    values: dict[str, Any] = {}
    for column in table.columns:
        value = getattr(row, column.attname)
        if column.name in table.references and value is not None:
            value = names[table.references[column.name]][value]
        values[column.name] = plain_value(value)
    for name, target in table.lists.items():
        values[name] = sorted(names[target][pk] for pk in getattr(row, name).order_by().values_list("pk", flat=True))
    return values


def _order(table: FileTable) -> Any:
    return lambda values: tuple(values[name] for name in (*table.order, "uuid"))


def _leaders(tables: dict[str, Any]) -> list[dict[str, str]]:
    """The leaders that any row names, by user name."""
    usernames: set[str] = set()
    for table in TABLES:
        rows: Iterable[dict[str, Any]] = [tables[table.name]] if table.single else tables[table.name]
        for row in filter(None, rows):
            usernames |= {row[name] for name, target in table.references.items() if target == "leaders" and row[name]}
            for name in (name for name, target in table.lists.items() if target == "leaders"):
                usernames |= set(row[name])
    people = get_user_model().objects.filter(username__in=usernames).values(*LEADER_KEYS)
    return sorted(people, key=lambda person: person["username"])


def file_bytes(data: dict[str, Any]) -> bytes:
    """The file of `data`: keys as given, rows as given, what lies deeper by key. Ends with a newline; UTF-8."""
    parts = [f"{_text(key)}: {_block(value)}" for key, value in data.items()]
    return ("{\n" + ",\n".join(parts) + "\n}\n").encode("utf-8")


def _block(value: Any) -> str:
    if isinstance(value, list) and value:
        return "[\n" + ",\n".join(f" {_row(row)}" for row in value) + "\n]"
    return _row(value)


def _row(value: Any) -> str:
    if isinstance(value, dict):
        return "{" + ", ".join(f"{_text(key)}: {_text(entry)}" for key, entry in value.items()) + "}"
    return _text(value)


def _text(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False, sort_keys=True)
