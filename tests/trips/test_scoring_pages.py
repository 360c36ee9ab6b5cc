"""The scoring of a trip: with defaults, typed, refused, drawn, put back - as the leader, a stranger, a participant."""

import re

import pytest
from django.urls import reverse

from tests import factories
from tests.trips.issued_trips import phone_of
from trips.assemble import rules_value
from trips.core.light.score import direction_factor, height_factor
from trips.core.values import LightSettings, ReachSettings
from trips.documents.wording.scoring import scoring_fields
from trips.forms.scoring import ScoringForm
from trips.models import TripRules
from trips.services.trip import scoring_reset

pytestmark = pytest.mark.django_db
RULES_WITHOUT_SCORING = {
    "open_hides_at_once",
    "visits_at_most",
    "consecutive_turns_at_most",
    "never_twice_running",
    "leader_policy",
    "later_untold_min",
    "want_mixing",
    "tolerance",
    "light_dial",
    "set_up_min",
    "settle_min",
    "stop_min",
    "pick_up_window_min",
    "hand_over_min",
    "overdue_min",
    "overdue_mail_min",
    "hardship_walk_m",
    "heat_limit_c",
}


@pytest.fixture
def trip():
    return factories.trip()


def url(trip, name="scoring-edit"):
    return reverse(f"trips:{name}", kwargs={"trip_uuid": trip.uuid})


def scoring_data(trip, **changes):
    """The page as it stands."""
    trip.rules.refresh_from_db()
    form = ScoringForm(instance=trip.rules)
    shown = {name: form[name].value() for name in form.fields}
    return {name: "" if value is None else value for name, value in shown.items()} | {
        "seen_version": trip.rules.version,
        "step": "save",
        **changes,
    }


def test_every_mark_of_the_rules_is_on_the_page(as_leader, trip):
    fields = {field.name for field in TripRules._meta.get_fields()} - {"id", "uuid", "version", "changed_at", "trip"}
    assert fields - set(scoring_fields()) == RULES_WITHOUT_SCORING
    page = as_leader.get(url(trip)).content.decode()
    boxes = set(re.findall(r'<input[^>]* name="(\w+)"', page))
    assert boxes >= set(ScoringForm(instance=trip.rules).fields)
    heights, plain, verdicts, visits = 13, 20, 7, 5
    assert page.count('data-label="Default"') == heights + plain + verdicts + visits


def test_saving_the_page_untouched_changes_no_number(as_leader, trip):
    before = rules_value(trip.rules)
    assert before.light == LightSettings()
    assert before.reach == ReachSettings()
    for _ in range(3):
        assert as_leader.post(url(trip), scoring_data(trip)).status_code == 302
    trip.rules.refresh_from_db()
    assert rules_value(trip.rules) == before


def test_marks_are_typed_and_used(as_leader, trip):
    changes = {"height_6_factor": "0.95", "wish_side_45": "0.6", "reach_tight": "0.9", "visit_0": "0.5"}
    changes |= {"front_deg": "50", "least_pixels": "800", "shutter_s": "1/1600", "height_11_sun": "91"}
    changes |= {"height_10_sun": "80", "height_11_sun": "89.5", "height_11_factor": "0.05"}
    assert as_leader.post(url(trip), scoring_data(trip, **changes)).status_code == 302
    trip.rules.refresh_from_db()
    rules = rules_value(trip.rules)
    assert height_factor(20, rules.light) == 0.95
    assert height_factor(89.5, rules.light) == 0.05
    assert direction_factor(45, "side", rules.light) == 0.6
    assert rules.reach.factor("tight") == 0.9
    assert rules.visit_loss[:2] == (0.0, 0.5)
    assert (rules.light.front_deg, rules.reach.least_pixels, rules.advice.shutter_s) == (50, 800, 1 / 1600)


def test_what_counts_as_good_is_shown_on_the_light_page(as_leader):
    trip = factories.planned_trip(hides=1, sessions=2)
    as_leader.force_login(trip.leader)
    light = reverse("trips:trip-light", kwargs={"trip_uuid": trip.uuid})
    assert ">good<" in as_leader.get(light).content.decode()
    as_leader.post(url(trip), scoring_data(trip, good_minutes="240", good_score="0.99"))
    page = as_leader.get(light).content.decode()
    assert "at least 240 minutes at 0.99 or better" in page
    assert ">good<" not in page


