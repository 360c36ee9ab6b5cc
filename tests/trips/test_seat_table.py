"""The table of seats of all hides: changed at once, one stale hide, seats with turns."""

import pytest

from tests import factories
from tests.trips.subject_forms import seats_url
from trips.models import Seat

pytestmark = pytest.mark.django_db


@pytest.fixture
def trip():
    trip = factories.trip()
    factories.hide(site=trip.sites.get(), name="Alder")
    return trip


def seats_data(*hides, **changes):
    """The table of seats as it stands, with its empty lines."""
    data = {}
    for hide in hides:
        seats, prefix = list(hide.seats.all()), f"hide{hide.pk}"
        data |= {f"{prefix}-TOTAL_FORMS": len(seats) + 1, f"{prefix}-INITIAL_FORMS": len(seats)}
        data[f"{prefix}-seen_version"] = hide.version
        for number, seat in enumerate(seats):
            line = f"{prefix}-{number}"
            data |= {f"{line}-id": seat.pk, f"{line}-name": seat.name, f"{line}-quality": seat.quality}
        data[f"{prefix}-{len(seats)}-quality"] = 3
    return data | changes


def test_seats_of_all_hides_are_changed_at_once(as_leader, trip, hide):
    other = factories.hide(site=trip.sites.get(), name="Broom", seats=1)
    one, two = f"hide{hide.pk}", f"hide{other.pk}"
    changes = {f"{one}-0-name": "window side", f"{one}-1-quality": "5", f"{one}-1-defects": "low stool"}
    changes |= {f"{two}-1-name": "right", f"{two}-0-out_of_use_from_day": "2027-05-09"}
    changes |= {f"{two}-0-out_of_use_from_clock": "14:00"}
    assert as_leader.post(seats_url(trip), seats_data(hide, other, **changes)).status_code == 302
    assert sorted(seat.name for seat in hide.seats.all()) == ["right", "window side"]
    assert hide.seats.get(name="right").defects == "low stool"
    assert sorted(seat.name for seat in other.seats.all()) == ["left", "right"]
    assert f"{other.seats.get(name='left').out_of_use_from:%d %H:%M}" == "09 12:00"


def test_lines_that_nobody_touched_are_left_alone(as_leader, trip, hide):
    bare = factories.hide(site=trip.sites.get(), name="Broom", seats=0)
    data = seats_data(hide, bare, **{f"hide{hide.pk}-0-name": "window side"})
    assert as_leader.post(seats_url(trip), data).status_code == 302
    bare.refresh_from_db()
    hide.refresh_from_db()
    assert (bare.version, hide.version) == (1, 2)


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"0-name": ""}, "This field is required."),
        ({"0-name": "right", "1-name": "right"}, "right"),
        ({"0-quality": "9"}, "not one of the available choices"),
        ({"0-out_of_use_from_day": "2027-05-09"}, "Give both the day and the time."),
        ({"0-out_of_use_from_day": "2027-03-28", "0-out_of_use_from_clock": "02:30"}, "clocks go from 02:00 to 03:00"),
        ({"0-DELETE": "on", "1-DELETE": "on"}, "Give at least one."),
    ],
)
def test_bad_seats_are_kept_and_explained(as_leader, trip, hide, changes, sentence):
    changes = {f"hide{hide.pk}-{key}": value for key, value in changes.items()}
    answer = as_leader.post(seats_url(trip), seats_data(hide, **changes))
    page = answer.content.decode()
    assert answer.status_code == 200
    assert sentence in page
    assert 'role="alert"' in page
    assert sorted(seat.name for seat in hide.seats.all()) == ["left", "right"]


def test_one_stale_hide_keeps_all_from_being_saved(as_leader, trip, hide):
    other = factories.hide(site=trip.sites.get(), name="Broom")
    data = seats_data(hide, other, **{f"hide{hide.pk}-0-name": "first", f"hide{other.pk}-0-name": "second"})
    type(other).objects.filter(pk=other.pk).update(version=7)
    page = as_leader.post(seats_url(trip), data).content.decode()
    assert "changed since you opened it" in page
    assert 'value="first"' in page
    assert not Seat.objects.filter(name__in=("first", "second")).exists()


def test_a_seat_with_turns_is_named_and_stays(as_leader, trip, hide):
    seat = hide.seats.get(name="left")
    factories.turn(rota=factories.rota(trip=trip), hide=hide, seat=seat)
    page = as_leader.post(seats_url(trip), seats_data(hide, **{f"hide{hide.pk}-0-DELETE": "on"})).content.decode()
    assert "Turns of a rota sit in “left”" in page
    assert hide.seats.count() == 2


def test_the_seat_table_costs_the_same_queries_with_many_hides(as_leader, trip, django_assert_max_num_queries):
    for _ in range(10):
        factories.hide(site=trip.sites.get(), seats=4)
    with django_assert_max_num_queries(8):
        page = as_leader.get(seats_url(trip)).content.decode()
    assert page.count('aria-label="Quality, ') == 10 * 5 + 3
