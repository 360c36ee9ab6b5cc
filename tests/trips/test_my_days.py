"""A participant's days: the next turn first, changes until read, withdrawn turns, three people who ask."""

import re
from datetime import date, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from tests import factories
from tests.trips.form_reading import FormReader
from tests.trips.issued_trips import issue, issued_trip, phone_of, seated_rota
from trips.assemble.days import RotaPages
from trips.models import Issue, Notice, Session, Trip
from trips.services.issue_payload import payload_of

pytestmark = pytest.mark.django_db
CLOCK = re.compile('name="site-zone" content="([^"]*)"')


@pytest.fixture
def trip():
    return issued_trip()


@pytest.fixture
def place(trip):
    return trip.places.first()


def days(place):
    return reverse("trips:my-days", args=[place.participant.uuid])


def own_car_for_each_hide(trip):
    for hide in trip.sites.get().hides.all():
        car = trip.cars.create(name=f"Car to {hide.name}")
        for session in trip.sessions.all():
            session.runs.create(car=car).stops.create(hide=hide, position=1)


def read(place, phone, number, **headers):
    """Press "I have read it" on a page that shows a rota's issue."""
    shown = {"issue": place.trip.rotas.get(number=number).issue.uuid}
    return phone.post(reverse("trips:my-days-read", args=[place.participant.uuid]), shown, headers=headers)


def page_of(place, client=None):
    return (client or phone_of(place.participant)).get(days(place)).content.decode()


def test_my_days_says_where_when_and_what(place):
    page = page_of(place)
    turn = place.turns.order_by("session__starts_at").first()
    other = turn.rota.turns.exclude(pk=turn.pk).get(session=turn.session, hide=turn.hide)
    assert turn.hide.name in page
    assert f"seat {turn.seat.name}" in page
    assert f"with {other.place.participant.name}" in page
    assert "06:13" in page  # 06:45 - 15 min to set up - 2 min on foot - 10 min drive - 5 min for the stop before
    assert "40 m on foot, about 2 min" in page
    assert "front light until" in page
    assert "600 mm f/4" in page
    assert "3 l in 3 bottles of one litre" in page
    assert "Rota 1, issued" in page


def test_my_days_is_in_the_persons_units(place):
    place.participant.units = "feet"
    place.participant.save()
    page = page_of(place)
    assert "131 ft on foot" in page
    assert "19.7 ft" in page or "20 ft" in page
    assert " m on foot" not in page


def test_my_days_before_any_rota_says_so():
    place = factories.place()
    assert "No rota yet" in page_of(place)


def test_my_days_shows_the_next_turn_first(trip, place):
    early, late = Session.objects.filter(trip=trip).order_by("starts_at")[:2]
    now = timezone.now()
    Session.objects.filter(pk=early.pk).update(starts_at=now - timedelta(hours=6), ends_at=now - timedelta(hours=2))
    Session.objects.filter(pk=late.pk).update(starts_at=now + timedelta(hours=2), ends_at=now + timedelta(hours=6))
    issue(seated_rota(trip))
    page = page_of(place)
    part = page[page.index("Next turn") : page.index("All days")]
    assert ", late" in part


def test_a_change_is_told_only_to_those_it_changes_something_for(trip):
    first, _, third, _ = trip.places.all()
    own_car_for_each_hide(trip)
    issue(seated_rota(trip))
    issue(seated_rota(trip, moves={(0, 1): (2, 0)}))
    told = set(Notice.objects.filter(issue__rota__number=3).values_list("place", flat=True))
    assert told == {first.pk}
    moved = trip.rotas.get(number=3).turns.get(place=first, session=trip.sessions.all()[1])
    page = page_of(first)
    assert "another hide" not in page_of(third)
    assert moved.hide.name in page


def test_a_change_is_marked_until_it_is_read(trip, place):
    phone = phone_of(place.participant)
    page = page_of(place, phone)
    assert "Your days are out" in page
    assert "changed for you" not in page
    read(place, phone, 1)
    assert "Your days are out" not in page_of(place, phone)
    issue(seated_rota(trip, moves={(0, 1): (2, 0)}))
    for _ in range(2):
        page = page_of(place, phone)
        assert "Changed since you last read it" in page
        assert "another hide" in page
    read(place, phone, 2)
    assert "another hide" not in page_of(place, phone)
    assert Notice.objects.filter(place=place, confirmed_at__isnull=True).count() == 0


