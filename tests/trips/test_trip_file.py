"""A trip as a file, and a file as a trip."""

import json
from datetime import UTC, datetime
from typing import Any

import pytest
from django.db import models as fields
from django.db import transaction
from hypothesis import HealthCheck, Phase, given, settings

from participants import models as people
from participants.models import Row
from tests import factories
from tests.trips.full_trip import full_trip
from tests.trips.made_once import forget_everything
from tests.trips.made_trips import trip_files
from tests.trips.small_trip import small_trip
from trips import models
from trips.models.session import Driven
from trips.services.trip_file import TripFileRefused, trip_file_bytes, trip_file_import
from trips.services.trip_file.exporting import file_bytes
from trips.services.trip_file.schema import SCHEMA_PATH, schema_text
from trips.services.trip_file.tables import LEFT_OUT, TABLES

pytestmark = pytest.mark.django_db


class _Undo(Exception):
    """Ends a block whose rows must not stay."""


def exported(content: bytes, **options: Any) -> bytes:
    """What an import of `content` into this database exports; nothing of it stays."""
    found = b""
    try:
        with transaction.atomic():
            found = trip_file_bytes(trip=trip_file_import(content=content, **options).trip, with_health=True)
            raise _Undo
    except _Undo:
        return found


def test_the_schema_in_the_repository_is_that_of_the_rows():
    assert SCHEMA_PATH.read_text(encoding="utf-8") == schema_text(), (
        "rows changed: run manage.py write_trip_file_schema"
    )


def test_every_kind_of_row_is_in_the_file_or_left_out_on_purpose():
    kinds = {
        model
        for model in Row.__subclasses__() + people.Piece.__subclasses__() + Driven.__subclasses__()
        if not model._meta.abstract and model.__module__.startswith(("participants.", "trips."))
    }
    assert kinds == {table.model for table in TABLES} | set(LEFT_OUT)


def test_a_row_of_every_table_survives_export_and_import():
    trip = full_trip()
    before = trip_file_bytes(trip=trip, with_health=True)
    data = json.loads(before)
    assert [table.name for table in TABLES if not data[table.name]] == []
    counts = {table.name: table.model._default_manager.count() for table in TABLES}
    forget_everything()
    done = trip_file_import(content=before)
    assert done.trip.uuid == trip.uuid
    assert {table.name: table.model._default_manager.count() for table in TABLES} == counts
    assert trip_file_bytes(trip=done.trip, with_health=True) == before


def test_every_column_of_every_row_comes_back_with_its_value():
    trip = full_trip()
    before = {table.name: stored(table.model) for table in TABLES}
    content = trip_file_bytes(trip=trip, with_health=True)
    forget_everything()
    trip_file_import(content=content)
    assert {table.name: stored(table.model) for table in TABLES} == before


def stored(model: type[Row]) -> dict[str, dict[str, Any]]:
    """All rows of a kind by uuid, with the uuids of what they name."""
    rows = {}
    for row in model._default_manager.all():
        values = {}
        for field in model._meta.concrete_fields:
            value = getattr(row, field.name)
            if isinstance(value, fields.Model):
                value = str(getattr(value, "uuid", value))
            values[field.name] = value
        for field in model._meta.many_to_many:
            values[field.name] = sorted(str(getattr(other, "uuid", other)) for other in getattr(row, field.name).all())
        rows[str(row.uuid)] = {name: value for name, value in values.items() if name != "id"}
    return rows


# A trip is large: what fails is told at once, not made smaller for minutes.
@settings(max_examples=25, deadline=None, phases=[Phase.generate], suppress_health_check=list(HealthCheck))
@given(data=trip_files())
def test_any_trip_comes_back_as_it_was_and_byte_for_byte(data):
    content = file_bytes(data)
    first = exported(content)
    again = json.loads(first)
    for table in TABLES:
        rows, before = again[table.name], data[table.name]
        if table.single:
            assert rows == before
        else:
            assert by_uuid(rows) == by_uuid(before), table.name
    assert exported(first) == first


