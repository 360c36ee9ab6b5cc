"""Rows with a number of effort get the search time that it stood for."""

import pytest
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

from tests import factories
from trips.models import Making, Rota


@pytest.mark.django_db(transaction=True)
def test_stored_efforts_become_search_times() -> None:
    trip = factories.trip()
    for _ in range(4):
        factories.rota(trip=trip)
        Making.objects.create(trip=trip, state="finished", started_at=factories.FIRST_START)
    executor = MigrationExecutor(connection)
    newest = executor.loader.graph.leaf_nodes()
    executor.migrate([("trips", "0008_making_trip_changed")])
    try:
        old = MigrationExecutor(connection).loader.project_state([("trips", "0008_making_trip_changed")]).apps
        for name in ("Rota", "Making"):
            for row, effort in zip(old.get_model("trips", name).objects.order_by("pk"), (0, 5, 10, 40), strict=True):
                row.effort = effort
                row.save()
    finally:
        MigrationExecutor(connection).migrate(newest)
    assert [row.search_time for row in Rota.objects.order_by("pk")] == ["", "quick", "normal", "thorough"]
    assert [row.search_time for row in Making.objects.order_by("pk")] == ["normal", "quick", "normal", "thorough"]
