"""Changes on a participant's days: marked until read, withdrawn turns, a rota taken back."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from tests.trips.issued_trips import issue, issued_trip, phone_of, seated_rota
from tests.trips.my_days_pages import days, page_of
from trips.models import Issue, Notice

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("clock")]


@pytest.fixture
def trip():
    return issued_trip()


def own_car_for_each_hide(trip):
    for hide in trip.sites.get().hides.all():
        car = trip.cars.create(name=f"Car to {hide.name}")
        for session in trip.sessions.all():
            session.runs.create(car=car).stops.create(hide=hide, position=1)


def read(place, phone, number, **headers):
    """Press "I have read it" on a page that shows a rota's issue."""
    shown = {"issue": place.trip.rotas.get(number=number).issue.uuid}
    return phone.post(reverse("trips:my-days-read", args=[place.participant.uuid]), shown, headers=headers)


def test_a_change_is_told_only_to_those_it_changes_something_for(trip):
    first, _, third, _ = trip.places.all()
    own_car_for_each_hide(trip)
    issue(seated_rota(trip))
    issue(seated_rota(trip, moves={(0, 1): (2, 0)}))
    told = set(Notice.objects.filter(issue__rota__number=3).values_list("place", flat=True))
    assert told == {first.pk}
    moved = trip.rotas.get(number=3).turns.get(place=first, session=trip.sessions.all()[1])
    page = page_of(first)
    assert "another hide" not in page_of(third)
    assert moved.hide.name in page


def test_a_change_is_marked_until_it_is_read(trip, place):
    phone = phone_of(place.participant)
    page = page_of(place, phone)
    assert "Your days are out" in page
    assert "changed for you" not in page
    read(place, phone, 1)
    assert "Your days are out" not in page_of(place, phone)
    issue(seated_rota(trip, moves={(0, 1): (2, 0)}))
    for _ in range(2):
        page = page_of(place, phone)
        assert "Changed since you last read it" in page
        assert "another hide" in page
    read(place, phone, 2)
    assert "another hide" not in page_of(place, phone)
    assert Notice.objects.filter(place=place, confirmed_at__isnull=True).count() == 0


def test_reading_an_old_copy_does_not_read_what_came_after(trip, place):
    phone = phone_of(place.participant)
    issue(seated_rota(trip, moves={(0, 1): (2, 0)}))
    read(place, phone, 1)
    assert "another hide" in page_of(place, phone)


def test_a_reading_is_noted_at_its_own_moment_also_when_it_waited_for_a_network(trip, place):
    other, now = trip.places.last(), timezone.now()
    Issue.objects.update(issued_at=now - timedelta(days=3))
    read(place, phone_of(place.participant), 1)
    waited = {"X-Queued": "1", "X-Queued-Seconds": str(2 * 3600)}
    assert read(other, phone_of(other.participant), 1, **waited).json()["taken"] is True
    at_once, later = (Notice.objects.get(place=one) for one in (place, other))
    assert at_once.read_at == at_once.confirmed_at
    assert timedelta(0) <= at_once.read_at - now < timedelta(hours=1)
    assert timedelta(0) <= later.read_at - now + timedelta(hours=2) < timedelta(hours=1)


@pytest.mark.parametrize("typed", ["", "x", "\x00", "9" * 400, "2027-13-45T00:00:00Z", "9999-12-31T23:59:59-23:59"])
def test_a_reading_of_nothing_that_was_shown_reads_nothing(trip, place, typed):
    phone, address = phone_of(place.participant), reverse("trips:my-days-read", args=[place.participant.uuid])
    fields = {"issue": typed, "issued_at": typed}
    assert phone.post(address, fields).url == days(place)
    said = phone.post(address, fields, headers={"X-Queued": "1"}).json()
    assert (said["taken"], len(said["errors"])) == (False, 1)
    stranger = issued_trip(people=1, hides=1, sessions=1)
    phone.post(address, {"issue": stranger.rotas.get().issue.uuid})
    assert not Notice.objects.exclude(read_at=None).exists()


def test_two_changes_that_cancel_out_say_so(trip, place):
    phone = phone_of(place.participant)
    read(place, phone, 1)
    issue(seated_rota(trip, moves={(0, 1): (2, 0)}))
    issue(seated_rota(trip))
    page = page_of(place, phone)
    assert "Changed twice, now as before" in page
    assert "another hide" not in page


def test_three_changes_that_cancel_out_are_not_called_two(trip, place):
    phone = phone_of(place.participant)
    read(place, phone, 1)
    for moves in ({(0, 1): (2, 0)}, {(0, 1): (2, 1)}, {}):
        issue(seated_rota(trip, moves=moves))
    assert "Changed, now as before" in page_of(place, phone)


def test_a_change_is_marked_also_for_whoever_never_said_they_read(trip, place):
    phone = phone_of(place.participant)
    issue(seated_rota(trip, moves={(0, 1): (2, 0)}))
    issue(seated_rota(trip, moves={(0, 1): (2, 1)}))
    page = page_of(place, phone)
    assert "Your days are out" in page
    assert "Rota 3 changed for you" in page
    assert "another seat" in page
    assert "another hide" not in page
    assert page.count(">changed</span>") >= 1


def test_a_withdrawn_turn_is_shown_as_withdrawn(trip, place):
    was = place.turns.order_by("session__starts_at")[1]
    issue(seated_rota(trip, moves={(0, 1): None}))
    page = page_of(place)
    assert f"withdrawn</span> was {was.hide.name}, {was.seat.name}" in page
    assert "do not go there" in page


def test_a_rota_that_was_taken_back_says_so(trip, place):
    assert "Taken back" not in page_of(place)
    trip.rotas.filter(state="issued").update(state="retired")
    assert "Taken back" in page_of(place)
