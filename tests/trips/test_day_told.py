"""Moves under way, which no issue follows: those they touch get one mail each and read it on their phones."""

from datetime import timedelta

import pytest
from django.core import mail
from django.urls import reverse

from participants.models import Participant
from tests.trips.day_pages import START, url
from tests.trips.issued_trips import issued_trip, phone_of
from tests.trips.made_once import made_once
from trips.models import Happening, MailState, Notice, Trip
from trips.selectors.day_state import people_of
from trips.services.happenings import Said, happening_note, happening_undo, places_swap
from trips.services.notices import notices_send

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("clock")]
made = made_once(issued_trip)
UNDER_WAY = START + timedelta(minutes=75)  # 08:00


@pytest.fixture
def trip(made, clock):
    """Four people with addresses who read the first rota; the first session goes on."""
    trip = Trip.objects.get(pk=made.pk)
    clock.moment = UNDER_WAY
    for number, place in enumerate(trip.places.all()):
        Participant.objects.filter(pk=place.participant.pk).update(email=f"p{number}@example.org")
    Notice.objects.update(mail="", read_at=START, confirmed_at=START)
    return trip


def name(trip, index):
    return trip.places.all()[index].participant.name


def hides(trip):
    return list(trip.sites.get().hides.all())


def said(trip, kind, person=None, hide=None, at=UNDER_WAY):
    who = people_of(trip)[person] if person is not None else None
    return Said(kind, at, trip.leader, trip.sessions.first(), who=who, hide=None if hide is None else hides(trip)[hide])


def noted(trip, *what, **more):
    return happening_note(trip=trip, said=said(trip, *what, **more), now=UNDER_WAY)


def letters():
    """What each address was sent since the last look."""
    mail.outbox.clear()
    while notices_send():
        pass
    return {one.to[0]: one.body for one in mail.outbox}


def my_days(trip, index):
    person = trip.places.all()[index].participant
    return phone_of(person), reverse("trips:my-days", args=[person.uuid])


def text(answer):
    return " ".join(answer.content.decode().split())


def test_who_moves_and_whom_they_join_are_told_once_and_nobody_else(trip):
    noted(trip, "moved", 0, 2)
    assert set(letters()) == {"p0@example.org"}
    noted(trip, "moved", 2, 2)
    told = letters()
    assert set(told) == {"p0@example.org", "p2@example.org"}
    assert f"Sat 8 May, 08:00: you move to {hides(trip)[2].name}, " in told["p2@example.org"]
    assert f"08:00: {name(trip, 2)} joins you in {hides(trip)[2].name}" in told["p0@example.org"]
    assert not letters()
    assert trip.rotas.count() == 1


def test_two_who_swap_are_told_where_they_go(trip):
    people = (people_of(trip)[0], people_of(trip)[2])
    places_swap(trip=trip, said=said(trip, "moved"), people=people, now=UNDER_WAY)
    told = letters()
    assert set(told) == {f"p{number}@example.org" for number in range(4)}
    assert f"you move to {hides(trip)[1].name}" in told["p0@example.org"]
    assert f"{name(trip, 2)} joins you in {hides(trip)[0].name}" in told["p1@example.org"]


def test_a_hide_closed_under_way_tells_its_people_and_a_move_takes_that_mail_s_place(trip):
    noted(trip, "hide_closed", hide=0)
    noted(trip, "moved", 0, 2)
    told = letters()
    assert f"you move to {hides(trip)[2].name}" in told["p0@example.org"]
    assert "is closed" not in told["p0@example.org"]
    assert f"{hides(trip)[0].name} is closed; your leader tells you where to go" in told["p1@example.org"]
    noted(trip, "hide_open", hide=0)
    told = letters()
    assert set(told) == {"p1@example.org"}
    assert "is open again; stay there" in told["p1@example.org"]


def test_a_hide_closed_before_anybody_leaves_is_for_a_repair_to_tell(trip):
    early = START - timedelta(hours=3)
    happening_note(trip=trip, said=said(trip, "hide_closed", hide=0, at=early), now=early)
    assert not letters()


def test_what_is_taken_back_is_told_to_those_who_know_alone(trip):
    row = noted(trip, "moved", 0, 2)
    undone = happening_undo(row=row, by=trip.leader, at=UNDER_WAY)
    assert not letters()
    happening_undo(row=undone, by=trip.leader, at=UNDER_WAY)
    assert "you move to" in letters()["p0@example.org"]
    happening_undo(row=Happening.objects.latest("pk"), by=trip.leader, at=UNDER_WAY)
    assert f"taken back: you move to {hides(trip)[2].name}" in letters()["p0@example.org"]


def test_what_comes_in_after_the_session_is_told_to_nobody(trip, clock):
    noted(trip, "moved", 0, 2)
    clock.moment = later = START + timedelta(hours=5)
    assert not letters()
    assert Notice.objects.get(happening__isnull=False).mail == MailState.NONE
    happening_note(trip=trip, said=said(trip, "moved", 2, 2), now=later)
    assert not letters()


def test_the_phone_marks_it_until_the_session_is_over_and_the_leader_sees_who_read_it(trip, client, clock):
    browser, path = my_days(trip, 0)
    assert "Changed on the day" not in text(browser.get(path))
    before = browser.get(path)["X-Edition"]
    noted(trip, "moved", 0, 2)
    page = browser.get(path)
    assert page["X-Edition"] != before
    assert f"Sat 8 May, 08:00: you move to {hides(trip)[2].name}, " in text(page)
    client.force_login(trip.leader)
    assert f"{name(trip, 0)} has not confirmed their move yet." in text(client.get(url("board-show", trip)))
    assert "you move to" in text(client.get(url("told-list", trip)))
    hidden = {
        key: page.context["days"].today_last if key == "day" else page.context["days"].issued.issue_uuid
        for key in ("issue", "day")
    }
    noted(trip, "moved", 2, 2)
    browser.post(reverse("trips:my-days-read", args=[trip.places.first().participant.uuid]), hidden)
    unread = Notice.objects.get(place=trip.places.first(), read_at=None)
    assert unread.happening.place == trip.places.all()[2]
    assert "I have read it" in text(browser.get(path))
    clock.moment = START + timedelta(hours=5)
    assert "Changed on the day" not in text(browser.get(path))


def test_the_mail_is_in_the_persons_language(trip):
    Participant.objects.filter(email="p0@example.org").update(language="de")
    noted(trip, "moved", 0, 2)
    assert "du wechselst" in letters()["p0@example.org"]
