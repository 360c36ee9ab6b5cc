"""Gear pages in a browser: verdicts while somebody types, and the head of a picture instead of all of it."""

import pytest
from django.urls import reverse

from participants.core.exif import HEAD_BYTES
from tests import factories
from tests.core.pictures import jpeg

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def person():
    return factories.planned_trip(people_count=1, hides=2).places.get().participant


def test_verdicts_follow_what_is_typed_and_nothing_is_saved(open_page, person):
    lens = person.lenses.get()
    where = {"person_uuid": person.uuid, "kind": "lens", "piece_uuid": lens.uuid}
    page = open_page(reverse("trips:piece-edit", kwargs=where), person=person)
    assert page.locator("#verdicts").get_by_text("cannot focus here", exact=True).count() == 0
    page.fill("#id_near_limit_m", "6.5")
    page.locator("#verdicts").get_by_text("cannot focus here", exact=True).first.wait_for()
    page.fill("#id_near_limit_m", "2.500")
    page.get_by_text("Some numbers are missing or unclear").wait_for()
    lens.refresh_from_db()
    assert lens.near_limit_m == 4.2


def test_only_the_head_of_a_picture_leaves_the_browser(open_page, person, tmp_path):
    (tmp_path / "large.jpg").write_bytes(jpeg() + bytes(9_000_000))
    page = open_page(reverse("trips:gear-picture", kwargs={"person_uuid": person.uuid}), person=person)
    page.set_input_files("input[type=file]", tmp_path / "large.jpg")
    assert page.evaluate("document.querySelector('input[type=file]').files[0].size") == HEAD_BYTES
    page.get_by_role("button", name="Read it").click()
    page.get_by_text("both agree").wait_for()
    page.fill("#id_lens-near_limit_m", "5.2")
    page.get_by_role("button", name="Add it to your gear").click()
    page.get_by_text("In the list: Body 45, 600 mm f/4.").wait_for()
    assert person.lenses.filter(near_limit_m=5.2).count() == 1
