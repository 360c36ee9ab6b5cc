"""The first screen of a phone at 05:30: leave, gear and settings stand on it, with and without a change."""

import pytest
from django.utils import timezone

from tests.browser.conftest import assert_accessible, assert_fits
from tests.trips.issued_trips import issue, issued_trip, seated_rota
from trips.models import Notice

pytestmark = pytest.mark.django_db(transaction=True)
SMALLEST = (360, 640)
SEEN = (".turn-leave", ".now-count", ".now-facts", ".now .settings-table", ".now-go")


def lowest(page) -> dict[str, float]:
    """Where each part of the card ends, in pixels from the top of the screen."""
    return {part: page.locator(part).first.evaluate("(node) => node.getBoundingClientRect().bottom") for part in SEEN}


@pytest.mark.parametrize("scheme", ["light", "night"])
def test_leave_gear_and_settings_are_above_the_tabs_with_and_without_a_change(open_context, live_server, scheme):
    trip = issued_trip(sessions=2)
    place = trip.places.first()
    Notice.objects.update(read_at=timezone.now(), confirmed_at=timezone.now())
    context = open_context(person=place.participant, size=SMALLEST, timezone_id="Europe/Madrid")
    context.add_cookies([{"name": "scheme", "value": scheme, "url": live_server.url}])
    page = context.new_page()
    for moves in ({}, {(0, 0): (2, 0)}):
        if moves:
            issue(seated_rota(trip, moves=moves))
        page.goto(f"/my/{place.participant.uuid}/days/")
        tabs = page.locator(".my-tabs").bounding_box()["y"]
        state = page.locator("#phone-state")
        top = state.bounding_box()["y"] if state.is_visible() else tabs
        ends = lowest(page)
        assert max(ends.values()) <= top, ends
        assert page.locator("header").bounding_box()["height"] <= 48
        assert (page.locator(".now mark").count() > 0) == bool(moves)
        assert_accessible(page)
        assert_fits(page)


def test_the_focus_is_never_under_the_tabs_or_the_line_of_state(open_context):
    trip = issued_trip(sessions=2)
    person = trip.places.first().participant
    page = open_context(person=person, size=SMALLEST, timezone_id="Asia/Tokyo", reduced_motion="reduce").new_page()
    page.goto(f"/my/{person.uuid}/wishes/")
    page.locator("#phone-state").wait_for(state="visible")
    assert page.locator("#phone-state").bounding_box()["height"] <= 52
    for _ in range(25):
        page.keyboard.press("Tab")
        hidden = page.evaluate(
            """() => {
                const [one, bar] = [document.activeElement, document.getElementById("phone-state")];
                if (one.closest("#phone-state, .my-tabs, header") || one === document.body) return "";
                const [box, top] = [one.getBoundingClientRect(), bar.getBoundingClientRect().top];
                return box.bottom > top + 1 || box.top < 0 ? `${one.outerHTML.slice(0, 80)} ${box.bottom} ${top}` : "";
            }"""
        )
        assert not hidden
