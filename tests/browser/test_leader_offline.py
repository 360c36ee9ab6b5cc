"""A leader in a dead valley: the day, who is out and the emergency page open without a network, and ticks arrive."""

import re
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import expect

from tests.browser.conftest import PHONE, assert_accessible, assert_fits
from tests.trips.issued_trips import issued_trip
from trips.models import Happening, Session, Turn

pytestmark = pytest.mark.django_db(transaction=True)


def running_trip():
    """An issued trip whose first session began an hour ago."""
    trip = issued_trip()
    shift = timezone.now() - timedelta(hours=1) - trip.sessions.first().starts_at
    for session in Session.objects.filter(trip=trip):
        session.starts_at, session.ends_at = session.starts_at + shift, session.ends_at + shift
        session.save()
    return trip


def test_the_day_opens_without_a_network_and_a_closure_is_told_as_taken(open_context, transactional_db):
    trip = running_trip()
    session = trip.sessions.first()
    turn = Turn.objects.filter(session=session).select_related("hide", "place__participant").first()
    context = open_context(user=trip.leader, size=PHONE)
    page = context.new_page()
    page.goto(reverse("trips:out-show", args=[trip.uuid, session.uuid]))
    expect(page.locator("html")).to_have_attribute("data-pack", re.compile(r"\w+"), timeout=60000)
    context.set_offline(True)
    page.goto(reverse("trips:emergency-show", args=[trip.uuid, turn.hide.uuid]))
    expect(page.get_by_role("heading", name="Say this")).to_be_visible()
    expect(page.get_by_text(turn.place.participant.name).first).to_be_visible()
    assert_accessible(page), assert_fits(page)
    page.goto(reverse("trips:board-show", args=[trip.uuid]))
    expect(page.get_by_role("heading", name="Cars and hides")).to_be_visible()
    assert_accessible(page), assert_fits(page)
    page.goto(reverse("trips:out-show", args=[trip.uuid, session.uuid]))
    section = page.locator(f"#hide-{turn.hide.uuid}")
    section.get_by_role("button", name="Hide closed now").click()
    expect(section.get_by_text("waits for a network")).to_be_visible()
    assert not Happening.objects.exists()
    context.set_offline(False)
    taken = page.locator(".alert-success")
    expect(taken).to_contain_text(f"{turn.hide.name} hide closed now at", timeout=30000)
    assert Happening.objects.get().kind == "hide_closed"
