"""Sessions: the list beside the sun, made from rules, edited one by one."""

from datetime import UTC, date, datetime

import pytest
from django.urls import reverse

from tests import factories
from trips.models import Session

pytestmark = pytest.mark.django_db


@pytest.fixture
def trip():
    return factories.trip()


def lasts(trip, first, last):
    """Give the trip other days."""
    trip.starts_on, trip.ends_on = first, last
    trip.save()


def url(name, trip, **more):
    return reverse(f"trips:{name}", kwargs={"trip_uuid": trip.uuid, **more})


def rules_data(trip, **changes):
    data = {
        "site": trip.sites.get().pk,
        "first_day": "2027-05-08",
        "last_day": "2027-05-09",
        "rule-TOTAL_FORMS": "2",
        "rule-INITIAL_FORMS": "2",
        "rule-0-use": "on",
        "rule-0-kind": "early",
        "rule-0-anchor": "start sunrise",
        "rule-0-offset_min": "-30",
        "rule-0-hours": "4",
        "rule-1-use": "on",
        "rule-1-kind": "late",
        "rule-1-anchor": "end sunset",
        "rule-1-offset_min": "20",
        "rule-1-hours": "4",
        "step": "show",
    }
    return data | changes


def test_rules_show_what_they_make_beside_the_sun_before_anything_is_saved(as_leader, trip):
    page = as_leader.post(url("sessions-make", trip), rules_data(trip)).content.decode()
    assert "06:45" in page
    assert "07:18" in page  # sunrise
    assert "21:25" in page  # sunset
    assert not Session.objects.exists()


def test_the_ticked_sessions_are_saved_once(as_leader, trip):
    data = rules_data(trip, step="save", chosen=["0", "1", "2"])
    assert as_leader.post(url("sessions-make", trip), data).status_code == 302
    assert Session.objects.count() == 3
    as_leader.post(url("sessions-make", trip), data)
    assert Session.objects.count() == 3
    first = Session.objects.first()
    assert first.starts_at == datetime(2027, 5, 8, 4, 45, tzinfo=UTC)


def test_a_rule_by_sunset_where_the_sun_stays_up_is_explained(as_leader, trip):
    north = factories.site(leader=trip.leader, latitude_deg=68.4, longitude_deg=17.4, time_zone="Europe/Oslo")
    lasts(trip, date(2027, 6, 5), date(2027, 6, 9))
    data = rules_data(trip, site=north.pk, first_day="2027-06-05", last_day="2027-06-05")
    trip.sites.add(north)
    answer = as_leader.post(url("sessions-make", trip), data)
    assert answer.status_code == 200
    assert "There is no sunrise at this site on 5 June 2027" in answer.content.decode()


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"last_day": "2027-05-01"}, "The last day is before the first."),
        ({"rule-0-hours": "30"}, "This is from 0.25 to 24."),
        ({"rule-0-anchor": "start clock"}, "Give the clock time that this rule goes by."),
        ({"last_day": "2028-05-01"}, "at most 60 days at once"),
        ({"first_day": "nonsense"}, "Enter a valid date."),
        ({"first_day": "2027-05-07"}, "The trip lasts from 8 to 12 May 2027."),
        ({"last_day": "2027-05-13"}, "The trip lasts from 8 to 12 May 2027."),
        ({"rule-0-use": "", "rule-1-use": ""}, "Tick “Make these” in at least one rule."),
    ],
)
def test_wrong_rules_come_back_filled_with_a_sentence(as_leader, trip, changes, sentence):
    page = as_leader.post(url("sessions-make", trip), rules_data(trip, **changes)).content.decode()
    assert sentence in page
    assert 'value="-30"' in page
    assert not Session.objects.exists()


@pytest.mark.parametrize("year", [1, 9999])
def test_rules_in_a_year_without_a_computed_sun_say_so(as_leader, trip, year):
    lasts(trip, date(year, 6, 1), date(year, 6, 5))
    data = rules_data(trip, first_day=f"{year:04}-06-01", last_day=f"{year:04}-06-02")
    page = as_leader.post(url("sessions-make", trip), data).content.decode()
    assert f"The sun is computed for the years 1900 to 2100, not {year}." in page


