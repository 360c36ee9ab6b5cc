"""How subjects come to hides: typed, counted, and refused with a sentence."""

import pytest

from tests import factories
from tests.trips.subject_forms import chances_url, subject_data
from trips.assemble.places import chance_value
from trips.forms.subject import months_shown
from trips.models import HideSubject, Subject

pytestmark = pytest.mark.django_db


@pytest.fixture
def trip():
    trip = factories.trip()
    factories.hide(site=trip.sites.get(), name="Alder")
    return trip


def chances_data(hide, **changes):
    """The page of a hide's subjects as it stands."""
    rows = list(hide.hide_subjects.order_by("subject__name"))
    data = {"seen_version": str(hide.version), "chance-TOTAL_FORMS": len(rows), "chance-INITIAL_FORMS": len(rows)}
    for number, row in enumerate(rows):
        data[f"chance-{number}-id"] = row.pk
        data |= {f"chance-{number}-{kind}": getattr(row, kind) for kind in ("early", "midday", "late", "night")}
        data[f"chance-{number}-months"] = months_shown(row.months)
    return data | changes


def test_chances_are_typed_and_counted(as_leader, hide):
    factories.hide_subject(hide=hide, subject=factories.subject(leader=hide.site.leader, name="Bee-eater"))
    factories.hide_subject(hide=hide, subject=factories.subject(leader=hide.site.leader, name="Owl"))
    data = chances_data(hide, **{"chance-0-early": "nearly_always", "chance-0-late": "", "chance-0-months": "apr-jul"})
    data |= {"chance-1-DELETE": "on"}
    assert as_leader.post(chances_url(hide), data).status_code == 302
    row = HideSubject.objects.get()
    assert (row.early, row.late, row.months) == ("nearly_always", "", [4, 5, 6, 7])
    chance = chance_value(row, month=5)
    assert (chance.early, chance.late) == (0.9, 0.9)
    assert chance_value(row, month=1).early == 0.1


def test_others_come_by_a_tick_and_a_new_one_by_its_name(as_leader, hide):
    known = factories.subject(leader=hide.site.leader, name="Owl")
    data = chances_data(hide, also=[known.pk], **{f"new-{key}": value for key, value in subject_data().items()})
    assert as_leader.post(chances_url(hide), data).status_code == 302
    assert sorted(row.subject.name for row in hide.hide_subjects.all()) == ["Hoopoe", "Owl"]
    assert Subject.objects.get(name="Hoopoe").leader == hide.site.leader


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"chance-0-months": "summer"}, "“summer” is not a month"),
        ({"chance-0-early": "always"}, "not one of the available choices"),
        ({"new-name": "Roller"}, "This field is required."),
        ({"also": "999999"}, "not one of the available choices"),
        ({"chance-TOTAL_FORMS": "x"}, "ManagementForm data is missing"),
    ],
)
def test_bad_chances_are_kept_and_explained(as_leader, hide, changes, sentence):
    factories.hide_subject(hide=hide)
    answer = as_leader.post(chances_url(hide), chances_data(hide) | changes)
    page = answer.content.decode()
    assert answer.status_code == 200
    assert sentence in page
    assert 'role="alert"' in page
    assert hide.hide_subjects.get().early == "often"


def test_somebody_elses_subject_is_not_offered(as_leader, hide):
    stranger = factories.subject(name="Somebody else's owl")
    assert "Somebody else" not in as_leader.get(chances_url(hide)).content.decode()
    as_leader.post(chances_url(hide), chances_data(hide, also=[stranger.pk]))
    assert not hide.hide_subjects.exists()


def test_stale_chances_are_told_and_kept(as_leader, hide):
    factories.hide_subject(hide=hide)
    data = chances_data(hide)
    assert as_leader.post(chances_url(hide), data).status_code == 302
    page = as_leader.post(chances_url(hide), data | {"chance-0-months": "5"}).content.decode()
    assert "changed since you opened it" in page
    assert 'value="5"' in page
    assert hide.hide_subjects.get().months == []


def test_hide_subjects_costs_the_same_queries_with_many(as_leader, hide, django_assert_max_num_queries):
    for _ in range(15):
        factories.hide_subject(hide=hide)
        factories.subject(leader=hide.site.leader)
    with django_assert_max_num_queries(14):
        page = as_leader.get(chances_url(hide)).content.decode()
    assert page.count("-months") >= 15
