"""What nobody but leaders and the person may know is searched for in everything that a participant can get."""

import io
import re
from datetime import date

import pytest
from django.test import Client
from django.urls import get_resolver, reverse
from pypdf import PdfReader

from participants.models import Participant
from tests import factories
from tests.access_table import ACCESS
from tests.participants.mailroom import open_mailroom
from tests.trips.issued_trips import issue, issued_trip, phone_of, seated_rota
from trips.models import Issue, Notice, Pairing
from trips.services.calendars import feed_address
from trips.services.health import health_save
from trips.services.notices import notices_send

pytestmark = pytest.mark.django_db

OTHERS_HEALTH, OWN_HEALTH = "penicillin-allergy-of-another", "pacemaker-of-my-own"
OTHERS_PHONE, OTHERS_CONTACT, OTHERS_MAIL = "+34 699 111 222", "Aunt Remedios", "second@example.org"
POSITIONS = ("39.51234", "39.51", "6.23456", "39.54321", "6.26543", "39,54", "39.5432")
SECRETS = (OTHERS_HEALTH, OWN_HEALTH, OTHERS_PHONE, OTHERS_CONTACT, OTHERS_MAIL, *POSITIONS)
APART = re.compile(r"\bapart\b", re.IGNORECASE)


@pytest.fixture
def trip():
    trip = issued_trip(people=3, hides=2, sessions=2)
    first, second, third = trip.places.all()
    site = trip.sites.get()
    site.latitude_deg, site.longitude_deg = 39.51234, -6.23456
    site.meeting_latitude_deg, site.meeting_longitude_deg = 39.4, -6.1
    site.save()
    site.hides.update(latitude_deg=39.54321, longitude_deg=-6.26543)
    Participant.objects.filter(pk=first.participant.pk).update(email="first@example.org")
    Participant.objects.filter(pk=second.participant.pk).update(
        email=OTHERS_MAIL, phone=OTHERS_PHONE, emergency_contact=OTHERS_CONTACT
    )
    health_save(person=first.participant, text=OWN_HEALTH)
    health_save(person=second.participant, text=OTHERS_HEALTH)
    Pairing.objects.create(trip=trip, first=first, second=third, kind="apart")
    Pairing.objects.create(trip=trip, first=second, second=third, kind="apart")
    rota = seated_rota(trip, moves={(0, 1): (1, 1)})
    rota.turns.update(reasons=["to fit the whole group"], leader_reasons=["apart: these two do not get on"])
    issue(rota)
    return trip


def assert_silent(text, where):
    for secret in SECRETS:
        # A moment's seconds ("17:09:39.511Z") are no latitude.
        assert not re.search(rf"(?<![\d:]){re.escape(secret)}", text), f"{where} tells {secret}"
    assert "do not get on" not in text, where


def text_of(answer):
    """The words of an answer, whatever it is."""
    kind = answer.headers["Content-Type"]
    if "pdf" in kind:
        reader = PdfReader(io.BytesIO(answer.content))
        return "".join(page.extract_text() for page in reader.pages) + str(reader.metadata)
    return answer.content.decode().replace("\r\n ", "")  # lines of a calendar are folded


def own_addresses(place):
    """Every address of a person's own that GET opens, by its name."""
    lens, session = place.participant.lenses.first(), place.turns.first().session
    parts = {"kind": "lens", "piece_uuid": lens.uuid, "session_uuid": session.uuid, "number": 0}
    patterns = get_resolver("trips.urls").url_patterns + get_resolver("participants.urls").url_patterns
    wanted = {"person_uuid": place.participant.uuid} | parts
    return {
        name: reverse(name, kwargs={part: wanted[part] for part in pattern.pattern.converters})
        for pattern in patterns
        for name in (f"trips:{pattern.name}", f"participants:{pattern.name}")
        if name in ACCESS and ACCESS[name].nobody == "sign-in page" and ACCESS[name].method == "get"
    }


def test_no_address_of_a_persons_own_tells_a_secret(trip, place):
    factories.place(
        participant=place.participant,
        trip=factories.trip(leader=trip.leader, starts_on=date(2037, 9, 1), ends_on=date(2037, 9, 1)),
    )
    phone, addresses = phone_of(place.participant), own_addresses(place)
    for name in ("trips:my-start", "trips:my-health", "trips:my-calendar-file", "participants:device-list"):
        assert name in addresses
    for name, path in addresses.items():
        answer = phone.get(path)
        assert answer.status_code == 200, name
        text = text_of(answer)
        own = OWN_HEALTH in text
        assert own == (name == "trips:my-health"), name
        assert_silent(text.replace(OWN_HEALTH, ""), name)
        if name != "trips:my-wishes":
            assert not APART.search(text), name


