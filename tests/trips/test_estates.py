"""Whose estate opens to whom: the owner's yes, given, used and withdrawn; leaders who came and went."""

import importlib

import pytest
from django.apps import apps
from django.urls import reverse

from tests import factories
from tests.trips.issued_trips import issue, seated_rota
from trips.models import SitePlanner
from trips.services.calendars import feed_address
from trips.services.trip_file import trip_file_bytes, trip_file_import

pytestmark = pytest.mark.django_db


@pytest.fixture
def trip():
    return factories.planned_trip()


@pytest.fixture
def nuria():
    return factories.leader(username="nuria")


def trip_data(trip, **more):
    """What the form of a trip sends as it stands."""
    days = {"starts_on": trip.starts_on.isoformat(), "ends_on": trip.ends_on.isoformat()}
    sites = [site.pk for site in trip.sites.all()]
    co_leaders = ", ".join(user.username for user in trip.co_leaders.all())
    version = type(trip).objects.get(pk=trip.pk).version
    stands = {"name": trip.name, "sites": sites, "units": trip.units, "co_leaders": co_leaders}
    return days | stands | {"seen_version": version} | more


def edit(client, asker, trip, **more):
    client.force_login(asker)
    return client.post(reverse("trips:trip-edit", args=[trip.uuid]), trip_data(trip, **more))


def statuses(client, asker, site):
    """What the site's page, a hide's and its survey answer."""
    client.force_login(asker)
    hide = site.hides.first()
    addresses = [reverse("trips:site-edit", args=[site.uuid]), reverse("trips:hide-edit", args=[hide.uuid])]
    addresses += [reverse(f"trips:hide-{name}", args=[hide.uuid]) for name in ("survey", "subjects", "light")]
    return {client.get(address).status_code for address in addresses}


def say_yes(client, site, leader, name="planner-allow"):
    client.force_login(site.leader)
    data = {"leader": leader.username if name == "planner-allow" else leader.pk}
    return client.post(reverse(f"trips:{name}", args=[site.uuid]), data)


# --- another leader's estate without a yes


@pytest.mark.parametrize("is_co_leader", [True, False], ids=["co-leader", "removed co-leader"])
def test_nobody_puts_a_site_into_a_trip_of_their_own_without_its_leaders_yes(client, trip, site, nuria, is_co_leader):
    own = factories.trip(leader=nuria)
    edit(client, trip.leader, trip, co_leaders="nuria")
    if not is_co_leader:
        edit(client, trip.leader, trip, co_leaders="")
    page = edit(client, nuria, own, sites=[site.pk])
    assert page.status_code == 200
    assert "not one of the available choices" in page.content.decode()
    assert site not in own.sites.all()
    assert site.name not in client.get(reverse("trips:trip-new")).content.decode()
    data = trip_data(own, sites=[site.pk], name="Another")
    assert "not one of the available choices" in client.post(reverse("trips:trip-new"), data).content.decode()


def test_a_site_that_stands_in_a_trip_without_a_yes_stays_closed(client, trip, site, nuria):
    own = factories.trip(leader=nuria, sites=[site])
    assert statuses(client, nuria, site) == {404}
    seat = site.hides.first().seats.first()
    client.post(reverse("trips:seat-table", args=[own.uuid]), {f"hide{seat.hide_id}-0-name": "mine"})
    page = client.get(reverse("trips:seat-table", args=[own.uuid])).content.decode()
    assert site.hides.first().name not in page
    hides = client.get(reverse("trips:trip-hides", args=[own.uuid])).content.decode()
    assert f"{site.leader.username}" in hides
    assert "has not said yes" in hides
    assert site.hides.first().name not in hides
    client.force_login(site.leader)
    assert own.name in client.get(reverse("trips:site-edit", args=[site.uuid])).content.decode()


def test_the_light_of_a_trip_names_a_closed_estate_without_leading_there(client, trip, site, nuria):
    own = factories.trip(leader=nuria, sites=[site])
    factories.session(trip=own)
    hide = site.hides.first()
    client.force_login(nuria)
    page = client.get(reverse("trips:trip-light", args=[own.uuid])).content.decode()
    assert hide.name in page
    assert f"/{hide.uuid}/" not in page


def test_a_co_leader_opens_the_estate_while_they_lead(client, trip, site, nuria):
    trip.co_leaders.add(nuria)
    assert statuses(client, nuria, site) == {200}
    trip.co_leaders.remove(nuria)
    assert statuses(client, nuria, site) == {404}


# --- the yes


