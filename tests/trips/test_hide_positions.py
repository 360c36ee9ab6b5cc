"""A hide's place in the land: position, waypoints, bearings and horizon, typed in any usual way."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from tests import factories
from tests.trips.hide_forms import edit_url, hide_data, new_url
from trips.models import Hide, View

pytestmark = pytest.mark.django_db
GPX = (
    b'<?xml version="1.0"?><gpx xmlns="http://www.topografix.com/GPX/1/1" version="1.1" creator="t">'
    b'<wpt lat="39.51" lon="-6.21"><name>Alder pool</name></wpt></gpx>'
)


@pytest.fixture
def trip():
    return factories.trip()


@pytest.mark.parametrize("text", ["39.51, -6.21", "39 30 36 N 6 12 36 W", "geo:39.51,-6.21"])
def test_an_own_position_is_typed_in_any_usual_way(as_leader, site, text):
    as_leader.post(new_url(site), hide_data(position=text))
    hide = Hide.objects.get()
    assert (hide.latitude_deg, hide.longitude_deg) == (pytest.approx(39.51), pytest.approx(-6.21))


def test_a_position_that_is_not_changed_keeps_all_its_digits(as_leader, site):
    hide = factories.hide(site=site, seats=1, latitude_deg=39.512345678912, longitude_deg=-6.2)
    for _ in range(3):
        hide.refresh_from_db()
        assert as_leader.post(edit_url(hide), hide_data(hide, position="39.5123457, -6.2")).status_code == 302
    hide.refresh_from_db()
    assert hide.latitude_deg == 39.512345678912


def test_a_lost_sign_is_asked_back_and_mended_with_one_press(as_leader, site):
    data = hide_data(position="39.5, 6.2", drive_min="10")
    text = as_leader.post(new_url(site), data).content.decode()
    assert "about 1,063 km from the lodge" in text
    assert "Sign lost, or swapped?" in text
    assert 'name="take" value="39.5, -6.2"' in text
    filled = as_leader.post(new_url(site), data | {"take": "39.5, -6.2"}).content.decode()
    assert 'value="39.5, -6.2"' in filled
    assert not Hide.objects.exists()
    assert as_leader.post(new_url(site), data | {"position_sure": "on"}).status_code == 302
    assert Hide.objects.get().longitude_deg == 6.2


def test_waypoints_of_a_gpx_file_are_offered_by_name(as_leader, site):
    upload = SimpleUploadedFile("way.gpx", GPX)
    text = as_leader.post(new_url(site), hide_data(step="gpx", gpx=upload)).content.decode()
    assert 'name="take" value="39.51, -6.21"' in text
    assert "Alder pool" in text
    assert not Hide.objects.exists()


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"no xml", "This is not a GPX file."),
        (b'<!DOCTYPE gpx [<!ENTITY a "b">]><gpx><wpt lat="1" lon="1"><name>&a;</name></wpt></gpx>', "XML entities"),
        (b'<gpx version="1.1"></gpx>', "has no waypoints"),
    ],
)
def test_a_file_that_is_no_gpx_is_explained(as_leader, site, content, sentence):
    answer = as_leader.post(new_url(site), hide_data(gpx=SimpleUploadedFile("way.gpx", content)))
    assert answer.status_code == 200
    assert sentence in answer.content.decode()
    assert not Hide.objects.exists()


def test_a_compass_bearing_becomes_true_and_both_are_shown(as_leader):
    far_west = factories.site(latitude_deg=40.0, longitude_deg=-105.0, time_zone="America/Denver")
    as_leader.force_login(far_west.leader)
    data = hide_data(**{"view-0-bearing_is": "magnetic", "view-0-measured_on": "2027-05-08"})
    as_leader.post(new_url(far_west), data)
    view = View.objects.get()
    assert view.bearing_deg == pytest.approx(257.5, abs=0.7)  # about 7.5° east there
    text = as_leader.get(edit_url(view.hide)).content.decode()
    assert "° true; a compass shows" in text
    assert "WMM-2025, valid 2025 to 2029" in text


def test_a_horizon_is_typed_pasted_or_derived(as_leader, site):
    hide = factories.hide(site=site, seats=1)
    as_leader.post(edit_url(hide), hide_data(hide, **{"view-0-horizon_typed": "azimuth,height\n60,4\n85,12"}))
    view = hide.views.get()
    assert view.horizon == [[60.0, 4.0], [85.0, 12.0]]
    hide.refresh_from_db()
    sun = {"view-0-sun_day": "2027-05-08", "view-0-sun_reached": "08:07", "view-0-sun_left": "20:00"}
    as_leader.post(edit_url(hide), hide_data(hide, **{"view-0-horizon_typed": "60:4 85:12"}, **sun))
    view.refresh_from_db()
    assert [round(azimuth) for azimuth, _ in view.horizon] == [75, 280]
    assert [round(height) for _, height in view.horizon] == [8, 15]
