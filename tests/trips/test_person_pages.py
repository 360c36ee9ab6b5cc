"""People of a trip as the leader keeps them; a stranger and a participant get 404."""

import re
from datetime import UTC, datetime

import pytest
from django.urls import reverse

from participants.models import Participant
from tests import factories
from tests.trips.form_reading import FormReader
from tests.trips.issued_trips import issued_trip
from trips.models import Absence, Pairing, Place

pytestmark = pytest.mark.django_db


@pytest.fixture
def trip():
    return factories.planned_trip()


def url(name, trip, **more):
    return reverse(f"trips:{name}", kwargs={"trip_uuid": trip.uuid, **more})


def person_data(**changes):
    return {"name": "Ana Ōta", "language": "en", "units": "metric", "state": "invited"} | changes


def test_person_list_shows_everybody_and_what_is_missing(as_leader, trip):
    factories.place(trip=trip, participant=factories.participant(leader=trip.leader, name="Zoë Bare"))
    page = as_leader.get(url("person-list", trip)).content.decode()
    assert "Zoë Bare" in page
    assert "no body, no lens" in page


def test_person_list_costs_the_same_queries_with_many_people(as_leader, trip, django_assert_max_num_queries):
    for _ in range(12):
        factories.place(trip=trip)
    with django_assert_max_num_queries(10):
        as_leader.get(url("person-list", trip))


def test_an_empty_list_says_the_next_step(client):
    trip = factories.trip()
    client.force_login(trip.leader)
    assert "Nobody is on the trip yet" in client.get(url("person-list", trip)).content.decode()


def test_only_the_name_is_needed(as_leader, trip):
    assert as_leader.post(url("person-new", trip), person_data()).status_code == 302
    person = Participant.objects.get(name="Ana Ōta")
    assert person.leader == trip.leader
    assert person.places.get().state == "invited"


def test_a_name_keeps_no_mark_that_would_turn_a_line_round(as_leader, trip):
    assert (
        as_leader.post(url("person-new", trip), person_data(name="\u202eAna \u2067Ōta", diet="\u202d")).status_code
        == 302
    )
    assert Participant.objects.get(name="Ana Ōta").diet == ""
    people = Participant.objects.count()
    answer = as_leader.post(url("person-new", trip), person_data(name="\u202e"))
    assert (answer.status_code, Participant.objects.count()) == (200, people)


def test_a_wrong_address_comes_back_filled(as_leader, trip):
    answer = as_leader.post(url("person-new", trip), person_data(email="not an address"))
    assert answer.status_code == 200
    assert "Enter a valid email address." in answer.content.decode()
    assert "Ana Ōta" in answer.content.decode()
    assert not Participant.objects.filter(name="Ana Ōta").exists()


def test_somebody_from_another_trip_can_join(as_leader, trip):
    known = factories.participant(leader=trip.leader, name="Known Before")
    stranger = factories.participant(name="Not Mine")
    page = as_leader.get(url("person-list", trip)).content.decode()
    assert "Known Before" in page
    assert "Not Mine" not in page
    as_leader.post(url("person-join", trip), {"participant": known.pk})
    as_leader.post(url("person-join", trip), {"participant": stranger.pk})
    assert trip.places.filter(participant=known).count() == 1
    assert not trip.places.filter(participant=stranger).exists()


def test_person_edit_saves_once_and_tells_a_stale_form(as_leader, trip):
    place = trip.places.first()
    where = url("person-edit", trip, place_uuid=place.uuid)
    data = person_data(name="Renamed", seen_version=place.participant.version)
    assert as_leader.post(where, data).status_code == 302
    answer = as_leader.post(where, data | {"name": "Renamed late"})
    assert "changed since you opened it" in answer.content.decode()
    assert "Renamed late" in answer.content.decode()
    place.participant.refresh_from_db()
    assert place.participant.name == "Renamed"


def test_place_edit_takes_local_times(as_leader, trip):
    place = trip.places.first()
    data = {
        "state": "confirmed",
        "arrives_at_day": "2027-05-09",
        "arrives_at_clock": "13:00",
        "leaves_at_day": "",
        "leaves_at_clock": "",
        "photographs": "on",
        "seen_version": place.version,
    }
    answer = as_leader.post(url("place-edit", trip, place_uuid=place.uuid), data)
    assert answer.status_code == 302, answer.content.decode()
    place.refresh_from_db()
    assert place.arrives_at == datetime(2027, 5, 9, 11, 0, tzinfo=UTC)


