"""Names that are unique within a hide or a trip, exchanged in one form or typed twice."""

import pytest
from django.urls import reverse

from tests import factories
from trips.models import Hide, Trip

pytestmark = pytest.mark.django_db


@pytest.fixture
def trip() -> Trip:
    """A trip with one hide of two seats and two views, and two cars."""
    row = factories.trip()
    factories.hide(site=row.sites.get(), seats=2, views=2)
    for name in ("grey van", "old jeep"):
        row.cars.create(name=name)
    return row


def lines(prefix: str, rows, names: list[str], **more: str) -> dict[str, object]:
    """The lines of a formset, with these names."""
    data: dict[str, object] = {f"{prefix}-TOTAL_FORMS": len(rows), f"{prefix}-INITIAL_FORMS": len(rows)}
    for number, (row, name) in enumerate(zip(rows, names, strict=True)):
        line = {"id": row.pk, "name": name} | more
        data |= {f"{prefix}-{number}-{key}": value for key, value in line.items()}
    return data


def hide_of(trip: Trip) -> Hide:
    return trip.sites.get().hides.get()


def hide_page(trip: Trip, seats: list[str], views: list[str]) -> tuple[str, dict[str, object]]:
    """The hide's page with its seats and views under other names."""
    hide = hide_of(trip)
    data = {"name": hide.name, "entry": "walk", "steps": "0", "support": "tripod", "doors": "free"}
    data |= {"minimum_people": "1", "step": "save", "seen_version": hide.version}
    data |= lines("view", list(hide.views.order_by("pk")), views, bearing_deg="250", bearing_is="true", near_m="6")
    data |= lines("seat", list(hide.seats.order_by("pk")), seats, quality="3")
    return reverse("trips:hide-edit", args=[hide.uuid]), data


def seat_table(trip: Trip, seats: list[str]) -> tuple[str, dict[str, object]]:
    """The table of all seats with the hide's seats under other names."""
    hide = hide_of(trip)
    data = lines(f"hide{hide.pk}", list(hide.seats.order_by("pk")), seats, quality="3")
    return reverse("trips:seat-table", args=[trip.uuid]), data | {f"hide{hide.pk}-seen_version": hide.version}


def car_page(trip: Trip, cars: list[str]) -> tuple[str, dict[str, object]]:
    """The page of cars with other names."""
    data = lines("car", list(trip.cars.order_by("pk")), cars, seats="4", seen_version="1")
    return reverse("trips:cars-edit", args=[trip.uuid]), data


def names(rows) -> list[str]:
    return list(rows.order_by("pk").values_list("name", flat=True))


def test_seats_and_views_exchange_their_names_on_the_hides_page(as_leader, trip: Trip) -> None:
    where, data = hide_page(trip, ["right", "left"], ["view 2", "view 1"])
    assert as_leader.post(where, data).status_code == 302
    assert names(hide_of(trip).seats) == ["right", "left"]
    assert names(hide_of(trip).views) == ["view 2", "view 1"]


def test_seats_pass_their_names_on_in_the_table(as_leader, trip: Trip) -> None:
    where, data = seat_table(trip, ["right", "far right"])
    assert as_leader.post(where, data).status_code == 302
    assert names(hide_of(trip).seats) == ["right", "far right"]
    where, data = seat_table(trip, ["far right", "right"])
    assert as_leader.post(where, data).status_code == 302
    assert names(hide_of(trip).seats) == ["far right", "right"]


def test_cars_exchange_their_names(as_leader, trip: Trip) -> None:
    where, data = car_page(trip, ["old jeep", "grey van"])
    assert as_leader.post(where, data).status_code == 302
    assert names(trip.cars) == ["old jeep", "grey van"]
    assert list(trip.cars.values_list("version", flat=True)) == [2, 2]


@pytest.mark.parametrize("page", ["hide", "table", "cars"])
def test_the_same_name_twice_is_refused_in_plain_words(as_leader, trip: Trip, page: str) -> None:
    where, data = {
        "hide": lambda: hide_page(trip, ["left", "left"], ["view 1", "view 2"]),
        "table": lambda: seat_table(trip, ["left", "left"]),
        "cars": lambda: car_page(trip, ["grey van", "grey van"]),
    }[page]()
    answer = as_leader.post(where, data)
    assert answer.status_code == 200
    shown = answer.content.decode()
    assert "Another line has this name: give each its own." in shown
    assert "duplicate" not in shown
    assert names(hide_of(trip).seats) == ["left", "right"]
    assert names(trip.cars) == ["grey van", "old jeep"]
