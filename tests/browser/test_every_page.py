"""Every page that can be reached by links from the first one, by a leader and by a participant of the demo trip, in
both schemes, on a laptop and on a phone: accessible, no wider than its window, thumb-sized. The participant reads
German, whose words are longer than the English ones."""

from collections import deque
from urllib.parse import urlsplit

import pytest
from django.urls import Resolver404, resolve
from django.utils import timezone
from playwright.sync_api import Page

from participants.models import Participant
from tests.browser.conftest import PHONE, WIDE, assert_accessible, assert_fits, assert_thumb_sized
from tests.browser.leader_checks import show
from tests.trips.rota_trips import planned
from trips.models import Trip
from trips.services.demo import demo_load
from trips.services.rota import rota_issue

LOOKS = [(WIDE, "light"), (PHONE, "dark")]
NOT_PAGES = ("admin", ".csv", ".json", ".pdf", ".ics", ".zip", "/static/")


def issued_demo() -> Trip:
    """The demo trip with a rota that is issued."""
    trip = demo_load().trip
    rota_issue(rota=planned(trip), by=trip.leader, now=timezone.now())
    return trip


def links_of(page: Page) -> list[str]:
    """The paths of this site that the page links to."""
    found = page.eval_on_selector_all("a[href]", "all => all.filter(one => !one.download).map(one => one.href)")
    own = urlsplit(page.url).netloc
    return [urlsplit(link).path for link in found if urlsplit(link).netloc == own]


def view_name(path: str) -> str | None:
    """The name of the page at a path; None for what is no page."""
    if any(part in path for part in NOT_PAGES):
        return None
    try:
        return resolve(path).view_name
    except Resolver404:
        return None


def walk(page: Page, first: str) -> tuple[set[str], list[str]]:
    """Every page that links lead to, once: their names, and what is wrong on any in any look."""
    waiting, seen, troubles = deque([first]), set(), []
    while waiting:
        path = waiting.popleft()
        name = view_name(path)
        if name is None or name in seen:
            continue
        seen.add(name)
        show(page, *LOOKS[0])
        answer = page.goto(path)
        if answer is None or "text/html" not in answer.headers.get("content-type", ""):
            continue
        troubles += [f"{name} {path}: answered {answer.status}"] if answer.status >= 400 else checked(page, name)
        waiting.extend(links_of(page))
    return seen, troubles


def checked(page: Page, name: str) -> list[str]:
    """What is wrong with the page in each look; it is loaded once and shown anew."""
    found = []
    for size, colours in LOOKS:
        show(page, size, colours)
        for check in (assert_accessible, assert_fits, assert_thumb_sized):
            try:
                check(page)
            except AssertionError as trouble:
                found.append(f"{name}, {size[0]} px, {colours}: {trouble}")
    return found


@pytest.mark.timeout(1200)  # many pages in two looks each; a busy machine is slow
def test_every_page_that_links_lead_a_leader_to_is_accessible_and_fits(open_context) -> None:
    trip = issued_demo()
    seen, troubles = walk(open_context(user=trip.leader).new_page(), "/trips/")
    assert not troubles, "\n\n".join(troubles)
    wanted = ("trip-show", "person-list", "session-list", "rota-show", "trip-light")
    assert {f"trips:{page}" for page in wanted} <= seen


@pytest.mark.timeout(1200)
def test_every_page_that_links_lead_a_participant_to_is_accessible_and_fits(open_context) -> None:
    issued_demo()
    person = Participant.objects.order_by("name").first()
    Participant.objects.filter(pk=person.pk).update(language="de")
    seen, troubles = walk(open_context(person=person).new_page(), f"/my/{person.uuid}/days/")
    assert not troubles, "\n\n".join(troubles)
    assert {"trips:my-days", "trips:gear-show"} <= seen
