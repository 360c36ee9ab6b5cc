"""A person reads pages, papers, calendar and drawings in their language; leaders read English."""

import io
import re

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from pypdf import PdfReader

from participants import services
from participants.models import Participant
from tests.trips.issued_trips import issue, issued_trip, phone_of, seated_rota
from trips.models import Issue
from trips.services.calendars import CalendarOf, calendar_bytes
from trips.services.papers import PaperOrder, trip_files
from trips.services.pdf import job_html

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("clock")]

# Words of English that are words of neither German nor Spanish, in small letters.
ENGLISH = re.compile(r"\b(the|and|your|you|with|of|is|are|until|not|for|from|this|what|there|when|gear|seat)\b")
TYPED = ("the lodge gate", "Road to the gate")
SOURCES = re.compile(r"\[[^\]]*\]")  # published titles stay as they are
PAGES = ("my-start", "my-days", "my-briefing", "my-wishes", "my-details", "my-calendar", "my-data", "my-health")
GEAR_PAGES = ("gear-show", "packing-show", "gear-picture", "picture-save")
KINDS = ("body", "lens", "converter", "tube", "support", "battery")
WORDS = {"de": ("Meine Tage", "Nächster Ansitz"), "es": ("Mis días", "Próximo turno")}


@pytest.fixture
def trip():
    return issued_trip(people=2, hides=2, sessions=2)


def speaks(place, language):
    Participant.objects.filter(pk=place.participant_id).update(language=language)
    place.participant.refresh_from_db()
    return place.participant


def english_in(page: str) -> list[str]:
    """The words of English that the page shows."""
    page = re.sub(r"<(script|style|head)\b.*?</\1>", " ", page, flags=re.DOTALL)
    page = page + " ".join(re.findall(r'\b(?:aria-label|alt|data-online|data-queue-name|data-label)="([^"]*)"', page))
    shown = SOURCES.sub(" ", re.sub(r"<[^>]*>", " ", page))
    for typed in TYPED:
        shown = shown.replace(typed, "")
    return [shown[max(0, one.start() - 40) : one.end() + 30] for one in ENGLISH.finditer(shown)]


def addresses(person: Participant) -> list[str]:
    found = [reverse(f"trips:{name}", args=[person.uuid]) for name in PAGES + GEAR_PAGES]
    found += [reverse("trips:piece-new", args=[person.uuid, kind]) for kind in KINDS]
    lens = person.lenses.first()
    found += [
        reverse(f"trips:piece-{name}", args=[person.uuid, "lens", lens.uuid]) for name in ("edit", "lost", "remove")
    ]
    return [*found, reverse("participants:device-list", args=[person.uuid])]


@pytest.mark.parametrize("language", WORDS)
def test_every_page_of_a_person_speaks_their_language_alone(trip, place, language):
    person = speaks(place, language)
    issue(seated_rota(trip))
    phone = phone_of(person)
    days = phone.get(reverse("trips:my-days", args=[person.uuid])).content.decode()
    assert f'<html lang="{language}"' in days
    assert [word for word in WORDS[language] if word not in days] == []
    found = {address: english_in(phone.get(address, follow=True).content.decode()) for address in addresses(person)}
    assert {address: words for address, words in found.items() if words} == {}


def test_forms_come_back_with_their_errors_in_the_persons_language(trip, place):
    person = speaks(place, "de")
    phone = phone_of(person)
    lens = reverse("trips:piece-new", args=[person.uuid, "lens"])
    page = phone.post(lens, {"focal_min_mm": "1.200", "aperture_wide": "x"}).content.decode()
    assert "kann zweierlei bedeuten" in page
    assert "ist keine Zahl" in page
    assert english_in(page) == []


def test_a_changed_language_speaks_at_once_and_makes_another_edition(trip, place):
    person = speaks(place, "en")
    phone, address = phone_of(person), reverse("trips:my-details", args=[person.uuid])
    opened = phone.get(address)
    seen = re.search(r'name="seen_fields" value="(\w+)"', opened.content.decode()).group(1)
    sent = {"language": "de", "units": "metric", "seen_fields": seen}
    page = phone.post(address, sent, follow=True)
    assert "Deine Angaben sind gespeichert." in page.content.decode()
    assert phone.get(address).headers["X-Edition"] != opened.headers["X-Edition"]


def test_a_leader_who_types_for_somebody_reads_english(trip, place, as_leader):
    page = as_leader.get(reverse("trips:my-days", args=[speaks(place, "de").uuid])).content.decode()
    assert "Next turn" in page
    assert '<html lang="en-gb"' in page


