"""A file as a trip: whole, or not at all; as a copy under new uuids, also inside what was issued."""

import re
from dataclasses import dataclass, field
from datetime import datetime
from itertools import product
from typing import Any
from uuid import UUID, uuid4

from django.contrib.auth import get_user_model
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils import timezone

from participants.core.isolation import typed_text
from participants.models import LeaderDetails, Row
from trips.documents.ical import calendar_uid, day_uid, hide_session_uid, person_session_uid
from trips.models import Site, Subject, Trip
from trips.services.site import planner_give
from trips.services.trip_file.cross_checks import cross_problems
from trips.services.trip_file.problems import FileFault, TripFileRefused, constraint_sentence
from trips.services.trip_file.reading import parse_trip_file
from trips.services.trip_file.records import Record, Records, records_of
from trips.services.trip_file.schema import schema_problems
from trips.services.trip_file.tables import TABLES

# What a row keeps for itself here; the rest of two rows of one uuid must agree.
OWN_TO_A_ROW = {"version", "changed_at"}


@dataclass(frozen=True)
class ImportedTrip:
    """What an import did: the trip, the leaders who were made (they cannot sign in yet), rows made of each table."""

    trip: Trip
    made_leaders: tuple[str, ...]
    counts: dict[str, int]


@dataclass
class _Import:
    """An import under way: the file's rows, its leaders as users, and the rows made so far by uuid."""

    records: Records
    users: dict[str, Any]
    copy: bool
    moment: datetime
    rows: dict[str, Row] = field(default_factory=dict)
    made_sites: list[int] = field(default_factory=list)
    counts: dict[str, int] = field(default_factory=dict)


def trip_file_import(*, content: bytes, leader: str = "", copy: bool = False) -> ImportedTrip:
    """Make the trip that the file holds, with its rows as they are there.

    `leader`: user name of who leads the trip here in place of the file's leader. `copy`: under new uuids, so that
    the same trip can stand here twice. Raises TripFileRefused, and then nothing is made.
    """
    data = parse_trip_file(content)
    problems = list(schema_problems(data))
    if problems:
        raise TripFileRefused(sorted(problems, key=lambda problem: problem.path))
    records = records_of(with_new_uuids(data) if copy else data)
    problems = list(cross_problems(records))
    if problems:
        raise TripFileRefused(problems)
    with transaction.atomic():
        users, made = _users(records, leader)
        importing = _Import(records, users, copy, timezone.now())
        for table in TABLES:
            _make_table(importing, records.of(table.name))
        trip = importing.rows[records.of("trip")[0].uuid]
        assert isinstance(trip, Trip)
        _yes_of_co_leaders(importing, trip)
        return ImportedTrip(trip, made, importing.counts)


def _yes_of_co_leaders(importing: _Import, trip: Trip) -> None:
    """A site that comes with the file and belongs to a co-leader of its trip: the two planned there together.

    A site that was here before keeps who may plan there.
    """
    for site in trip.sites.filter(pk__in=importing.made_sites, leader__in=trip.co_leaders.all()):
        planner_give(site=site, leader=trip.leader)


def _users(records: Records, leader: str) -> tuple[dict[str, Any], tuple[str, ...]]:
    """The file's leaders as users of this server, and who had to be made."""
    users, made = {}, []
    trip_leader = records.of("trip")[0].given["leader"]
    for person in records.leaders:
        here = leader if leader and person["username"] == trip_leader else person["username"]
        user = get_user_model().objects.filter(username=here).first()
        if user is None:
            names = {} if here == leader else {name: person.get(name, "") for name in ("first_name", "last_name")}
            user = get_user_model().objects.create_user(username=here, **names)
            made.append(here)
            if person.get("phone") and names:
                LeaderDetails.objects.create(leader=user, phone=typed_text(person["phone"]))
        users[person["username"]] = user
    return users, tuple(made)


def _make_table(importing: _Import, records: list[Record]) -> None:
    """All rows of one table: those that are here already, the new ones, and what they say of each other."""
    if not records:
        return
    table = records[0].table
    uuids = [record.values["uuid"] for record in records]
    here = {str(row.uuid): row for row in table.model._default_manager.filter(uuid__in=uuids)}
    for record in records:
        if record.uuid in here:
            importing.rows[record.uuid] = _same_row(importing, record, here[record.uuid])
        else:
            row = importing.rows[record.uuid] = _make_row(importing, record)
            importing.made_sites += [row.pk] if isinstance(row, Site) else []
    importing.counts[table.name] = len(records) - len(here)
    for name in (name for name, target in table.references.items() if target == table.name):
        for record in records:
            if record.values.get(name) and record.uuid not in here:
                row, other = importing.rows[record.uuid], importing.rows[record.values[name]]
                table.model._default_manager.filter(pk=row.pk).update(**{name: other.pk})
    for record in records:
        for name, target in table.lists.items():
            found = importing.users if target == "leaders" else importing.rows
            getattr(importing.rows[record.uuid], name).set(found[entry] for entry in record.values[name])