def by_uuid(rows: list[dict[str, Any]]) -> dict[str, dict[str, Any]]:
    return {row["uuid"]: row for row in rows}


def test_the_export_is_the_same_twice():
    trip = full_trip()
    assert trip_file_bytes(trip=trip) == trip_file_bytes(trip=trip)


def test_health_notes_travel_only_when_asked_and_the_file_says_so():
    trip = full_trip()
    without = trip_file_bytes(trip=trip)
    assert b"penicillin" not in without
    assert json.loads(without)["health_notes_included"] is False
    assert people.HealthReading.objects.count() == 0
    with_notes = json.loads(trip_file_bytes(trip=trip, with_health=True))
    assert with_notes["health_notes_included"] is True
    assert "penicillin" in with_notes["health_notes"][0]["text"]


def test_taking_health_notes_along_is_recorded_as_a_reading():
    trip = full_trip()
    trip_file_bytes(trip=trip, with_health=True)
    reading = people.HealthReading.objects.get()
    assert reading.reader == trip.leader
    assert reading.participant.health_note.text.startswith("penicillin")


def test_nothing_of_another_trip_or_leader_is_in_the_file():
    trip = full_trip()
    other = factories.planned_trip()
    people.Participant.objects.filter(places__trip=other).update(emergency_contact="not of this trip")
    content = trip_file_bytes(trip=trip)
    assert b"not of this trip" not in content
    assert str(other.uuid).encode() not in content
    assert other.leader.get_username().encode() not in content


def test_what_was_written_by_hand_may_leave_out_what_has_a_default():
    data = small_trip()
    done = trip_file_import(content=file_bytes(data))
    hide = models.Hide.objects.get()
    assert (done.trip.leader.get_username(), hide.doors, hide.version) == ("anna", "free", 1)
    assert models.Session.objects.get().starts_at == datetime(2027, 5, 8, 4, 45, tzinfo=UTC)


def test_a_leader_who_is_made_here_brings_a_telephone_and_one_who_was_here_keeps_their_own():
    trip = factories.planned_trip()
    people.LeaderDetails.objects.filter(leader=trip.leader).update(phone="+34 600 555 666")
    data = json.loads(trip_file_bytes(trip=trip))
    assert [leader["phone"] for leader in data["leaders"]] == ["+34 600 555 666"]
    data["leaders"].append({"username": "helga", "phone": "+34 600 777 888"})
    data["leaders"][0]["phone"] = "+34 1"
    data["trip"]["co_leaders"] = ["helga"]
    done = trip_file_import(content=file_bytes(data), copy=True)
    phones = dict(people.LeaderDetails.objects.values_list("leader__username", "phone"))
    assert done.made_leaders == ("helga",)
    assert phones == {trip.leader.get_username(): "+34 600 555 666", "helga": "+34 600 777 888"}


def test_a_mark_that_would_turn_a_line_round_is_left_behind():
    trip = full_trip()
    data = json.loads(trip_file_bytes(trip=trip))
    data["trip"]["name"] = "Oaks \u202e2027"
    data["participants"][0]["name"] = "Ana \u2067Ōta"
    forget_everything()
    assert trip_file_import(content=file_bytes(data)).trip.name == "Oaks 2027"
    assert people.Participant.objects.filter(name="Ana Ōta").exists()
    second = {key: data[key] for key in ("format", "format_version", "health_notes_included", "leaders")}
    second |= {"participants": data["participants"][:1]}
    second |= {"trip": small_trip()["trip"] | {"leader": trip.leader.get_username(), "sites": []}}
    trip_file_import(content=file_bytes(second))  # the same person again, as the file has it
    assert people.Participant.objects.filter(name="Ana Ōta").count() == 1


def test_another_leader_can_take_the_trip():
    anna = factories.leader(username="anna")
    data = small_trip()
    done = trip_file_import(content=file_bytes(data), leader="bert")
    assert done.made_leaders == ("bert",)
    assert {done.trip.leader.get_username(), models.Site.objects.get().leader.get_username()} == {"bert"}
    assert not anna.trips.exists()
    assert not done.trip.leader.has_usable_password()