def test_hours_that_are_taken_are_marked_and_refused_by_name(as_leader, trip):
    factories.session(trip=trip, starts_at=datetime(2027, 5, 8, 7, 0, tzinfo=UTC), name="Vulture morning")
    where = url("sessions-make", trip)
    page = as_leader.post(where, rules_data(trip)).content.decode()
    assert "same time</span> as Vulture morning on 8 May, 09:00 to " in page
    assert page.count(' checked aria-label="Save') == 3
    page = as_leader.post(where, rules_data(trip, step="save", chosen=["0", "2"])).content.decode()
    assert "Early on 8 May, 06:45 to 10:45, is at the same time as Vulture morning on 8 May" in page
    assert page.count(' checked aria-label="Save') == 2
    assert Session.objects.count() == 1


def test_rules_whose_sessions_overlap_each_other_are_not_saved_together(as_leader, trip):
    data = rules_data(trip, step="save", chosen=["0", "1"], last_day="2027-05-08")
    data |= {"rule-1-anchor": "start sunrise"}
    page = as_leader.post(url("sessions-make", trip), data).content.decode()
    assert "is at the same time as" in page
    assert not Session.objects.exists()


@pytest.mark.parametrize(("ticks", "sentence"), [([], "Tick at least one"), (["77"], "make other sessions now")])
def test_saving_nothing_says_so(as_leader, trip, ticks, sentence):
    page = as_leader.post(url("sessions-make", trip), rules_data(trip, step="save", chosen=ticks)).content.decode()
    assert sentence in page
    assert "sessions saved" not in page
    assert 'name="chosen"' in page


def test_session_list_shows_local_times_and_a_session_across_midnight(as_leader, trip):
    factories.session(trip=trip, starts_at=datetime(2027, 5, 8, 20, 0, tzinfo=UTC), kind="night",
                      ends_at=datetime(2027, 5, 9, 1, 0, tzinfo=UTC))  # fmt: skip
    page = as_leader.get(url("session-list", trip)).content.decode()
    assert "22:00" in page
    assert "03:00" in page
    assert "(9 May)" in page
    assert "Sunrise 07:18" in page
    assert "Civil dawn 06:49" in page  # 06:48:31, to the nearest minute


def test_session_list_costs_the_same_queries_with_many_sessions(as_leader, trip, django_assert_num_queries):
    factories.session(trip=trip)
    as_leader.get(url("session-list", trip))
    with django_assert_num_queries(5):
        as_leader.get(url("session-list", trip))
    for _ in range(12):
        factories.session(trip=trip)
    with django_assert_num_queries(5):
        as_leader.get(url("session-list", trip))


def session_data(session, **changes):
    data = {
        "site": session.site.pk,
        "name": "",
        "kind": "early",
        "starts_at_day": "2027-05-08",
        "starts_at_clock": "06:45",
        "starts_at_which": "",
        "ends_at_day": "2027-05-08",
        "ends_at_clock": "10:45",
        "ends_at_which": "",
        "sky": "overcast",
        "rests_allowed": "1",
        "seen_version": session.version,
    }
    return data | changes


def test_session_edit_saves_local_clock_times(as_leader, trip):
    session = factories.session(trip=trip)
    where = url("session-edit", trip, session_uuid=session.uuid)
    answer = as_leader.post(where, session_data(session, starts_at_clock="07:00"))
    assert answer.status_code == 302, answer.content.decode()
    session.refresh_from_db()
    assert session.starts_at == datetime(2027, 5, 8, 5, 0, tzinfo=UTC)
    assert session.sky == "overcast"


def test_session_edit_refuses_a_clock_time_that_is_skipped(as_leader, trip):
    session = factories.session(trip=trip)
    lasts(trip, date(2027, 3, 27), date(2027, 3, 29))
    where = url("session-edit", trip, session_uuid=session.uuid)
    page = as_leader.post(where, session_data(session, starts_at_day="2027-03-28", starts_at_clock="02:30"))
    assert page.status_code == 200
    assert "02:00" in page.content.decode()
    assert "03:00" in page.content.decode()
    assert 'value="02:30"' in page.content.decode()


