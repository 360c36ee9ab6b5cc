"""The leader's pages stand still while a run goes on, lose nothing on paper, and show where the keyboard is."""

import re
from datetime import timedelta
from io import BytesIO

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Page, expect
from pypdf import PdfReader

from tests import factories
from tests.browser.conftest import PHONE, WIDE, assert_accessible, assert_fits
from tests.browser.test_leader_states import draft_of, url
from trips.models import Making, Trip

pytestmark = pytest.mark.django_db(transaction=True)
SHIFT_ALLOWED = 0.01  # a tenth of what the published bound for "good" allows (web.dev, "Cumulative Layout Shift", 2020)
WATCH_SHIFTS = """
    window.shifted = 0;
    window.moved = [];
    new PerformanceObserver((list) => { for (const entry of list.getEntries()) {
        window.shifted += entry.value;
        for (const one of entry.sources) {
            const [before, after] = [one.previousRect, one.currentRect].map(({ y, height }) => `${y}+${height}`);
            window.moved.push(`${one.node?.nodeName} ${one.node?.className ?? ""} ${before} to ${after}`); }
    } }).observe({ type: "layout-shift", buffered: true });
"""


@pytest.fixture
def trip(transactional_db) -> Trip:
    """Four people, three hides, four sessions, and cautions to read."""
    trip = factories.planned_trip(people_count=4, hides=3, sessions=4)
    trip.sites.get().hides.update(sought_after=True, roof_height_m=0.5)
    return trip


def assert_still(page: Page) -> None:
    """Nothing moved by itself since the page was opened."""
    assert page.evaluate("window.shifted") <= SHIFT_ALLOWED, page.evaluate("window.moved")


def begun(trip: Trip) -> Making:
    return Making.objects.create(trip=trip, started_at=timezone.now() - timedelta(seconds=2))


def moved_on(making: Making, **fields) -> None:
    """What the worker writes while it runs."""
    Making.objects.filter(pk=making.pk).update(heartbeat_at=timezone.now(), **fields)


@pytest.mark.parametrize("size", [WIDE, PHONE])
@pytest.mark.parametrize("name", ["rota-making", "rota-show"])
def test_nothing_moves_while_a_run_goes_on(open_context, trip, size, name) -> None:
    draft_of(trip)
    making = begun(trip)
    page = open_context(user=trip.leader, size=size).new_page()
    page.add_init_script(WATCH_SHIFTS)
    page.goto(url(name, trip))
    panel = page.locator("#making")
    expect(panel).to_contain_text("Waiting for the planner")
    moved_on(making, state="running")
    expect(panel).to_contain_text("Getting ready", timeout=10_000)
    moved_on(making, stage="demand_excess", best=0.7123, bound=0.9, progress=[[3.1, 0.7123, 0.9]])
    expect(panel).to_contain_text("Lowest fair share found: 0.712", timeout=10_000)
    moved_on(making, started_at=timezone.now() - timedelta(seconds=119), stage="leader_seats", best=0.8, bound=0.8001)
    expect(panel).to_contain_text("0.80", timeout=10_000)
    assert_still(page)


def test_a_run_that_ends_without_a_rota_leads_to_its_explanation(open_context, trip) -> None:
    making = begun(trip)
    page = open_context(user=trip.leader).new_page()
    page.goto(url("rota-show", trip))
    expect(page.locator("#making")).to_contain_text("Waiting for the planner")
    explained = {"leader": ["Sat 8 May, early: 5 people, 4 seats, 1 short."], "remedies": []}
    moved_on(making, state="impossible", ended_at=timezone.now(), explanation=explained)
    page.wait_for_url("**/rota/making/")
    expect(page.locator("#making")).to_contain_text("1 short")
    assert page.title().startswith("No rota keeps all the rules")


ONLY_FOR_SCREENS = ".d-print-none, .btn"  # buttons and hints: paper has no use for them


def test_a_run_that_no_worker_takes_up_says_so_by_itself(open_context, trip) -> None:
    begun(trip)
    page = open_context(user=trip.leader).new_page()
    page.goto(url("rota-making", trip))
    expect(page.locator("#making")).to_contain_text("Waiting for the planner")
    expect(page.locator("#making")).not_to_contain_text("No worker")
    expect(page.locator("#making")).to_contain_text("No worker has taken it up", timeout=20_000)
    expect(page.locator("#making code")).to_have_text("python manage.py db_worker")


def shown_words(page: Page) -> set[str]:
    """Every word for paper in the main part that stands on the page as it is rendered now."""
    text = page.evaluate(
        """(skipped) => { const found = [];
            const walker = document.createTreeWalker(document.querySelector("main"), NodeFilter.SHOW_TEXT);
            for (let node; (node = walker.nextNode());) {
                const range = document.createRange(); range.selectNodeContents(node);
                const shown = node.textContent.trim() && range.getClientRects().length;
                if (shown && !node.parentElement.closest(skipped)) found.push(node.textContent); }
            return found.join(" "); }""",
        ONLY_FOR_SCREENS,
    )
    return set(re.findall(r"\w+", text))


