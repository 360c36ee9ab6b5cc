"""Papers of rotas: what an issue keeps, what is printed of it, and what nobody must read."""

import json
import re
from datetime import timedelta

import pytest
from django.core.management import call_command

from participants.models import HealthNote, LeaderDetails, Participant
from tests import factories
from tests.trips.issued_trips import issue, issued_trip, seated_rota
from tests.trips.paper_reading import one_line, text_of
from tests.trips.rota_papers import NOW, files_of, text_of_file
from trips import models
from trips.management.plain_command import Refusal
from trips.services.calendars import CalendarOf, calendar_bytes
from trips.services.papers import PaperOrder, paper_files, papers_print, rota_for_papers, rota_papers
from trips.services.pdf import job_pdf

pytestmark = pytest.mark.django_db


@pytest.fixture
def trip():
    made = factories.planned_trip(people_count=2, hides=2, sessions=2)
    made.ends_on = made.starts_on + timedelta(days=1)
    made.save()
    site = made.sites.get()
    site.emergency_number, site.hospital, site.owner = "112", "Hospital del Valle", "Tomás Requejo"
    site.meeting_latitude_deg, site.meeting_longitude_deg = 39.4444, -6.3333
    site.save()
    issue(seated_rota(made))
    return made


def test_the_day_sheet_has_the_meals_of_its_day_as_they_stand_today(trip):
    factories.meal(trip=trip, day=trip.starts_on, name="Cold supper", note="two without nuts")  # after the issue
    factories.meal(trip=trip, day=trip.ends_on, name="Farewell lunch")
    first, last = (text_of_file(trip, f"papers/day-sheet-{day}") for day in (trip.starts_on, trip.ends_on))
    assert "Cold supper, lodge kitchen (two without nuts)" in first
    assert "Farewell" not in first
    assert "Farewell lunch" in last


def test_every_paper_has_its_place_and_a_safe_name(trip):
    names = list(files_of(trip))
    people = sorted(place.participant.name for place in trip.places.all())
    assert names[:2] == [f"briefing-{name.lower().replace(' ', '-')}.pdf" for name in people]
    kinds = {name.split("/")[1].split("-")[0] for name in names[2:]}
    assert kinds == {"day", "owner", "rota", "take", "door", "gear", "registration"}
    assert len([name for name in names if "/day-sheet" in name]) == 2
    assert len(set(map(str.casefold, names))) == len(names)


def test_a_name_cannot_leave_its_folder(trip):
    person = trip.places.first().participant
    person.name = "../../etc/passwd\x07 <b>.exe"  # no database keeps a NUL; forms and files refuse it
    person.save()
    issue(seated_rota(trip))
    names = list(files_of(trip, briefings_only=True))
    assert all(set(name) <= set("abcdefghijklmnopqrstuvwxyz0123456789-.") and ".." not in name for name in names)


def test_two_people_of_one_name_get_two_papers(trip):
    for place in trip.places.all():
        place.participant.name = "José Gómez"
        place.participant.save()
    issue(seated_rota(trip))
    assert list(files_of(trip, briefings_only=True)) == ["briefing-josé-gómez.pdf", "briefing-josé-gómez-2.pdf"]


def test_a_briefing_tells_the_turns_as_they_were_issued(trip):
    place = trip.places.order_by("participant__name").first()
    text = text_of_file(trip, "briefing-", briefings_only=True)
    number = trip.rotas.get(state="issued").number
    assert place.participant.name in text
    assert f"rota {number}, issued, told" in text
    for session in trip.sessions.all():
        turn = models.Turn.objects.get(rota__state="issued", session=session, place=place)
        assert f"{turn.hide.name}, {turn.seat.name}" in text
    assert "06:45–10:45" in text
    assert re.search(r"in place \d\d:\d\d · clear sky", text)  # on the card; page 1 has it too
    assert "the lodge gate" in text
    assert "39.44440° N, 6.33330° W" in text
    assert "Emergency number: 112" in text
    assert "Sunrise" in text
    assert "07:18" in text
    assert "No forecast yet: the water is for heat. Water: 3 l" in text
    assert "None" not in text