def test_a_trip_that_is_here_already_is_refused_and_a_copy_is_not():
    trip = full_trip()
    content = trip_file_bytes(trip=trip, with_health=True)
    with pytest.raises(TripFileRefused) as refusal:
        trip_file_import(content=content)
    assert "here already" in refusal.value.sentences()[0]
    copy = trip_file_import(content=content, copy=True).trip
    assert copy.uuid != trip.uuid
    assert copy.name == f"{trip.name} (2)"
    assert (copy.places.count(), copy.rotas.count()) == (trip.places.count(), trip.rotas.count())
    assert set(copy.sites.values_list("uuid", flat=True)).isdisjoint(trip.sites.values_list("uuid", flat=True))


def test_a_copy_names_no_row_of_the_first_even_in_what_was_issued():
    trip = full_trip()
    content = trip_file_bytes(trip=trip, with_health=True)
    copied = trip_file_bytes(trip=trip_file_import(content=content, copy=True).trip, with_health=True)
    shared = {str(subject.uuid) for subject in trip.subjects.all()}
    for table in TABLES:
        for row in table.model._default_manager.exclude(pk__in=[]) if table.name != "participants" else ():
            if str(row.uuid).encode() in content and str(row.uuid) not in shared:
                assert str(row.uuid).encode() not in copied, (table.name, row)
    for payload in json.loads(content)["issues"][0]["events"]["anyone"]:
        assert payload["uid"].encode() not in copied


def test_a_second_trip_brings_the_people_and_hides_it_shares_with_the_first():
    trip = full_trip()
    second = models.Trip.objects.create(
        leader=trip.leader, name="The year after", starts_on=trip.starts_on, ends_on=trip.ends_on
    )
    second.sites.set(trip.sites.all())
    models.Place.objects.create(trip=second, participant=people.Participant.objects.order_by("pk").first())
    contents = [trip_file_bytes(trip=row) for row in (trip, second)]
    hides = models.Hide.objects.count()
    forget_everything()
    for content in contents:
        trip_file_import(content=content)
    assert models.Hide.objects.count() == hides
    assert [trip_file_bytes(trip=row) for row in models.Trip.objects.order_by("pk")] == contents


def test_a_shared_row_that_says_something_else_is_refused():
    trip = full_trip()
    data = json.loads(trip_file_bytes(trip=trip))
    data = {key: data[key] for key in ("format", "format_version", "health_notes_included", "leaders", "participants")}
    data |= {"trip": small_trip()["trip"] | {"leader": trip.leader.get_username(), "sites": []}}
    data["leaders"] = [{"username": trip.leader.get_username()}]
    data["participants"] = data["participants"][:1]
    data["participants"][0]["phone"] = "+44 1632 960199"
    with pytest.raises(TripFileRefused) as refusal:
        trip_file_import(content=file_bytes(data))
    assert refusal.value.problems[0].path == "participants[0].phone"
    assert models.Trip.objects.count() == 1


def test_the_moment_of_the_last_change_stays_as_it_was():
    trip = full_trip()
    long_ago = datetime(2025, 1, 2, 3, 4, 5, tzinfo=UTC)
    models.Hide.objects.update(changed_at=long_ago)
    content = trip_file_bytes(trip=trip)
    forget_everything()
    trip_file_import(content=content)
    assert set(models.Hide.objects.values_list("changed_at", flat=True)) == {long_ago}


def test_a_run_of_the_solver_that_still_goes_on_stays_with_its_server():
    trip = full_trip()
    models.Making.objects.create(trip=trip, state="running", started_at=datetime(2027, 1, 1, tzinfo=UTC))
    states = {row["state"] for row in json.loads(trip_file_bytes(trip=trip))["makings"]}
    assert states == {"finished"}


def test_an_export_asks_the_database_a_fixed_number_of_times(django_assert_max_num_queries):
    trip = full_trip()
    for _ in range(5):
        factories.place(trip=trip)
    with django_assert_max_num_queries(len(TABLES) + 8):
        trip_file_bytes(trip=trip)
