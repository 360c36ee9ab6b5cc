"""A participant's forms on a phone without a network: waiting, sent once, and never under another name."""

import pytest
from django.contrib.sessions.models import Session
from playwright.sync_api import BrowserContext, Page, expect

from participants.models import Submission
from tests.browser.conftest import sign_in_person
from tests.browser.participant_phone import come_in, offline_at, own, reconnect, state, wait_for_pack, waiting_forms
from tests.trips.issued_trips import issued_trip

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def trip(transactional_db):
    return issued_trip(people=4, hides=3, sessions=2)


def fill_wishes(page: Page, votes: str) -> None:
    page.locator("select[name^=votes_]").first.select_option(votes)
    page.get_by_role("button", name="Save my wishes").click()


def test_a_form_filled_offline_waits_visibly_and_is_sent_once(phone, trip):
    place = trip.places.first()
    page = offline_at(phone, place.participant, "wishes/")
    fill_wishes(page, "5")
    expect(state(page)).to_contain_text("Waits for a network: Wishes")
    assert not place.wishes.exists()
    page.reload()
    expect(page.locator("select[name^=votes_]").first).to_have_value("5")
    reconnect(phone, page)
    expect(state(page)).to_contain_text("Sent: Wishes")
    assert place.wishes.get().votes == 5
    assert Submission.objects.count() == 1
    page.reload()
    page.wait_for_load_state("networkidle")
    assert Submission.objects.count() == 1


def test_a_waiting_form_that_cannot_be_taken_says_why_and_keeps_what_was_typed(phone, trip):
    place = trip.places.first()
    page = offline_at(phone, place.participant, "wishes/")
    page.locator("select[name^=votes_]").nth(1).select_option("4")
    fill_wishes(page, "5")
    expect(state(page)).to_contain_text("Waits for a network: Wishes")
    reconnect(phone, page)
    expect(state(page)).to_contain_text("Not taken: Wishes. You spent 9 votes")
    page.goto(own("days/", place.participant))
    state(page).get_by_role("link", name="Open and correct it").click()
    expect(page.locator("select[name^=votes_]").first).to_have_value("5")
    fill_wishes(page, "2")
    expect(page.get_by_text("Your wishes are saved.")).to_be_visible()
    assert sorted(place.wishes.values_list("votes", flat=True)) == [2, 4]


def leave_a_waiting_form(phone: BrowserContext, place) -> None:
    """The person fills wishes without a network and closes the page before there is one."""
    page = offline_at(phone, place.participant, "wishes/")
    fill_wishes(page, "5")
    expect(state(page)).to_contain_text("Waits for a network: Wishes")
    page.close()
    phone.set_offline(False)


def test_a_waiting_form_is_gone_when_somebody_else_comes_in(phone, trip):
    first, second = trip.places.all()[:2]
    leave_a_waiting_form(phone, first)
    page = come_in(phone, second.participant)
    wait_for_pack(page)
    assert not second.wishes.exists()
    assert not first.wishes.exists()
    assert waiting_forms(page) == []


def test_a_waiting_form_is_not_sent_under_anybody_elses_name(phone, trip, server):
    """A browser that ignores the order to empty itself still sends nothing for another person."""
    first, second = trip.places.all()[:2]
    leave_a_waiting_form(phone, first)
    phone.clear_cookies()
    sign_in_person(phone, server.url, second.participant)
    page = phone.new_page()
    page.goto(own("days/", second.participant))
    expect(state(page)).to_contain_text("A form of somebody else waits on this device and is not sent.")
    assert not second.wishes.exists()
    assert not first.wishes.exists()


def test_a_form_survives_coming_in_again_as_the_same_person(phone, trip):
    place = trip.places.first()
    page = offline_at(phone, place.participant, "wishes/")
    fill_wishes(page, "3")
    expect(state(page)).to_contain_text("Waits for a network")
    phone.clear_cookies(name="sessionid")
    reconnect(phone, page)
    expect(state(page)).to_contain_text("You are signed out on this device.")
    page = come_in(phone, place.participant)
    expect(state(page)).to_contain_text("Sent: Wishes")
    assert place.wishes.get().votes == 3


def test_a_form_that_waits_survives_a_sign_in_that_ended_on_the_server(phone, trip):
    place = trip.places.first()
    page = offline_at(phone, place.participant, "wishes/")
    fill_wishes(page, "3")
    expect(state(page)).to_contain_text("Waits for a network")
    Session.objects.all().delete()
    reconnect(phone, page)
    expect(state(page)).to_contain_text("You are signed out on this device.")
    assert not place.wishes.exists()
    page = come_in(phone, place.participant)
    expect(state(page)).to_contain_text("Sent: Wishes")
    assert place.wishes.get().votes == 3


def test_votes_left_are_counted_while_they_are_spent(phone, trip):
    person = trip.places.first().participant
    page = come_in(phone, person)
    page.goto(own("wishes/", person))
    expect(page.locator("[data-votes] output")).to_have_text("6 votes left")
    for number, votes in enumerate(("5", "4")):
        page.locator("[data-votes] select").nth(number).select_option(votes)
    expect(page.locator("[data-votes] output")).to_have_text("3 votes too many: take some back.")