def test_no_page_paper_or_file_of_the_pack_tells_a_secret(trip, place):
    phone = phone_of(place.participant)
    pack = phone.get(reverse("trips:my-pack", args=[place.participant.uuid]))
    assert len(pack.json()["paths"]) >= 9
    for path in pack.json()["paths"]:
        answer = phone.get(path)
        assert answer.status_code == 200, path
        text = text_of(answer)
        assert_silent(text, path)
        if "wishes" not in path:
            assert not APART.search(text), path


def test_what_a_device_may_keep_does_not_name_the_health_page(place):
    phone = phone_of(place.participant)
    pack = phone.get(reverse("trips:my-pack", args=[place.participant.uuid])).json()
    health = reverse("trips:my-health", args=[place.participant.uuid])
    assert health not in pack["paths"]
    worker = Client().get("/service-worker.js").content.decode()
    pages = re.findall(r'^  "(.+)",$', re.search(r"const OWN_PAGES = \[(.+?)\];", worker, re.DOTALL)[1], re.MULTILINE)
    own = f"^/my/([0-9a-f-]{{36}})/(?:{'|'.join(pages)})?$"
    assert re.match(own, pack["paths"][0])
    assert all(re.match(own, path) for path in pack["paths"])
    assert not re.match(own, health)
    assert not re.match(own, f"/trips/{place.trip.uuid}/")


def test_the_export_of_a_person_tells_no_secret_of_others(place):
    answer = phone_of(place.participant).post(reverse("trips:my-data-file", args=[place.participant.uuid]))
    assert_silent(answer.content.decode(), "the export")
    assert not APART.search(answer.content.decode())


def test_feeds_and_mails_tell_no_secret(trip, place, settings):
    settings.PUBLIC_URL = "http://testserver"
    address = feed_address(kind="feed_person", owner_uuid=place.participant.uuid)
    feed = Client().get(address.removeprefix(settings.PUBLIC_URL)).content.decode()
    assert feed.count("BEGIN:VEVENT") >= 2
    assert_silent(feed.replace("\r\n ", ""), "the feed")
    Notice.objects.exclude(place=place).delete()
    with open_mailroom() as box:
        Notice.objects.update(mail="waiting")
        while notices_send():
            continue
        assert box.mails
        for mail in box.mails:
            assert_silent(str(mail), "a mail")


def test_what_an_issue_keeps_for_a_person_tells_no_secret(trip, place):
    for row in Issue.objects.all():
        kept = str(row.pages) + str(row.events["people"]) + str(row.papers["people"][str(place.uuid)])
        assert_silent(kept, "an issue")


def test_no_address_of_a_persons_pages_says_more_than_their_uuid(place):
    phone = phone_of(place.participant)
    for path in phone.get(reverse("trips:my-pack", args=[place.participant.uuid])).json()["paths"]:
        assert place.participant.name.replace(" ", "").lower() not in path.lower()


@pytest.mark.parametrize("method", ["get", "post"])
def test_every_page_of_a_person_is_closed_to_another_participant(trip, place, method):
    stranger = phone_of(trip.places.last().participant)
    own = place.participant.uuid
    session = trip.sessions.first().uuid
    names = "start days days-read pack wishes details health data data-file data-erase briefing briefing-file calendar"
    for name in [*names.split(), "calendar-file", "calendar-replace"]:
        answer = getattr(stranger, method)(reverse(f"trips:my-{name}", args=[own]))
        assert answer.status_code in (404, 405), name
    answer = getattr(stranger, method)(reverse("trips:my-drawing", args=[own, session, 0]))
    assert answer.status_code in (404, 405)


def test_a_leaders_view_is_never_marked_for_keeping(client, trip, place):
    client.force_login(trip.leader)
    answer = client.get(reverse("trips:my-days", args=[place.participant.uuid]))
    assert "X-Edition" not in answer.headers
    assert "my_page.js" not in answer.content.decode()
    own = phone_of(place.participant).get(reverse("trips:my-days", args=[place.participant.uuid]))
    assert own.headers["X-Edition"]
    assert "my_page.js" in own.content.decode()


def test_a_new_issue_and_a_changed_person_are_another_edition(trip, place):
    phone = phone_of(place.participant)
    address = reverse("trips:my-pack", args=[place.participant.uuid])
    seen = [phone.get(address).json()["edition"]]
    issue(seated_rota(trip))
    seen.append(phone.get(address).json()["edition"])
    place.version += 1
    place.save()
    seen.append(phone.get(address).json()["edition"])
    trip.rotas.filter(state="issued").update(state="retired")
    seen.append(phone.get(address).json()["edition"])
    assert len(set(seen)) == 4
    assert phone.get(address).json()["edition"] == seen[-1]


def test_the_service_worker_is_served_from_the_root_and_asked_for_anew():
    answer = Client().get("/service-worker.js")
    assert answer.headers["Content-Type"].startswith("text/javascript")
    assert answer.headers["Cache-Control"] == "no-cache"
    assert Client().post("/service-worker.js").status_code == 405