ON_PAPER = ["rota-show", "person-list", "session-list", "trip-hides", "trip-show", "gear-table"]
ON_PAPER += ["trip-light", "day-show", "rota-history", "pairing-list", "told-list"]


@pytest.mark.parametrize("name", ON_PAPER)
def test_paper_loses_no_word_of_a_page(open_context, trip, name) -> None:
    draft_of(trip)
    page = open_context(user=trip.leader, size=(1280, 900)).new_page()
    page.goto(url(name, trip))
    for details in page.locator("main details").all():
        details.evaluate("node => { node.open = true; }")
    wanted = shown_words(page)
    assert wanted
    page.reload()
    page.emulate_media(media="print", color_scheme="light")
    page.set_viewport_size({"width": 980, "height": 700})
    lost = sorted(wanted - shown_words(page))
    assert not lost, lost
    for room in (".house-head", ".tabs", ".crumbs", ".house-foot"):
        expect(page.locator(room)).to_be_hidden()
    assert_fits(page)


def without_spaces(text: str) -> str:
    """Text without what a line break may add."""
    return re.sub(r"\s+", "", text)


def test_a_printed_rota_has_every_session_name_and_seat(open_context, trip) -> None:
    rota = draft_of(trip)
    page = open_context(user=trip.leader, size=PHONE).new_page()
    page.goto(f"{url('rota-show', trip)}?session={trip.sessions.last().uuid}")
    pdf = page.pdf(format="A4", prefer_css_page_size=True)
    flat = without_spaces("".join(part.extract_text() for part in PdfReader(BytesIO(pdf)).pages))
    for day in ("Sat 8", "Sun 9"):
        assert without_spaces(day) in flat
    for turn in rota.turns.select_related("place__participant", "hide", "seat"):
        assert without_spaces(turn.place.participant.name) in flat
        assert without_spaces(turn.hide.name) in flat
    assert "Signout" not in flat


RING = """() => { const style = getComputedStyle(document.activeElement);
    const box = document.activeElement.getBoundingClientRect();
    const what = document.activeElement.outerHTML.slice(0, 90);
    return [what, style.outlineStyle, parseFloat(style.outlineWidth), box.width]; }"""


@pytest.mark.parametrize("colours", ["light", "dark"])
@pytest.mark.parametrize("name", ["rota-show", "trip-show", "sessions-make", "rota-make", "person-new"])
def test_the_keyboard_is_always_seen(open_context, trip, name, colours) -> None:
    draft_of(trip)
    page = open_context(user=trip.leader, color_scheme=colours).new_page()
    page.goto(url(name, trip))
    seen = set()
    for _ in range(45):
        page.keyboard.press("Tab")
        what, style, width_px, box_px = page.evaluate(RING)
        if what.startswith("<body"):
            break
        seen.add(what)
        assert style not in ("none", ""), f"no ring around {what}"
        assert width_px >= 2, f"a thin ring around {what}"
        assert box_px > 0, f"the focus is on something unseen: {what}"
    assert len(seen) > 10


def test_the_keyboard_is_never_caught(open_context, trip) -> None:
    """Tab goes through the whole page and out of it again; nothing is met twice."""
    draft_of(trip)
    page = open_context(user=trip.leader).new_page()
    page.goto(url("rota-show", trip))
    stops = "a[href], button, input:not([type=hidden]), select, summary, [tabindex='0']"
    count = page.locator(stops).count()
    for _ in range(count + 2):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement === document.body"):
            return
    raise AssertionError("the keyboard does not come out of the page")


def test_a_hide_light_page_stays_still_when_its_part_is_changed(open_context, trip) -> None:
    hide = trip.sites.get().hides.first()
    page = open_context(user=trip.leader).new_page()
    page.add_init_script(WATCH_SHIFTS)
    page.goto(reverse("trips:hide-light", kwargs={"hide_uuid": hide.uuid}))
    page.fill("#id_day", "2027-05-20")
    page.locator("#id_day").blur()
    page.get_by_text("Thursday 20 May 2027").wait_for()
    assert_still(page)


def test_the_rota_of_twelve_in_twelve_sessions_is_seen_at_a_glance(open_context, transactional_db) -> None:
    """Within 1280 x 800 nothing scrolls, and the table begins high; a turn under the pointer opens its card."""
    trip = factories.planned_trip(people_count=12, hides=6, sessions=12)
    rota = draft_of(trip)
    page = open_context(user=trip.leader, size=(1280, 800)).new_page()
    page.goto(url("rota-show", trip))
    top, bottom, wide = page.locator(".glance-table").evaluate(
        "table => { const box = table.getBoundingClientRect(); return [box.top, box.bottom, box.right]; }"
    )
    assert top <= 220
    assert bottom <= 800
    assert wide <= 1280
    assert page.locator(".glance-turn").count() == rota.turns.count()
    turn = page.locator(".glance-turn").first
    turn.hover()
    expect(page.locator("#peek")).to_contain_text("points of 100")
    page.keyboard.press("Escape")
    expect(page.locator("#peek")).to_be_hidden()
    assert_accessible(page)
