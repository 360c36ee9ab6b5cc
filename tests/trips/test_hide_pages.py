"""Sites and hides: typed in any usual way, drawn while typed, and refused with a sentence at the field."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from tests import factories
from trips.forms.hide import HideForms
from trips.forms.site import SiteForm
from trips.models import Hide, Site, View

pytestmark = pytest.mark.django_db

GPX = (
    b'<?xml version="1.0"?><gpx xmlns="http://www.topografix.com/GPX/1/1" version="1.1" creator="t">'
    b'<wpt lat="39.51" lon="-6.21"><name>Alder pool</name></wpt></gpx>'
)


@pytest.fixture
def trip():
    return factories.trip()


@pytest.fixture
def site(trip):
    return trip.sites.get()


@pytest.fixture
def as_leader(client, trip):
    client.force_login(trip.leader)
    return client


def hide_data(hide=None, **changes):
    """A whole form of a hide with one view and one seat."""
    view, seat = (hide.views.first(), hide.seats.first()) if hide else (None, None)
    data = {
        "name": "Alder",
        "entry": "walk",
        "steps": "0",
        "support": "tripod",
        "doors": "free",
        "minimum_people": "1",
        "view-TOTAL_FORMS": "1",
        "view-INITIAL_FORMS": "1" if view else "0",
        "view-0-id": view.pk if view else "",
        "view-0-bearing_deg": "250",
        "view-0-bearing_is": "true",
        "view-0-near_m": "6",
        "seat-TOTAL_FORMS": "1",
        "seat-INITIAL_FORMS": "1" if seat else "0",
        "seat-0-id": seat.pk if seat else "",
        "seat-0-name": "left",
        "seat-0-quality": "3",
        "step": "save",
    }
    if hide:
        data["seen_version"] = hide.version
    return data | changes


def new_url(site):
    return reverse("trips:hide-new", kwargs={"site_uuid": site.uuid})


def edit_url(hide):
    return reverse("trips:hide-edit", kwargs={"hide_uuid": hide.uuid})


def test_a_name_a_seat_a_bearing_and_a_distance_are_enough(as_leader, site):
    assert as_leader.post(new_url(site), hide_data()).status_code == 302
    hide = Hide.objects.get(name="Alder")
    view = hide.views.get()
    assert (view.bearing_deg, view.near_m, view.far_m, view.name) == (250.0, 6.0, 6.0, "window")
    assert (view.horizon, view.perch_height_m, hide.roof_height_m, hide.width_m) == ([], None, None, None)
    assert hide.seats.get().name == "left"


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"view-0-bearing_deg": "400"}, "A bearing is from 0 to 360°, not 400."),
        ({"view-0-near_m": "0"}, "The nearest subject is more than 0 away."),
        ({"view-0-far_m": "3"}, "The farthest subject is not nearer than the nearest."),
        ({"view-0-horizon_typed": "60:4 85:95"}, "A height of the horizon is from -10 to 90°, not 95."),
        ({"view-0-horizon_typed": "85:4 60:5"}, "go by rising azimuth"),
        ({"view-0-horizon_typed": "sixty"}, "is not a pair"),
        ({"position": "95, 3"}, "Latitude is from -90 to 90°, not 95."),
        ({"position": "the old mill"}, "“the old mill” is not a position."),
        (
            {"view-0-bearing_is": "magnetic", "view-0-measured_on": "2031-01-01"},
            "The magnetic model covers 2015 to 2029.",
        ),
        ({"view-0-sun_reached": "08:07"}, "Give the day on which the sun reached the perch"),
        ({"view-0-sun_day": "2027-05-08", "view-0-sun_reached": "03:00"}, "The sun is down at 03:00 on 8 May 2027"),
        ({"view-0-sun_day": "2027-03-28", "view-0-sun_reached": "02:30"}, "clocks go from 02:00 to 03:00"),
        ({"view-TOTAL_FORMS": "0"}, "Give at least one."),
        ({"seat-0-name": ""}, "This field is required."),
        ({"name": ""}, "This field is required."),
    ],
)
def test_bad_input_is_explained_at_its_field_and_kept(as_leader, site, changes, sentence):
    answer = as_leader.post(new_url(site), hide_data(**changes))
    assert answer.status_code == 200
    text = answer.content.decode().replace("&#x27;", "'")
    assert sentence in text
    assert 'role="alert"' in text
    assert not Hide.objects.exists()
    kept = [value for name, value in changes.items() if value and not name.endswith("FORMS")]
    assert all(value in text for value in kept)


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


def test_twenty_feet_stay_twenty_feet(as_leader, trip, site):
    trip.units = "feet"
    trip.save()
    hide = factories.hide(site=site, seats=1)
    changes = {"view-0-near_m": "20", "view-0-near_m_unit": "ft"}
    as_leader.post(edit_url(hide), hide_data(hide, **changes))
    for _ in range(10):
        hide.refresh_from_db()
        text = as_leader.get(edit_url(hide)).content.decode()
        assert 'value="20"' in text
        as_leader.post(edit_url(hide), hide_data(hide, **changes))
    assert hide.views.get().near_m == pytest.approx(6.096)


def test_the_drawing_follows_what_is_typed_and_saves_nothing(as_leader, site):
    drawn = as_leader.post(
        new_url(site),
        hide_data(step="draw", draw_day="2027-05-08"),
        headers={"HX-Request": "true", "HX-Target": "drawings"},
    ).content.decode()
    assert drawn.strip().startswith('<div id="drawings"')
    assert "07:18" in drawn
    other = as_leader.post(new_url(site), hide_data(step="draw", **{"view-0-bearing_deg": "100"})).content.decode()
    assert "<html" in other
    assert ">100°</text>" in other
    assert not Hide.objects.exists()


def test_a_form_opened_before_another_change_is_told_and_kept(as_leader, site):
    hide = factories.hide(site=site, seats=1)
    data = hide_data(hide, name="Alder by the weir")
    assert as_leader.post(edit_url(hide), data).status_code == 302
    answer = as_leader.post(edit_url(hide), data | {"name": "Alder upstream"})
    assert "This changed since you opened it." in answer.content.decode()
    assert "Alder upstream" in answer.content.decode()
    hide.refresh_from_db()
    assert hide.name == "Alder by the weir"


def test_a_seat_with_turns_stays(as_leader, trip, site):
    hide = factories.hide(site=site, seats=1, views=1)
    factories.seat(hide=hide, name="spare")
    turn = factories.turn(rota=factories.rota(trip=trip), seat=hide.seats.get(name="left"), hide=hide)
    data = hide_data(hide) | {
        "seat-TOTAL_FORMS": "2",
        "seat-INITIAL_FORMS": "2",
        "seat-0-id": turn.seat.pk,
        "seat-0-DELETE": "on",
        "seat-1-id": hide.seats.get(name="spare").pk,
        "seat-1-name": "spare",
        "seat-1-quality": "3",
    }
    answer = as_leader.post(edit_url(hide), data)
    assert "Turns of a rota sit in “left”" in answer.content.decode()
    assert hide.seats.count() == 2
    remove = reverse("trips:hide-remove", kwargs={"hide_uuid": hide.uuid})
    assert "rotas are kept" in as_leader.post(remove, follow=True).content.decode()
    assert Hide.objects.filter(pk=hide.pk).exists()


def test_a_hide_without_turns_can_go(as_leader, site):
    hide = factories.hide(site=site)
    assert as_leader.post(reverse("trips:hide-remove", kwargs={"hide_uuid": hide.uuid})).status_code == 302
    assert not Hide.objects.exists()
    assert as_leader.get(reverse("trips:hide-remove", kwargs={"hide_uuid": hide.uuid})).status_code == 405


def test_a_stranger_can_not_write(client, site):
    hide = factories.hide(site=site)
    client.force_login(factories.leader())
    assert client.post(edit_url(hide), hide_data(hide)).status_code == 404
    assert client.post(new_url(site), hide_data()).status_code == 404
    assert client.post(reverse("trips:hide-remove", kwargs={"hide_uuid": hide.uuid})).status_code == 404
    assert Hide.objects.count() == 1


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
    with django_assert_max_num_queries(9):
        text = as_leader.get(reverse("trips:trip-hides", kwargs={"trip_uuid": trip.uuid})).content.decode()
    assert text.count("open horizon, assumed") == 8


def test_trip_hides_says_what_stops_a_rota_and_what_is_complete(as_leader, trip, site):
    factories.hide(site=site, name="Bare", seats=0, views=0)
    whole = {"latitude_deg": 39.5, "longitude_deg": -6.2, "roof_height_m": 0.5, "width_m": 2.5, "excess_c": 2}
    hide = factories.hide(site=site, name="Whole", **whole)
    hide.views.update(perch_height_m=0.4, horizon=[[60, 4]])
    factories.hide_subject(hide=hide)
    text = as_leader.get(reverse("trips:trip-hides", kwargs={"trip_uuid": trip.uuid})).content.decode()
    assert '<span class="sign sign-care">no seats</span> <span class="sign sign-care">no window</span>' in text
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


def test_hide_edit_costs_the_same_queries_with_many_rows(as_leader, site, django_assert_max_num_queries):
    hide = factories.hide(site=site, seats=3)
    for number in range(8):
        factories.view(hide=hide, name=f"w{number}", bearing_deg=number)
        factories.seat(hide=hide, name=f"s{number}")
    with django_assert_max_num_queries(14):
        as_leader.get(edit_url(hide))


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


def test_every_number_and_rule_of_a_hide_and_its_site_says_what_it_is_for(as_leader, site):
    hide = factories.hide(site=site)
    forms = HideForms(None, None, hide=hide, today=factories.STARTS_ON, units="metric")
    plain = {"name", "gpx", "position_sure", "bearing_is", "measured_on", "near_m", "glass", "fan", "DELETE", "id"}
    plain |= {"hide", "sun_day", "sun_reached", "sun_left"}
    whole = [forms.hide, forms.views.forms[0], forms.seats.forms[0], SiteForm(instance=site, today=factories.STARTS_ON)]
    silent = {name for form in whole for name, field in form.fields.items() if not field.help_text}
    assert silent <= plain
    page = as_leader.get(edit_url(hide)).content.decode()
    assert "With fewer the hide stays shut in that session." in page
