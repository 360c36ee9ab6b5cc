"""The first thing a person reads on their phone: before the trip, before a turn, in it, between turns, and after."""

from datetime import datetime, time, timedelta

import pytest
from django.utils import timezone

from tests import factories
from tests.trips.issued_trips import issue, issued_trip, seated_rota
from tests.trips.my_days_pages import page_of
from trips.documents.meals import DayMeals, MealLine
from trips.documents.now_card import next_meal
from trips.documents.wording.now import countdown_words
from trips.models import Arrival, Notice, Session, SessionLog

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("clock")]


@pytest.fixture
def trip():
    return issued_trip(sessions=2)


def card_of(place):
    """The text of the card of now, with its tags."""
    return page_of(place).split("data-next>")[1].split("</section>")[0]


def moved(trip, *, hours):
    """Have the first session begin so many hours from now, the second a day later, and tell people."""
    for number, session in enumerate(trip.sessions.order_by("starts_at")):
        starts_at = timezone.now() + timedelta(hours=hours + 24 * number)
        Session.objects.filter(pk=session.pk).update(starts_at=starts_at, ends_at=starts_at + timedelta(hours=4))
    issue(seated_rota(trip))
    Notice.objects.update(read_at=timezone.now(), confirmed_at=timezone.now())


def test_before_a_rota_the_days_to_go_and_what_is_missing_are_told():
    place = factories.place()
    place.trip.starts_on = timezone.now().date() + timedelta(days=9)
    place.trip.ends_on = place.trip.starts_on + timedelta(days=3)
    place.trip.save()
    page = page_of(place)
    assert "in 9 days" in page or "in 8 days" in page
    asked = page.split("Still missing from you")[1].split("</section>")[0]
    assert [what in asked for what in ("your camera", "your lenses", "your votes", "an emergency contact")] == [
        True
    ] * 4
    assert all(path in asked for path in ("/kit/", "/wishes/", "/details/"))


def test_before_a_turn_the_card_says_when_where_what_and_how(trip, place):
    moved(trip, hours=5)
    card = card_of(place)
    turn = trip.rotas.get(state="issued").turns.get(place=place, session=trip.sessions.all()[0])
    assert ">in 4 h " in card
    assert f"<strong>{turn.hide.name}</strong>, seat {turn.seat.name}, with " in card
    assert "600 mm f/4, tripod" in card
    assert card.count(" data-shown>") in (1, 2)
    assert "Leave from the lodge" in card
    assert "of water" in card
    assert "<mark>" not in card


def test_what_changed_is_marked_in_its_line_with_what_it_was(trip, place):
    was = trip.rotas.get(state="issued").turns.get(place=place, session=trip.sessions.all()[0])
    Notice.objects.filter(place=place).update(read_at=timezone.now(), confirmed_at=timezone.now())
    issue(seated_rota(trip, moves={(0, 0): (2, 0)}))
    card = card_of(place)
    assert f"<mark>was {was.hide.name}, {was.seat.name}</mark>" in card
    assert 'href="#news">What changed</a>' in card


def test_in_a_turn_the_card_counts_to_its_end_and_shows_the_settings_of_now(trip, place):
    moved(trip, hours=-1)
    card = card_of(place)
    assert ">ends in " in card
    assert f"turn-{trip.sessions.order_by('starts_at')[0].uuid}" in card


def test_between_turns_the_next_one_stands_with_the_meal_before_it(trip, place):
    moved(trip, hours=-6)
    card = card_of(place)
    assert f"turn-{trip.sessions.order_by('starts_at')[1].uuid}" in card


def test_after_the_trip_the_card_thanks_and_says_what_came(trip, place):
    moved(trip, hours=-80)
    turn = trip.rotas.get(state="issued").turns.filter(place=place).first()
    for hide, count in ((turn.hide, 3), (trip.sites.get().hides.exclude(pk=turn.hide.pk).first(), 5)):
        log = SessionLog.objects.create(session=turn.session, hide=hide, written_at=timezone.now())
        Arrival.objects.create(log=log, subject=factories.subject(name=f"Bird {count}"), count=count)
    card = card_of(place)
    assert "The trip is over" in card
    assert "Bird 3 3" in card.replace("\u2068", "").replace("\u2069", "")
    assert "Bird 5" not in card


def test_the_next_meal_is_one_of_the_coming_day_before_one_leaves():
    leave = datetime.fromisoformat("2027-05-08T16:40+02:00")
    day = DayMeals(leave.date(), (MealLine(time(9), "Breakfast"), MealLine(time(13, 30), "Lunch", "lodge")))
    assert next_meal((day,), leave - timedelta(hours=5), leave) == "13:30 Lunch, lodge"
    assert next_meal((day,), leave - timedelta(hours=1), leave) == ""
    assert next_meal((day,), leave - timedelta(hours=18), leave) == "Sat 8 May, 09:00 Breakfast"


def test_the_countdown_says_what_the_script_of_the_page_says():
    leave, minute = datetime.fromisoformat("2027-05-08T05:57+02:00"), timedelta(minutes=1)
    told = [countdown_words(leave, leave + 240 * minute, leave + one * minute) for one in (-2880, -312.5, -60, 0, 240)]
    assert told == ["in 2 days", "in 5 h 13 min", "in 1 h 0 min", "ends in 4 h 0 min", "over"]