def test_place_edit_refuses_leaving_before_arriving(as_leader, trip):
    place = trip.places.first()
    data = {
        "state": "confirmed",
        "arrives_at_day": "2027-05-09",
        "arrives_at_clock": "13:00",
        "leaves_at_day": "2027-05-09",
        "leaves_at_clock": "12:00",
        "seen_version": place.version,
    }
    page = as_leader.post(url("place-edit", trip, place_uuid=place.uuid), data).content.decode()
    assert "A person leaves after they arrive." in page


def absences_opened(client, trip, place):
    """What the form of absences carries when it is opened now."""
    page = FormReader(client.get(url("person-edit", trip, place_uuid=place.uuid)).content.decode())
    return next(form.sent for form in page.forms if form.action.endswith("/absences/"))


def test_absences_are_exactly_the_ticked_sessions(as_leader, trip):
    place, (first, second) = trip.places.first(), trip.sessions.all()
    where = url("absences-edit", trip, place_uuid=place.uuid)
    as_leader.post(where, absences_opened(as_leader, trip, place) | {"sessions": [first.pk, second.pk]})
    as_leader.post(where, absences_opened(as_leader, trip, place) | {"sessions": [second.pk]})
    assert list(Absence.objects.values_list("session", flat=True)) == [second.pk]


def test_absences_that_another_leader_saved_meanwhile_are_not_written_over(as_leader, trip):
    place, (first, second) = trip.places.first(), trip.sessions.all()
    where, opened = url("absences-edit", trip, place_uuid=place.uuid), absences_opened(as_leader, trip, place)
    as_leader.post(where, opened | {"sessions": [first.pk]})
    for data in (opened, {}):
        answer = as_leader.post(where, data | {"sessions": [second.pk]})
        assert answer.status_code == 200
        shown = answer.content.decode()
        assert "This changed since you opened it." in shown
        ticked = re.findall(r'name="sessions" value="(\d+)"[^>]*checked', shown)
        assert ticked == [str(second.pk)]
        assert list(Absence.objects.values_list("session", flat=True)) == [first.pk]
    forms = FormReader(shown).forms
    assert url("person-edit", trip, place_uuid=place.uuid) in [form.action for form in forms]
    again = next(form.sent for form in forms if form.action == where)
    as_leader.post(where, again | {"sessions": [second.pk]})
    assert list(Absence.objects.values_list("session", flat=True)) == [second.pk]


def test_a_session_that_is_gone_loses_no_ticks(as_leader, trip):
    place, (first, _) = trip.places.first(), trip.sessions.all()
    where, opened = url("absences-edit", trip, place_uuid=place.uuid), absences_opened(as_leader, trip, place)
    for wrong in ("123456", "nonsense"):
        shown = as_leader.post(where, opened | {"sessions": [first.pk, wrong]}).content.decode()
        assert "One of these sessions is gone" in shown
        assert re.search(rf'name="sessions" value="{first.pk}"[^>]*checked', shown)
    assert not Absence.objects.exists()


def test_taking_somebody_off_keeps_the_person_and_is_refused_where_a_rota_names_them(as_leader, trip):
    first, second = trip.places.all()[:2]
    factories.turn(rota=factories.rota(trip=trip), place=first, session=trip.sessions.first())
    as_leader.post(url("person-remove", trip, place_uuid=second.uuid))
    assert Participant.objects.filter(pk=second.participant.pk).exists()
    assert not Place.objects.filter(pk=second.pk).exists()
    answer = as_leader.post(url("person-remove", trip, place_uuid=first.uuid), follow=True)
    assert "Rota 1 names" in answer.content.decode()
    assert Place.objects.filter(pk=first.pk).exists()


def test_pairings_are_kept_once_in_either_order_and_taken_back(as_leader, trip):
    first, second = trip.places.all()[:2]
    where = url("pairing-list", trip)
    assert as_leader.post(where, {"first": first.pk, "kind": "apart", "second": second.pk}).status_code == 302
    answer = as_leader.post(where, {"first": second.pk, "kind": "together", "second": first.pk})
    assert "already have a pairing" in answer.content.decode()
    answer = as_leader.post(where, {"first": first.pk, "kind": "apart", "second": first.pk})
    assert "between two different people" in answer.content.decode()
    pairing = Pairing.objects.get()
    as_leader.post(url("pairing-delete", trip, pairing_uuid=pairing.uuid))
    assert not Pairing.objects.exists()


