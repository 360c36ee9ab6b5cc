"""Measuring on the spot: plain forms first, the queue of the browser second - as leader, stranger, participant."""

import json
import uuid

import pytest
from django.urls import reverse

from participants.models import Submission
from tests import factories
from tests.trips.issued_trips import phone_of
from trips.models import Hide, View
from trips.services.site import hide_delete

pytestmark = pytest.mark.django_db
QUEUED = {"X-Queued": "1"}


@pytest.fixture
def trip():
    return factories.trip()


@pytest.fixture
def hide(trip):
    return factories.hide(site=trip.sites.get(), name="Alder")


def url(hide):
    return reverse("trips:hide-survey", kwargs={"hide_uuid": hide.uuid})


def position_data(hide, position, was="", **changes):
    return {"about": "position", f"hide{hide.pk}-position": position, f"hide{hide.pk}-was": was} | changes


def view_data(view, **changes):
    values = {"bearing_deg": "250", "bearing_is": "true", "measured_on": "2027-05-08", "near_m": "6", "far_m": "6"}
    values |= {"seen_version": view.version} | changes
    return {"about": str(view.uuid)} | {f"view{view.pk}-{name}": value for name, value in values.items()}


def new_data(hide, **changes):
    values = {"bearing_deg": "100", "bearing_is": "true", "near_m": "7", "name": "east window"} | changes
    return {"about": "new"} | {f"hide{hide.pk}new-{name}": value for name, value in values.items()}


def test_all_hides_of_the_site_stand_on_the_page_the_asked_for_one_open(as_leader, trip, hide):
    factories.hide(site=trip.sites.get(), name="Aaron's", views=2)
    page = as_leader.get(url(hide)).content.decode()
    assert page.index("<h2>Alder</h2>") < page.index("<h2>Aaron&#x27;s</h2>")
    assert page.count("survey-hide") == 2
    assert page.count('class="survey-form"') == 2 + 3 + 2


def test_a_position_is_taken_and_the_page_says_what_it_is_now(as_leader, hide):
    assert as_leader.post(url(hide), position_data(hide, "39.5123456, -6.2012345")).status_code == 302
    hide.refresh_from_db()
    assert (hide.latitude_deg, hide.longitude_deg) == (39.5123456, -6.2012345)
    assert 'value="39.5123456, -6.2012345"' in as_leader.get(url(hide)).content.decode()
    as_leader.post(url(hide), position_data(hide, "", was="39.5123456, -6.2012345"))
    hide.refresh_from_db()
    assert hide.latitude_deg is None


def test_a_compass_bearing_is_corrected_and_the_day_kept_in_mind(as_leader):
    far_west = factories.site(latitude_deg=40.0, longitude_deg=-105.0, time_zone="America/Denver")
    hide = factories.hide(site=far_west)
    as_leader.force_login(far_west.leader)
    view = hide.views.get()
    data = view_data(view, bearing_is="magnetic", near_m="7.5", far_m="")
    assert as_leader.post(url(hide), data).status_code == 302
    view.refresh_from_db()
    assert view.bearing_deg == pytest.approx(257.5, abs=0.7)  # about 7.5° east there
    assert (view.near_m, view.far_m) == (7.5, 7.5)
    assert "° true; a compass shows" in as_leader.get(url(hide)).content.decode()
    hide.refresh_from_db()
    assert hide.version == 2


def test_a_new_view_is_added_and_what_it_lacks_stays_assumed(as_leader, hide):
    assert as_leader.post(url(hide), new_data(hide)).status_code == 302
    view = hide.views.get(name="east window")
    assert (view.bearing_deg, view.near_m, view.far_m, view.horizon) == (100, 7, 7, [])


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"bearing_deg": "370"}, "bearing"),
        ({"bearing_deg": ""}, "This field is required."),
        ({"bearing_deg": "2,500"}, "type 2.5 or 2500"),
        ({"near_m": "0"}, "The nearest subject is more than 0 away."),
        ({"near_m": "8", "far_m": "6"}, "The farthest subject is not nearer than the nearest."),
        ({"bearing_is": "magnetic", "measured_on": "2009-01-01"}, "2015"),
    ],
)
def test_a_bad_view_is_kept_and_explained(as_leader, hide, changes, sentence):
    view = hide.views.get()
    answer = as_leader.post(url(hide), view_data(view, **changes))
    page = answer.content.decode()
    assert answer.status_code == 200
    assert sentence in page
    assert 'role="alert"' in page
    assert all(f'value="{text}"' in page for name, text in changes.items() if text and name != "bearing_is")
    view.refresh_from_db()
    assert (view.version, view.bearing_deg) == (1, 250)
    said = json.loads(as_leader.post(url(hide), view_data(view, **changes), headers=QUEUED).content)
    assert said["taken"] is False
    assert sentence in " ".join(said["errors"])


def test_a_view_of_that_name_is_refused(as_leader, hide):
    page = as_leader.post(url(hide), new_data(hide, name="view 1")).content.decode()
    assert "This hide already has a view of that name." in page
    assert hide.views.count() == 1


@pytest.mark.parametrize("position", ["somewhere", "95, 10", "39.5"])
def test_a_bad_position_is_kept_and_explained(as_leader, hide, position):
    page = as_leader.post(url(hide), position_data(hide, position)).content.decode()
    assert 'role="alert"' in page
    assert f'value="{position}"' in page
    assert not Hide.objects.exclude(latitude_deg=None).exists()