def test_a_leader_may_read_a_page_as_its_person_does(place, as_leader):
    person = speaks(place, "de")
    address = reverse("trips:my-days", args=[person.uuid])
    assert f'href="{address}?as=person"' in as_leader.get(address).content.decode()
    assert WORDS["de"][1] in as_leader.get(address, {"as": "person"}).content.decode()


def test_the_page_brings_the_scripts_their_words(trip, place):
    person = speaks(place, "es")
    page = phone_of(person).get(reverse("trips:my-days", args=[person.uuid])).content.decode()
    assert '<script id="words" type="application/json">' in page
    assert "Enviar ahora" in page
    english = phone_of(speaks(place, "en")).get(reverse("trips:my-days", args=[person.uuid])).content.decode()
    assert 'id="words"' not in english


def test_the_page_for_the_time_without_a_network_speaks_the_persons_language(trip, place):
    assert "Kein Netz" in phone_of(speaks(place, "de")).get("/service-worker.js").content.decode()


def test_who_is_not_signed_in_reads_the_language_of_their_browser():
    answer = Client().get(reverse("participants:link-ask"), headers={"Accept-Language": "es-MX,es;q=0.9"})
    assert "Pedir un enlace a tus páginas" in answer.content.decode()
    assert "Accept-Language" in answer.headers["Vary"]
    assert "Hier ist nichts" in Client().get("/nowhere/", headers={"Accept-Language": "de"}).content.decode()


def test_the_page_behind_a_link_speaks_the_language_of_whose_it_is(trip, place):
    token = services.link_hand_over(person=speaks(place, "de"))
    page = Client().get(reverse("participants:link-open", args=[token])).content.decode()
    assert "Deine Seiten öffnen" in page
    assert english_in(page) == []


def test_what_is_issued_for_a_person_is_in_their_language(trip, place):
    person = speaks(place, "de")
    issue(seated_rota(trip))
    calendar = calendar_bytes(CalendarOf(trip, place=place)).decode().replace("\r\n ", "")
    assert "SUMMARY:Abfahrt " in calendar
    assert "Telefone holen einen Kalender" in calendar
    drawings = Issue.objects.order_by("-issued_at").first().papers["drawings"]
    assert any("Das Objektiv blickt nach" in one for key, one in drawings.items() if key.endswith("/de"))
    phone = phone_of(person)
    assert "Das Objektiv blickt nach" in phone.get(reverse("trips:my-days", args=[person.uuid])).content.decode()


@pytest.mark.parametrize(("language", "word"), [("de", "Deine Ansitze"), ("es", "Tus turnos")])
def test_the_briefing_is_printed_in_the_persons_language(trip, place, language, word):
    person = speaks(place, language)
    answer = phone_of(person).get(reverse("trips:my-briefing-file", args=[person.uuid]))
    pdf = PdfReader(io.BytesIO(answer.content))
    text = " ".join("".join(page.extract_text() for page in pdf.pages).split())
    assert word in text
    assert pdf.trailer["/Root"]["/Lang"] == language
    assert len(pdf.pages) <= 4
    assert "Your turns" not in text


def test_the_owner_reads_sheet_and_calendar_in_their_language(trip):
    trip.sites.update(owner_language="es")
    rota = seated_rota(trip)
    issue(rota)
    site = trip.sites.get()
    files = trip_files(trip=trip, rota=rota, order=PaperOrder(), now=timezone.now())
    sheet = next(job_html(file.job) for file in files if "owner-sheet" in file.name)
    assert "Hoja del propietario" in sheet
    assert english_in(sheet) == []
    assert "SUMMARY:Salida " in calendar_bytes(CalendarOf(trip, site=site)).decode()


def test_cards_and_forms_are_printed_in_each_language_of_the_trips_people(trip, place):
    speaks(place, "de")
    files = trip_files(trip=trip, rota=None, order=PaperOrder(), now=timezone.now())
    names = [file.name for file in files]
    assert [name for name in names if "registration-form" in name] == [
        "papers/registration-form.pdf",
        "papers/registration-form-de.pdf",
    ]
    cards = [job_html(file.job) for file in files if "door-card-de" in file.name]
    assert len(cards) == 2
    assert all("Im Notfall" in card and not english_in(card) for card in cards)
    form = next(job_html(file.job) for file in files if "registration-form-de" in file.name)
    assert english_in(form) == []
