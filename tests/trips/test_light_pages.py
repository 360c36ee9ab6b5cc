"""The light pages of a hide and of a trip, and the command that prints the same."""

import json
import re
from datetime import UTC, datetime, timedelta

import pytest
from django.core.management import CommandError, call_command
from django.urls import reverse

from tests import factories
from trips.models import Forecast

pytestmark = pytest.mark.django_db


@pytest.fixture
def trip():
    trip = factories.trip(name="Dehesa in May")
    factories.hide(site=trip.sites.get(), name="Alder", roof_height_m=0.5, sunken=True)
    two = factories.hide(site=trip.sites.get(), name="Broom", views=2)
    two.views.update(bearing_deg=100)
    first = two.views.first()
    first.bearing_deg, first.horizon = 250, [[60, 4], [85, 12], [110, 6]]
    first.save()
    for _ in range(4):
        factories.session(trip=trip)
    return trip


def hide(trip, name="Alder"):
    return trip.sites.get().hides.get(name=name)


def hide_light(row, **query):
    return reverse("trips:hide-light", kwargs={"hide_uuid": row.uuid}), query


def page(client, row, **query):
    address, data = hide_light(row, **query)
    answer = client.get(address, data)
    assert answer.status_code == 200
    return answer.content.decode()


def test_hide_light_shows_the_days_sun_classes_and_cautions(as_leader, trip):
    text = page(as_leader, hide(trip), day="2027-05-08")
    for words in (
        "Sunrise <strong>07:18",
        "Sunset <strong>21:25",
        "Civil dawn <strong>06:49",
        "front light",
        "top light",
    ):
        assert words in text
    assert "near edge of the water 07:18–07:5" in text
    assert "open horizon, assumed" in text
    assert text.count('class="drawing drawing-seat"') == 1
    assert text.count('class="drawing drawing-year"') == 1
    assert "hide 3 m wide, assumed" in text


def test_hide_light_starts_on_the_trips_first_day_and_shows_its_sessions(as_leader, trip):
    text = page(as_leader, hide(trip))
    assert "Saturday 8 May 2027" in text
    assert "Sessions of Dehesa in May" in text
    assert "drawing-trip" in text


def test_hide_light_of_two_views_says_which_is_best_when(as_leader, trip):
    text = page(as_leader, hide(trip, "Broom"), day="2027-05-08")
    assert "Best view when" in text
    assert text.count('class="drawing drawing-seat"') == 2
    ids = re.findall(r' id="([^"]+)"', text)
    assert len(ids) == len(set(ids))


def test_hide_light_answers_htmx_with_the_part_alone(as_leader, trip):
    address, query = hide_light(hide(trip), day="2027-05-09")
    text = as_leader.get(address, query, headers={"HX-Request": "true", "HX-Target": "light"}).content.decode()
    assert text.strip().startswith('<div id="light"')
    assert "<html" not in text


@pytest.mark.parametrize(("day", "words"), [("2027-06-05", "Sun up all day"), ("2027-01-05", "Sun down all day")])
def test_hide_light_prints_where_the_sun_does_not_set(as_leader, trip, day, words):
    north = factories.site(leader=trip.leader, latitude_deg=68.4, longitude_deg=17.4, time_zone="Europe/Oslo")
    text = page(as_leader, factories.hide(site=north), day=day)
    assert words in text
    if "down" in words:
        assert "Civil dawn <strong>09:08" in text
        assert "Civil dusk <strong>14:44" in text


@pytest.mark.parametrize(
    ("query", "sentence"),
    [
        ({"day": "1800-01-01"}, "Years from 1900 to 2100 can be computed, not 1800."),
        ({"day": "tomorrow"}, "Enter a valid date"),
        ({"wish": "rim"}, "Select a valid choice"),
        ({"focal_mm": "0"}, "This is from 8 to 2000."),
    ],
)
def test_hide_light_explains_what_it_cannot_show(as_leader, trip, query, sentence):
    text = page(as_leader, hide(trip), **query)
    assert sentence in text
    assert next(iter(query.values())) in text


def test_hide_light_has_no_style_or_script_of_its_own(as_leader, trip):
    text = page(as_leader, hide(trip, "Broom"))
    assert not re.search(r"\sstyle=|<style|<script>|\son[a-z]+=", text)


def test_hide_light_keeps_numbers_for_machines_in_every_language(as_leader, trip):
    address, query = hide_light(hide(trip), day="2027-05-08")
    text = as_leader.get(address, query, headers={"Accept-Language": "de"}).content.decode()
    drawing = text[text.index("<svg") : text.index("</svg>")]
    assert not re.search(r'="-?\d+,\d', drawing)


