"""A participant on a phone: sign-in, days without a network, a new rota meanwhile, another person."""

import re

import pytest
from playwright.sync_api import expect

from participants import services
from tests.browser.conftest import assert_accessible, assert_fits, assert_thumb_sized
from tests.browser.page_waiting import page_until
from tests.browser.participant_phone import (
    PHONE,
    TIMEOUT_MS,
    come_in,
    kept_paths,
    kept_text,
    open_more,
    own,
    reconnect,
    state,
    wait_for_pack,
)
from tests.trips.issued_trips import issue, issued_trip, seated_rota

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def trip(transactional_db):
    return issued_trip(people=4, hides=3, sessions=2)


def test_from_the_link_to_days_to_gear(phone, trip):
    place = trip.places.first()
    page = phone.new_page()
    page.goto(f"/in/{services.link_hand_over(person=place.participant)}/")
    page.wait_for_url("**/in/")  # the link left the address bar
    page.get_by_role("button", name="Open my pages").click()
    page.wait_for_url("**/days/")
    expect(page.locator("[data-next-turn]")).to_contain_text(place.turns.first().hide.name)
    page.get_by_role("link", name="Whole turn").click()
    expect(page.locator("details[data-turn][open] svg.drawing-seat").first).to_be_visible()
    page.locator("details[data-turn] > summary").nth(1).click()
    page.locator("details[data-turn]").nth(1).get_by_role("link", name="Show the light from the seat").click()
    expect(page.locator("details[data-turn]").nth(1).locator("svg.drawing-seat").first).to_be_visible()
    page.get_by_role("link", name="Gear", exact=True).click()
    expect(page.get_by_text("600 mm f/4").first).to_be_visible()


def test_days_open_offline_labelled_with_number_and_time(phone, trip):
    place = trip.places.first()
    page = come_in(phone, place.participant)
    wait_for_pack(page)
    turn = place.turns.first()
    phone.set_offline(True)
    page.reload()
    expect(page.locator("main")).to_contain_text(turn.hide.name)
    expect(page.locator("main")).to_contain_text("Rota 1, sent")
    expect(state(page)).to_contain_text("No network: this copy is of")
    page.goto(own("briefing/", place.participant))
    expect(page.get_by_role("heading", name="What to bring")).to_be_visible()
    page.goto(own("days/", place.participant))
    page.locator("details[data-turn] > summary").nth(1).click()
    page.locator("details[data-turn]").nth(1).get_by_role("link", name="Show the light from the seat").click()
    expect(page.locator("details[data-turn]").nth(1).locator("svg.drawing-seat").first).to_be_visible()
    pdf = page.evaluate(
        "async (path) => (await (await fetch(path)).text()).slice(0, 5)", own("briefing.pdf", place.participant)
    )
    assert pdf == "%PDF-"
    page.goto("/")
    expect(page.locator("main")).to_contain_text("Rota 1, sent")


def test_days_open_when_the_server_is_stopped(phone, trip, server):
    place = trip.places.first()
    page = come_in(phone, place.participant)
    wait_for_pack(page)
    server.stop()
    page.reload()
    expect(page.locator("main")).to_contain_text(place.turns.first().hide.name)
    expect(state(page)).to_contain_text("No network")
    server.start()
    state(page).get_by_role("button", name="Try again").click()
    expect(state(page)).to_be_hidden()


def test_a_rota_issued_meanwhile_replaces_everything_at_first_contact(phone, trip):
    place = trip.places.first()
    page = come_in(phone, place.participant)
    wait_for_pack(page)
    phone.set_offline(True)
    page.reload()
    expect(state(page)).to_contain_text("No network")
    issue(seated_rota(trip, moves={(0, 1): (2, 0)}))
    reconnect(phone, page)
    expect(page.locator("main")).to_contain_text("Rota 2, sent")
    expect(page.get_by_role("heading", name="Your days are out")).to_be_visible()
    wait_for_pack(page)
    packs = {line.rsplit(" ", 1)[0] for line in kept_paths(page) if line.startswith("pack ")}
    assert len(packs) == 1
    assert "rota 1," not in kept_text(page).lower()
    phone.set_offline(True)
    page.goto(own("briefing/", place.participant))
    expect(page.locator("main")).to_contain_text("Rota 2, issued, told")


def test_an_old_briefing_is_never_shown_beside_new_days(phone, trip, server):
    place = trip.places.first()
    page = come_in(phone, place.participant)
    wait_for_pack(page)
    issue(seated_rota(trip, moves={(0, 1): (2, 0)}))
    page.route("**/pack.json", lambda route: route.abort())  # the new edition is met, but not yet fetched as a whole
    page.reload()
    expect(page.locator("main")).to_contain_text("Rota 2, sent")

    def is_first_edition_gone() -> bool:
        packs = {line.rsplit(" ", 1)[0] for line in kept_paths(page) if line.startswith("pack ")}
        return len(packs) == 1 and "Rota 1, sent" not in kept_text(page)

    page_until(page, is_first_edition_gone, what="the first edition is gone")
    server.stop()
    page.goto(own("briefing/", place.participant))
    expect(page.locator("body")).to_contain_text("was not kept on this device")
    page.goto(own("days/", place.participant))
    expect(page.locator("main")).to_contain_text("Rota 2, sent")


def test_another_person_on_the_same_phone_meets_nothing_of_the_first(phone, trip):
    first, second = (place.participant for place in trip.places.all()[:2])
    page = come_in(phone, first)
    wait_for_pack(page)
    assert str(first.uuid) in " ".join(kept_paths(page))
    page = come_in(phone, second)
    wait_for_pack(page)
    assert str(first.uuid) not in " ".join(kept_paths(page))
    phone.set_offline(True)
    page.goto(own("days/", first))
    expect(page.locator("body")).to_contain_text("was not kept on this device")