@pytest.mark.parametrize("name", ["person-list", "person-new", "person-edit", "place-edit", "pairing-list"])
def test_another_leader_gets_404(client, trip, name):
    client.force_login(factories.leader())
    more = {"place_uuid": trip.places.first().uuid} if name in ("person-edit", "place-edit") else {}
    assert client.get(url(name, trip, **more)).status_code == 404


@pytest.mark.parametrize(
    ("state", "where"), [("confirmed", "on the trip"), ("waiting", "on the waiting list"), ("cancelled", "cancelled")]
)
def test_a_new_person_is_said_to_be_on_the_trip_only_where_they_are(as_leader, trip, state, where):
    sent = {"name": "Ana Cruz", "language": "en", "units": "metric", "state": state}
    page = as_leader.post(url("person-new", trip), sent, follow=True).content.decode()
    assert f"Ana Cruz is {where}." in page
    listed = as_leader.get(url("person-list", trip)).content.decode()
    assert ("not on the trip" in listed) == (state != "confirmed")


@pytest.mark.parametrize(
    ("mail", "ends"),
    [
        ("ana@example.org", "They and everyone affected then get a mail."),
        ("", "get a mail; {} you tell yourself."),
    ],
)
def test_taking_somebody_off_says_before_and_after_who_sits_where_and_whether_a_mail_went_out(as_leader, mail, ends):
    trip = issued_trip(people=2, hides=1, sessions=1)
    as_leader.force_login(trip.leader)
    place = trip.places.first()
    Participant.objects.filter(pk=place.participant.pk).update(email=mail)
    name, turn = place.participant.name, place.turns.get()
    page = url("place-edit", trip, place_uuid=place.uuid)
    before = as_leader.get(page).content.decode()
    assert f"{name} sits in rota 1: " in before
    assert f": {turn.hide.name}, {turn.seat.name}. If you set this place to waiting or cancelled" in before
    sent = {"state": "cancelled", "photographs": "on", "seen_version": place.version}
    after = as_leader.post(page, sent, follow=True).content.decode()
    assert f"{name} is cancelled. Rota 1 still seats them: " in after
    assert "No mail went out yet." in after
    assert ends.format(name) in after
    again = as_leader.get(page).content.decode()
    assert f"{name} is cancelled. Rota 1 still seats them: " in again
    assert "If you set this place" not in again


def test_whoever_has_no_turn_leaves_without_a_mail(as_leader, trip):
    place = factories.place(trip=trip)
    sent = {"state": "waiting", "seen_version": place.version}
    page = as_leader.post(url("place-edit", trip, place_uuid=place.uuid), sent, follow=True).content.decode()
    assert "is on the waiting list. They have no turn ahead in an issued rota, so no mail goes out." in page


@pytest.mark.parametrize("typed", ["hello", "0044", "600 123 456 or so"])
def test_a_telephone_that_nobody_can_dial_is_refused_but_where_it_was_stored_before(as_leader, trip, typed):
    place = factories.place(trip=trip)
    page, data = url("person-edit", trip, place_uuid=place.uuid), person_data(name="Ana", phone=typed)
    assert "This is no telephone number" in as_leader.post(page, data | {"seen_version": 1}).content.decode()
    Participant.objects.filter(pk=place.participant.pk).update(phone=typed)
    assert as_leader.post(page, data | {"seen_version": 1}).status_code == 302
    changed = data | {"phone": "+44 (0)1632/960-113", "seen_version": 2}
    assert as_leader.post(page, changed).status_code == 302


def test_everybody_who_is_invited_is_confirmed_by_one_press(as_leader, trip):
    trip.places.all().delete()
    for state in ("invited", "invited", "waiting", "cancelled"):
        factories.place(trip=trip, state=state)
    people = reverse("trips:person-list", kwargs={"trip_uuid": trip.uuid})
    assert "Confirm all 2 invited" in as_leader.get(people).content.decode()
    page = as_leader.post(reverse("trips:people-confirm", kwargs={"trip_uuid": trip.uuid}), follow=True)
    assert "2 confirmed." in page.content.decode()
    assert "Confirm all" not in page.content.decode()
    assert sorted(trip.places.values_list("state", flat=True)) == ["cancelled", "confirmed", "confirmed", "waiting"]