def test_with_a_yes_another_leader_plans_there_and_their_co_leaders_see_it(client, trip, site, nuria):
    own, olga = factories.trip(leader=nuria), factories.leader()
    own.co_leaders.add(olga)
    assert say_yes(client, site, nuria).status_code == 302
    assert statuses(client, nuria, site) == {404}  # nothing opens before a trip goes there
    edit(client, nuria, own, sites=[site.pk])
    assert list(own.sites.all()) == [site]
    assert statuses(client, nuria, site) == statuses(client, olga, site) == {200}
    own.co_leaders.remove(olga)
    assert statuses(client, olga, site) == {404}


def test_a_withdrawn_yes_closes_the_estate_and_loses_nothing(client, trip, site, nuria):
    own = factories.trip(leader=nuria)
    say_yes(client, site, nuria)
    edit(client, nuria, own, sites=[site.pk])
    session = factories.session(trip=own)
    say_yes(client, site, nuria, "planner-refuse")
    assert not site.planners.exists()
    assert statuses(client, nuria, site) == {404}
    assert edit(client, nuria, own).status_code == 302
    assert list(own.sites.all()) == [site]
    assert list(own.sessions.all()) == [session]
    new = reverse("trips:session-new", args=[own.uuid])
    data = {"site": site.pk, "kind": "early", "sky": "unknown", "rests_allowed": 0}
    page = client.post(new, data)
    assert "site" in page.context["form"].errors
    kept = client.get(reverse("trips:session-edit", args=[own.uuid, session.uuid]))
    assert list(kept.context["form"].fields["site"].queryset) == [site]


def test_only_the_sites_own_leader_says_yes(client, trip, site, nuria):
    trip.co_leaders.add(nuria)
    client.force_login(nuria)
    for name in ("planner-allow", "planner-refuse", "site-address"):
        assert client.post(reverse(f"trips:{name}", args=[site.uuid]), {"leader": "nuria"}).status_code == 404
    assert "Who may plan here" not in client.get(reverse("trips:site-edit", args=[site.uuid])).content.decode()
    assert not SitePlanner.objects.exists()


@pytest.mark.parametrize(("name", "told"), [("nobody", "Nobody signs in as nobody."), ("keeper", "is yours")])
def test_a_yes_to_nobody_is_told(client, name, told):
    site = factories.site(leader=factories.leader(username="keeper"))
    client.force_login(site.leader)
    page = client.post(reverse("trips:planner-allow", args=[site.uuid]), {"leader": name})
    assert page.status_code == 200
    assert told in page.content.decode()
    assert not SitePlanner.objects.exists()


def test_a_trip_with_a_closed_site_says_so_and_names_none_of_its_hides(client, site, nuria):
    other = factories.trip(leader=nuria)
    other.sites.add(site)
    address = reverse("trips:trip-show", args=[other.uuid])
    client.force_login(nuria)
    page = " ".join(client.get(address).content.decode().split())
    hides = reverse("trips:trip-hides", args=[other.uuid])
    assert f'href="{hides}#closed">{site.name}</a> <strong>is closed to this trip.</strong>' in page
    assert 'id="closed"' in client.get(hides).content.decode()
    assert site.hides.exists()
    assert not any(hide.name in page for hide in site.hides.all())
    say_yes(client, site, nuria)
    client.force_login(nuria)
    assert "is closed to this trip" not in client.get(address).content.decode()


def test_a_leader_is_called_by_name_where_a_co_leader_may_not_write(client, trip, nuria):
    trip.co_leaders.add(nuria)
    type(trip.leader).objects.filter(pk=trip.leader.pk).update(first_name="Ana", last_name="Roble")
    place = trip.places.first()
    client.force_login(nuria)
    person = client.get(reverse("trips:person-edit", args=[trip.uuid, place.uuid])).content.decode()
    assert "Only Ana Roble changes this: sign-in links go there." in person
    page = edit_page(client, nuria, trip)
    assert "Only Ana Roble, who leads this trip, changes this." in page
    assert "Ana Roble may plan there, on other trips too." in page


# --- a co-leader's own site


def test_a_co_leaders_own_site_opens_to_the_trips_leader_and_stays(client, trip, nuria):
    own = factories.hide(site=factories.site(leader=nuria)).site
    trip.co_leaders.add(nuria)
    both = [*trip.sites.values_list("pk", flat=True), own.pk]
    assert "may plan there" in edit_page(client, nuria, trip)
    edit(client, nuria, trip, sites=both)
    assert statuses(client, trip.leader, own) == {200}
    edit(client, trip.leader, trip)
    assert own in trip.sites.all()
    edit(client, trip.leader, trip, co_leaders="")
    assert own in trip.sites.all()
    assert statuses(client, trip.leader, own) == {200}
    say_yes(client, own, trip.leader, "planner-refuse")
    assert statuses(client, trip.leader, own) == {404}
    edit(client, trip.leader, trip)
    assert own in trip.sites.all()