def test_reading_an_old_copy_does_not_read_what_came_after(trip, place):
    phone = phone_of(place.participant)
    issue(seated_rota(trip, moves={(0, 1): (2, 0)}))
    read(place, phone, 1)
    assert "another hide" in page_of(place, phone)


def test_a_reading_is_noted_at_its_own_moment_also_when_it_waited_for_a_network(trip, place):
    other, now = trip.places.last(), timezone.now()
    Issue.objects.update(issued_at=now - timedelta(days=3))
    read(place, phone_of(place.participant), 1)
    waited = {"X-Queued": "1", "X-Queued-Seconds": str(2 * 3600)}
    assert read(other, phone_of(other.participant), 1, **waited).json()["taken"] is True
    at_once, later = (Notice.objects.get(place=one) for one in (place, other))
    assert at_once.read_at == at_once.confirmed_at
    assert timedelta(0) <= at_once.read_at - now < timedelta(hours=1)
    assert timedelta(0) <= later.read_at - now + timedelta(hours=2) < timedelta(hours=1)


@pytest.mark.parametrize("typed", ["", "x", "\x00", "9" * 400, "2027-13-45T00:00:00Z", "9999-12-31T23:59:59-23:59"])
def test_a_reading_of_nothing_that_was_shown_reads_nothing(trip, place, typed):
    phone, address = phone_of(place.participant), reverse("trips:my-days-read", args=[place.participant.uuid])
    fields = {"issue": typed, "issued_at": typed}
    assert phone.post(address, fields).url == days(place)
    said = phone.post(address, fields, headers={"X-Queued": "1"}).json()
    assert (said["taken"], len(said["errors"])) == (False, 1)
    stranger = issued_trip(people=1, hides=1, sessions=1)
    phone.post(address, {"issue": stranger.rotas.get().issue.uuid})
    assert not Notice.objects.exclude(read_at=None).exists()


def test_two_changes_that_cancel_out_say_so(trip, place):
    phone = phone_of(place.participant)
    read(place, phone, 1)
    issue(seated_rota(trip, moves={(0, 1): (2, 0)}))
    issue(seated_rota(trip))
    page = page_of(place, phone)
    assert "Changed twice, now as before" in page
    assert "another hide" not in page


def test_three_changes_that_cancel_out_are_not_called_two(trip, place):
    phone = phone_of(place.participant)
    read(place, phone, 1)
    for moves in ({(0, 1): (2, 0)}, {(0, 1): (2, 1)}, {}):
        issue(seated_rota(trip, moves=moves))
    assert "Changed, now as before" in page_of(place, phone)


def test_a_change_is_marked_also_for_whoever_never_said_they_read(trip, place):
    phone = phone_of(place.participant)
    issue(seated_rota(trip, moves={(0, 1): (2, 0)}))
    issue(seated_rota(trip, moves={(0, 1): (2, 1)}))
    page = page_of(place, phone)
    assert "Your days are out" in page
    assert "Rota 3 changed for you" in page
    assert "another seat" in page
    assert "another hide" not in page
    assert page.count(">changed</span>") >= 1


def test_a_withdrawn_turn_is_shown_as_withdrawn(trip, place):
    was = place.turns.order_by("session__starts_at")[1]
    issue(seated_rota(trip, moves={(0, 1): None}))
    page = page_of(place)
    assert f"withdrawn</span> was {was.hide.name}, {was.seat.name}" in page
    assert "do not go there" in page


def test_a_rota_that_was_taken_back_says_so(trip, place):
    assert "Taken back" not in page_of(place)
    trip.rotas.filter(state="issued").update(state="retired")
    assert "Taken back" in page_of(place)


def test_a_rest_says_why(trip, place):
    rota = seated_rota(trip, moves={(0, 1): None})
    rota.rests.create(session=trip.sessions.all()[1], place=place, reason="It is your turn to rest.")
    issue(rota)
    assert "It is your turn to rest." in page_of(place)


