"""Whether a hide can be used in a session: its own hours, reasons, and notices."""

from datetime import UTC, datetime

import pytest

from tests.trips.day_pages import first_hide, url
from tests.trips.issued_trips import issued_trip
from tests.trips.made_once import made_once
from trips import models

pytestmark = pytest.mark.django_db
made = made_once(issued_trip)


@pytest.fixture
def trip(made):
    return models.Trip.objects.get(pk=made.pk)


def owner_data(session, **of_hides):
    """The owner's form as a browser sends it, with changes by hide name."""
    data = {}
    for hide in session.site.hides.all():
        say = session.session_hides.filter(hide=hide).first()
        values = {"state": "ready", "notice_h": "", "reason": "", "seen_version": say.version if say else 0}
        values |= of_hides.get(hide.name, {})
        data |= {f"hide-{hide.uuid}-{key}": value for key, value in values.items()}
    return data


def test_what_the_owner_says_is_saved_for_that_session_alone(as_leader, trip, session):
    hide = first_hide(trip)
    data = owner_data(session, **{hide.name: {"state": "unavailable", "reason": "farm work"}})
    answer = as_leader.post(url("availability-edit", trip, session), data)
    assert answer.status_code == 302
    say = models.SessionHide.objects.get()
    assert (say.session, say.hide, say.state, say.reason) == (session, hide, "unavailable", "farm work")


def test_a_no_needs_a_reason_and_notice_its_hours(as_leader, trip, session):
    one, two = trip.sites.get().hides.all()[:2]
    data = owner_data(session, **{one.name: {"state": "unavailable"}, two.name: {"state": "notice"}})
    answer = as_leader.post(url("availability-edit", trip, session), data)
    assert answer.status_code == 200
    page = answer.content.decode()
    assert "Say why" in page
    assert "Say how many hours of notice the owner needs." in page
    assert page.count('role="alert"') == 2
    assert not models.SessionHide.objects.exists()


def test_own_hours_are_read_by_the_sites_clock_and_refused_where_it_has_none(as_leader, trip, session):
    hide = first_hide(trip)
    hours = {"starts_at_day": "2027-05-08", "starts_at_clock": "07:30", "state": "ready"}
    as_leader.post(url("availability-edit", trip, session), owner_data(session, **{hide.name: hours}))
    assert models.SessionHide.objects.get().starts_at == datetime(2027, 5, 8, 5, 30, tzinfo=UTC)
    wrong = hours | {"starts_at_day": "2027-03-28", "starts_at_clock": "02:30"}
    answer = as_leader.post(url("availability-edit", trip, session), owner_data(session, **{hide.name: wrong}))
    assert "clocks go from 02:00 to 03:00" in answer.content.decode()


@pytest.mark.parametrize(
    ("edge", "day", "clock", "sentence"),
    [
        ("starts_at", "2029-05-08", "07:30", "People cannot sit there at all then"),
        ("starts_at", "2027-05-08", "10:45", "People cannot sit there at all then"),
        ("ends_at", "2027-05-08", "06:45", "People cannot sit there at all then"),
        ("ends_at", "2027-05-09", "06:46", "Own hours last 24 hours at most"),
    ],
)
def test_own_hours_touch_the_session(as_leader, trip, session, edge, day, clock, sentence):
    hours = {f"{edge}_day": day, f"{edge}_clock": clock}
    answer = as_leader.post(
        url("availability-edit", trip, session), owner_data(session, **{first_hide(trip).name: hours})
    )
    assert answer.status_code == 200
    assert sentence in answer.content.decode()
    assert "early on 8 May, 06:45 to 10:45" in answer.content.decode()
    assert not models.SessionHide.objects.exists()


def test_own_hours_may_begin_before_the_session_and_go_on_after_it(as_leader, trip, session):
    hours = {"starts_at_day": "2027-05-08", "starts_at_clock": "05:00"}
    hours |= {"ends_at_day": "2027-05-08", "ends_at_clock": "12:00"}
    where, data = url("availability-edit", trip, session), owner_data(session, **{first_hide(trip).name: hours})
    assert as_leader.post(where, data).status_code == 302


def test_the_second_to_save_an_old_form_keeps_what_they_typed(as_leader, trip, session):
    hide = first_hide(trip)
    old = owner_data(session, **{hide.name: {"state": "unavailable", "reason": "typed by the second"}})
    models.SessionHide.objects.create(session=session, hide=hide, state="unavailable", reason="by the first")
    answer = as_leader.post(url("availability-edit", trip, session), old)
    assert answer.status_code == 200
    page = answer.content.decode()
    assert "changed since you opened it" in page
    assert "typed by the second" in page
    assert models.SessionHide.objects.get().reason == "by the first"
