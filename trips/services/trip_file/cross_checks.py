"""What must be true between the rows of a trip file, beyond what one row can say."""

from collections import defaultdict
from collections.abc import Iterator

from django.db.models import UniqueConstraint

from trips.models.gear_away import PIECES
from trips.models.place import VOTES_IN_ALL
from trips.services.trip_file.problems import FileFault
from trips.services.trip_file.records import Record, Records

HIDE_IN_SESSION = ("session_hides", "pins", "turns", "session_logs", "happenings")


def cross_problems(records: Records) -> Iterator[FileFault]:
    """Every broken rule between rows."""
    for check in CHECKS:
        yield from check(records)


def health_only_if_said(records: Records) -> Iterator[FileFault]:
    if not records.with_health and records.of("health_notes"):
        yield FileFault("health_notes", "holds health notes, though health_notes_included says false")


def said_once(records: Records) -> Iterator[FileFault]:
    """The constraints that hold between the rows of one table."""
    for rows in records.by_table.values():
        for constraint in rows[0].table.model._meta.constraints if rows else ():
            if isinstance(constraint, UniqueConstraint) and constraint.fields and constraint.condition is None:
                yield from _twice(rows, constraint)


def _twice(rows: list[Record], constraint: UniqueConstraint) -> Iterator[FileFault]:
    first: dict[tuple[object, ...], Record] = {}
    # The trip itself is not among the values; it is the same for all rows.
    names = [name for name in constraint.fields if name in {column.name for column in rows[0].table.columns}]
    for record in rows:
        key = tuple(record.values.get(name, _default(record, name)) for name in names)
        if None not in key and first.setdefault(key, record) is not record:
            said = str(constraint.get_violation_error_message()).rstrip(".")
            yield FileFault(record.path, f"repeats {first[key].path}: {said}")


def _default(record: Record, name: str) -> object:
    column = next(column for column in record.table.columns if column.name == name)
    return column.get_default()


def sessions_at_the_trips_sites(records: Records) -> Iterator[FileFault]:
    sites = {uuid for trip in records.of("trip") for uuid in trip.given.get("sites", [])}
    for record in records.of("sessions"):
        if record.given["site"] not in sites:
            yield record.problem("site", "is not one of the trip's sites")


def hides_of_the_sessions_site(records: Records) -> Iterator[FileFault]:
    for name in HIDE_IN_SESSION:
        for record in records.of(name):
            yield from _hide_of(records, record, records.target(record, "session"))
    for record in records.of("run_stops"):
        run = records.target(record, "run")
        yield from _hide_of(records, record, run and records.target(run, "session"))


def _hide_of(records: Records, record: Record, session: Record | None) -> Iterator[FileFault]:
    hide = records.target(record, "hide")
    if hide and session and hide.given["site"] != session.given["site"]:
        yield record.problem("hide", f"is not at the site of {session.path}")


def seats_of_the_hide(records: Records) -> Iterator[FileFault]:
    for name in ("pins", "turns", "happenings"):
        for record in records.of(name):
            seat = records.target(record, "seat")
            if seat and seat.given["hide"] != record.given["hide"]:
                yield record.problem("seat", "is no seat of that hide")


def votes_spent(records: Records) -> Iterator[FileFault]:
    spent: dict[str, int] = defaultdict(int)
    for record in records.of("wishes"):
        spent[record.given["place"]] += record.given["votes"]
        if spent[record.given["place"]] > VOTES_IN_ALL >= spent[record.given["place"]] - record.given["votes"]:
            yield record.problem("votes", f"brings this person above the {VOTES_IN_ALL} votes there are to spend")


def pairs_said_once(records: Records) -> Iterator[FileFault]:
    seen: dict[frozenset[str], Record] = {}
    for record in records.of("pairings"):
        pair = frozenset((record.given["first"], record.given["second"]))
        if seen.setdefault(pair, record) is not record:
            yield FileFault(record.path, f"is about the same two people as {seen[pair].path}")


def gear_of_people_on_the_trip(records: Records) -> Iterator[FileFault]:
    coming = {record.given["participant"] for record in records.of("places")}
    for record in records.of("gear_away"):
        pieces = {name: piece for name in PIECES if (piece := records.target(record, name)) is not None}
        for name, piece in pieces.items():
            borrower = records.target(record, "borrower")
            if piece.given["participant"] not in coming:
                yield record.problem(name, "belongs to nobody on this trip")
            elif borrower and borrower.given["participant"] == piece.given["participant"]:
                yield record.problem("borrower", "is the owner of the piece")


def nobody_helps_themselves(records: Records) -> Iterator[FileFault]:
    for record in records.of("places"):
        if record.given.get("helps") == record.uuid:
            yield record.problem("helps", "is this place itself")


def rotas_follow_earlier_ones(records: Records) -> Iterator[FileFault]:
    for record in records.of("rotas"):
        before = records.target(record, "follows")
        if before and before.given["number"] >= record.given["number"]:
            yield record.problem("follows", f"is {before.path}, which is not numbered before this rota")


CHECKS = (
    health_only_if_said,
    said_once,
    sessions_at_the_trips_sites,
    hides_of_the_sessions_site,
    seats_of_the_hide,
    votes_spent,
    pairs_said_once,
    gear_of_people_on_the_trip,
    nobody_helps_themselves,
    rotas_follow_earlier_ones,
)
