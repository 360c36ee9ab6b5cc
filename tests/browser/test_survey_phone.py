"""Measuring a hide with a phone: place and compass on a press, without a network, without script."""

import re

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from participants.models import Submission
from tests import factories
from tests.browser.conftest import PHONE, WIDE, assert_accessible, assert_fits, assert_thumb_sized
from tests.browser.page_waiting import page_until
from tests.browser.participant_phone import waiting_forms
from trips.models import View

pytestmark = pytest.mark.django_db(transaction=True)
HERE = {"latitude": 39.5123456, "longitude": -6.2012345, "accuracy": 4}
GRANTED = {"permissions": ["geolocation"], "geolocation": HERE}
# Headings that go around north: their mean is 350, no plain average of the numbers.
COMPASS = """headings => headings.forEach((heading, place) => setTimeout(() => window.dispatchEvent(
    new DeviceOrientationEvent("deviceorientationabsolute",
        {alpha: (360 - heading) % 360, beta: 4, gamma: -3, absolute: true})), 150 * (place + 1)))"""


@pytest.fixture
def site():
    return factories.trip(sites=[factories.site(latitude_deg=40.0, longitude_deg=-105.0)]).sites.get()


@pytest.fixture
def hide(site):
    return factories.hide(site=site, name="Alder", latitude_deg=40.0, longitude_deg=-105.0)


@pytest.fixture
def own_hide():
    """A hide where the phone of the tests stands."""
    return factories.hide(site=factories.trip().sites.get(), name="Broom")


def survey(hide) -> str:
    return reverse("trips:hide-survey", kwargs={"hide_uuid": hide.uuid})


def box(page: Page, view: View, name: str):
    return page.locator(f"#id_view{view.pk}-{name}")


def test_the_place_is_taken_on_a_press_with_its_accuracy(open_page, own_hide):
    page = open_page(survey(own_hide), user=own_hide.site.leader, size=PHONE, **GRANTED)
    page.get_by_role("button", name="Take the position here").first.click()
    expect(page.get_by_text("Taken, ± 4 m.")).to_be_visible()
    expect(page.locator(f"#id_hide{own_hide.pk}-position")).to_have_value("39.5123456, -6.2012345")
    page.get_by_role("button", name="Save the position of Broom").click()
    expect(page.get_by_text(re.compile(r"^Saved at \d\d:\d\d\.$"))).to_be_visible()
    own_hide.refresh_from_db()
    assert (own_hide.latitude_deg, own_hide.longitude_deg) == (39.5123456, -6.2012345)


def test_the_bearing_is_taken_from_the_compass_and_both_norths_are_shown(open_page, hide):
    view = hide.views.get()
    page = open_page(survey(hide), user=hide.site.leader, size=PHONE)
    page.get_by_role("button", name="Take the bearing of view 1, Alder").click()
    expect(page.get_by_text("Hold the phone flat, its upper edge towards the subject")).to_be_visible()
    page.evaluate(COMPASS, [340, 350, 0])
    told = page.get_by_text(re.compile(r"Compass 350\.0°, true 35[78]\.\d° \(declination [78]\.\d° east\)"))
    expect(told).to_be_visible()
    expect(page.get_by_text("The needle moved by ± 10°.")).to_be_visible()
    expect(box(page, view, "bearing_deg")).to_have_value("350.0")
    expect(box(page, view, "bearing_is")).to_have_value("magnetic")
    box(page, view, "near_m").fill("7.5")
    box(page, view, "far_m").fill("9")
    page.get_by_role("button", name="Save this view (view 1 of Alder)").click()
    expect(page.get_by_text(re.compile(r"^Saved at"))).to_be_visible()
    view.refresh_from_db()
    assert view.bearing_deg == pytest.approx(357.5, abs=0.7)
    assert (view.near_m, view.far_m) == (7.5, 9)


def test_a_typed_bearing_shows_both_norths_too(open_page, hide):
    page = open_page(survey(hide), user=hide.site.leader, size=PHONE)
    box(page, hide.views.get(), "bearing_deg").fill("100")
    expect(page.get_by_text(re.compile(r"Compass 9[12]\.\d°, true 100\.0°"))).to_be_visible()


def test_a_refused_place_and_a_missing_compass_are_explained(open_page, hide):
    page = open_page(survey(hide), user=hide.site.leader, size=PHONE)
    page.get_by_role("button", name="Take the position here").first.click()
    expect(page.get_by_text("This browser may not tell its place")).to_be_visible()
    page.get_by_role("button", name="Take the bearing of view 1, Alder").click()
    expect(page.get_by_text("This device gives no compass.")).to_be_visible(timeout=8000)


def test_a_form_that_a_busy_server_does_not_take_waits_and_is_sent_again(open_context, hide):
    # The route below would not see what the leader's service worker asks for.
    context = open_context(user=hide.site.leader, size=PHONE, service_workers="block")
    view, page = hide.views.get(), context.new_page()
    page.goto(survey(hide))
    page.route("**/contact.json", lambda route: route.fulfill(status=429))  # 503 counts as a break in these tests
    box(page, view, "bearing_deg").fill("111")
    page.get_by_role("button", name="Save this view (view 1 of Alder)").click()
    expect(page.get_by_text("Waits for a network: Alder, view 1.")).to_be_visible()
    page.unroute("**/contact.json")
    page.get_by_role("button", name="Try now").click()
    expect(page.get_by_text(re.compile(r"^Saved at"))).to_be_visible()
    view.refresh_from_db()
    assert view.bearing_deg == 111


