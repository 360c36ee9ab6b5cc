"""The rows of a trip file as values: references found, moments read."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time
from typing import Any
from uuid import UUID

from participants.core.errors import BadValue
from trips.core.local_time import ClockTimeMissing, ClockTimeTwice, moment_from_local, zone_of
from trips.documents.wording.clock import clock_time_missing
from trips.services.trip_file.problems import FileFault, TripFileRefused
from trips.services.trip_file.tables import BY_NAME, TABLES, FileTable

# Along these columns a row leads to the site whose clocks it goes by.
TO_THE_SITE = ("site", "session", "hide")


@dataclass
class Record:
    """One row of a file. `given`: as it stands there; `values`: what will be stored, references as uuid texts."""

    table: FileTable
    path: str
    given: dict[str, Any]
    values: dict[str, Any] = field(default_factory=dict)

    @property
    def uuid(self) -> str:
        return str(self.given["uuid"])

    def problem(self, name: str, reason: str) -> FileFault:
        """A problem with one value of this row."""
        return FileFault(f"{self.path}.{name}", reason, self.given.get(name))


@dataclass
class Records:
    """All rows of a file, by table and by uuid."""

    leaders: list[dict[str, str]]
    with_health: bool
    by_table: dict[str, list[Record]]
    by_uuid: dict[str, Record]

    def of(self, table: str) -> list[Record]:
        """The rows of a table, in the file's order."""
        return self.by_table[table]

    def target(self, record: Record, name: str) -> Record | None:
        """The row that a column names, or None where it is empty or names a leader."""
        uuid = record.given.get(name)
        return self.by_uuid.get(uuid) if isinstance(uuid, str) else None


def records_of(data: dict[str, Any]) -> Records:
    """The file's rows with their values. `data` fits the schema; raises TripFileRefused with all that is wrong."""
    by_table: dict[str, list[Record]] = {}
    for table in TABLES:
        found = data.get(table.name)
        rows = ([found] if found else []) if table.single else (found or [])
        place = "{0}" if table.single else "{0}[{1}]"
        by_table[table.name] = [Record(table, place.format(table.name, i), row) for i, row in enumerate(rows)]
    by_uuid: dict[str, Record] = {}
    records = Records(data["leaders"], data["health_notes_included"], by_table, by_uuid)
    problems = list(_uuid_problems(records))
    problems = problems or list(_reference_problems(records))
    problems = problems or list(_value_problems(records))
    if problems:
        raise TripFileRefused(problems)
    return records


def _uuid_problems(records: Records) -> Iterator[FileFault]:
    for rows in records.by_table.values():
        for record in rows:
            first = records.by_uuid.setdefault(record.uuid, record)
            if first is not record:
                yield record.problem("uuid", f"is already the uuid of {first.path}")


def _reference_problems(records: Records) -> Iterator[FileFault]:
    usernames = [person["username"] for person in records.leaders]
    for index, username in enumerate(usernames):
        if username in usernames[:index]:
            yield FileFault(f"leaders[{index}].username", "stands there twice", username)
    for rows in records.by_table.values():
        for record in rows:
            for name, target in record.table.references.items():
                value = record.given.get(name)
                if value is not None:
                    yield from _one_reference(records, record, (name, value, target))
            for name, target in record.table.lists.items():
                for value in record.given.get(name, []):
                    yield from _one_reference(records, record, (name, value, target))


def _one_reference(records: Records, record: Record, reference: tuple[str, str, str]) -> Iterator[FileFault]:
    name, value, target = reference
    where = f"{record.path}.{name}"
    if target == "leaders":
        if all(person["username"] != value for person in records.leaders):
            yield FileFault(where, "is not among the file's leaders", value)
    elif value not in records.by_uuid:
        yield FileFault(where, f"is the uuid of no row in {target}", value)
    elif records.by_uuid[value].table is not BY_NAME[target]:
        yield FileFault(where, f"is the uuid of {records.by_uuid[value].path}, not of a row in {target}", value)


def _value_problems(records: Records) -> Iterator[FileFault]:
    for record in records.of("sites"):
        try:
            zone_of(record.given["time_zone"])
        except BadValue:
            yield record.problem("time_zone", "is no time zone (write one as Europe/Madrid)")
            return
    for rows in records.by_table.values():
        for record in rows:
            for column in record.table.columns:
                if column.name in record.given:
                    yield from _read_value(records, record, column)
            for name in record.table.lists:
                record.values[name] = record.given.get(name, [])


def _read_value(records: Records, record: Record, column: Any) -> Iterator[FileFault]:
    value, kind = record.given[column.name], column.get_internal_type()
    try:
        if value is not None and kind in _READERS:
            value = _READERS[kind](value)
        elif value is not None and kind == "DateTimeField":
            value = _moment(value, _zone(records, record))
    except ClockTimeMissing as missing:
        yield record.problem(column.name, f"is refused: {clock_time_missing(missing).rstrip('.')}")
    except ClockTimeTwice as twice:
        choices = " or ".join(moment.isoformat() for moment in (twice.first, twice.second))
        yield record.problem(column.name, f"comes twice there, as the clocks go back: write {choices}")
    except (ValueError, OverflowError, BadValue):
        yield record.problem(column.name, "does not exist in the calendar or on the clock")
    except LookupError:
        yield record.problem(column.name, "says no offset (as in +02:00), and no site says which clocks it goes by")
    else:
        record.values[column.name] = value


def _moment(text: str, time_zone: str | None) -> datetime:
    """A moment with its offset as it stands; without one, as the clocks of the site show it."""
    stated = datetime.fromisoformat(text)
    if stated.tzinfo is not None:
        return stated.astimezone(UTC)
    if time_zone is None:
        raise LookupError(text)
    return moment_from_local(stated.date(), stated.time(), time_zone)


def _zone(records: Records, record: Record) -> str | None:
    """The time zone of the site a row belongs to; of all sites if they share one."""
    here: Record | None = record
    for _ in TO_THE_SITE:
        if here is None or here.table.name == "sites":
            break
        here = next(filter(None, (records.target(here, name) for name in TO_THE_SITE)), None)
    if here is not None and here.table.name == "sites":
        return str(here.given["time_zone"])
    zones = {site.given["time_zone"] for site in records.of("sites")}
    return str(zones.pop()) if len(zones) == 1 else None


_READERS: dict[str, Any] = {
    "UUIDField": UUID,
    "FloatField": float,
    "PositiveIntegerField": int,
    "PositiveSmallIntegerField": int,
    "DateField": date.fromisoformat,
    "TimeField": time.fromisoformat,
}
