"""A person's gear and packing list as the person, their leader, another participant, a stranger and nobody."""

import uuid

import pytest
from django.test import Client

from tests import factories
from tests.trips.gear_forms import LENS, signed_in, text, url

pytestmark = pytest.mark.django_db


@pytest.fixture
def trip():
    return factories.planned_trip(people_count=1, hides=1)


def pages(person):
    piece = {"kind": "lens", "piece_uuid": person.lenses.get().uuid}
    return [
        url("gear-show", person),
        url("gear-picture", person),
        url("packing-show", person),
        url("piece-new", person, kind="lens"),
        url("piece-edit", person, **piece),
        url("piece-remove", person, **piece),
    ]


def test_gear_pages_open_for_the_person_and_their_leader_only(browser, trip, person):
    as_leader, stranger = Client(), Client()
    as_leader.force_login(trip.leader)
    stranger.force_login(factories.leader())
    other = signed_in(factories.participant(leader=trip.leader))
    for page in pages(person):
        assert browser.get(page).status_code == 200
        assert as_leader.get(page).status_code == 200
        assert stranger.get(page).status_code == 404
        assert other.get(page).status_code == 404
        assert Client().get(page).status_code == 302


def test_pieces_of_somebody_else_are_404_even_under_ones_own_address(browser, person):
    foreign = factories.lens()
    for name in ("piece-edit", "piece-remove"):
        assert browser.get(url(name, person, kind="lens", piece_uuid=foreign.uuid)).status_code == 404
        assert browser.post(url(name, person, kind="lens", piece_uuid=foreign.uuid), LENS).status_code == 404
    assert browser.get(url("piece-new", person, kind="balloon")).status_code == 404
    assert browser.get(url("piece-edit", person, kind="lens", piece_uuid=uuid.uuid4())).status_code == 404


def test_gear_show_says_in_plain_words_what_the_gear_does(browser, trip, person):
    person.lenses.update(near_limit_m=5.2)
    subject = trip.sites.get().hides.get().hide_subjects.get().subject
    page = text(browser.get(url("gear-show", person)))
    assert f"{subject.name} fills about 44 % of the frame at 6.0 m with 600 mm" in page
    assert "Birds at the near water edge, 4.5 m, are inside the near limit of 5.2 m." in page
    assert "Maximum magnification assumed: test it with a tape." in page


def test_gear_show_names_the_lens_the_limit_and_the_distance_of_a_fault(browser, person):
    person.lenses.update(name="800 mm f/5.6", focal_min_mm=800, focal_max_mm=800, near_limit_m=6.5)
    page = text(browser.get(url("gear-show", person)))
    assert "800 mm f/5.6 focuses from 6.5 m on, and the perch is at 6.0 m: it cannot focus here." in page


def test_gear_show_in_feet_for_whoever_reads_feet(browser, person):
    person.units = "feet"
    person.save()
    assert "of the frame at 19.7 ft" in text(browser.get(url("gear-show", person)))


def test_gear_show_without_gear_counts_as_good_and_says_so(browser, person):
    person.lenses.all().delete()
    page = text(browser.get(url("gear-show", person)))
    assert "No usable lens: no picture from here." in page
    assert "counts as good" not in page
    person.bodies.all().delete()
    page = text(browser.get(url("gear-show", person)))
    assert "every hide counts as good for you" in page
    assert "No usable" not in page


def test_gear_show_costs_the_same_queries_with_many_pieces_and_hides(
    browser, trip, person, django_assert_max_num_queries
):
    for _ in range(10):
        factories.lens(participant=person)
        factories.hide_subject(hide=factories.hide(site=trip.sites.get()))
    with django_assert_max_num_queries(36):
        browser.get(url("gear-show", person))


def test_piece_try_shows_the_verdicts_of_what_is_being_typed_and_saves_nothing(browser, person):
    answer = browser.post(url("piece-try", person, kind="lens"), LENS | {"replaces": str(person.lenses.get().uuid)})
    assert "Birds at the near water edge, 4.5 m, are inside the near limit of 5.2 m." in text(answer)
    assert "<html" not in text(answer)
    half = browser.post(url("piece-try", person, kind="lens"), LENS | {"focal_min_mm": ""})
    assert half.status_code == 200
    assert "Some numbers are missing or unclear" in text(half)
    assert person.lenses.count() == 1
    assert browser.get(url("piece-try", person, kind="lens")).status_code == 405


def test_limits_of_steps_and_walk_are_said_beside_the_reach(browser, trip, place, person):
    hide = trip.sites.get().hides.get()
    hide.steps, hide.walk_m = 5, 300
    hide.save()
    place.steps_limit, place.walk_limit_m = 3, 100
    place.save()
    page = text(browser.get(url("gear-show", person)))
    assert "5 steps, at most 3; a walk of 300 m, at most 100 m" in page


def test_packing_show_lists_the_gear_and_the_supports_by_hide(browser, trip, person):
    hide = trip.sites.get().hides.get()
    hide.support = "bean_bag"
    hide.save()
    factories.people.Battery.objects.create(participant=person, name="large", volts=14.8, ampere_hours=8.0, count=2)
    page = text(browser.get(url("packing-show", person)))
    assert "600 mm f/4" in page
    assert f"Bean bag for {hide.name}: not in your list" in page
    assert "118.4 Wh" in page
    assert "ask the carrier" in page
    assert "6 l in 6 bottles of one litre" in page


def test_packing_show_of_a_guest_has_no_camera(browser, place, person):
    place.photographs = False
    place.save()
    page = text(browser.get(url("packing-show", person)))
    assert "Quiet soles" in page
    assert "600 mm" not in page
    assert "without a camera" in text(browser.get(url("gear-show", person)))
