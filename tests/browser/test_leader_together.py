"""Two leaders at once, each in a browser of their own: stale forms, the last seat, two presses of "make"."""

import threading
import urllib.error
import urllib.parse
import urllib.request
from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse
from playwright.sync_api import Page, expect

from tests import factories
from tests.browser import leader_steps as steps
from tests.trips.issued_trips import seated_rota
from trips.models import Change, Making, Rota

pytestmark = pytest.mark.django_db(transaction=True)
STALE = "changed since you opened it"
TAKEN = "have the same seat"


@pytest.fixture
def trip(transactional_db):
    """Three people in two hides of two seats: one seat is left in each session, and no leader takes it."""
    trip = factories.planned_trip(people_count=3, hides=2, sessions=2)
    trip.rules.leader_policy = "never"
    trip.rules.save()
    trip.co_leaders.add(factories.leader(username="second"))
    return trip


@pytest.fixture
def two_pages(open_context, trip):
    """The leader's page and the co-leader's, in two browsers."""
    return [open_context(user=user).new_page() for user in (trip.leader, trip.co_leaders.get())]


def url(name: str, trip, **more) -> str:
    return reverse(f"trips:{name}", kwargs={"trip_uuid": trip.uuid, **more})


def open_both(pages: list[Page], path: str) -> tuple[Page, Page]:
    for page in pages:
        page.goto(path)
    return pages[0], pages[1]


def test_the_second_to_save_the_rules_is_told_and_keeps_what_was_typed(two_pages, trip) -> None:
    first, second = open_both(two_pages, url("rules-edit", trip))
    first.get_by_label("Setting up (min)").fill("20")
    steps.press(first, "Save the rules")
    steps.done(first, "The rules are saved.")
    second.get_by_label("Setting up (min)").fill("25")
    second.get_by_label("Visits to one hide at most").fill("3")
    steps.press(second, "Save the rules")
    expect(second.get_by_role("alert")).to_contain_text(STALE)
    expect(second.get_by_label("Setting up (min)")).to_have_value("25")
    expect(second.get_by_label("Visits to one hide at most")).to_have_value("3")
    trip.rules.refresh_from_db()
    assert (trip.rules.set_up_min, trip.rules.visits_at_most) == (20, None)


def test_the_second_to_save_a_hide_is_told_and_keeps_views_and_seats(two_pages, trip) -> None:
    hide = trip.sites.get().hides.first()
    first, second = open_both(two_pages, reverse("trips:hide-edit", kwargs={"hide_uuid": hide.uuid}))
    first.fill("#id_name", "Reed bed")
    steps.press(first, "Save the hide")
    steps.done(first, "Reed bed is saved")
    second.fill("#id_view-0-bearing_deg", "123")
    second.fill("#id_seat-1-name", "by the door")
    steps.press(second, "Save the hide")
    expect(second.get_by_role("alert")).to_contain_text(STALE)
    expect(second.locator("#id_view-0-bearing_deg")).to_have_value("123")
    expect(second.locator("#id_seat-1-name")).to_have_value("by the door")
    assert hide.views.get().bearing_deg == 250
    assert not hide.seats.filter(name="by the door").exists()


def test_the_second_to_save_a_person_is_told(two_pages, trip) -> None:
    place = trip.places.first()
    first, second = open_both(two_pages, url("person-edit", trip, place_uuid=place.uuid))
    for page, phone in ((first, "+34 600 000 001"), (second, "+34 600 000 002")):
        page.get_by_label("Phone", exact=True).fill(phone)
        page.get_by_role("main").get_by_role("button", name="Save", exact=True).click()
    expect(second.get_by_role("alert")).to_contain_text(STALE)
    expect(second.get_by_label("Phone", exact=True)).to_have_value("+34 600 000 002")
    place.participant.refresh_from_db()
    assert place.participant.phone == "+34 600 000 001"


@pytest.fixture
def draft(trip) -> Rota:
    """Two people in the first hide, the third alone in the second."""
    return seated_rota(trip)


def ask_for_seat(page: Page, seat) -> None:
    page.get_by_label("Seat", exact=True).select_option(str(seat.pk))
    steps.press(page, "Show the effect")
    expect(page.get_by_role("heading", name="What this would do")).to_be_visible()


