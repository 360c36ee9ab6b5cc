"""A trip's rules: shown, changed, refused out of their range, and put back."""

import re

import pytest
from django.utils.html import strip_tags

from tests import factories
from tests.trips.trip_forms import url
from trips.forms.trip import RULE_BOUNDS

pytestmark = pytest.mark.django_db


@pytest.fixture
def trip():
    return factories.planned_trip()


def rules_data(**changes):
    data = {
        "leader_policy": "spare_seats",
        "tolerance": "0.01",
        "light_dial": "0.5",
        "set_up_min": "15",
        "settle_min": "0",
        "stop_min": "5",
        "pick_up_window_min": "15",
        "later_untold_min": "5",
        "hand_over_min": "60",
        "overdue_min": "15",
        "overdue_mail_min": "25",
        "hardship_walk_m": "200",
        "seen_version": "1",
    }
    return data | changes


def test_rules_edit_shows_whole_numbers_as_such(as_leader, trip):
    page = as_leader.get(url("rules-edit", trip)).content.decode()
    assert 'name="set_up_min" value="15"' in page
    assert 'name="tolerance" value="0.01"' in page


def test_rules_edit_saves_and_refuses_what_cannot_be(as_leader, trip):
    assert as_leader.post(url("rules-edit", trip), rules_data(visits_at_most="2")).status_code == 302
    trip.rules.refresh_from_db()
    assert trip.rules.visits_at_most == 2
    data = rules_data(consecutive_turns_at_most="3", seen_version="2")
    assert as_leader.post(url("rules-edit", trip), data).status_code == 302
    trip.rules.refresh_from_db()
    assert trip.rules.consecutive_turns_at_most == 3
    answer = as_leader.post(url("rules-edit", trip), rules_data(light_dial="1.5", seen_version="3"))
    assert "This is from 0 to 1." in answer.content.decode()


@pytest.mark.parametrize("value", ["-1", "1e30"])
@pytest.mark.parametrize("name", sorted(RULE_BOUNDS))
def test_a_rule_out_of_range_is_refused_at_its_field(as_leader, trip, name, value):
    answer = as_leader.post(url("rules-edit", trip), rules_data(**{name: "-21" if name == "heat_limit_c" else value}))
    assert answer.status_code == 200
    assert f'<a href="#id_{name}">' in answer.content.decode()
    assert type(trip.rules).objects.get(trip=trip).version == trip.rules.version


def test_a_rule_tells_its_range_in_words(as_leader, trip):
    page = as_leader.post(url("rules-edit", trip), rules_data(hand_over_min="0", set_up_min="99999")).content.decode()
    assert "This is from 1 to 720." in page
    assert "This is from 0 to 240." in page


def test_each_choice_of_the_leaders_seat_is_explained(as_leader, trip):
    page = as_leader.get(url("rules-edit", trip)).content.decode()
    for choice in ("No seat:", "Spare seats only:", "Beside people in turn:"):
        assert choice in page


def test_rules_default_shows_what_changes_and_puts_the_rules_back_but_not_the_scoring(as_leader, trip):
    rules = trip.rules
    rules.set_up_min, rules.visits_at_most, rules.never_twice_running, rules.leader_policy = 40, 2, True, "never"
    rules.front_deg, rules.good_score, rules.visit_loss = 30, 0.5, [0, 0.1, 0.2]
    rules.save()
    page = strip_tags(as_leader.get(url("rules-default", trip)).content.decode())
    lines = re.findall(r"(Setting up \(min\) 40 15|Visits to one hide at most 2 no limit|twice running yes no)", page)
    assert len(lines) == 3
    assert "Front light" not in page
    rules.refresh_from_db()
    assert rules.set_up_min == 40
    data = {"seen_version": rules.version}
    assert as_leader.post(url("rules-default", trip), data).status_code == 302
    rules.refresh_from_db()
    assert (rules.set_up_min, rules.visits_at_most, rules.never_twice_running) == (15, None, False)
    assert rules.leader_policy == "spare_seats"
    assert (rules.front_deg, rules.good_score, rules.visit_loss) == (30, 0.5, [0, 0.1, 0.2])
    assert "nothing to put back" in as_leader.get(url("rules-default", trip)).content.decode()


def test_rules_default_on_an_old_page_shows_how_it_stands_now(as_leader, trip):
    seen = trip.rules.version
    assert as_leader.post(url("rules-edit", trip), rules_data(set_up_min="20")).status_code == 302
    for data in ({"seen_version": seen}, {}):
        answer = as_leader.post(url("rules-default", trip), data)
        assert answer.status_code == 200
        assert "changed since you opened it" in answer.content.decode()
        assert "Setting up (min) 20 15" in strip_tags(answer.content.decode())
    trip.rules.refresh_from_db()
    assert trip.rules.set_up_min == 20
