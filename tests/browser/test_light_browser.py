"""The light's pages in a browser: the drawing follows what is typed, the day is changed in place."""

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from tests import factories
from tests.browser.conftest import PHONE, WIDE, assert_accessible, assert_fits

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def trip():
    trip = factories.trip()
    hide = factories.hide(site=trip.sites.get(), name="Alder", roof_height_m=0.5)
    hide.views.update(horizon=[[60, 4], [85, 12], [280, 9]])
    factories.hide_subject(hide=hide, months=[4, 5, 6])
    for _ in range(2):
        factories.session(trip=trip)
    return trip


@pytest.fixture
def hide(trip):
    return trip.sites.get().hides.get()


def test_the_drawing_turns_while_a_bearing_is_typed_and_nothing_is_saved(open_page, trip, hide):
    page = open_page(reverse("trips:hide-edit", kwargs={"hide_uuid": hide.uuid}), user=trip.leader)
    drawing = page.locator("#drawings svg").first
    expect(drawing.locator("text", has_text="250°")).to_have_count(1)
    page.fill("#id_view-0-bearing_deg", "100")
    page.locator("#id_view-0-bearing_deg").blur()
    expect(page.locator("#drawings svg").first.locator("text", has_text="100°")).to_have_count(1)
    assert hide.views.get().bearing_deg == 250


def test_another_day_is_shown_in_place_and_stands_in_the_address(open_page, trip, hide):
    page = open_page(reverse("trips:hide-light", kwargs={"hide_uuid": hide.uuid}), user=trip.leader)
    page.get_by_text("Saturday 8 May 2027").wait_for()
    page.fill("#id_day", "2027-12-21")
    page.locator("#id_day").blur()
    page.get_by_text("Tuesday 21 December 2027").wait_for()
    page.wait_for_url("**day=2027-12-21**")
    page.reload()
    page.get_by_text("Tuesday 21 December 2027").wait_for()


@pytest.mark.parametrize(("size", "scheme"), [(WIDE, "light"), (PHONE, "dark")])
@pytest.mark.parametrize("name", ["hide-edit", "hide-light", "trip-light", "trip-hides", "site-new"])
def test_pages_are_accessible_and_fit(open_page, trip, hide, name, size, scheme):
    keys = {"hide": {"hide_uuid": hide.uuid}, "trip": {"trip_uuid": trip.uuid}, "site": {}}[name.split("-")[0]]
    page = open_page(reverse(f"trips:{name}", kwargs=keys), user=trip.leader, size=size, color_scheme=scheme)
    assert_accessible(page)
    assert_fits(page)


def test_pages_work_without_script(open_page, trip, hide):
    page = open_page(
        reverse("trips:hide-edit", kwargs={"hide_uuid": hide.uuid}), user=trip.leader, java_script_enabled=False
    )
    page.fill("#id_view-0-bearing_deg", "100")
    page.get_by_role("button", name="Draw what is typed").click()
    expect(page.locator("#drawings svg").first.locator("text", has_text="100°")).to_have_count(1)
