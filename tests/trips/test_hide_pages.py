"""Hides: drawn while typed, and refused with a sentence at the field."""

import pytest
from django.urls import reverse

from tests import factories
from tests.trips.hide_forms import edit_url, hide_data, new_url
from trips.forms.hide import HideForms
from trips.forms.site import SiteForm
from trips.models import Hide

pytestmark = pytest.mark.django_db


@pytest.fixture
def trip():
    return factories.trip()


def test_a_name_a_seat_a_bearing_and_a_distance_are_enough(as_leader, site):
    assert as_leader.post(new_url(site), hide_data()).status_code == 302
    hide = Hide.objects.get(name="Alder")
    view = hide.views.get()
    assert (view.bearing_deg, view.near_m, view.far_m, view.name) == (250.0, 6.0, 6.0, "view")
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


def test_hide_edit_costs_the_same_queries_with_many_rows(as_leader, site, django_assert_max_num_queries):
    hide = factories.hide(site=site, seats=3)
    for number in range(8):
        factories.view(hide=hide, name=f"w{number}", bearing_deg=number)
        factories.seat(hide=hide, name=f"s{number}")
    with django_assert_max_num_queries(14):
        as_leader.get(edit_url(hide))


def test_every_number_and_rule_of_a_hide_and_its_site_says_what_it_is_for(as_leader, site):
    hide = factories.hide(site=site)
    forms = HideForms(None, None, hide=hide, today=factories.STARTS_ON, units="metric")
    plain = {"name", "gpx", "position_sure", "bearing_is", "measured_on", "near_m", "glass", "fan", "DELETE", "id"}
    plain |= {"hide", "sun_day", "sun_reached", "sun_left"}
    whole = [forms.hide, forms.views.forms[0], forms.seats.forms[0], SiteForm(instance=site, today=factories.STARTS_ON)]
    silent = {name for form in whole for name, field in form.fields.items() if not field.help_text}
    assert silent <= plain
    page = as_leader.get(edit_url(hide)).content.decode()
    assert "With fewer people it stays closed." in page
