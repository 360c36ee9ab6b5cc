"""Sites, and a trip's hides: what is assumed, what is missing, and their order."""

import pytest
from django.urls import reverse

from tests import factories
from trips.models import Site

pytestmark = pytest.mark.django_db


@pytest.fixture
def trip():
    return factories.trip()


def test_a_site_is_made_and_doubted_against_its_zone(as_leader):
    address = reverse("trips:site-new")
    data = {"name": "Valley", "position": "39.5, 6.2", "time_zone": "Europe/Madrid", "step": "save"}
    text = as_leader.post(address, data).content.decode()
    assert "848 km from the time zone" in text
    assert 'value="39.5, -6.2"' in text
    assert "Europe/Nowhere" in as_leader.post(address, data | {"time_zone": "Europe/Nowhere"}).content.decode()
    assert as_leader.post(address, data | {"position": "39.5, -6.2"}).status_code == 302
    site = Site.objects.get(name="Valley")
    assert (site.latitude_deg, site.longitude_deg, site.elevation_m) == (39.5, -6.2, 0.0)


def test_trip_hides_lists_what_is_assumed(as_leader, trip, site, django_assert_max_num_queries):
    for _ in range(8):
        factories.hide(site=site)
    with django_assert_max_num_queries(10):
        text = as_leader.get(reverse("trips:trip-hides", kwargs={"trip_uuid": trip.uuid})).content.decode()
    assert text.count("open horizon, assumed") == 8


def test_trip_hides_says_what_stops_a_rota_and_what_is_complete(as_leader, trip, site):
    factories.hide(site=site, name="Bare", seats=0, views=0)
    whole = {"latitude_deg": 39.5, "longitude_deg": -6.2, "roof_height_m": 0.5, "width_m": 2.5, "excess_c": 2}
    hide = factories.hide(site=site, name="Whole", **whole)
    hide.views.update(perch_height_m=0.4, horizon=[[60, 4]])
    factories.hide_subject(hide=hide)
    text = as_leader.get(reverse("trips:trip-hides", kwargs={"trip_uuid": trip.uuid})).content.decode()
    assert '<span class="sign sign-care">no seats</span> <span class="sign sign-care">no view</span>' in text
    assert text.count('<span class="sign sign-good">nothing</span>') == 1


@pytest.mark.parametrize(
    ("order", "names"),
    [
        ("name", ["Alder", "broom", "Cork"]),
        ("drive", ["Cork", "Alder", "broom"]),
        ("lacking", ["broom", "Cork", "Alder"]),
        ("sideways", ["Alder", "broom", "Cork"]),
    ],
)
def test_hides_are_ordered_by_links(as_leader, trip, site, order, names):
    factories.hide(site=site, name="Alder", drive_min=20, width_m=2, roof_height_m=1)
    factories.hide(site=site, name="broom", drive_min=25, seats=0)
    factories.hide(site=site, name="Cork", drive_min=5)
    address = reverse("trips:trip-hides", kwargs={"trip_uuid": trip.uuid})
    text = as_leader.get(address, {"order": order}).content.decode()
    places = [text.index(f">{name}</a>") for name in names]
    assert places == sorted(places)


def test_a_site_added_from_a_trip_is_the_trips(as_leader, trip):
    address = f"{reverse('trips:site-new')}?trip={trip.uuid}"
    data = {"name": "Valley", "position": "39.5, -6.2", "time_zone": "Europe/Madrid", "step": "save"}
    assert as_leader.post(address, data).status_code == 302
    assert trip.sites.filter(name="Valley").exists()


@pytest.mark.parametrize("asked", ["nonsense", "00000000-0000-4000-8000-000000000000"])
def test_a_site_is_never_added_to_somebody_elses_trip(as_leader, asked):
    others = factories.trip()
    data = {"name": "Valley", "position": "39.5, -6.2", "time_zone": "Europe/Madrid", "step": "save"}
    for uuid in (asked, str(others.uuid)):
        assert as_leader.post(f"{reverse('trips:site-new')}?trip={uuid}", data).status_code == 302
    assert not others.sites.filter(name="Valley").exists()
    assert Site.objects.filter(name="Valley").count() == 2