def _same_row(importing: _Import, record: Record, here: Row) -> Row:
    """The row that another trip brought here; refused unless it says the same, or if it belongs to one trip only."""
    if not record.table.shared:
        what = "this trip" if record.table.single else "this row"
        raise TripFileRefused([FileFault(record.path, f"{what} is here already: import it as a copy (--copy)")])
    values = _stored_values(importing, record)
    problems = [
        record.problem(column.name, "differs from what this server has under the same uuid: import as a copy (--copy)")
        for column in record.table.columns
        if column.name in values.keys() - OWN_TO_A_ROW and getattr(here, column.attname) != values[column.name]
    ]
    if problems:
        raise TripFileRefused(problems)
    return here


def _make_row(importing: _Import, record: Record) -> Row:
    model = record.table.model
    columns = {column.name: column for column in record.table.columns}
    values = {columns[name].attname: value for name, value in _stored_values(importing, record).items()}
    if record.table.belongs_to_trip:
        values["trip_id"] = importing.rows[importing.records.of("trip")[0].uuid].pk
    row = model(**values)
    if importing.copy and isinstance(row, Subject | Trip):
        twin = _twin(row)
        if twin is not None:
            return twin
    row.changed_at = row.changed_at or importing.moment
    try:
        row.clean_fields(exclude=[*record.table.references, "trip"])
        # Raw: the moment of the last change stays as the file has it.
        row.save_base(raw=True, force_insert=True)
    except ValidationError as wrong:
        raise TripFileRefused(_field_problems(record, wrong)) from wrong
    except IntegrityError as wrong:
        said = constraint_sentence(wrong, model).rstrip(".")
        raise TripFileRefused([FileFault(record.path, f"is refused: {said}")]) from wrong
    return row


def _stored_values(importing: _Import, record: Record) -> dict[str, Any]:
    """The values by column, references as the numbers of rows; a row of the same table is filled in later."""
    values: dict[str, Any] = {}
    for name, value in record.values.items():
        target = record.table.references.get(name)
        if name in record.table.lists:
            continue
        if target is None or value is None:
            values[name] = typed_text(value) if isinstance(value, str) else value
        elif target == record.table.name:
            values[name] = None
        else:
            values[name] = (importing.users if target == "leaders" else importing.rows)[value].pk
    return values


def _twin(row: Subject | Trip) -> Subject | None:
    """A copied subject that the leader has already; otherwise the copy gets a name that is still free."""
    taken = {found.name: found for found in type(row)._default_manager.filter(leader_id=row.leader_id)}
    twin = taken.get(row.name)
    if isinstance(row, Subject) and isinstance(twin, Subject):
        same = ("scientific_name", "other_names", "length_min_cm", "length_max_cm", "standing_height_cm")
        if all(getattr(twin, name) == getattr(row, name) for name in (*same, "speed", "tone", "sensitive")):
            return twin
    number, name = 1, row.name
    while row.name in taken:
        number += 1
        row.name = f"{name[:100]} ({number})"
    return None


def _field_problems(record: Record, wrong: ValidationError) -> list[FileFault]:
    return [
        FileFault(f"{record.path}.{name}", f"is refused: {message.rstrip('.')}", record.given.get(name))
        for name, messages in wrong.message_dict.items()
        for message in messages
    ]


_UUID = re.compile("[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}")
DAYS = ("arrival", "departure", "trip")


def with_new_uuids(data: dict[str, Any]) -> dict[str, Any]:
    """The same trip under new uuids; entries of calendars get the identity that the new uuids give them."""
    rows = {
        table.name: [found] if table.single and (found := data.get(table.name)) else data.get(table.name) or []
        for table in TABLES
    }
    new = {row["uuid"]: str(uuid4()) for table in rows.values() for row in table}
    derived = _calendar_identities(rows, new) if rows["issues"] else {}
    renamed: dict[str, Any] = _renamed(data, new | derived)
    return renamed


def _renamed(value: Any, new: dict[str, str]) -> Any:
    if isinstance(value, dict):
        return {_renamed(key, new): _renamed(entry, new) for key, entry in value.items()}
    if isinstance(value, list):
        return [_renamed(entry, new) for entry in value]
    if isinstance(value, str):
        return _UUID.sub(lambda found: new.get(found.group(), found.group()), value)
    return value


def _calendar_identities(rows: dict[str, list[dict[str, Any]]], new: dict[str, str]) -> dict[str, str]:
    places, hides, sessions = (
        [(UUID(row["uuid"]), UUID(new[row["uuid"]])) for row in rows[name]] for name in ("places", "hides", "sessions")
    )
    old_trip, new_trip = UUID(rows["trip"][0]["uuid"]), UUID(new[rows["trip"][0]["uuid"]])
    found: dict[str, str] = {calendar_uid(old_trip): calendar_uid(new_trip)}
    for place, session in product(places, sessions):
        found[person_session_uid(old_trip, place[0], session[0])] = person_session_uid(new_trip, place[1], session[1])
    for hide, session in product(hides, sessions):
        found[hide_session_uid(old_trip, hide[0], session[0])] = hide_session_uid(new_trip, hide[1], session[1])
    for old, fresh in [(None, None), *places]:
        found[calendar_uid(old_trip, old)] = calendar_uid(new_trip, fresh)
        for day in DAYS:
            found[day_uid(old_trip, day, old)] = day_uid(new_trip, day, fresh)
    return found
