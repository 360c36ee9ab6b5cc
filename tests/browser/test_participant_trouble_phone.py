"""A participant's phone where things go half wrong: an answer cut short, a server that is ill or slow, a trip that is
over meanwhile, a sign-out that does not arrive."""

import contextlib
import re
import time
from datetime import date, timedelta
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from threading import Thread

import pytest
from playwright.sync_api import Error, Page, expect

from tests import factories
from tests.browser.conftest import assert_accessible, assert_fits
from tests.browser.page_waiting import page_until
from tests.browser.participant_phone import Server, come_in, offline_at, open_more, own, reconnect, state, wait_for_pack
from tests.trips.issued_trips import issued_trip
from trips.models import Place, Trip

pytestmark = pytest.mark.django_db(transaction=True)
NEXT_YEAR = date(2028, 5, 3)


@pytest.fixture
def trip(transactional_db):
    return issued_trip(people=4, hides=3, sessions=2)


class Gateway(BaseHTTPRequestHandler):
    """What a web server says whose application is down; the addresses of one trip it brings late."""

    slow = ""

    def do_GET(self) -> None:
        late = bool(self.slow) and self.slow in self.path
        time.sleep(6 if late else 0)  # the pause is the subject: longer than a kept page is waited for
        self.send_response(200 if late else 502)
        self.send_header("Content-Type", "text/html")
        self.end_headers()
        self.wfile.write(b"<h1>Late, but here</h1>" if late else b"<h1>Bad Gateway</h1>")

    def log_message(self, *args) -> None:
        """Nothing on the test's output."""


@contextlib.contextmanager
def gateway_alone(server: Server, *, slow: str = ""):
    """The application is stopped, and a web server before it answers in its place."""
    server.stop()
    door = ThreadingHTTPServer(("127.0.0.1", server.port), type("Slow", (Gateway,), {"slow": slow}))
    Thread(target=door.serve_forever, daemon=True).start()
    try:
        yield
    finally:
        door.shutdown()
        door.server_close()
        server.start()


def fill_lens(page: Page, **numbers: str) -> None:
    for name, typed in numbers.items():
        page.fill(f"#id_{name}", typed)
    page.get_by_role("button", name="Save").click()


def fill_wishes(page: Page, *votes: str) -> None:
    for number, typed in enumerate(votes):
        page.locator("select[name^=votes_]").nth(number).select_option(typed)
    page.get_by_role("button", name="Save my wishes").click()


def test_days_stay_open_where_the_server_is_ill_and_a_slow_page_is_waited_for(phone, trip, server):
    person = trip.places.first().participant
    page = come_in(phone, person)
    second = factories.place(participant=person, trip=factories.trip(starts_on=NEXT_YEAR, ends_on=NEXT_YEAR))
    page.goto(own("", person))
    page.get_by_role("link", name=trip.name, exact=True).click()
    wait_for_pack(page)
    with gateway_alone(server, slow=str(second.trip.uuid)):
        for address in (own("days/", person), f"{own('days/', person)}?trip={trip.uuid}", "/"):
            page.goto(address)
            expect(page.locator("main")).to_contain_text("Rota 1, sent")
        expect(state(page)).to_contain_text("The server does not answer: this copy is of")
        open_more(page)
        page.get_by_role("button", name="Dark").click()
        expect(page.get_by_role("button", name="Dark")).to_have_attribute("aria-pressed", "true")
        page.get_by_role("link", name="Briefing").click()
        expect(page.get_by_role("heading", name="What to bring")).to_be_visible()
        expect(page.locator("html")).to_have_attribute("data-bs-theme", "dark")
        page.goto(f"{own('wishes/', person)}?trip={second.trip.uuid}")
        expect(page.get_by_role("heading", name="Late, but here")).to_be_visible()
    page.goto(own("days/", person))
    expect(page.locator("html")).to_have_attribute("data-bs-theme", "dark")
    expect(state(page)).to_be_hidden()