def test_without_a_network_each_hide_waits_and_is_sent_once(open_context, site, hide):
    other = factories.hide(site=site, name="Broom", latitude_deg=40.0, longitude_deg=-105.0)
    first, second = hide.views.get(), other.views.get()
    context = open_context(user=site.leader, size=PHONE)
    page = context.new_page()
    page.goto(survey(hide))
    context.set_offline(True)
    box(page, first, "bearing_deg").fill("111")
    page.get_by_role("button", name="Save this view (view 1 of Alder)").click()
    expect(page.get_by_text("Waits for a network: Alder, view 1.")).to_be_visible()
    page.locator("summary", has_text="Broom").first.click()
    box(page, second, "bearing_deg").fill("99")
    page.get_by_role("button", name="Save this view (view 1 of Broom)").click()
    expect(page.get_by_text("Alder, view 1, Broom, view 1.")).to_be_visible()
    box(page, second, "bearing_deg").fill("222")  # put right before it is sent
    page.get_by_role("button", name="Save this view (view 1 of Broom)").click()
    expect(page.get_by_text("Kept on this device; sent when there is a network.")).to_have_count(2)
    first.refresh_from_db()
    assert first.bearing_deg == 250
    context.set_offline(False)
    expect(page.locator("#queue-state")).to_be_hidden(timeout=20000)
    expect(page.get_by_text(re.compile(r"^Saved at"))).to_have_count(2)
    first.refresh_from_db(), second.refresh_from_db()
    assert (first.bearing_deg, second.bearing_deg) == (111, 222)
    assert Submission.objects.filter(participant=None, kind="hide-survey").count() == 2
    box(page, first, "bearing_deg").fill("112")  # goes on from what the server now has
    page.get_by_role("button", name="Save this view (view 1 of Alder)").click()
    # "Saved at" of the first sending still stands there: wait for the third form to be taken.
    taken = Submission.objects.filter(participant=None, kind="hide-survey")
    page_until(page, lambda: taken.count() == 3, what="the third form is taken")
    first.refresh_from_db()
    assert first.bearing_deg == 112


def test_what_waits_is_still_there_on_the_next_visit(open_context, site, hide):
    view = hide.views.get()
    context = open_context(user=site.leader, size=PHONE)
    page = context.new_page()
    page.goto(survey(hide))
    context.set_offline(True)
    box(page, view, "bearing_deg").fill("111")
    page.get_by_role("button", name="Save this view (view 1 of Alder)").click()
    expect(page.get_by_text("Waits for a network")).to_be_visible()
    page.close()
    context.set_offline(False)
    again = context.new_page()
    again.goto(survey(hide))
    expect(again.get_by_text(re.compile(r"^Saved at"))).to_be_visible(timeout=20000)
    view.refresh_from_db()
    assert view.bearing_deg == 111


def test_what_the_server_refuses_is_explained_and_can_be_put_right(open_page, hide):
    view = hide.views.get()
    page = open_page(survey(hide), user=hide.site.leader, size=PHONE)
    box(page, view, "bearing_deg").fill("370")
    page.get_by_role("button", name="Save this view (view 1 of Alder)").click()
    expect(page.locator("#queue-state")).to_contain_text("Not taken: Bearing (°)")
    box(page, view, "bearing_deg").fill("37")
    page.get_by_role("button", name="Save this view (view 1 of Alder)").click()
    expect(page.locator("#queue-state")).to_be_hidden()
    view.refresh_from_db()
    assert view.bearing_deg == 37


def test_somebody_else_on_the_same_device_does_not_send_what_waits(open_context, site, hide):
    view = hide.views.get()
    context = open_context(user=site.leader, size=PHONE)
    page = context.new_page()
    page.goto(survey(hide))
    context.set_offline(True)
    box(page, view, "bearing_deg").fill("111")
    page.get_by_role("button", name="Save this view (view 1 of Alder)").click()
    expect(page.get_by_text("Waits for a network")).to_be_visible()
    page.evaluate(
        """async () => {
            const { formStore } = await import("/static/participants/form_store.js");
            const store = formStore("fairhide");
            const [entry] = await store.all();
            await store.put({...entry, person: "leader-0"});
        }"""
    )
    context.set_offline(False)
    page.reload()
    box(page, view, "bearing_deg").fill("99")
    page.get_by_role("button", name="Save this view (view 1 of Alder)").click()
    expect(page.get_by_text(re.compile(r"^Saved at"))).to_be_visible()  # older forms of one's own are sent before it
    view.refresh_from_db()
    assert view.bearing_deg == 99
    assert Submission.objects.filter(kind="hide-survey").count() == 1
    assert [form["person"] for form in waiting_forms(page)] == ["leader-0"]


def test_without_script_it_is_a_plain_form(open_page, hide):
    view = hide.views.get()
    page = open_page(survey(hide), user=hide.site.leader, size=PHONE, java_script_enabled=False)
    expect(page.get_by_role("button", name="Take the bearing of view 1, Alder")).to_be_hidden()
    box(page, view, "bearing_deg").fill("111")
    page.get_by_role("button", name="Save this view (view 1 of Alder)").click()
    expect(page.get_by_text("Measured and saved.")).to_be_visible()
    view.refresh_from_db()
    assert view.bearing_deg == 111


@pytest.mark.parametrize(("size", "scheme"), [(WIDE, "light"), (PHONE, "dark")])
def test_the_page_is_accessible_and_fits(open_page, hide, size, scheme):
    page = open_page(survey(hide), user=hide.site.leader, size=size, color_scheme=scheme)
    assert_accessible(page)
    assert_fits(page)
    assert_thumb_sized(page)
