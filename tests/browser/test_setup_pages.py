"""Setting a trip up in a browser: the plot of the scoring follows what is typed, ticks work without a network."""

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from tests import factories
from tests.browser.conftest import PHONE
from tests.browser.page_waiting import page_until
from tests.trips.issued_trips import issued_trip
from trips.models import Notice

pytestmark = pytest.mark.django_db(transaction=True)


def test_the_plot_follows_the_marks_while_they_are_typed_and_nothing_is_saved(open_page):
    trip = factories.trip()
    page = open_page(reverse("trips:scoring-edit", kwargs={"trip_uuid": trip.uuid}), user=trip.leader)
    curve = page.locator("#scoring-plot svg path").first
    before = page.locator("#scoring-plot svg").inner_html()
    expect(curve).to_be_attached()
    page.get_by_label("Factor 7").fill("0.1")
    page.wait_for_function("before => document.querySelector('#scoring-plot svg').innerHTML !== before", arg=before)
    page.get_by_label("Factor 7").fill("7")
    expect(page.get_by_text("1 box cannot be used as typed")).to_be_visible()
    trip.rules.refresh_from_db()
    assert trip.rules.height_scoring[6] == [20, 0.8]
    page.get_by_role("button", name="Save the scoring").click()
    expect(page.get_by_role("alert")).to_contain_text("This is from 0 to 1.")
    expect(page.get_by_label("Factor 7")).to_have_value("7")


def test_a_told_tick_waits_for_a_network(open_context):
    trip = issued_trip(people=2, hides=1, sessions=1)
    notice = Notice.objects.order_by("place__participant__name").first()
    name = notice.place.participant.name
    context = open_context(user=trip.leader, size=PHONE)
    page = context.new_page()
    page.goto(reverse("trips:told-list", kwargs={"trip_uuid": trip.uuid}))
    context.set_offline(True)
    page.get_by_role("button", name=f"Told ({name})").click()
    expect(page.get_by_text("Waits for a network")).to_be_visible()
    context.set_offline(False)
    expect(page.get_by_role("button", name=f"Not told after all ({name})")).to_be_visible(timeout=20000)
    notice.refresh_from_db()
    assert notice.told_at is not None
    page.get_by_role("button", name=f"Confirmed ({name})").click()
    expect(page.get_by_role("button", name=f"Not confirmed after all ({name})")).to_be_visible()
    expect(page.locator("#queue-state")).to_be_hidden()


def test_a_leader_is_asked_before_forms_that_wait_are_lost(open_context):
    trip = issued_trip(people=2, hides=1, sessions=1)
    context = open_context(user=trip.leader, size=PHONE)
    page = context.new_page()
    page.goto(reverse("trips:told-list", kwargs={"trip_uuid": trip.uuid}))
    context.set_offline(True)
    page.get_by_role("button", name="Told (").first.click()
    expect(page.get_by_text("Waits for a network")).to_be_visible()
    asked = []
    page.on("dialog", lambda dialog: (asked.append(dialog.message), dialog.dismiss()))
    page.get_by_role("button", name="Sign out").click()
    page_until(page, lambda: asked, what="a question")
    assert asked == ["A form has not been sent and will be lost. Sign out?"]
    expect(page.get_by_text("Waits for a network")).to_be_visible()


def test_subjects_and_seats_are_set_by_a_thumb_alone(open_page):
    trip = factories.trip()
    hide = factories.hide(site=trip.sites.get(), name="Alder")
    factories.subject(leader=trip.leader, name="Owl")
    page = open_page(
        reverse("trips:hide-subjects", kwargs={"hide_uuid": hide.uuid}),
        user=trip.leader,
        size=PHONE,
        java_script_enabled=False,
    )
    page.get_by_label("Owl").check()
    page.locator("summary", has_text="A subject that is not listed").click()
    page.get_by_role("combobox", name="Name*", exact=True).fill("Hoopoe")
    page.get_by_label("Length from (cm)").fill("27")
    page.get_by_role("button", name="Save the subjects").click()
    page.get_by_label("Early, Hoopoe").select_option(label="often")
    page.get_by_label("Months, Hoopoe").fill("Apr-Aug")
    page.get_by_role("button", name="Save the subjects").click()
    expect(page.get_by_label("Months, Hoopoe")).to_have_value("4-8")
    row = hide.hide_subjects.get(subject__name="Hoopoe")
    assert (row.early, row.months, hide.hide_subjects.count()) == ("often", [4, 5, 6, 7, 8], 2)
    page.goto(reverse("trips:seat-table", kwargs={"trip_uuid": trip.uuid}))
    page.get_by_label("Name, new seat, Alder").fill("middle")
    page.get_by_role("button", name="Save the seats").click()
    expect(page.get_by_label("Name, middle, Alder")).to_have_value("middle")
    assert hide.seats.count() == 3