def test_a_lens_stays_one_through_answers_cut_short_and_a_change_before_it_is_sent_again(phone, trip):
    person = trip.places.first().participant
    page = come_in(phone, person)
    wait_for_pack(page)
    page.goto(own("kit/add/lens/", person))
    page.wait_for_load_state("networkidle")
    held = []

    def hold_the_first(route):
        if route.request.method != "POST":
            route.fallback()
        elif held:
            route.abort()
        else:
            held.append(route)

    page.route("**/kit/add/lens/", hold_the_first)
    fill_lens(page, focal_min_mm="400", aperture_wide="2.8")
    expect(state(page)).to_contain_text("Sending Lens, 400 mm f/2.8")
    page_until(page, lambda: held, what="the lens is sent")
    held[0].fulfill(response=held[0].fetch(), body='{"taken": tr')
    page.wait_for_url("**/kit/")
    assert person.lenses.filter(focal_min_mm=400).count() == 1
    wait_for_pack(page)
    page.unroute("**/kit/add/lens/")
    phone.set_offline(True)
    page.locator("[data-queue-list=new-lens] [data-waits] a").click()
    expect(page.locator("#id_focal_min_mm")).to_have_value("400")
    expect(page.locator("#verdicts")).to_contain_text("is shown when there is a network")
    fill_lens(page, focal_min_mm="500")
    page.wait_for_url("**/kit/")
    reconnect(phone, page)
    expect(state(page)).to_contain_text("Sent: Lens, 500 mm f/2.8")
    assert sorted(person.lenses.values_list("focal_min_mm", flat=True)) == [500, 600]


def test_a_refused_form_comes_back_with_its_reasons_also_where_the_network_breaks_off_after_the_answer(phone, trip):
    person = trip.places.first().participant
    page = come_in(phone, person)
    page.goto(own("kit/add/lens/", person))
    page.wait_for_load_state("networkidle")
    posts = []

    def break_off(route):
        posts.append(route.request.method)
        answer = route.fetch()
        route.fulfill(response=answer) if posts.count("POST") < 2 else route.abort()

    page.route("**/kit/add/lens/", break_off)
    fill_lens(page, focal_min_mm="400")
    expect(page.get_by_role("alert")).to_contain_text("This field is required.")
    expect(page.locator("#id_focal_min_mm")).to_have_value("400")
    page.unroute("**/kit/add/lens/")
    page.fill("#id_near_limit_m", "9")
    expect(page.locator("#verdicts")).to_contain_text("numbers are missing")  # what is typed is tried as before
    assert_accessible(page)
    fill_lens(page, aperture_wide="2.8")
    expect(page.get_by_text("400 mm f/2.8 is in the list.")).to_be_visible()
    assert person.lenses.filter(near_limit_m=9).count() == 1


def test_wishes_that_waited_can_be_changed_at_once_taken_back_or_are_told_of_a_place_that_is_gone(phone, trip):
    place = trip.places.first()
    page = offline_at(phone, place.participant, "wishes/")
    fill_wishes(page, "5")
    expect(state(page)).to_contain_text("Wishes: kept on this phone, sent when there is a network.")
    reconnect(phone, page)
    expect(state(page)).to_contain_text("Sent: Wishes.")
    expect(state(page)).not_to_contain_text("kept on this phone")
    page.wait_for_load_state("networkidle")
    fill_wishes(page, "4")
    expect(page.get_by_text("Your wishes are saved.")).to_be_visible()
    assert place.wishes.get().votes == 4
    page.wait_for_load_state("networkidle")
    page.route(
        "**/wishes/", lambda route: route.fulfill(status=503) if route.request.method == "POST" else route.fallback()
    )
    fill_wishes(page, "3")
    expect(state(page)).to_contain_text("Waits for the server: Wishes.")
    assert_accessible(page)
    assert_fits(page)
    state(page).get_by_role("button", name="Take it back").click()
    expect(state(page)).to_be_hidden()
    fill_wishes(page, "3")
    expect(state(page)).to_contain_text("Waits for the server: Wishes.")
    page.unroute("**/wishes/")
    page.reload()
    expect(state(page)).to_contain_text("Sent: Wishes.")
    assert place.wishes.get().votes == 3
    state(page).get_by_role("button", name="Close").click()
    page.wait_for_load_state("networkidle")
    phone.set_offline(True)
    fill_wishes(page, "2")
    expect(state(page)).to_contain_text("Waits for a network: Wishes.")
    Place.objects.filter(pk=place.pk).update(state="cancelled")
    reconnect(phone, page)
    expect(state(page)).to_contain_text("Not taken: Wishes. What this was about is no longer there.")
    state(page).get_by_role("button", name="Throw it away").click()
    expect(state(page)).not_to_contain_text("Wishes")


