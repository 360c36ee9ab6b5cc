"""Rows written before say the same after: efforts become search times, ticks out and back become happenings."""

import pytest
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

from tests import factories
from trips.models import Happening, Making, Rota


@pytest.mark.django_db(transaction=True)
def test_stored_efforts_become_search_times_and_ticks_become_happenings() -> None:
    trip = factories.planned_trip(people_count=1, hides=1, sessions=1)
    session, place, hide = trip.sessions.get(), trip.places.get(), trip.sites.get().hides.get()
    moments = {"out": session.starts_at, "back": session.ends_at}
    for kind, at in moments.items():
        Happening.objects.create(trip=trip, kind=kind, session=session, place=place, hide=hide, at=at, by=trip.leader)
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
        (ticked,) = old.get_model("trips", "OutBack").objects.values_list("place_id", "out_at", "back_at")
        assert ticked == (place.pk, *moments.values())
    finally:
        MigrationExecutor(connection).migrate(newest)
    assert [row.search_time for row in Rota.objects.order_by("pk")] == ["", "quick", "normal", "thorough"]
    assert [row.search_time for row in Making.objects.order_by("pk")] == ["normal", "quick", "normal", "thorough"]
    noted = Happening.objects.values_list("trip", "kind", "place", "hide", "at", "by")
    assert list(noted) == [(trip.pk, kind, place.pk, hide.pk, at, trip.leader.pk) for kind, at in moments.items()]
