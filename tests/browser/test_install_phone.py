"""The pages on a phone's home screen: what Chromium asks of an app it installs, and where the app starts."""

import pytest
from playwright.sync_api import expect

from tests.browser.participant_phone import come_in, wait_for_pack
from tests.trips.issued_trips import issued_trip

pytestmark = pytest.mark.django_db(transaction=True)


def test_chromium_may_install_the_pages_and_they_start_without_a_network(phone):
    trip = issued_trip(people=1, hides=1, sessions=1)
    page = come_in(phone, trip.places.first().participant)
    wait_for_pack(page)
    page.reload()
    assert page.evaluate("Boolean(navigator.serviceWorker.controller)")
    browser = phone.new_cdp_session(page)
    found = browser.send("Page.getAppManifest")
    assert found["errors"] == []
    assert found["url"].endswith("/manifest.webmanifest")
    faults = {one["errorId"] for one in browser.send("Page.getInstallabilityErrors")["installabilityErrors"]}
    assert faults <= {"in-incognito"}  # the test's own browser
    for size in (180, 192, 512):
        drawn = page.evaluate(
            """async (size) => {
                const image = new Image();
                image.src = `/static/fairhide/icon-${size}.png`;
                await image.decode();
                return [image.naturalWidth, image.naturalHeight];
            }""",
            size,
        )
        assert drawn == [size, size]
    phone.set_offline(True)
    page.goto("/")
    expect(page.locator("main")).to_contain_text("Rota 1, sent")