def test_wishes_refused_for_a_trip_are_put_right_on_its_own_page_and_fill_no_other(phone, trip):
    place = trip.places.first()
    page = offline_at(phone, place.participant, "wishes/")
    fill_wishes(page, "5", "4")
    expect(state(page)).to_contain_text("Waits for a network: Wishes.")
    over = date.today() - timedelta(days=10)
    Trip.objects.filter(pk=trip.pk).update(starts_on=over, ends_on=over)
    later = factories.planned_trip(people_count=1, hides=1, sessions=1)
    other = later.places.get()
    Place.objects.filter(pk=other.pk).update(participant=place.participant)
    reconnect(phone, page)
    expect(state(page)).to_contain_text("Not taken: Wishes. You spent 9 votes")
    page.goto(own("wishes/", place.participant))
    expect(state(page)).to_contain_text("Not taken: Wishes.")
    expect(page.locator("main")).to_contain_text(f"On {later.name}.")
    expect(page.locator("select[name^=votes_]").first).not_to_have_value("5")
    state(page).get_by_role("link", name="Open and correct it").click()
    expect(page.locator("main")).to_contain_text(f"On {trip.name}.")
    expect(page.locator("select[name^=votes_]").first).to_have_value("5")
    fill_wishes(page, "2", "4")
    expect(page.get_by_text("Your wishes are saved.")).to_be_visible()
    assert sorted(place.wishes.values_list("votes", flat=True)) == [2, 4]
    assert not other.wishes.exists()


def test_kept_pages_tell_nothing_that_was_done_once(phone, trip):
    person = trip.places.first().participant
    page = come_in(phone, person)
    page.get_by_role("button", name="I have read it").click()
    expect(page.get_by_text("Your leader sees that you have read it.")).to_be_visible()
    wait_for_pack(page)
    page.goto(own("calendar/", person))
    page.get_by_role("button", name="Give me a new address").click()
    expect(page.get_by_text("The old address is gone.")).to_be_visible()
    address = page.locator("#feed-address").input_value()
    wait_for_pack(page)
    phone.set_offline(True)
    page.goto(own("calendar/", person))
    expect(page.locator("#feed-address")).to_have_value(address)
    expect(page.get_by_text("The old address is gone.")).to_have_count(0)
    page.goto(own("days/", person))
    expect(page.locator("main")).to_contain_text("Rota 1, sent")
    expect(page.get_by_text("Your leader sees that you have read it.")).to_have_count(0)
    expect(page.get_by_role("heading", name="Your days are out")).to_have_count(0)


def test_signing_out_ends_the_session_from_an_old_page_too_and_leaves_nothing_to_go_back_to(phone, trip):
    place = trip.places.first()
    person, hide = place.participant, place.turns.first().hide.name
    old = come_in(phone, person)
    wait_for_pack(old)
    page = come_in(phone, person)  # a new session, and with it a new form token
    wait_for_pack(page)
    open_more(old)
    old.get_by_role("button", name="Sign out").click()
    old.wait_for_url("**/in/")
    page.goto(own("health/", person))
    expect(page).to_have_url(re.compile("/in/$"))
    page = come_in(phone, person)
    wait_for_pack(page)
    page.goto(own("health/", person))
    page.fill("textarea", "Asthma")
    phone.clear_cookies(name="sessionid")
    page.get_by_role("button", name="Save the note").click()
    expect(state(page)).to_contain_text(
        "You are signed out on this device: nothing was sent. A health note is never kept"
    )
    page = come_in(phone, person)
    wait_for_pack(page)
    page.goto(own("briefing/", person))
    page.goto(own("kit/", person))
    phone.set_offline(True)
    open_more(page)
    page.get_by_role("button", name="Sign out").click()
    expect(page.get_by_role("heading", name="This device is empty")).to_be_visible()
    expect(page.locator("header")).not_to_contain_text(person.name)
    expect(page.get_by_role("button", name="Sign out")).to_have_count(0)
    for _ in range(2):
        with contextlib.suppress(Error):
            page.go_back()
        expect(page.locator("body")).not_to_contain_text(hide)
        expect(page.locator("body")).not_to_contain_text(person.name)