def test_two_at_once_for_the_last_seat_one_wins_and_the_other_is_told(two_pages, trip, draft) -> None:
    session = trip.sessions.first()
    places = list(trip.places.all())
    free = trip.sites.get().hides.all()[1].seats.all()[1]
    for page, place in zip(two_pages, places[:2], strict=True):
        page.goto(url("turn-edit", trip, number=draft.number, session_uuid=session.uuid, who=str(place.uuid)))
        ask_for_seat(page, free)
    first, second = two_pages
    second.get_by_label("Why").fill("needs the light")
    steps.press(first, "Do it")
    steps.done(first, "Changed.")
    steps.press(second, "Do it")
    expect(second.get_by_role("alert")).to_contain_text(TAKEN)
    expect(second.get_by_role("alert")).to_contain_text(places[0].participant.name)
    expect(second.get_by_label("Why")).to_have_value("needs the light")
    assert draft.turns.get(session=session, seat=free).place == places[0]
    assert Change.objects.count() == 1


def test_two_requests_in_the_same_instant_for_the_last_seat_leave_one_turn(live_server, trip, draft) -> None:
    """Past the pages: both forms are sent at one moment by two threads with connections of their own."""
    session = trip.sessions.first()
    places = list(trip.places.all())
    free = trip.sites.get().hides.all()[1].seats.all()[1]
    data = {"kind": "move", "seat": free.pk, "step": "save", "seen_version": draft.version}
    paths = [
        url("turn-edit", trip, number=draft.number, session_uuid=session.uuid, who=str(place.uuid))
        for place in places[:2]
    ]
    answers = at_once([form_sender(live_server.url, trip, path, data) for path in paths])
    assert sorted(status for status, _ in answers) == [200, 302]
    told = next(text for status, text in answers if status == 200)
    assert TAKEN in told
    assert all(place.participant.name in told for place in places)
    assert draft.turns.filter(session=session, seat=free).count() == 1
    assert Change.objects.count() == 1


def test_two_leaders_pressing_make_in_the_same_instant_get_one_run(live_server, trip) -> None:
    data = {"search_time": "normal", "seed": "0"}
    answers = at_once([form_sender(live_server.url, trip, url("rota-make", trip), data) for _ in range(4)])
    assert [status for status, _ in answers] == [302] * 4
    assert Making.objects.count() == 1


def test_two_leaders_pressing_make_see_the_same_run_and_the_same_rota(two_pages, trip, worker) -> None:
    first, second = open_both(two_pages, url("rota-make", trip))
    for page in two_pages:
        steps.press(page, "Make it")
    for page in two_pages:
        page.wait_for_url("**/rota/1/", timeout=steps.RUN_MS)
    assert (Making.objects.count(), Rota.objects.count()) == (1, 1)
    assert first.locator("h1").inner_text() == second.locator("h1").inner_text()


Answer = tuple[int, str]


class NoRedirect(urllib.request.HTTPRedirectHandler):
    """A redirect is an answer."""

    def redirect_request(self, *args):
        return None


def form_sender(address: str, trip, path: str, data: dict) -> Callable[[], Answer]:
    """Something that posts a form to the running server over a socket, signed in as the trip's leader."""
    client = Client()
    client.force_login(trip.leader)
    token = "a" * 32
    headers = {"Cookie": f"sessionid={client.cookies['sessionid'].value}; csrftoken={token}", "Referer": address}
    body = urllib.parse.urlencode(data | {"csrfmiddlewaretoken": token}).encode()
    opener = urllib.request.build_opener(NoRedirect)

    def send() -> Answer:
        try:
            with opener.open(urllib.request.Request(f"{address}{path}", body, headers), timeout=60) as answer:
                return answer.status, answer.read().decode()
        except urllib.error.HTTPError as answer:
            return answer.code, answer.read().decode()

    return send


def at_once(senders: list[Callable[[], Answer]]) -> list[Answer]:
    """Let all go in the same instant, each in a thread of its own."""
    gate, answers = threading.Barrier(len(senders)), []

    def go(send: Callable[[], Answer]) -> None:
        gate.wait()
        answers.append(send())

    threads = [threading.Thread(target=go, args=(send,)) for send in senders]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=90)
    assert len(answers) == len(senders)
    return answers