def test_a_position_far_from_the_site_is_asked_back(as_leader, hide):
    page = as_leader.post(url(hide), position_data(hide, "39.5, 6.2")).content.decode()
    assert "about 1,063 km from the lodge" in page
    assert 'data-fill="39.5, -6.2"' in page
    sure = position_data(hide, "39.5, 6.2", **{f"hide{hide.pk}-position_sure": "on"})
    assert as_leader.post(url(hide), sure).status_code == 302


def test_a_form_that_waited_is_taken_once(as_leader, hide):
    view, sent = hide.views.get(), str(uuid.uuid4())
    data = view_data(view, bearing_deg="200", client_uuid=sent) | {"client_uuid": sent}
    for _ in range(2):
        said = json.loads(as_leader.post(url(hide), data, headers=QUEUED).content)
        assert said["taken"] is True
    view.refresh_from_db()
    assert (view.bearing_deg, view.version) == (200, 2)
    assert Submission.objects.get(client_uuid=sent).participant is None
    new = new_data(hide) | {"client_uuid": str(uuid.uuid4())}
    assert json.loads(as_leader.post(url(hide), new, headers=QUEUED).content)["taken"] is True
    assert hide.views.count() == 2


def test_the_answer_tells_the_form_what_to_go_on_from(as_leader, hide):
    view = hide.views.get()
    said = json.loads(as_leader.post(url(hide), view_data(view, bearing_deg="200"), headers=QUEUED).content)
    assert said["fields"] == {f"view{view.pk}-seen_version": 2}
    again = view_data(view, bearing_deg="201", seen_version=2)
    assert json.loads(as_leader.post(url(hide), again, headers=QUEUED).content)["taken"] is True
    said = json.loads(as_leader.post(url(hide), position_data(hide, "39.51, -6.21"), headers=QUEUED).content)
    assert said["fields"] == {f"hide{hide.pk}-was": "39.51, -6.21"}


def test_somebody_elses_change_meanwhile_is_not_lost(as_leader, hide):
    view = hide.views.get()
    data = view_data(view, bearing_deg="200")
    View.objects.filter(pk=view.pk).update(version=5, bearing_deg=30)
    page = as_leader.post(url(hide), data).content.decode()
    assert "changed since you opened it" in page
    assert 'value="200"' in page
    Hide.objects.filter(pk=hide.pk).update(latitude_deg=39.6, longitude_deg=-6.3)
    for was in ("", "39.51, -6.21", "nonsense"):
        said = as_leader.post(url(hide), position_data(hide, "39.52, -6.22", was=was), headers=QUEUED)
        assert "changed since you opened it" in said.content.decode()
    assert as_leader.post(url(hide), position_data(hide, "39.52, -6.22", was="39.6, -6.3")).status_code == 302


def test_a_view_that_is_gone_is_a_404(as_leader, hide):
    data = view_data(hide.views.get())
    hide.views.all().delete()
    assert as_leader.post(url(hide), data, headers=QUEUED).status_code == 404
    hide_delete(hide=hide)
    assert as_leader.post(url(hide), position_data(hide, "39.5, -6.2"), headers=QUEUED).status_code == 404


def test_feet_are_shown_and_kept(as_leader, trip, hide):
    trip.units = "feet"
    trip.save()
    view = hide.views.get()
    as_leader.post(url(hide), view_data(view, near_m="20", near_m_unit="ft", far_m="20", far_m_unit="ft"))
    view.refresh_from_db()
    assert view.near_m == pytest.approx(6.096)
    assert 'value="20"' in as_leader.get(url(hide)).content.decode()


def test_contact_says_who_is_signed_in(client, trip):
    assert client.get(reverse("trips:leader-contact")).status_code == 302
    client.force_login(trip.leader)
    said = client.get(reverse("trips:leader-contact"))
    assert said.json()["leader"] == f"leader-{trip.leader.pk}"
    assert said.json()["csrf"]
    assert "no-store" in said["Cache-Control"]


def test_the_page_costs_the_same_queries_with_many_hides(as_leader, trip, hide, django_assert_max_num_queries):
    for _ in range(8):
        factories.hide(site=trip.sites.get(), views=3)
    with django_assert_max_num_queries(11):
        as_leader.get(url(hide))


def test_a_stranger_and_a_participant_may_not(client, trip, hide):
    person = factories.place(trip=trip).participant
    assert reverse("sign-in") in phone_of(person).get(url(hide))["Location"]
    client.force_login(factories.leader())
    assert client.get(url(hide)).status_code == 404
    assert client.post(url(hide), position_data(hide, "39.5, -6.2")).status_code == 404
    hide.refresh_from_db()
    assert hide.latitude_deg is None


def test_signing_in_again_keeps_what_the_same_leader_left_on_the_device(client, trip):
    other = factories.leader()
    for who, cleared in ((trip.leader, True), (trip.leader, False), (other, True), (trip.leader, True)):
        data = {"username": who.get_username(), "password": "quiet-soles-27"}
        answer = client.post(reverse("sign-in"), data)
        assert answer.status_code == 302
        assert ("Clear-Site-Data" in answer.headers) is cleared
        client.cookies.pop("sessionid")  # as when a session ends by its age
