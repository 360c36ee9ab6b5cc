"""Forms of gear that waited on a phone: taken once, or told what is wrong."""

import uuid

import pytest

from participants.models import Submission
from tests import factories
from tests.trips.gear_forms import BODY, LENS, text, url

pytestmark = pytest.mark.django_db


@pytest.fixture
def trip():
    return factories.planned_trip(people_count=1, hides=1)


def from_the_queue(browser, address, data, client_uuid=None):
    """What a phone sends that kept a form for the time without a network."""
    sent = data | {"client_uuid": str(client_uuid or uuid.uuid4())}
    return browser.post(address, sent, headers={"X-Queued": "1"}).json()


def test_a_new_piece_that_waited_is_taken_once(browser, person):
    key = uuid.uuid4()
    for _ in range(2):
        said = from_the_queue(browser, url("piece-new", person, kind="lens"), LENS | {"weight_g": "3200"}, key)
        assert said == {"taken": True, "next": url("gear-show", person)}
    assert person.lenses.filter(weight_g=3200).count() == 1
    assert Submission.objects.get().participant == person


def test_a_piece_that_waited_and_is_wrong_says_what_by_its_field(browser, person):
    said = from_the_queue(browser, url("piece-new", person, kind="lens"), LENS | {"focal_max_mm": "200"})
    assert said["taken"] is False
    assert "not shorter than its short end, 600 mm" in said["errors"][0]
    assert person.lenses.count() == 1
    assert not Submission.objects.exists()


def test_a_change_that_waited_is_not_taken_over_somebody_elses(browser, person):
    lens = person.lenses.get()
    address = url("piece-edit", person, kind="lens", piece_uuid=lens.uuid)
    sent, key = LENS | {"weight_g": "2999", "seen_version": lens.version}, uuid.uuid4()
    for _ in range(2):
        assert from_the_queue(browser, address, sent, key)["taken"] is True
    lens.refresh_from_db()
    assert (lens.weight_g, lens.version) == (2999, sent["seen_version"] + 1)
    said = from_the_queue(browser, address, sent | {"weight_g": "1"})
    assert said["taken"] is False
    assert "changed since you opened it" in said["errors"][0]
    lens.refresh_from_db()
    assert lens.weight_g == 2999


def test_a_removal_that_waited_is_taken_again_when_the_piece_is_gone(browser, person):
    lens = person.lenses.get()
    address = url("piece-remove", person, kind="lens", piece_uuid=lens.uuid)
    assert from_the_queue(browser, address, {"seen_version": lens.version + 1})["taken"] is False
    for _ in range(2):
        assert from_the_queue(browser, address, {"seen_version": lens.version})["taken"] is True
    assert not person.lenses.exists()


def test_body_and_lens_of_a_picture_that_waited_are_taken_once_or_say_what_is_wrong(browser, person):
    data = {f"body-{name}": value for name, value in (BODY | {"use": "on"}).items()}
    data |= {f"lens-{name}": value for name, value in (LENS | {"aperture_wide": "0", "use": "on"}).items()}
    said = from_the_queue(browser, url("picture-save", person), data)
    assert said["taken"] is False
    assert "from 0.5 to 64" in said["errors"][0]
    assert person.bodies.count() == 1
    data["lens-aperture_wide"], key = "4", uuid.uuid4()
    for _ in range(2):
        assert from_the_queue(browser, url("picture-save", person), data, key)["taken"] is True
    assert (person.bodies.count(), person.lenses.count()) == (2, 2)


def test_a_new_piece_whose_answer_was_lost_and_that_was_changed_meanwhile_is_still_one(browser, person):
    row = {"row_uuid": str(uuid.uuid4())}
    for weight_g in ("3200", "3300"):
        assert from_the_queue(browser, url("piece-new", person, kind="lens"), LENS | row | {"weight_g": weight_g})[
            "taken"
        ]
    lens = person.lenses.get(uuid=row["row_uuid"])
    assert (lens.weight_g, lens.version, person.lenses.count()) == (3300, 2, 2)
    said = from_the_queue(browser, url("piece-new", person, kind="lens"), LENS | row | {"weight_g": "1"})
    assert said["taken"] is False
    assert "taken before and changed in your list since" in said["errors"][0]
    lens.refresh_from_db()
    assert lens.weight_g == 3300


def test_body_and_lens_of_a_picture_that_were_changed_before_they_arrived_again_are_still_two(browser, person):
    data = {f"body-{name}": value for name, value in (BODY | {"use": "on"}).items()}
    data |= {f"lens-{name}": value for name, value in (LENS | {"use": "on"}).items()}
    data["row_uuid"] = str(uuid.uuid4())
    for weight_g in ("3200", "3300"):
        assert from_the_queue(browser, url("picture-save", person), data | {"lens-weight_g": weight_g})["taken"] is True
    assert (person.bodies.count(), person.lenses.count()) == (2, 2)
    assert person.lenses.filter(weight_g=3300).exists()
    said = from_the_queue(browser, url("picture-save", person), data)
    assert "taken before and changed in your list since" in said["errors"][0]


def test_a_piece_named_like_somebody_elses_touches_nothing_of_theirs(browser, person):
    other = factories.lens(name="theirs")
    sent = LENS | {"row_uuid": str(other.uuid), "weight_g": "3200"}
    assert from_the_queue(browser, url("piece-new", person, kind="lens"), sent)["taken"] is True
    other.refresh_from_db()
    assert (other.name, other.version) == ("theirs", 1)
    assert person.lenses.filter(weight_g=3200).exclude(uuid=other.uuid).count() == 1


def test_what_is_wrong_comes_with_its_page_where_somebody_waits_for_the_answer(browser, person):
    sent = LENS | {"focal_max_mm": "200", "client_uuid": str(uuid.uuid4())}
    said = browser.post(url("piece-new", person, kind="lens"), sent, headers={"X-Queued": "now"}).json()
    assert "not shorter than its short end" in said["page"]
    assert 'value="200"' in said["page"]
    assert "page" not in from_the_queue(browser, url("piece-new", person, kind="lens"), sent)


def test_a_message_comes_with_the_next_page_where_somebody_waited_for_the_answer(browser, person):
    sent = LENS | {"client_uuid": str(uuid.uuid4())}
    browser.post(url("piece-new", person, kind="lens"), sent, headers={"X-Queued": "now"})
    assert "600 mm f/4 is in the list." in text(browser.get(url("gear-show", person)))
    from_the_queue(browser, url("piece-new", person, kind="lens"), LENS | {"name": "second"})
    assert "second is in the list" not in text(browser.get(url("gear-show", person)))


def test_the_pack_of_a_phone_names_every_form_of_the_gear_and_its_state(browser, person):
    def pack():
        return browser.get(url("my-pack", person)).json()

    lens, before = person.lenses.get(), pack()
    for name in ("piece-edit", "piece-remove"):
        assert url(name, person, kind="lens", piece_uuid=lens.uuid) in before["paths"]
    assert url("piece-new", person, kind="battery") in before["paths"]
    assert pack()["gear"] == before["gear"]
    browser.post(url("piece-new", person, kind="tube"), {"length_mm": "25"})
    assert pack()["gear"] != before["gear"]
    assert pack()["edition"] == before["edition"]