def test_people_are_sent_to_where_the_cars_leave_in_the_leaders_own_words(trip):
    trip.sites.update(lodge="the white farmhouse by the pond")
    issue(seated_rota(trip))
    text = text_of_file(trip, "briefing-", briefings_only=True)
    assert "Be at the cars five minutes before they leave the lodge (the white farmhouse by the pond)." in text
    draft = seated_rota(trip)
    trip.sites.add(factories.site(leader=trip.leader, lodge="another house"))
    issue(draft)
    assert "before they leave the lodge." in text_of_file(trip, "briefing-", briefings_only=True)


def test_a_changed_row_does_not_change_what_was_issued(trip):
    hide = trip.sites.get().hides.first()
    before = hide.name
    hide.name = "Another name"
    hide.save()
    assert before in text_of_file(trip, "briefing-", briefings_only=True)
    assert "Another name" not in text_of_file(trip, "briefing-", briefings_only=True)


def test_a_draft_says_draft_on_every_kind_of_paper():
    trip = factories.planned_trip(people_count=1, hides=1, sessions=1)
    seated_rota(trip)
    for start in ("briefing-", "papers/day-sheet", "papers/owner-sheet"):
        assert "DRAFT" in text_of_file(trip, start)


def test_the_owners_sheet_carries_the_number_that_the_app_shows():
    trip = issued_trip(people=6, hides=3, sessions=2)
    site = trip.sites.get()
    issue(seated_rota(trip))
    issue(seated_rota(trip))
    text = text_of_file(trip, "papers/owner-sheet-2027-05-08")
    number = trip.rotas.get(state="issued").number
    assert number == 3
    assert "Total 6" in text
    assert f"rota {number}, issued" in text
    assert f"Seen and confirmed by the owner (rota {number}, issued" in text
    for place in trip.places.all():
        assert f": {place.participant.name}" in text
    for hide in site.hides.all():
        assert hide.name in text
    assert "seated 06:45" in text
    assert text.count("6 people") == 2


def test_nobody_comes_on_a_day_without_a_session(trip):
    assert "Nobody comes on this day." in text_of_file(trip, "papers/owner-sheet-2027-05-09")
    assert "No session on this day." in text_of_file(trip, "papers/day-sheet-2027-05-09")


def test_what_is_confidential_is_on_no_paper_and_in_no_calendar(trip):
    first, second = trip.places.all()
    models.Pairing.objects.create(trip=trip, first=first, second=second, kind="apart")
    HealthNote.objects.create(participant=first.participant, text="Heartsecret")
    models.Turn.objects.filter(rota__trip=trip).update(leader_reasons=["Apartsecret"])
    hide = trip.sites.get().hides.first()
    hide.latitude_deg, hide.longitude_deg = 39.98765, -6.87654
    hide.save()
    issue(seated_rota(trip))
    rota = rota_for_papers(trip)
    papers = rota_papers(rota=rota, now=NOW)
    printed = papers_print(list(paper_files(rota=rota, papers=papers, order=PaperOrder())))
    texts = {name: one_line(text_of(content)) for name, content in printed}
    calendars = [calendar_bytes(CalendarOf(trip, place=place)).decode() for place in trip.places.all()]
    for text in (*texts, *texts.values(), *calendars):
        assert "Heartsecret" not in text
        assert "Apartsecret" not in text
        assert "apart" not in text.replace("APART", "").lower()
    for name, text in texts.items():
        assert ("39.98765" in text) == name.startswith(f"papers/door-card-{hide.name.lower().replace(' ', '-')}")
    assert not any("39.98765" in text or "6.87654" in text for text in calendars)
    assert all("39.44440° N" in text.replace("\r\n ", "") for text in calendars)


def test_an_emergency_contact_is_printed_from_today_and_kept_in_no_issue(trip):
    person = trip.places.order_by("participant__name").first().participant
    person.emergency_contact = "Sister, 600 123 123"
    person.save()
    kept = issue(seated_rota(trip))
    assert "600 123 123" not in str(kept.papers) + str(kept.pages) + str(kept.events)
    assert "Your emergency contact: Sister, 600 123 123" in text_of_file(trip, "briefing-", briefings_only=True)


