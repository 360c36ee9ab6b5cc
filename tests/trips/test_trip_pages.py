"""Trips: list, one trip, new, change, rules - as the leader, a stranger, and nobody."""

import re
from html import unescape

import pytest
from django.urls import reverse
from django.utils.html import strip_tags

from tests import factories
from tests.trips.issued_trips import issue, seated_rota
from trips.forms.trip import RULE_BOUNDS
from trips.models import PaperPack, Trip

pytestmark = pytest.mark.django_db


@pytest.fixture
def trip():
    return factories.planned_trip()


@pytest.fixture
def as_leader(client, trip):
    client.force_login(trip.leader)
    return client


def url(name, trip):
    return reverse(f"trips:{name}", kwargs={"trip_uuid": trip.uuid})


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
    assert gap_links(page, "no window") == {"Alder": found["Alder"].replace("#seats", "#views")}
    person = place.participant.uuid
    assert gap_links(page, "no gear")["Béla Ünal"] == reverse("trips:kit-show", args=[person]) + f"?trip={trip.uuid}"
    assert gap_links(page, "marks")["Béla Ünal"].startswith(reverse("trips:my-wishes", args=[person]))
    assert gap_links(page, "not confirmed") == {"Béla Ünal": reverse("trips:place-edit", args=[trip.uuid, place.uuid])}
    for lacks in ("no seats", "no window", "no horizon", "no subjects", "no gear", "marks", "confirmed", "meeting"):
        for address in gap_links(page, lacks).values():
            answer = as_leader.get(address.partition("#")[0])
            assert answer.status_code == 200, address
            part = address.partition("#")[2]
            assert not part or f'id="{part}"' in answer.content.decode(), address


def test_trip_show_has_a_fixed_query_count(as_leader, trip, django_assert_num_queries):
    as_leader.get(url("trip-show", trip))
    with django_assert_num_queries(18) as few:
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


def rules_data(**changes):
    data = {
        "leader_policy": "spare_seats",
        "tolerance": "0.01",
        "light_dial": "0.5",
        "set_up_min": "15",
        "settle_min": "0",
        "stop_min": "5",
        "pick_up_window_min": "15",
        "hand_over_min": "60",
        "burden_walk_m": "200",
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


def test_rules_default_shows_what_changes_and_puts_the_rules_back_but_not_the_marks(as_leader, trip):
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


@pytest.mark.parametrize("name", ["trip-show", "trip-edit", "rules-edit", "rules-default"])
def test_another_leader_gets_404_everywhere(client, trip, name):
    client.force_login(factories.leader())
    for method in (client.get, client.post):
        assert method(url(name, trip)).status_code in (404, 405)


def states_of(answer):
    """The way through a trip as the page was given it: title of a step -> its state."""
    return {step.title: step.state for step in answer.context["path"]}


def test_the_way_through_begins_with_what_is_needed(client):
    trip = factories.trip(sites=[])
    client.force_login(trip.leader)
    answer = client.get(url("trip-show", trip))
    states = states_of(answer)
    assert (states["Site and hides"], states["Sessions"], states["People and gear"]) == ("needed",) * 3
    assert (states["Rules"], states["Rota"], states["Issue it"]) == ("done", "later", "later")
    page = answer.content.decode()
    assert url("trip-hides", trip) in page
    assert "Make a rota" not in page


def test_the_way_through_goes_on_to_the_rota_and_its_issue(as_leader, trip):
    states = states_of(as_leader.get(url("trip-show", trip)))
    assert (states["Site and hides"], states["Rota"], states["Issue it"]) == ("assumed", "next", "later")
    rota = factories.rota(trip=trip)
    states = states_of(as_leader.get(url("trip-show", trip)))
    assert (states["Rota"], states["Issue it"]) == ("done", "next")
    issue(rota)
    factories.rota(trip=trip)
    answer = as_leader.get(url("trip-show", trip))
    assert states_of(answer)["Issue it"] == "done"
    assert f"Rota {rota.number} is issued" in answer.content.decode()
    assert f"Rota {rota.number + 1} is a newer draft." in answer.content.decode()


def test_the_way_through_ends_when_all_have_confirmed_and_the_papers_are_printed(as_leader, trip):
    assert states_of(as_leader.get(url("trip-show", trip)))["Papers"] == "later"
    row = issue(seated_rota(trip, moves={(0, 0): (0, 0), (1, 0): (0, 1)}))
    answer = as_leader.get(url("trip-show", trip))
    assert (states_of(answer)["Everybody knows"], states_of(answer)["Papers"]) == ("next", "next")
    assert "3 have not confirmed." in answer.content.decode()
    assert f"Print those of rota {row.rota.number}." in answer.content.decode()
    row.notices.update(confirmed_at=row.issued_at)
    PaperPack.objects.create(trip=trip, rota=row.rota, state="finished", asked_at=row.issued_at, content=b"PK")
    answer = as_leader.get(url("trip-show", trip))
    assert (states_of(answer)["Everybody knows"], states_of(answer)["Papers"]) == ("done", "done")
    assert not [step for step in answer.context["path"] if step.is_now]


def test_one_step_alone_is_the_one_to_go_on_with(client, as_leader, trip):
    for where, title in ((factories.trip(leader=trip.leader, sites=[]), "Site and hides"), (trip, "Rota")):
        answer = as_leader.get(url("trip-show", where))
        assert [step.title for step in answer.context["path"] if step.is_now] == [title]
        assert answer.content.decode().count("btn-primary") == 1
        assert answer.content.decode().count('aria-current="step"') == 1