def test_a_guest_without_a_camera_sees_days_and_meals_but_no_gear(trip, place):
    place.photographs = False
    place.participant.diet = "no nuts"
    place.save()
    place.participant.save()
    issue(seated_rota(trip))
    page = page_of(place)
    assert "no nuts" in page
    assert "Leave" in page
    for word in ("600 mm", "Starting settings", "ISO", "front light", ">Gear<"):
        assert word not in page
    phone, person = phone_of(place.participant), place.participant.uuid
    for name in ("kit-show", "my-wishes", "my-briefing"):
        other = phone.get(reverse(f"trips:{name}", args=[person])).content.decode()
        for word in ("Add a lens", "From a picture", "My pictures are for", "600 mm", "ISO"):
            assert word not in other, name
    paths = phone.get(reverse("trips:my-pack", args=[person])).json()["paths"]
    assert not [path for path in paths if "/kit/" in path]


def test_a_guest_of_one_trip_who_takes_pictures_on_another_keeps_the_kit(trip, place):
    place.photographs = False
    place.save()
    factories.place(participant=place.participant, trip=factories.trip(leader=trip.leader, name="Second marsh"))
    page = phone_of(place.participant).get(reverse("trips:kit-show", args=[place.participant.uuid])).content.decode()
    assert "Add a lens" in page
    assert ">Gear<" in page


def test_nobody_reads_a_hides_position(trip, place):
    site = trip.sites.get()
    site.latitude_deg, site.longitude_deg = 39.51234, -6.23456
    site.meeting_latitude_deg, site.meeting_longitude_deg = 39.4, -6.1
    site.save()
    site.hides.update(latitude_deg=39.54321, longitude_deg=-6.26543, rescue_point="RP 77 at the old gate")
    issue(seated_rota(trip))
    stored = str(trip.rotas.get(number=2).issue.pages)
    page = page_of(place)
    for text in (page, stored):
        for secret in ("39.51", "39.54", "6.23", "6.26", "RP 77"):
            assert secret not in text
    assert "39.40000° N, 6.10000° W" in page


def test_what_was_issued_stays_when_the_rows_change(trip, place):
    phone = phone_of(place.participant)
    before = phone.get(days(place)).content.decode()
    trip.sites.get().hides.update(walk_m=999, drive_min=55, cautions="Mind the bull")
    place.participant.lenses.update(name="another lens")
    body = slice(before.index("<main"), before.index("</main"))
    tokens = r'name="csrfmiddlewaretoken" value="\w+"'
    after = phone.get(days(place)).content.decode()
    assert re.sub(tokens, "", before[body]) == re.sub(tokens, "", after[body])


def test_three_people_ask_for_a_persons_days(client, trip, place):
    address = days(place)
    assert client.get(address).status_code == 302
    other = phone_of(trip.places.last().participant)
    assert other.get(address).status_code == 404
    client.force_login(trip.leader)
    page = client.get(address)
    assert page.status_code == 200
    assert "I have read it" not in page.content.decode()
    assert client.post(reverse("trips:my-days-read", args=[place.participant.uuid])).status_code == 404
    client.force_login(factories.leader())
    assert client.get(address).status_code == 404


def test_what_was_read_is_of_the_trip_that_the_page_showed(trip, place):
    shown = FormReader(page_of(place)).forms
    (form,) = (form for form in shown if "issue" in form.names)
    today = timezone.now().date()
    later = factories.trip(leader=trip.leader, starts_on=today, ends_on=today)
    factories.place(participant=place.participant, trip=later)
    Trip.objects.filter(pk=trip.pk).update(starts_on=today - timedelta(days=9), ends_on=today - timedelta(days=5))
    phone_of(place.participant).post(form.action, form.sent)
    assert Notice.objects.get(place=place).read_at is not None


def test_the_trip_of_somebody_else_is_404(trip, place):
    stranger = factories.trip()
    assert phone_of(place.participant).get(days(place), {"trip": stranger.uuid}).status_code == 404


def test_a_trip_that_was_asked_for_stays_asked_for_in_the_tabs(trip, place):
    second = factories.place(
        participant=place.participant, trip=factories.trip(leader=trip.leader, name="Second marsh")
    )
    phone = phone_of(place.participant)
    page = phone.get(days(place), {"trip": second.trip.uuid}).content.decode()
    assert "Second marsh" in page
    assert f"/wishes/?trip={second.trip.uuid}" in page
    assert "?trip=" not in phone.get(days(place)).content.decode()