def edit_page(client, asker, trip):
    client.force_login(asker)
    return client.get(reverse("trips:trip-edit", args=[trip.uuid])).content.decode()


def test_saving_a_trip_as_it_stands_gives_no_yes_again(client, trip, nuria):
    own = factories.site(leader=nuria)
    trip.co_leaders.add(nuria)
    trip.sites.add(own)
    assert edit(client, nuria, trip).status_code == 302
    assert not SitePlanner.objects.exists()


def test_a_site_made_from_a_trips_page_is_its_makers_and_comes_with_their_yes(client, trip, nuria):
    trip.co_leaders.add(nuria)
    client.force_login(nuria)
    data = {"name": "New marsh", "position": "39.5, -6.2", "time_zone": "Europe/Madrid"} | {"cars_leave_from": "lodge"}
    client.post(f"{reverse('trips:site-new')}?trip={trip.uuid}", data)
    made = trip.sites.get(name="New marsh")
    assert made.leader == nuria
    client.force_login(trip.leader)
    assert client.get(reverse("trips:site-edit", args=[made.uuid])).status_code == 200


def test_a_co_leader_may_not_delete_a_hide_or_a_subject_of_the_estate(client, trip, site, nuria):
    trip.co_leaders.add(nuria)
    client.force_login(nuria)
    hide = site.hides.first()
    subject = hide.hide_subjects.first().subject
    assert "Remove this hide" not in client.get(reverse("trips:hide-edit", args=[hide.uuid])).content.decode()
    assert client.post(reverse("trips:hide-remove", args=[hide.uuid])).status_code == 404
    assert client.post(reverse("trips:subject-remove", args=[subject.uuid])).status_code == 404


# --- calendars


def test_the_owners_calendar_is_its_sites_leaders_alone(client, trip, site, nuria):
    trip.co_leaders.add(nuria)
    before = feed_address(kind="feed_owner", owner_uuid=site.uuid)
    client.force_login(nuria)
    assert before not in client.get(reverse("trips:papers", args=[trip.uuid])).content.decode()
    data = {"kind": "feed_owner", "owner_uuid": site.uuid}
    client.post(reverse("trips:papers-address", args=[trip.uuid]), data)
    assert feed_address(kind="feed_owner", owner_uuid=site.uuid) == before
    client.force_login(site.leader)
    assert before in client.get(reverse("trips:papers", args=[trip.uuid])).content.decode()
    assert before in client.get(reverse("trips:site-edit", args=[site.uuid])).content.decode()
    client.post(reverse("trips:site-address", args=[site.uuid]))
    assert feed_address(kind="feed_owner", owner_uuid=site.uuid) != before


def test_a_co_leader_who_leaves_takes_no_calendar_along(client, trip, nuria):
    issue(seated_rota(trip))
    trip.co_leaders.add(nuria)
    before = feed_address(kind="feed_trip", owner_uuid=trip.uuid)
    edit(client, trip.leader, trip)
    path = reverse("trips:feed-show", args=[before.rsplit("/", 1)[1].removesuffix(".ics")])
    assert client.get(path).status_code == 200
    edit(client, trip.leader, trip, co_leaders="")
    assert client.get(path).status_code == 410


# --- what was there before


def test_a_co_leaders_site_that_a_trip_has_already_counts_as_a_yes_and_no_other(trip, nuria):
    own, foreign = factories.site(leader=nuria), factories.site()
    trip.co_leaders.add(nuria)
    trip.sites.add(own, foreign)
    step = importlib.import_module("trips.migrations.0006_site_planner")
    step.yes_of_those_who_led_together(apps, None)
    assert [(yes.site, yes.leader) for yes in SitePlanner.objects.all()] == [(own, trip.leader)]


def test_a_trip_file_with_a_co_leaders_site_opens_it_to_the_leader(client, trip, nuria):
    own = factories.hide(site=factories.site(leader=nuria, name="Second marsh")).site
    trip.co_leaders.add(nuria)
    trip.sites.add(own)
    copied = trip_file_import(content=trip_file_bytes(trip=trip), copy=True).trip
    site = copied.sites.get(leader=nuria)
    assert site != own
    assert statuses(client, copied.leader, site) == {200}
    assert not own.planners.exists()
