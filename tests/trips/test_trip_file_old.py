"""Trip files written before words and columns changed open with all that they say."""

import json
from importlib import import_module
from uuid import uuid4

import pytest
from django.apps import apps

from tests import factories
from tests.trips.full_trip import full_trip
from tests.trips.made_once import forget_everything
from trips.models import View
from trips.services.trip_file import TripFileRefused, trip_file_bytes, trip_file_import
from trips.services.trip_file.exporting import file_bytes
from trips.services.trip_file.tables import OLD_COLUMNS, OLD_TABLES

pytestmark = pytest.mark.django_db


def test_a_file_written_before_a_limit_of_the_rules_was_there_opens_without_it():
    content = json.loads(trip_file_bytes(trip=full_trip()))
    del content["rules"]["consecutive_turns_at_most"]
    forget_everything()
    done = trip_file_import(content=file_bytes(content))
    assert done.trip.rules.consecutive_turns_at_most is None


def test_a_file_written_before_search_times_had_words_opens_with_them():
    content = json.loads(trip_file_bytes(trip=full_trip()))
    for rota, effort in zip(content["rotas"], (0, 40), strict=True):
        del rota["search_time"]
        rota["effort"] = effort
    for making in content["makings"]:
        del making["search_time"], making["progress"]
        making["effort"] = 5
    forget_everything()
    done = trip_file_import(content=file_bytes(content))
    assert [rota.search_time for rota in done.trip.rotas.order_by("number")] == ["", "thorough"]
    assert [making.search_time for making in done.trip.makings.all()] == ["quick"]


def test_a_file_written_before_words_changed_opens_with_all_that_it_says():
    whole = trip_file_bytes(trip=full_trip(), with_health=True)
    data = json.loads(whole)
    for table, columns in OLD_COLUMNS.items():
        for row in [data[table]] if isinstance(data[table], dict) else data[table]:
            for old, new in columns.items():
                row[old] = row.pop(new)
    for old, new in OLD_TABLES.items():
        data[old] = data.pop(new)
    forget_everything()
    done = trip_file_import(content=file_bytes(data))
    assert trip_file_bytes(trip=done.trip, with_health=True) == whole


def test_a_nameless_view_of_before_is_called_a_view_unless_its_hide_has_one():
    data = json.loads(trip_file_bytes(trip=full_trip()))
    first, second = (row["uuid"] for row in data["hides"][:2])
    pattern = next(row for row in data["views"] if row["hide"] == first)
    data["views"] = [
        pattern | {"uuid": str(uuid4()), "hide": hide, "name": name}
        for hide, name in ((first, "window"), (second, "window"), (second, "view"), (second, "east window"))
    ]
    forget_everything()
    trip_file_import(content=file_bytes(data))
    named = [sorted(View.objects.filter(hide__uuid=hide).values_list("name", flat=True)) for hide in (first, second)]
    assert named == [["view"], ["east window", "view", "window"]]


def test_stored_nameless_views_are_renamed_as_files_are():
    alone, beside = factories.view(name="window"), factories.view(name="window")
    factories.view(hide=beside.hide, name="view")
    import_module("trips.migrations.0015_nameless_view_and_cell_light").rename(apps, "window", "view")
    assert (View.objects.get(pk=alone.pk).name, View.objects.get(pk=beside.pk).name) == ("view", "window")


def test_a_column_under_its_old_and_its_new_name_is_refused():
    data = json.loads(trip_file_bytes(trip=full_trip()))
    data["wishes"][0]["marks"] = 2
    with pytest.raises(TripFileRefused) as refused:
        trip_file_import(content=file_bytes(data), copy=True)
    assert "wishes[0].marks" in str(refused.value.problems)
