"""A participant's days: the next turn first, drawings, weight, three people who ask."""

import re
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from participants.models import LeaderDetails
from tests import factories
from tests.trips.issued_trips import issue, issued_trip, phone_of, seated_rota
from tests.trips.my_days_pages import days, page_of
from trips.assemble.days import RotaPages
from trips.models import Session
from trips.services.issue_payload import payload_of
from trips.services.my_briefing import my_briefing

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("clock")]


@pytest.fixture
def trip():
    return issued_trip()


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
    assert "Rota 1, sent" in page


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
    part = page[page.index("Next turn") : page.index("All turns")]
    assert ", late" in part


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
    for name in ("gear-show", "my-wishes", "my-briefing"):
        other = phone.get(reverse(f"trips:{name}", args=[person])).content.decode()
        for word in ("Add a lens", "From a picture", "My pictures are for", "600 mm", "ISO"):
            assert word not in other, name
    paths = phone.get(reverse("trips:my-pack", args=[person])).json()["paths"]
    assert not [path for path in paths if "/kit/" in path]


def test_a_guest_of_one_trip_who_takes_pictures_on_another_keeps_the_gear(trip, place):
    place.photographs = False
    place.save()
    factories.place(participant=place.participant, trip=factories.trip(leader=trip.leader, name="Second marsh"))
    page = phone_of(place.participant).get(reverse("trips:gear-show", args=[place.participant.uuid])).content.decode()
    assert "Add a lens" in page
    assert ">Gear<" in page


def test_nobody_reads_a_hides_position(trip, place):
    site = trip.sites.get()
    site.latitude_deg, site.longitude_deg = 39.51234, -6.23456
    site.meeting_latitude_deg, site.meeting_longitude_deg, site.emergency_number = 39.4, -6.1, "112"
    site.save()
    site.hides.update(latitude_deg=39.54321, longitude_deg=-6.26543, rescue_point="RP 77 at the old gate")
    issue(seated_rota(trip))
    stored = str(trip.rotas.get(number=2).issue.pages)
    page = page_of(place)
    for text in (page, stored):
        for secret in ("39.51", "39.54", "6.23", "6.26", "RP 77"):
            assert secret not in text
    assert "39.40000° N, 6.10000° W" in page
    assert 'href="geo:39.4,-6.1"' in page
    assert 'href="tel:112"' in page


def test_what_was_issued_stays_when_the_rows_change(trip, place):
    phone = phone_of(place.participant)
    before = phone.get(days(place)).content.decode()
    trip.sites.get().hides.update(walk_m=999, drive_min=55, cautions="Mind the bull")
    place.participant.lenses.update(name="another lens")
    body = slice(before.index("<main"), before.index("</main"))
    tokens = r'name="(csrfmiddlewaretoken|form_uuid)" value="[\w-]+"'
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


def test_my_days_costs_the_same_queries_with_many_sessions(django_assert_max_num_queries):
    trip = issued_trip(people=2, hides=1, sessions=12)
    for _ in range(2):
        issue(seated_rota(trip))
    phone = phone_of(trip.places.first().participant)
    with django_assert_max_num_queries(22):
        phone.get(days(trip.places.first()))


def test_my_days_stays_light_on_the_wire():
    trip = issued_trip(people=2, hides=1, sessions=20)
    answer = phone_of(trip.places.first().participant).get(days(trip.places.first()))
    assert len(answer.content) < 106_000


def test_the_payload_of_one_person_equals_that_of_everybody(trip, place):
    rota = trip.rotas.get(number=1)
    assert payload_of(RotaPages(rota).page(place)) == rota.issue.pages["people"][str(place.uuid)]


def test_the_next_turn_has_its_drawing_at_hand_and_names_cannot_break_out(trip, place):
    trip.sites.get().hides.filter(pk=place.turns.first().hide.pk).update(name='<script>alert("x")</script>')
    issue(seated_rota(trip))
    page = page_of(place)
    assert page.count("<svg") == 7  # the mark of the house, five tabs and the drawing
    assert "<script>alert" not in page
    assert 'id="seat-' in page.split(f'id="turn-{place.turns.first().session.uuid}"')[1].split("</details>")[0]


def test_the_drawing_of_a_turn_opens_for_its_person_only(trip, place):
    turn = place.turns.first()
    address = reverse("trips:my-drawing", args=[place.participant.uuid, turn.session.uuid, 0])
    answer = phone_of(place.participant).get(address)
    assert answer.headers["Content-Type"].startswith("image/svg+xml")
    assert answer.content.decode().startswith("<svg")
    assert phone_of(trip.places.last().participant).get(address).status_code == 404
    missing = reverse("trips:my-drawing", args=[place.participant.uuid, turn.session.uuid, 7])
    assert phone_of(place.participant).get(missing).status_code == 404


def test_the_phone_shows_leaders_telephones_as_they_are_today(trip, place):
    LeaderDetails.objects.filter(leader=trip.leader).update(phone="+34 600 999 000")
    page = page_of(place)
    assert "+34 600 999 000" in page
    assert 'href="tel:+34600999000"' in page
    assert 'href="sms:+34600999000"' in page
    briefing = phone_of(place.participant).get(reverse("trips:my-briefing", args=[place.participant.uuid]))
    assert "+34 600 999 000" in briefing.content.decode()
    other = factories.place()
    assert "600 999 000" not in page_of(other)


def test_drawings_are_in_the_persons_units_also_on_paper(trip, place):
    place.participant.units = "feet"
    place.participant.save()
    row = issue(seated_rota(trip))
    drawing = re.search(r"<svg[^>]*drawing-seat.*?</svg>", page_of(place), re.DOTALL)[0]
    assert re.search(r">\d+ ft</text>", drawing)
    assert not re.search(r">[\d.]+ m</text>", drawing)
    assert any(key.endswith("/feet") for key in row.papers["drawings"])
    feet, metres = (my_briefing(place=one, now=timezone.now(), with_drawings=True) for one in trip.places.all()[:2])
    for paper, unit in ((feet, "ft"), (metres, "m")):
        assert re.search(rf">[\d.]+ {unit}</text>", paper.cards[0].drawing)