def test_a_line_of_heights_goes_when_it_is_emptied(as_leader, trip):
    as_leader.post(url(trip), scoring_data(trip, height_3_sun="", height_3_factor=""))
    trip.rules.refresh_from_db()
    assert len(trip.rules.height_scoring) == 10
    assert [2, 0.9] not in trip.rules.height_scoring


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"height_3_factor": "1.4"}, "This is from 0 to 1."),
        ({"height_3_sun": "95"}, "This is from -90 to 90."),
        ({"height_3_sun": "-5"}, "Heights rise: this one is not above -0.83°."),
        ({"height_3_sun": ""}, "Give both, or leave both empty."),
        (
            {f"height_{n}_{part}": "" for n in range(11) for part in ("sun", "factor")},
            "At least two heights are needed.",
        ),
        ({"wish_front_90": ""}, "This field is required."),
        ({"wish_front_90": "half"}, "“half” is not a number"),
        ({"side_deg": "30"}, "The limit of side light is not below that of front light."),
        ({"tight_above": "0.2"}, "“Tight” does not begin below “needs a crop”."),
        ({"portrait_above": "0.5"}, "“Portrait only” does not begin below “tight”."),
        ({"ev_span": "0"}, "This is from 0.1 to 10."),
        ({"ev_low": "7,500"}, "type 7.5 or 7500"),
        ({"crop_below": "1.984"}, "can be read in two ways"),
        ({"pixels_a3": "99.5"}, "Type a whole number."),
        ({"shutter_s": "1/0"}, "A shutter is such as 1/2000."),
        ({"shutter_s": "fast"}, "“fast” is not a number"),
        ({"reach_good": "-1"}, "This is from 0 to 1."),
        ({"visit_4": "2"}, "This is from 0 to 1."),
        ({"good_minutes": "0"}, "This is from 5 to 720."),
    ],
)
def test_bad_marks_are_kept_and_explained_at_their_box(as_leader, trip, changes, sentence):
    answer = as_leader.post(url(trip), scoring_data(trip, **changes))
    page = answer.content.decode()
    assert answer.status_code == 200
    assert sentence in page
    assert 'role="alert"' in page
    assert all(f'name="{name}" value="{text}"' in page for name, text in changes.items() if text)
    trip.rules.refresh_from_db()
    assert (trip.rules.version, trip.rules.light_dial) == (1, 0.5)


def test_the_plot_follows_what_is_typed_and_saves_nothing(as_leader, trip):
    plain = as_leader.get(url(trip)).content.decode()
    headers = {"HX-Request": "true", "HX-Target": "scoring-plot"}
    data = scoring_data(trip, height_6_factor="0.1", step="draw")
    part = as_leader.post(url(trip), data, headers=headers).content.decode()
    assert part.strip().startswith('<div id="scoring-plot"')
    assert re.search(r"<svg.*</svg>", part, re.S)[0] not in plain
    whole = as_leader.post(url(trip), data).content.decode()
    assert "<html" in whole
    assert 'name="height_6_factor" value="0.1"' in whole
    trip.rules.refresh_from_db()
    assert rules_value(trip.rules).light == LightSettings()


def test_the_plot_shows_what_is_right_beside_what_is_wrong(as_leader, trip):
    headers = {"HX-Request": "true", "HX-Target": "scoring-plot"}
    data = scoring_data(trip, wish_front_90="0.9", ev_span="0", step="draw")
    part = as_leader.post(url(trip), data, headers=headers).content.decode()
    assert "1 box cannot be used as typed" in part
    plain = as_leader.get(url(trip)).content.decode()
    assert re.search(r"<svg.*</svg>", part, re.S)[0] not in plain


def test_stale_marks_are_told_and_kept(as_leader, trip):
    data = scoring_data(trip, front_deg="50")
    assert as_leader.post(url(trip), data).status_code == 302
    page = as_leader.post(url(trip), data | {"front_deg": "60"}).content.decode()
    assert "changed since you opened it" in page
    assert 'name="front_deg" value="60"' in page
    trip.rules.refresh_from_db()
    assert trip.rules.front_deg == 50


def test_defaults_come_back_and_the_other_rules_stay(as_leader, trip):
    trip.rules.set_up_min = 40
    trip.rules.save()
    as_leader.post(url(trip), scoring_data(trip, front_deg="50", height_6_factor="0.95"))
    page = as_leader.get(url(trip, "scoring-default")).content.decode()
    assert "Front light up to" in page
    assert "0.95 at 20°" in page
    assert "Setting up" not in page
    trip.rules.refresh_from_db()
    data = {"seen_version": trip.rules.version}
    assert as_leader.post(url(trip, "scoring-default"), {"seen_version": data["seen_version"] - 1}).status_code == 200
    assert as_leader.post(url(trip, "scoring-default"), data).status_code == 302
    trip.rules.refresh_from_db()
    assert rules_value(trip.rules).light == LightSettings()
    assert trip.rules.set_up_min == 40


def test_reset_names_every_field_once(trip):
    for name in scoring_fields():
        value = getattr(trip.rules, name)
        setattr(trip.rules, name, value + 1 if isinstance(value, int | float) else type(value)())
    scoring_reset(rules=trip.rules, seen_version=trip.rules.version)
    trip.rules.refresh_from_db()
    fresh = TripRules()
    assert all(getattr(trip.rules, name) == getattr(fresh, name) for name in scoring_fields())


def test_the_page_costs_few_queries(as_leader, trip, django_assert_max_num_queries):
    with django_assert_max_num_queries(4):
        as_leader.get(url(trip))


def test_a_stranger_and_a_participant_may_not(client, trip):
    person = factories.place(trip=trip).participant
    assert reverse("sign-in") in phone_of(person).get(url(trip))["Location"]
    client.force_login(factories.leader())
    assert client.get(url(trip)).status_code == 404
    assert client.post(url(trip), scoring_data(trip)).status_code == 404
    assert client.post(url(trip, "scoring-default")).status_code == 404