def test_a_trip_without_a_rota_prints_what_needs_none_and_says_what_is_left_out(tmp_path, capsys):
    trip = factories.planned_trip(people_count=1, hides=1, sessions=1)
    Participant.objects.update(on_paper=True)
    call_command("write_papers", str(trip.uuid), str(tmp_path))
    names = [file.name.split("-")[0] for file in sorted(tmp_path.rglob("*.pdf"))]
    assert names == ["door", "gear", "registration", "registration", "take"]
    said = capsys.readouterr().out
    assert said.startswith("5 forms, cards and tables are in ")
    assert "no rota yet: briefings, day sheets and owner's sheets are left out" in said
    with pytest.raises(Refusal, match=re.escape("This trip has no rota yet. Make one first.")):
        call_command("write_papers", str(trip.uuid), str(tmp_path), "--briefings-only")


def test_leaders_telephones_are_printed_from_today_and_kept_in_no_issue(trip):
    second = factories.leader(first_name="Berta", last_name="Roble")
    trip.co_leaders.add(second)
    for leader, phone in ((trip.leader, "+34 600 111 222"), (second, "")):
        LeaderDetails.objects.filter(leader=leader).update(phone=phone)
    files = files_of(trip)
    wanted = ("papers/owner-sheet-2027-05-08", "papers/door-card")
    for name in (name for name in files if name.startswith(wanted)):
        text = one_line(text_of(job_pdf(files[name].job)))
        assert f"Leader: {trip.leader.get_username()}, +34 600 111 222" in text, name
        assert "Co-leader: Berta Roble, telephone to follow" in text, name
    assert "600 111 222" not in json.dumps([trip.rotas.first().issue.papers, trip.rotas.first().issue.pages])
    assert b"600 111 222" not in calendar_bytes(CalendarOf(trip))


def test_a_door_card_says_whose_position_it_has_and_where_the_phone_works(trip):
    first, second = trip.sites.get().hides.all()
    models.Hide.objects.filter(pk=first.pk).update(latitude_deg=39.51, longitude_deg=-6.21)
    models.Site.objects.filter(pk=first.site_id).update(phone_coverage="one bar on the dam")
    own, estates = (
        text_of_file(trip, f"papers/door-card-{hide.name.lower().replace(' ', '-')}") for hide in (first, second)
    )
    assert "You are at: 39.51000° N, 6.21000° W" in own
    assert "This hide is at" not in own
    assert "The estate, not this hide, is at: 39.50000° N, 6.20000° W" in estates
    assert "You are at" not in estates
    assert "This hide is at:" in estates  # with a line to write on
    for text in (own, estates):
        assert "Call 112" in text
        assert "Phone coverage: one bar on the dam" in text


def test_papers_that_follow_todays_facts_name_no_rota(trip):
    for start in ("papers/door-card", "papers/gear-table", "papers/registration-form"):
        text = text_of_file(trip, start)
        assert "made 7 May 2027 19:05 Europe/Madrid" in text
        assert "rota" not in text.lower()


def test_a_draft_that_is_not_sound_is_printed_by_nobody():
    trip = factories.planned_trip(people_count=1, hides=1, sessions=1)
    older, newest = seated_rota(trip), seated_rota(trip)
    assert rota_for_papers(trip) == newest
    newest.result = {"is_sound": False}
    newest.save()
    assert rota_for_papers(trip) == older
    older.result = {"is_sound": True}
    older.save()
    assert rota_for_papers(trip) == older


def test_a_rota_without_a_single_turn_makes_good_papers():
    trip = factories.planned_trip(people_count=1, hides=1, sessions=1)
    factories.rota(trip=trip)
    assert "You have no turns in this rota." in text_of_file(trip, "briefing-")
    assert "Nobody is in a hide." in text_of_file(trip, "papers/day-sheet")
