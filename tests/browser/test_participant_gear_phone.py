"""A participant's forms where the network comes and goes: gear that waits, what changed meanwhile, what cannot wait."""

import pytest
from playwright.sync_api import Page, expect

from participants.models import Submission
from participants.versions import row_save
from tests.browser.conftest import assert_accessible, assert_fits
from tests.browser.participant_phone import (
    come_in,
    kept_text,
    offline_at,
    own,
    reconnect,
    state,
    wait_for_pack,
    waiting_forms,
)
from tests.core.pictures import jpeg
from tests.trips.issued_trips import issue, issued_trip, seated_rota

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def trip(transactional_db):
    return issued_trip(people=4, hides=3, sessions=2)


def fill_lens(page: Page, person, **numbers: str) -> None:
    """Add a lens from the list of gear."""
    page.goto(own("kit/", person))
    page.get_by_role("link", name="Add a lens").click()
    for name, typed in {"focal_min_mm": "400", "aperture_wide": "2.8", "near_limit_m": "2.5", **numbers}.items():
        page.fill(f"#id_{name}", typed)
    page.get_by_role("button", name="Save").click()


def change_weight(page: Page, person) -> None:
    """Change the lens in the list of gear."""
    page.goto(own("kit/", person))
    page.get_by_role("link", name="600 mm f/4").click()
    page.fill("#id_weight_g", "2950")
    page.get_by_role("button", name="Save").click()
    page.wait_for_url("**/kit/")


def test_lenses_filled_in_offline_wait_in_the_list_and_arrive_once_each(phone, trip):
    person = trip.places.first().participant
    page = come_in(phone, person)
    wait_for_pack(page)
    phone.set_offline(True)
    fill_lens(page, person)
    page.wait_for_url("**/kit/")
    fill_lens(page, person, focal_min_mm="300")
    page.wait_for_url("**/kit/")
    look = page.locator("[data-queue-list=new-lens]").evaluate("(list) => getComputedStyle(list).listStyleType")
    assert look == "none"  # the style sheet of the gear came along, though the days do not load it
    waiting = page.locator("[data-queue-list=new-lens] [data-waits]")
    expect(waiting).to_have_count(2)
    expect(waiting.first).to_contain_text("Lens, 400 mm f/2.8 waits for a network")
    expect(state(page)).to_contain_text("Waits for a network: Lens, 400 mm f/2.8, Lens, 300 mm f/2.8.")
    assert_accessible(page)
    assert_fits(page)
    waiting.last.get_by_role("link").click()  # what waits can be changed, and is still one
    expect(page.locator("#id_focal_min_mm")).to_have_value("300")
    page.fill("#id_focal_min_mm", "500")
    page.get_by_role("button", name="Save").click()
    page.wait_for_url("**/kit/")
    expect(waiting).to_have_count(2)
    assert person.lenses.count() == 1
    reconnect(phone, page)
    expect(state(page)).to_contain_text("Sent: Lens, 400 mm f/2.8, Lens, 500 mm f/2.8.")
    assert sorted(person.lenses.values_list("focal_min_mm", flat=True)) == [400, 500, 600]
    assert Submission.objects.count() == 2
    state(page).get_by_role("button", name="Show the list anew").click()
    page.wait_for_load_state("networkidle")
    expect(waiting).to_have_count(0)
    expect(page.get_by_role("link", name="500 mm f/2.8")).to_be_visible()
    assert person.lenses.count() == 3


def test_a_lens_changed_meanwhile_is_told_and_what_was_typed_stays(phone, trip):
    person = trip.places.first().participant
    lens = person.lenses.get()
    page = come_in(phone, person)
    wait_for_pack(page)
    phone.set_offline(True)
    page.goto(own("kit/", person))
    page.get_by_role("link", name=lens.name).click()
    page.fill("#id_weight_g", "2950")
    page.get_by_role("button", name="Save").click()
    page.wait_for_url("**/kit/")
    expect(page.locator("[data-queue-item]").filter(has_text=lens.name)).to_contain_text("waits for a network")
    row_save(row=person.lenses.get())
    reconnect(phone, page)
    expect(state(page)).to_contain_text(f"Not taken: {lens.name}. This changed since you opened it.")
    state(page).get_by_role("link", name="Open and correct it").click()
    expect(page.locator("#id_weight_g")).to_have_value("2950")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_text(f"{lens.name} is saved.")).to_be_visible()
    assert person.lenses.get().weight_g == 2950
    expect(state(page)).to_be_hidden()


def test_a_lens_gone_meanwhile_can_be_added_again_as_it_was_typed(phone, trip):
    person = trip.places.first().participant
    page = come_in(phone, person)
    wait_for_pack(page)
    phone.set_offline(True)
    change_weight(page, person)
    person.lenses.all().delete()
    reconnect(phone, page)
    expect(state(page)).to_contain_text("What this was about is no longer there.")
    state(page).get_by_role("link", name="Add it as a new one").click()
    expect(page.locator("#id_weight_g")).to_have_value("2950")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_text("600 mm f/4 is in the list.")).to_be_visible()
    assert person.lenses.get().weight_g == 2950


