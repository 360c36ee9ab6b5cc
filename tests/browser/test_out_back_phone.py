"""Ticks of who is out and back on a phone: with a network, without one, sent later with the moment of the tap."""

import re
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Page, expect

from participants.models import Submission
from tests.browser.conftest import PHONE, assert_accessible, assert_fits, assert_thumb_sized
from tests.browser.page_waiting import page_until
from tests.trips.issued_trips import issued_trip
from trips.models import Happening

pytestmark = pytest.mark.django_db(transaction=True)
WAITS = re.compile(r"^At \d\d:\d\d, waits for a network\.")


@pytest.fixture
def trip(transactional_db):
    return issued_trip()


@pytest.fixture
def session(trip):
    return trip.sessions.first()


@pytest.fixture
def places(trip, session):
    """The people who sit in the session's first hide."""
    turns = trip.rotas.get(state="issued").turns.filter(session=session).order_by("hide__name", "seat__name")
    return [turn.place for turn in turns.select_related("place__participant")]


def address(trip, session) -> str:
    return reverse("trips:out-show", args=[trip.uuid, session.uuid])


def line(page: Page, place):
    return page.locator(f'li[data-person="place-{place.uuid}"]')


def tap(page: Page, place, label: str) -> None:
    line(page, place).get_by_role("button", name=re.compile(rf"^{label}\b")).click()


def test_a_tick_with_a_network_stands_at_once_and_the_page_stays(open_page, trip, session, places):
    page = open_page(address(trip, session), user=trip.leader, size=PHONE)
    page.evaluate("window.stays = true")
    tap(page, places[0], "Out")
    expect(line(page, places[0])).to_contain_text("Out since")
    expect(page.locator("#queue-state")).to_be_hidden()
    assert page.evaluate("window.stays")
    assert page.evaluate("document.activeElement.closest('li')?.dataset.person") == f"place-{places[0].uuid}"
    row = Happening.objects.get()
    assert (row.kind, row.place, row.by) == ("out", places[0], trip.leader)
    tap(page, places[0], "Undo")
    expect(line(page, places[0])).to_contain_text("Not out yet")
    assert Happening.objects.exclude(undoes=None).get().undoes == row
    assert_accessible(page), assert_fits(page), assert_thumb_sized(page)


def test_without_a_network_ticks_wait_and_are_sent_once_with_the_moment_of_the_tap(open_context, trip, session, places):
    first, second, *_ = places
    context = open_context(user=trip.leader, size=PHONE)
    page = context.new_page()
    page.clock.install()
    page.goto(address(trip, session))
    expect(page.get_by_text("Without a network ticks wait on this device")).to_be_visible()
    context.set_offline(True)
    tap(page, first, "Out")
    expect(line(page, first).get_by_text(WAITS)).to_be_visible()
    page.clock.run_for("05:00")  # five minutes later: a second tap of the same button changes nothing
    tap(page, first, "Out")
    tap(page, second, "Out")
    expect(line(page, second).get_by_text(WAITS)).to_be_visible()
    page.clock.run_for("10:00")
    tap(page, first, "Back")
    expect(line(page, first).get_by_text(WAITS)).to_have_count(2)
    here = page.evaluate("new Date().toLocaleTimeString('en-GB', {timeZone: 'Europe/Madrid'}).slice(0, 3)")
    expect(line(page, first)).to_contain_text(f"At {here}")  # the site's clock, not the device's
    bar = page.locator("#queue-state")
    for words in (f"{first.participant.name} out at", f"{first.participant.name} back at", second.participant.name):
        expect(bar).to_contain_text(words)
    assert_accessible(page), assert_fits(page), assert_thumb_sized(page)
    assert not Happening.objects.exists()
    page.clock.run_for("02:00")
    context.set_offline(False)
    page.clock.run_for("00:20")
    expect(bar).to_be_hidden(timeout=20000)
    expect(line(page, first)).to_contain_text("Back")
    ended = timezone.now()
    out, back = (Happening.objects.get(place=first, kind=kind).at for kind in ("out", "back"))
    other = Happening.objects.get(place=second).at
    assert back - out == pytest.approx(timedelta(minutes=15), abs=timedelta(seconds=20))
    assert other - out == pytest.approx(timedelta(minutes=5), abs=timedelta(seconds=20))
    assert ended - back >= timedelta(minutes=1, seconds=50)
    assert Submission.objects.filter(participant=None, kind="out-tick").count() == 3
    page.reload()
    expect(line(page, second)).to_contain_text("Out since")
    assert Submission.objects.filter(kind="out-tick").count() == 3


def test_a_tick_that_waits_can_be_taken_back_and_one_that_waits_is_kept_when_the_page_is_closed(
    open_context, trip, session, places
):
    first, second, *_ = places
    context = open_context(user=trip.leader, size=PHONE)
    page = context.new_page()
    page.goto(address(trip, session))
    context.set_offline(True)
    tap(page, first, "Out")
    line(page, first).get_by_role("button", name="Take it back").click()
    expect(line(page, first).get_by_text(WAITS)).to_have_count(0)
    expect(page.locator("#queue-state")).to_be_hidden()
    tap(page, second, "Out")
    expect(line(page, second).get_by_text(WAITS)).to_be_visible()
    page.close()
    context.set_offline(False)
    again = context.new_page()
    again.goto(reverse("trips:day-show", args=[trip.uuid]))  # the day's page sends what waits, too
    page_until(again, Happening.objects.exists, what="the tick arrives")
    assert Happening.objects.get().place == second


def test_an_open_page_says_that_somebody_is_late_without_asking_the_server(open_context, trip, session, places):
    context = open_context(user=trip.leader, size=PHONE)
    page = context.new_page()
    page.clock.install(time=session.starts_at)
    page.goto(address(trip, session))
    tap(page, places[0], "Out")
    expect(line(page, places[0])).to_contain_text("Out since")
    late = page.get_by_text("Pick-up time is over by this device’s clock").first
    expect(late).to_be_hidden()
    context.set_offline(True)
    page.clock.run_for("50")
    page.clock.set_system_time(session.ends_at + timedelta(hours=1))
    page.clock.run_for("30")
    expect(late).to_be_visible()
    expect(page.get_by_text("Two people drive to").first).to_be_visible()
    tap(page, places[0], "Back")
    expect(line(page, places[0]).get_by_text(WAITS)).to_be_visible()
    page.clock.run_for("30")
    expect(late).to_be_hidden()
