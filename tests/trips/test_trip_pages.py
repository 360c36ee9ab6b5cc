"""Trips: list, one trip, new, change, co-leaders - as the leader, a stranger, and nobody."""

import re
from datetime import datetime
from html import unescape
from types import SimpleNamespace

import pytest
from django.urls import reverse
from django.utils.html import strip_tags

from participants.models import LeaderDetails
from tests import factories
from tests.trips.issued_trips import issue, seated_rota
from tests.trips.trip_forms import url
from trips.models import Trip
from trips.views import trip as views

pytestmark = pytest.mark.django_db


@pytest.fixture
def trip():
    return factories.planned_trip()


def test_trip_list_shows_own_trips_only(as_leader, trip):
    other = factories.trip(name="Somebody else's marsh")
    page = as_leader.get(reverse("trips:trip-list")).content.decode()
    assert trip.name in page
    assert other.name not in page


def test_trip_list_without_trips_says_the_next_step(client):
    client.force_login(factories.leader())
    page = client.get(reverse("trips:trip-list")).content.decode()
    assert "No trip yet" in page
    assert reverse("trips:trip-new") in page


def test_trip_list_costs_the_same_queries_with_many_trips(as_leader, trip, django_assert_max_num_queries):
    for _ in range(15):
        factories.trip(leader=trip.leader)
    with django_assert_max_num_queries(5):
        as_leader.get(reverse("trips:trip-list"))


def test_co_leader_sees_the_trip_and_a_stranger_gets_404(client, trip):
    helper = factories.leader()
    client.force_login(helper)
    assert client.get(url("trip-show", trip)).status_code == 404
    trip.co_leaders.add(helper)
    assert client.get(url("trip-show", trip)).status_code == 200


def test_leader_edit_keeps_the_telephone_of_who_asks_alone(client, as_leader, trip):
    page, other = reverse("trips:leader-edit"), factories.leader()
    sent = {"phone": "+34 600 333 444", "seen_version": "1"}
    assert as_leader.post(page, sent).status_code == 302
    assert LeaderDetails.objects.get(leader=trip.leader).phone == "+34 600 333 444"
    assert "+34 600 333 444" in as_leader.get(page).content.decode()
    assert "changed since you opened it" in as_leader.post(page, sent).content.decode()
    client.force_login(other)
    assert "600 333 444" not in client.get(page).content.decode()
    LeaderDetails.objects.filter(leader=other).delete()
    assert client.post(page, {"phone": "", "seen_version": "1"}).status_code == 302
    assert LeaderDetails.objects.get(leader=trip.leader).phone == "+34 600 333 444"


def test_a_leader_without_a_telephone_is_told_on_the_trips_page(as_leader, trip):
    here = reverse("trips:leader-edit", fragment="div_id_phone")
    assert here not in as_leader.get(url("trip-show", trip)).content.decode()
    LeaderDetails.objects.filter(leader=trip.leader).update(phone="")
    assert here in as_leader.get(url("trip-show", trip)).content.decode()


def test_a_leaders_e_mail_is_their_own_and_changes_with_their_password_alone(as_leader, trip):
    page, here = reverse("trips:leader-edit"), reverse("trips:leader-edit", fragment="div_id_email")
    sent = {"phone": "+34 600 333 444", "email": "nuria@example.org", "seen_version": "1"}
    assert here in as_leader.get(url("trip-show", trip)).content.decode()
    assert "Type your password" in as_leader.post(page, sent).content.decode()
    assert "Type your password" in as_leader.post(page, sent | {"password": "guessed"}).content.decode()
    wrong = as_leader.post(page, sent | {"email": "nuria", "password": "quiet-soles-27"})
    assert "valid email address" in wrong.content.decode()
    assert as_leader.post(page, sent | {"password": "quiet-soles-27"}).status_code == 302
    trip.leader.refresh_from_db()
    assert trip.leader.email == "nuria@example.org"
    assert as_leader.post(page, sent | {"phone": "hello", "seen_version": "2"}).status_code == 200
    assert as_leader.post(page, sent | {"phone": "+34 600 333 555", "seen_version": "2"}).status_code == 302
    assert here not in as_leader.get(url("trip-show", trip)).content.decode()


def trip_data(trip, **more):
    """What the form of a trip sends as it stands."""
    days = {"starts_on": trip.starts_on.isoformat(), "ends_on": trip.ends_on.isoformat()}
    sites = [site.pk for site in trip.sites.all()]
    return days | {"name": trip.name, "sites": sites, "units": trip.units, "seen_version": trip.version} | more