def test_a_removal_waits_and_takes_the_place_of_a_change(phone, trip):
    person = trip.places.first().participant
    page = come_in(phone, person)
    wait_for_pack(page)
    phone.set_offline(True)
    change_weight(page, person)
    page.get_by_role("link", name="600 mm f/4").click()
    page.get_by_role("link", name="Take it off the list").click()
    page.get_by_role("button", name="Take it off").click()
    page.wait_for_url("**/kit/")
    expect(state(page)).to_contain_text("Waits for a network: Take 600 mm f/4 off the list.")
    reconnect(phone, page)
    expect(state(page)).to_contain_text("Sent: Take 600 mm f/4 off the list.")
    assert not person.lenses.exists()


def test_a_press_is_sent_once_however_often_it_is_pressed(phone, trip):
    person = trip.places.first().participant
    page = come_in(phone, person)
    page.goto(own("kit/add/lens/", person))
    for name, typed in {"focal_min_mm": "400", "aperture_wide": "2.8"}.items():
        page.fill(f"#id_{name}", typed)
    page.get_by_role("button", name="Save").evaluate("(button) => { button.click(); button.click(); button.click(); }")
    expect(page.get_by_text("400 mm f/2.8 is in the list.")).to_be_visible()
    assert person.lenses.filter(focal_min_mm=400).count() == 1
    page.goto(own("kit/add/lens/", person))
    page.fill("#id_focal_min_mm", "400")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("alert")).to_contain_text("This field is required.")  # the page comes back, filled
    expect(page.locator("#id_focal_min_mm")).to_have_value("400")
    page.wait_for_load_state("load")  # the alert is there before the scripts have run
    assert waiting_forms(page) == []


def test_an_answer_that_is_lost_on_the_way_sends_nothing_twice(phone, trip):
    person = trip.places.first().participant
    page = come_in(phone, person)
    wait_for_pack(page)
    page.goto(own("kit/add/lens/", person))
    page.wait_for_load_state("networkidle")

    def lose_the_answer(route):
        if route.request.method == "POST":
            route.fetch()
            route.abort()
        else:
            route.continue_()

    page.route("**/kit/add/lens/", lose_the_answer)
    page.fill("#id_focal_min_mm", "400")
    page.fill("#id_aperture_wide", "2.8")
    page.get_by_role("button", name="Save").click()
    page.wait_for_url("**/kit/")
    expect(state(page)).to_contain_text("Lens, 400 mm f/2.8")
    page.unroute("**/kit/add/lens/")
    page.reload()
    page.wait_for_load_state("networkidle")
    assert person.lenses.filter(focal_min_mm=400).count() == 1


def test_what_cannot_wait_says_so_and_loses_nothing(phone, trip, tmp_path):
    person = trip.places.first().participant
    page = come_in(phone, person)
    wait_for_pack(page)
    page.goto(own("health/", person))
    page.fill("textarea", "Asthma; carries a spray.")
    phone.set_offline(True)
    page.get_by_role("button", name="Save the note").click()
    expect(state(page)).to_contain_text("No network: nothing was sent. A health note is never kept on the phone")
    expect(page.locator("textarea")).to_have_value("Asthma; carries a spray.")
    assert "Asthma" not in kept_text(page)
    assert waiting_forms(page) == []
    page.goto(own("kit/picture/", person))
    expect(page.get_by_text("A picture is read with a network only")).to_be_visible()
    (tmp_path / "one.jpg").write_bytes(jpeg())
    page.set_input_files("input[type=file]", tmp_path / "one.jpg")
    page.get_by_role("button", name="Read it").click()
    expect(state(page)).to_contain_text("Pictures are read with a network only; the one you chose stays chosen here.")
    assert page.evaluate("document.querySelector('input[type=file]').files.length") == 1
    reconnect(phone, page)
    expect(page.get_by_text("A picture is read with a network only")).to_be_hidden()
    page.get_by_role("button", name="Read it").click()
    expect(page.get_by_role("heading", name="What the picture says")).to_be_visible()
    phone.set_offline(True)
    page.fill("#id_lens-near_limit_m", "5.2")
    page.get_by_role("button", name="Add it to your gear").click()
    expect(state(page)).to_contain_text("Waits for a network: Body and lens from a picture.")
    reconnect(phone, page)
    expect(state(page)).to_contain_text("Sent: Body and lens from a picture")
    assert person.lenses.filter(near_limit_m=5.2).count() == 1


def test_nothing_typed_is_lost_when_a_new_rota_comes_meanwhile(phone, trip):
    place = trip.places.first()
    page = come_in(phone, place.participant)
    wait_for_pack(page)
    page.goto(own("details/", place.participant))
    page.wait_for_load_state("networkidle")
    page.fill("#id_diet", "no nuts")
    issue(seated_rota(trip, moves={(0, 1): (2, 0)}))
    page.evaluate("window.dispatchEvent(new Event('online'))")
    expect(state(page)).to_contain_text("Something changed since this page was kept.")
    expect(page.locator("#id_diet")).to_have_value("no nuts")


def test_ticks_of_the_packing_list_stay_on_the_phone_also_without_a_network(phone, trip):
    page = offline_at(phone, trip.places.first().participant, "packing/")
    page.locator(".pack-list input").first.check()
    page.reload()
    expect(page.locator(".pack-list input").first).to_be_checked()
    expect(page.locator(".pack-list input").nth(1)).not_to_be_checked()