def test_signing_out_empties_the_phone(phone, trip):
    place = trip.places.first()
    page = come_in(phone, place.participant)
    wait_for_pack(page)
    open_more(page)
    page.get_by_role("button", name="Sign out").click()
    page.wait_for_url("**/in/")
    assert kept_paths(page) == []
    assert page.evaluate("async () => (await navigator.serviceWorker.getRegistrations()).length") == 0
    assert "device-of" not in {cookie["name"] for cookie in phone.cookies()}
    phone.set_offline(True)
    with pytest.raises(Exception, match="ERR_INTERNET_DISCONNECTED"):
        page.goto(own("days/", place.participant))


def test_signing_out_without_a_network_empties_the_phone_all_the_same(phone, trip):
    page = come_in(phone, trip.places.first().participant)
    wait_for_pack(page)
    phone.set_offline(True)
    open_more(page)
    page.get_by_role("button", name="Sign out").click()
    expect(page.get_by_role("heading", name="This device is empty")).to_be_visible()
    assert kept_paths(page) == []


def test_a_wrong_clock_is_told_and_changes_no_time(chromium, server, trip):
    place = trip.places.first()
    context = chromium.new_context(base_url=server.url, **PHONE)
    context.set_default_timeout(TIMEOUT_MS)
    right = come_in(context, place.participant)
    right.goto(own("days/", place.participant))
    right.wait_for_load_state("networkidle")
    times = right.locator("[data-next-turn]").inner_text()
    page = context.new_page()
    page.clock.set_system_time(page.evaluate("Date.now()") / 1000 + 47 * 60)
    page.goto(own("days/", place.participant))
    expect(state(page)).to_contain_text(re.compile("clock of this phone is 4[67] min ahead"))
    page.wait_for_load_state("networkidle")
    assert page.locator("[data-next-turn]").inner_text() == times
    context.close()


def test_a_phone_from_another_zone_is_told_whose_times_these_are(chromium, server, trip):
    context = chromium.new_context(base_url=server.url, **PHONE | {"timezone_id": "Asia/Tokyo"})
    page = come_in(context, trip.places.first().participant)
    expect(state(page)).to_contain_text(
        "This phone shows the time of Asia/Tokyo; the times here are those of Europe/Madrid"
    )
    state(page).get_by_role("button", name="Close").click()
    for path in ("days/", "wishes/"):  # closed, it stays away on every page
        expect(state(page)).not_to_contain_text("Asia/Tokyo")
        page.goto(own(path, trip.places.first().participant))
        page.wait_for_load_state("networkidle")
    context.close()


PAGES = ("days/", "kit/", "wishes/", "details/", "health/", "briefing/", "calendar/", "data/", "devices/")
PAGES += ("kit/add/lens/", "kit/add/body/", "kit/picture/", "packing/")


# test_every_page.py follows all links of a participant in the two other looks.
@pytest.mark.parametrize(("width", "colours"), [(360, "light"), (1280, "dark")])
def test_every_page_is_accessible_fits_and_stays_still(chromium, server, trip, width, colours):
    person = trip.places.first().participant
    options = PHONE if width == 360 else {"viewport": {"width": 1280, "height": 900}}
    context = chromium.new_context(base_url=server.url, color_scheme=colours, **options)
    context.set_default_timeout(TIMEOUT_MS)
    page = come_in(context, person)
    page.add_init_script(
        "new PerformanceObserver((list) => { for (const entry of list.getEntries()) if (!entry.hadRecentInput)"
        " window.shifted = (window.shifted ?? 0) + entry.value; }).observe({ type: 'layout-shift', buffered: true });"
    )
    for name in PAGES:
        page.goto(own(name, person))
        page.wait_for_load_state("networkidle")
        assert page.evaluate("window.shifted ?? 0") <= 0.02, name
        for turn in page.locator("details").all():
            turn.evaluate("(node) => { node.open = true; }")
        assert_accessible(page)
        assert_fits(page)
        assert_thumb_sized(page)
    context.close()


def test_pages_fit_at_twice_the_size(chromium, server, trip):
    """200 % zoom of a 360 px phone leaves 180 px of page width."""
    person = trip.places.first().participant
    context = chromium.new_context(base_url=server.url, **PHONE | {"viewport": {"width": 180, "height": 370}})
    page = come_in(context, person)
    for name in PAGES:
        page.goto(own(name, person))
        assert_fits(page)
    context.close()


def test_a_page_after_the_first_is_light_on_the_wire(phone, trip):
    person = trip.places.first().participant
    page = come_in(phone, person)
    wait_for_pack(page)
    for name in PAGES:
        page.goto(own(name, person))
        page.wait_for_load_state("networkidle")
        sent = page.evaluate(
            """() => [...performance.getEntriesByType("navigation"), ...performance.getEntriesByType("resource")]
                .filter((entry) => !entry.name.includes("/static/"))
                .reduce((sum, entry) => sum + Math.max(entry.transferSize, entry.encodedBodySize), 0)"""
        )
        assert sent < 100_000, f"{name}: {sent} bytes"


def test_days_by_keyboard_alone(phone, trip):
    person = trip.places.first().participant
    page = come_in(phone, person)
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "Skip to the content"
    turn = page.locator("details[data-turn] > summary").first
    turn.focus()
    page.keyboard.press("Enter")
    assert page.locator("details[data-turn]").first.evaluate("(node) => node.open")
    page.get_by_role("button", name="I have read it").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_text("Your leader sees that you have read it.")).to_be_visible()