def test_the_leader_names_co_leaders_and_takes_them_back(client, as_leader, trip):
    nuria, olga = (factories.leader(username=name) for name in ("nuria", "olga"))
    as_leader.post(url("trip-edit", trip), trip_data(trip, co_leaders="nuria, olga"))
    assert set(trip.co_leaders.all()) == {nuria, olga}
    assert 'value="nuria, olga"' in as_leader.get(url("trip-edit", trip)).content.decode()
    assert "nuria, olga" in as_leader.get(url("trip-show", trip)).content.decode()
    trip.refresh_from_db()
    as_leader.post(url("trip-edit", trip), trip_data(trip, co_leaders="olga"))
    client.force_login(nuria)
    assert client.get(url("trip-show", trip)).status_code == 404
    client.force_login(olga)
    assert client.get(url("trip-show", trip)).status_code == 200


@pytest.mark.parametrize(
    ("typed", "told"),
    [("nuria nobody", "Nobody signs in as nobody."), ("gone", "Nobody signs in as gone."), ("lead", "leads the trip")],
)
def test_a_co_leader_who_is_none_is_told_without_naming_others(client, typed, told):
    trip = factories.trip(leader=factories.leader(username="lead"))
    factories.leader(username="nuria")
    factories.leader(username="gone", is_active=False)
    factories.leader(username="quentin")
    client.force_login(trip.leader)
    page = client.post(url("trip-edit", trip), trip_data(trip, co_leaders=typed)).content.decode()
    assert told in page
    assert "quentin" not in page
    assert not trip.co_leaders.exists()


def test_a_co_leader_changes_the_trip_but_not_who_leads_it(client, trip):
    nuria, _ = (factories.leader(username=name) for name in ("nuria", "olga"))
    trip.co_leaders.add(nuria)
    client.force_login(nuria)
    client.post(url("trip-edit", trip), trip_data(trip, name="Renamed", co_leaders="olga"))
    trip.refresh_from_db()
    assert trip.name == "Renamed"
    assert list(trip.co_leaders.all()) == [nuria]


def test_a_new_trip_may_have_co_leaders_at_once(client):
    nuria = factories.leader(username="nuria")
    client.force_login(factories.leader())
    data = {"name": "May days", "starts_on": "2027-05-08", "ends_on": "2027-05-12", "units": "feet"}
    client.post(reverse("trips:trip-new"), data | {"co_leaders": "nuria"})
    assert list(Trip.objects.get().co_leaders.all()) == [nuria]


def test_nobody_is_sent_to_the_sign_in(client, trip):
    answer = client.get(url("trip-show", trip))
    assert answer.status_code == 302
    assert reverse("sign-in") in answer["Location"]


def test_trip_show_names_what_is_missing(as_leader, trip):
    bare = factories.hide(site=trip.sites.get(), name="Alder", seats=0)
    factories.place(trip=trip, participant=factories.participant(leader=trip.leader, name="Béla Ünal"))
    page = as_leader.get(url("trip-show", trip)).content.decode()
    lines = [" ".join(line.split()) for line in strip_tags(page.replace("<li>", "\n")).splitlines()]
    assert any(line.startswith(f"{bare.name} has no seats.") for line in lines)
    assert any(line.startswith("Béla Ünal has no gear.") for line in lines)
    assert "Before a rota can be made" in page


def gap_links(page, lacks):
    """The names and addresses in the line of what is lacking."""
    line = next(line for line in re.findall(r"<li>(.*?)</li>", page, re.DOTALL) if lacks in line)
    return {name: unescape(address) for address, name in re.findall(r'<a href="([^"]+)">([^<]+)</a>', line)}


def test_each_name_of_what_is_missing_leads_to_the_page_that_mends_it(as_leader, trip):
    site = trip.sites.get()
    alder, birch = (factories.hide(site=site, name=name, seats=0) for name in ("Alder", "Birch"))
    alder.views.all().delete()
    place = factories.place(
        trip=trip, participant=factories.participant(leader=trip.leader, name="Béla Ünal"), state="invited"
    )
    page = as_leader.get(url("trip-show", trip)).content.decode()
    found = gap_links(page, "no seats")
    assert list(found) == ["Alder", "Birch"]
    assert found["Birch"] == reverse("trips:hide-edit", args=[birch.uuid]) + f"?trip={trip.uuid}#seats"
    assert gap_links(page, "no view") == {"Alder": found["Alder"].replace("#seats", "#views")}
    person = place.participant.uuid
    assert gap_links(page, "no gear")["Béla Ünal"] == reverse("trips:gear-show", args=[person]) + f"?trip={trip.uuid}"
    assert gap_links(page, "votes")["Béla Ünal"].startswith(reverse("trips:my-wishes", args=[person]))
    assert gap_links(page, "not confirmed") == {"Béla Ünal": reverse("trips:place-edit", args=[trip.uuid, place.uuid])}
    for lacks in ("no seats", "no view", "no horizon", "no subjects", "no gear", "votes", "confirmed", "meeting"):
        for address in gap_links(page, lacks).values():
            answer = as_leader.get(address.partition("#")[0])
            assert answer.status_code == 200, address
            part = address.partition("#")[2]
            assert not part or f'id="{part}"' in answer.content.decode(), address