PAGES = [
    "my-days",
    "my-wishes",
    "my-details",
    "my-health",
    "my-data",
    "my-briefing",
    "my-calendar",
    "kit-show",
    "kit-picture",
    "packing-show",
]


def test_every_page_names_the_clock_of_the_trip_that_it_is_about(trip, place):
    elsewhere = factories.site(leader=trip.leader, time_zone="Africa/Windhoek")
    start, end = date(2037, 9, 1), date(2037, 9, 4)
    later = factories.trip(leader=trip.leader, sites=[elsewhere], starts_on=start, ends_on=end)
    factories.place(participant=place.participant, trip=later)
    phone = phone_of(place.participant)
    pages = [reverse(f"trips:{name}", args=[place.participant.uuid]) for name in (*PAGES, "my-start")]
    pages.append(reverse("participants:device-list", args=[place.participant.uuid]))

    def clocks(**asked):
        return {clock for page in pages for clock in CLOCK.findall(phone.get(page, asked).content.decode())}

    assert clocks() == {"Europe/Madrid"}
    assert clocks(trip=later.uuid) == {"Africa/Windhoek"}
    Trip.objects.filter(pk=trip.pk).update(starts_on=date(2026, 1, 1), ends_on=date(2026, 1, 5))
    assert clocks() == {"Africa/Windhoek"}
    later.places.update(state="cancelled")
    assert clocks() == {"Europe/Madrid"}


def test_without_a_trip_no_clock_is_named():
    person = factories.participant()
    page = phone_of(person).get(reverse("trips:my-start", args=[person.uuid])).content.decode()
    assert CLOCK.findall(page) == [""]


def test_my_start_goes_to_the_only_trip_and_lists_several(trip, place):
    phone = phone_of(place.participant)
    start = reverse("trips:my-start", args=[place.participant.uuid])
    assert phone.get(start).url == days(place)
    other = factories.place(participant=place.participant, trip=factories.trip(leader=trip.leader, name="Second marsh"))
    page = phone.get(start).content.decode()
    for address in (days(place), f"{days(place)}?trip={other.trip.uuid}"):
        assert f'href="{address}"' in page


def test_my_days_costs_the_same_queries_with_many_sessions(django_assert_max_num_queries):
    trip = issued_trip(people=8, hides=4, sessions=12)
    for _ in range(2):
        issue(seated_rota(trip))
    phone = phone_of(trip.places.first().participant)
    with django_assert_max_num_queries(14):
        phone.get(days(trip.places.first()))


def test_my_days_stays_light_on_the_wire():
    trip = issued_trip(people=8, hides=4, sessions=20)
    answer = phone_of(trip.places.first().participant).get(days(trip.places.first()))
    assert len(answer.content) < 100_000


def test_the_payload_of_one_person_equals_that_of_everybody(trip, place):
    rota = trip.rotas.get(number=1)
    assert payload_of(RotaPages(rota).page(place)) == rota.issue.pages["people"][str(place.uuid)]


def test_the_next_turn_shows_its_drawing_at_once_and_names_cannot_break_out(trip, place):
    trip.sites.get().hides.filter(pk=place.turns.first().hide.pk).update(name='<script>alert("x")</script>')
    issue(seated_rota(trip))
    page = page_of(place)
    assert page.count("<svg") == 2  # the mark of the house and the drawing
    assert "<script>alert" not in page
    assert 'id="next-seat-' in page


def test_the_drawing_of_a_turn_opens_for_its_person_only(trip, place):
    turn = place.turns.first()
    address = reverse("trips:my-drawing", args=[place.participant.uuid, turn.session.uuid, 0])
    answer = phone_of(place.participant).get(address)
    assert answer.headers["Content-Type"].startswith("image/svg+xml")
    assert answer.content.decode().startswith("<svg")
    assert phone_of(trip.places.last().participant).get(address).status_code == 404
    missing = reverse("trips:my-drawing", args=[place.participant.uuid, turn.session.uuid, 7])
    assert phone_of(place.participant).get(missing).status_code == 404