@pytest.mark.parametrize("name", ["hide-light", "trip-light", "trip-hides", "hide-edit", "site-edit", "hide-new"])
def test_only_leaders_of_the_site_see_its_pages(client, trip, name):
    site = trip.sites.get()
    keys = {"hide": {"hide_uuid": hide(trip).uuid}, "trip": {"trip_uuid": trip.uuid}, "site": {"site_uuid": site.uuid}}
    address = reverse(f"trips:{name}", kwargs=keys["site" if name == "hide-new" else name.split("-")[0]])
    assert client.get(address).status_code == 302  # nobody, and a participant, who has no sign-in
    client.force_login(factories.leader())
    assert client.get(address).status_code == 404
    co_leader = factories.leader()
    trip.co_leaders.add(co_leader)
    client.force_login(co_leader)
    assert client.get(address).status_code == 200


def test_trip_light_shows_every_hide_in_every_session(as_leader, trip):
    text = as_leader.get(reverse("trips:trip-light", kwargs={"trip_uuid": trip.uuid})).content.decode()
    assert text.count('class="light-cell"') == 8
    assert text.count('class="light-bar"') == 8 + 6  # the cells, and the legend
    assert "front light 07:48–10:45" in text
    assert "good" in text
    back = as_leader.get(reverse("trips:trip-light", kwargs={"trip_uuid": trip.uuid}), {"wish": "back"})
    assert back.content.decode() != text


def test_trip_light_proposes_a_later_start_in_the_heat(as_leader, trip):
    late = trip.sessions.all()[1]
    for hour, air_c in enumerate((40.0, 39.0, 37.5, 35.5), start=-1):
        moment = late.starts_at + timedelta(minutes=30) + timedelta(hours=hour)
        Forecast.objects.create(session=late, hour=moment, air_c=air_c, humidity_pct=20)
    trip.rules.heat_limit_c = 37
    trip.rules.save()
    text = as_leader.get(reverse("trips:trip-light", kwargs={"trip_uuid": trip.uuid})).content.decode()
    assert "sit 19:30–21:30 instead, water for each: 1.5 l in 2 bottles of one litre" in text
    assert "US National Weather Service" in text
    assert "Carrying gear in air of 40 °C: 30 min of it, then 30 min of rest" in text


def test_trip_light_costs_the_same_queries_with_many_hides(as_leader, trip, django_assert_max_num_queries):
    for _ in range(6):
        factories.hide(site=trip.sites.get())
        factories.session(trip=trip)
    with django_assert_max_num_queries(26):
        as_leader.get(reverse("trips:trip-light", kwargs={"trip_uuid": trip.uuid}))


def test_hide_light_costs_the_same_queries_with_many_rows(as_leader, trip, django_assert_max_num_queries):
    row = hide(trip)
    for number in range(6):
        factories.view(hide=row, name=f"more {number}", bearing_deg=number * 50)
        factories.hide_subject(hide=row, months=[5])
        factories.session(trip=trip, index=0, starts_at=factories.FIRST_START + timedelta(minutes=number + 1))
    with django_assert_max_num_queries(12):
        page(as_leader, row)


def test_an_empty_trip_says_what_the_light_needs(client):
    trip = factories.trip()
    client.force_login(trip.leader)
    text = client.get(reverse("trips:trip-light", kwargs={"trip_uuid": trip.uuid})).content.decode()
    assert "The light needs a hide with a view, and a session." in text


def test_the_command_prints_the_same_as_json(trip, capsys):
    call_command("light", str(trip.uuid), "--json")
    found = json.loads(capsys.readouterr().out)
    assert [len(session["hides"]) for session in found["sessions"]] == [2, 2, 2, 2]
    alder = found["sessions"][0]["hides"][0]
    assert alder["name"] == "Alder"
    assert 0.8 < alder["score"] <= 1.0
    [view] = alder["views"]
    assert [interval["light"] for interval in view["intervals"]] == ["none", "shade", "front"]
    rise = datetime.fromisoformat(view["intervals"][0]["ends_at"])
    assert abs((rise - datetime(2027, 5, 8, 5, 18, 10, tzinfo=UTC)).total_seconds()) <= 1.0
    assert view["assumed"] == ["perch_height_m", "horizon"]
    assert len(view["ev100"]) == 48


def test_the_command_prints_lines_for_people(trip, capsys):
    call_command("light", "Dehesa in May", "--wish", "back")
    assert "Alder: front light 07:48–10:45" in capsys.readouterr().out


def test_the_command_refuses_an_unknown_trip_in_a_sentence(trip):
    with pytest.raises(CommandError, match="There is no trip 'Nowhere'") as refused:
        call_command("light", "Nowhere")
    assert refused.value.returncode == 2