def test_trip_show_has_a_fixed_query_count(as_leader, trip, django_assert_num_queries):
    as_leader.get(url("trip-show", trip))
    with django_assert_num_queries(22) as few:
        as_leader.get(url("trip-show", trip))
    for _ in range(10):
        factories.hide(site=trip.sites.get())
        factories.place(trip=trip)
    with django_assert_num_queries(len(few.captured_queries)):
        as_leader.get(url("trip-show", trip))


def test_trip_new_saves_the_trip_with_default_rules(client):
    site = factories.site()
    client.force_login(site.leader)
    data = {"name": "May days", "starts_on": "2027-05-08", "ends_on": "2027-05-12", "sites": [site.pk], "units": "feet"}
    answer = client.post(reverse("trips:trip-new"), data)
    trip = Trip.objects.get()
    assert answer.status_code == 302
    assert trip.leader == site.leader
    assert trip.rules.set_up_min == 15


def test_trip_new_keeps_what_was_typed_and_explains(client):
    client.force_login(factories.leader())
    data = {"name": "Backwards", "starts_on": "2027-05-12", "ends_on": "2027-05-08", "units": "metric"}
    answer = client.post(reverse("trips:trip-new"), data)
    page = answer.content.decode()
    assert answer.status_code == 200
    assert "A trip does not end before it starts." in page
    assert 'value="Backwards"' in page
    assert not Trip.objects.exists()


def test_trip_edit_opened_before_a_change_is_told_so_and_keeps_the_text(as_leader, trip):
    page = as_leader.get(url("trip-edit", trip)).content.decode()
    assert f'name="seen_version" value="{trip.version}"' in page
    data = {"name": "First", "starts_on": "2027-05-08", "ends_on": "2027-05-12", "units": "metric", "seen_version": 1}
    data["sites"] = [trip.sites.get().pk]
    assert as_leader.post(url("trip-edit", trip), data).status_code == 302
    answer = as_leader.post(url("trip-edit", trip), data | {"name": "Second"})
    assert answer.status_code == 200
    assert "changed since you opened it" in answer.content.decode()
    assert 'value="Second"' in answer.content.decode()
    assert Trip.objects.get().name == "First"


def test_trip_edit_refuses_to_drop_a_site_with_sessions(as_leader, trip):
    data = {"name": "x", "starts_on": "2027-05-08", "ends_on": "2027-05-12", "units": "metric", "seen_version": 1}
    answer = as_leader.post(url("trip-edit", trip), data)
    assert "has sessions on this trip" in answer.content.decode()
    assert trip.sites.count() == 1


@pytest.mark.parametrize("day", ["0001-01-01", "9999-12-31"])
def test_a_trip_is_in_years_of_which_the_sun_is_computed(client, day):
    client.force_login(factories.leader())
    data = {"name": "May days", "starts_on": day, "ends_on": day, "units": "metric"}
    page = client.post(reverse("trips:trip-new"), data).content.decode()
    assert page.count("The sun is computed for the years 1900 to 2100") >= 2
    assert not Trip.objects.exists()


@pytest.mark.parametrize("name", ["trip-show", "trip-edit", "rules-edit", "rules-default"])
def test_another_leader_gets_404_everywhere(client, trip, name):
    client.force_login(factories.leader())
    for method in (client.get, client.post):
        assert method(url(name, trip)).status_code in (404, 405)


@pytest.mark.parametrize(
    ("now", "stage"),
    [
        ("2027-05-07T21:59Z", "in preparation"),
        ("2027-05-07T22:01Z", "running"),  # past midnight at the site
        ("2027-05-12T21:59Z", "running"),
        ("2027-05-12T22:01Z", "over"),
    ],
)
def test_trip_list_says_how_far_a_trip_is_by_its_dates(as_leader, trip, monkeypatch, now, stage):
    Trip.objects.filter(pk=trip.pk).update(starts_on="2027-05-08", ends_on="2027-05-12")
    monkeypatch.setattr(views, "timezone", SimpleNamespace(now=lambda: datetime.fromisoformat(now)))
    assert f'<span class="sign">{stage}</span>' in as_leader.get(reverse("trips:trip-list")).content.decode()


def test_trip_list_says_that_a_rota_is_issued_before_the_trip_begins(as_leader, trip):
    issue(seated_rota(trip))
    assert '<span class="sign">rota issued</span>' in as_leader.get(reverse("trips:trip-list")).content.decode()