def test_session_edit_asks_which_of_two_equal_clock_times_is_meant(as_leader, trip):
    session = factories.session(trip=trip)
    lasts(trip, date(2027, 10, 30), date(2027, 11, 1))
    where = url("session-edit", trip, session_uuid=session.uuid)
    data = session_data(session, starts_at_day="2027-10-31", starts_at_clock="02:30",
                        ends_at_day="2027-10-31", ends_at_clock="06:00")  # fmt: skip
    page = as_leader.post(where, data).content.decode()
    assert "which of the two" in page
    as_leader.post(where, data | {"starts_at_which": "1"})
    session.refresh_from_db()
    assert session.starts_at == datetime(2027, 10, 31, 1, 30, tzinfo=UTC)


def test_a_stale_session_form_is_told_so(as_leader, trip):
    session = factories.session(trip=trip)
    where = url("session-edit", trip, session_uuid=session.uuid)
    as_leader.post(where, session_data(session))
    answer = as_leader.post(where, session_data(session, name="My own name"))
    assert "changed since you opened it" in answer.content.decode()
    assert "My own name" in answer.content.decode()


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        (
            {"starts_at_clock": "09:00", "ends_at_clock": "12:00"},
            "is at the same time as early on 8 May, 06:45 to 10:45",
        ),
        ({}, "already has a session that starts then"),
        ({"starts_at_day": "2027-05-11", "ends_at_day": "2027-05-13"}, "lasts 24 hours at most"),
        ({"starts_at_day": "2027-05-13", "ends_at_day": "2027-05-13"}, "The trip lasts from 8 to 12 May 2027."),
        ({"starts_at_clock": "12:00"}, "A session ends after it starts"),
    ],
)
@pytest.mark.parametrize("name", ["session-new", "session-edit"])
def test_hours_that_cannot_be_come_back_with_a_sentence(as_leader, trip, name, changes, sentence):
    factories.session(trip=trip, index=0)
    session = factories.session(trip=trip, index=2)
    more = {"session_uuid": session.uuid} if name == "session-edit" else {}
    answer = as_leader.post(url(name, trip, **more), session_data(session, **changes))
    assert answer.status_code == 200
    assert sentence in answer.content.decode()
    assert Session.objects.count() == 2
    assert Session.objects.get(pk=session.pk).version == session.version


def test_a_session_may_begin_as_another_ends(as_leader, trip):
    factories.session(trip=trip)
    data = session_data(factories.session(trip=trip), starts_at_clock="10:45", ends_at_clock="12:00")
    assert as_leader.post(url("session-new", trip), data).status_code == 302


def test_a_session_outside_the_trips_new_days_can_still_be_changed(as_leader, trip):
    session = factories.session(trip=trip)
    lasts(trip, date(2027, 5, 9), date(2027, 5, 12))
    where = url("session-edit", trip, session_uuid=session.uuid)
    assert as_leader.post(where, session_data(session)).status_code == 302
    session.refresh_from_db()
    assert session.sky == "overcast"


def test_session_new_and_remove(as_leader, trip):
    session = factories.session(trip=trip, index=3)
    assert as_leader.post(url("session-new", trip), session_data(session)).status_code == 302
    assert Session.objects.count() == 2
    as_leader.post(url("session-remove", trip, session_uuid=session.uuid))
    assert Session.objects.count() == 1


def test_a_session_that_a_rota_uses_stays_and_says_why(as_leader, trip):
    turn = factories.turn(rota=factories.rota(trip=trip))
    answer = as_leader.post(url("session-remove", trip, session_uuid=turn.session.uuid), follow=True)
    assert "has turns in rota 1" in answer.content.decode()
    assert Session.objects.filter(pk=turn.session.pk).exists()


@pytest.mark.parametrize("name", ["session-list", "sessions-make", "session-new", "session-edit", "session-remove"])
def test_another_leader_gets_404(client, trip, name):
    session = factories.session(trip=trip)
    client.force_login(factories.leader())
    more = {"session_uuid": session.uuid} if name in ("session-edit", "session-remove") else {}
    method = client.post if name == "session-remove" else client.get
    assert method(url(name, trip, **more)).status_code == 404
