"""Papers and calendars of rotas: what an issue keeps, what is printed of it, and what nobody must read."""

import io
import re
import zipfile
from datetime import UTC, datetime, timedelta

import icalendar
import pytest
from django.core.management import call_command
from django.utils import timezone

from participants.models import HealthNote, Participant
from tests import factories
from tests.trips.issued_trips import issue, issued_trip, seated_rota
from tests.trips.paper_reading import one_line, reader, text_of
from trips import models
from trips.documents.scripts import NoFont
from trips.management.plain_command import Refusal
from trips.selectors.packing import packing_groups
from trips.services.calendars import CalendarOf, calendar_bytes, calendar_for_file
from trips.services.paper_pack import paper_pack_open, paper_pack_print, paper_packs_give_up, zip_bytes
from trips.services.papers import PaperOrder, paper_files, papers_print, rota_for_papers, rota_papers
from trips.services.pdf import job_pdf

pytestmark = pytest.mark.django_db
NOW = datetime(2027, 5, 7, 17, 5, tzinfo=UTC)


def files_of(trip, **order):
    rota = rota_for_papers(trip)
    papers = rota_papers(rota=rota, now=NOW)
    return {file.name: file for file in paper_files(rota=rota, papers=papers, order=PaperOrder(**order))}


def text_of_file(trip, start: str, **order) -> str:
    files = files_of(trip, **order)
    name = next(name for name in files if name.startswith(start))
    return one_line(text_of(job_pdf(files[name].job)))


def events_of(data: bytes) -> dict[str, icalendar.Event]:
    return {str(event["uid"]): event for event in icalendar.Calendar.from_ical(data).events}


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
    assert kinds == {"day", "owner", "door", "gear", "registration"}
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
    assert "made 7 May 2027 19:05 Europe/Madrid" in text
    for session in trip.sessions.all():
        turn = models.Turn.objects.get(rota__state="issued", session=session, place=place)
        assert f"{turn.hide.name}, {turn.seat.name}" in text
    assert "06:45–10:45" in text
    assert "the lodge gate" in text
    assert "39.44440° N, 6.33330° W" in text
    assert "Emergency number: 112" in text
    assert "Sunrise" in text
    assert "07:18" in text
    assert "to follow" in text  # the forecast, the way
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
    assert names == ["door", "gear", "registration", "registration"]
    said = capsys.readouterr().out
    assert said.startswith("4 forms, cards and tables are in ")
    assert "no rota yet: briefings, day sheets and owner's sheets are left out" in said
    with pytest.raises(Refusal, match=re.escape("This trip has no rota yet. Make one first.")):
        call_command("write_papers", str(trip.uuid), str(tmp_path), "--briefings-only")


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


def supports_of(place) -> tuple[str, ...]:
    page = packing_groups(place.participant, typed_by=None, today=place.trip.starts_on)
    return next(group.lines for group in page.groups if group.title.startswith("Supports"))


def test_a_packing_list_names_the_hides_that_the_person_sits_in(trip):
    for hide in trip.sites.get().hides.all():
        hide.support = "tripod"
        hide.save()
    place = trip.places.first()
    mine = place.turns.filter(rota__state="issued").first().hide
    other = trip.sites.get().hides.exclude(pk=mine.pk).get()
    issue(seated_rota(trip))
    (line,) = supports_of(place)
    assert mine.name in line
    assert other.name not in line
    briefing = text_of_file(trip, "briefing-", briefings_only=True)
    assert other.name not in briefing
    trip.rotas.update(state="retired")  # before a rota any hide may be theirs
    (line,) = supports_of(place)
    assert mine.name in line
    assert other.name in line


def test_a_guest_reads_nothing_of_lenses(trip):
    trip.places.update(photographs=False)
    issue(seated_rota(trip))
    text = text_of_file(trip, "briefing-", briefings_only=True)
    assert "Shutter" not in text
    assert "gear to follow" not in text


def test_feet_are_for_those_who_read_feet(trip):
    people = [place.participant for place in trip.places.order_by("participant__name")]
    people[0].units = "feet"
    people[0].save()
    issue(seated_rota(trip))
    files = files_of(trip, briefings_only=True)
    first, second = (one_line(text_of(job_pdf(file.job))) for file in files.values())
    assert "Near edge of the water 15 ft" in first
    assert "Near edge of the water 4.5 m" in second
    drawn = [[one.body.decode() for one in file.job.assets.values() if b">N<" in one.body] for file in files.values()]
    assert all(re.search(r">\d+ ft</text>", one) and not re.search(r">[\d.]+ m</text>", one) for one in drawn[0])
    assert all(re.search(r">[\d.]+ m</text>", one) for one in drawn[1])


def test_of_several_windows_the_card_names_each(trip):
    hide = trip.sites.get().hides.first()
    factories.view(hide=hide, name="the other window", bearing_deg=90.0)
    first = hide.views.exclude(name="the other window").first()
    issue(seated_rota(trip))
    text = text_of_file(trip, "briefing-", briefings_only=True).lower()
    for name in ("the other window", first.name.lower()):
        assert text.count(f"{name}: looks towards") == 2  # both turns name both windows, the better one first


def test_cars_stand_in_the_order_in_which_they_leave():
    trip = issued_trip(people=6, hides=3, sessions=1)
    session = trip.sessions.get()
    for name, hide in zip(("a late car", "an early car"), trip.sites.get().hides.all(), strict=False):
        hide.drive_min = 5 if "late" in name else 40
        hide.save()
        run = models.Run.objects.create(session=session, car=models.Car.objects.create(trip=trip, name=name, seats=6))
        models.RunStop.objects.create(run=run, hide=hide, position=1)
    issue(seated_rota(trip))
    (sheet,) = [one for one in rota_papers(rota=trip.rotas.get(state="issued"), now=NOW).days if one.sessions]
    leaves = [run.leaves for run in sheet.sessions[0].runs]
    assert len(leaves) >= 2
    assert leaves == sorted(leaves)


def test_a_hides_notes_of_eighty_lines_make_good_papers(trip):
    note = "\n".join(f"note {number} <b>of</b> file:///etc/passwd" for number in range(80))
    for field in ("cautions", "etiquette"):
        trip.sites.get().hides.update(**{field: note})
    issue(seated_rota(trip))
    names = []
    for name, file in files_of(trip).items():
        if name.startswith(("briefing", "papers/door-card")):
            names.append(name)
            pdf = job_pdf(file.job)
            text = one_line(text_of(pdf))
            if name.startswith("briefing"):  # said once, however many turns the person has there
                hide = models.Turn.objects.filter(rota__state="issued").first().hide
                assert text.count(f"See {hide.name} under Your hides.") == 2
                assert len(reader(pdf).pages) <= 9
            assert "note 0 <b>of</b> file:///etc/passwd" in text
            assert "note 79 <b>of</b> file:///etc/passwd" in text
    assert any(name.startswith("briefing") for name in names)
    assert any("door-card" in name for name in names)


# --- calendars ------------------------------------------------------------------------------------------------------


def test_a_persons_calendar_has_their_turns_and_their_coming_and_going(trip):
    place = trip.places.first()
    events = events_of(calendar_bytes(CalendarOf(trip, place=place)))
    timed = [event for event in events.values() if isinstance(event.start, datetime)]
    assert len(timed) == 2
    days = sorted(event["dtstart"].to_ical() for event in events.values() if event not in timed)
    assert days == [b"20270508", b"20270509"]
    early = min(timed, key=lambda event: event.start)
    assert early.start == datetime(2027, 5, 8, 4, 45, tzinfo=UTC)
    assert "Car leaves 06:18 on Saturday 8 May (Europe/Madrid, UTC+02:00)" in early["description"]
    assert str(early["location"]) == "the lodge gate (39.44440° N, 6.33330° W)"
    (alarm,) = early.walk("VALARM")
    assert early.start + alarm["trigger"].dt == datetime(2027, 5, 8, 4, 18, tzinfo=UTC) - timedelta(minutes=30)


def test_the_trips_calendar_has_every_hide_and_the_trip_as_days(trip):
    events = events_of(calendar_bytes(CalendarOf(trip)))
    whole = next(event for event in events.values() if not isinstance(event.start, datetime))
    assert (whole["dtstart"].to_ical(), whole["dtend"].to_ical()) == (b"20270508", b"20270510")
    assert len(events) == 1 + 2
    owners = events_of(calendar_bytes(CalendarOf(trip, site=trip.sites.get())))
    assert set(owners) == set(events) - {str(whole["uid"])}


def test_a_changed_turn_changes_one_entry_of_one_person():
    trip = issued_trip(people=3, hides=3, sessions=2)
    moved = trip.places.all()[2]  # sits alone before and after
    before = {place.pk: events_of(calendar_bytes(CalendarOf(trip, place=place))) for place in trip.places.all()}
    issue(seated_rota(trip, moves={(2, 0): (2, 0)}))
    after = {place.pk: events_of(calendar_bytes(CalendarOf(trip, place=place))) for place in trip.places.all()}
    assert {pk: set(events) for pk, events in after.items()} == {pk: set(events) for pk, events in before.items()}
    ((pk, uid),) = [
        (pk, uid)
        for pk, events in after.items()
        for uid, event in events.items()
        if event.to_ical() != before[pk][uid].to_ical()
    ]
    assert pk == moved.pk
    assert after[pk][uid]["sequence"] == before[pk][uid]["sequence"] + 1 == 1
    assert after[pk][uid]["dtstamp"].dt > before[pk][uid]["dtstamp"].dt
    assert trip.sites.get().hides.all()[2].name in after[pk][uid]["summary"]


def test_a_withdrawn_turn_is_cancelled_in_the_calendar():
    trip = issued_trip(people=1, hides=1, sessions=2)
    place = trip.places.get()
    issue(seated_rota(trip, moves={(0, 1): None}))
    states = sorted(str(one["status"]) for one in events_of(calendar_bytes(CalendarOf(trip, place=place))).values())
    assert states == ["CANCELLED", "CONFIRMED", "CONFIRMED", "CONFIRMED"]


def test_a_draft_changes_nothing_in_a_calendar(trip):
    wanted = CalendarOf(trip, place=trip.places.first())
    before = calendar_bytes(wanted)
    seated_rota(trip, moves={(0, 0): None})
    assert calendar_bytes(wanted) == before
    assert calendar_for_file(wanted) == (before, True)


# --- a pack printed in a worker -------------------------------------------------------------------------------------


def test_a_pack_is_printed_once_whole_and_with_progress(trip):
    pack, is_new = paper_pack_open(trip=trip, page_size="A4", by=trip.leader, now=NOW)
    assert is_new
    assert paper_pack_open(trip=trip, page_size="Letter", by=trip.leader, now=NOW) == (pack, False)
    done = paper_pack_print(pack_uuid=pack.uuid)
    assert (done.state, done.done, done.total) == ("finished", done.total, done.total)
    packed = zipfile.ZipFile(io.BytesIO(bytes(done.content)))
    assert packed.testzip() is None
    assert sorted(packed.namelist()) == sorted(files_of(trip))
    assert all(packed.read(name).startswith(b"%PDF") for name in packed.namelist())
    assert paper_pack_print(pack_uuid=pack.uuid).version == done.version  # a second worker finds nothing to do


def test_a_pack_that_cannot_be_made_says_why_and_holds_nothing(trip):
    person = trip.places.order_by("participant__name").last().participant
    person.name = "\U0001e290\U0001e291"
    person.save()
    issue(seated_rota(trip))
    pack, _ = paper_pack_open(trip=trip, page_size="A4", by=None, now=NOW)
    done = paper_pack_print(pack_uuid=pack.uuid)
    assert (done.state, done.content) == ("failed", None)
    assert "Toto" in done.fault
    assert paper_pack_open(trip=trip, page_size="A4", by=None, now=NOW)[1]


def test_a_pack_whose_worker_died_can_be_started_again(trip):
    pack, _ = paper_pack_open(trip=trip, page_size="A4", by=None, now=NOW)
    models.PaperPack.objects.filter(pk=pack.pk).update(state="running", heartbeat_at=NOW)
    assert paper_packs_give_up(trip=trip, now=NOW + timedelta(seconds=60)) == 0
    again, is_new = paper_pack_open(trip=trip, page_size="A4", by=None, now=NOW + timedelta(minutes=5))
    assert is_new
    pack.refresh_from_db()
    assert pack.state == "not_finished"
    assert again.pk != pack.pk


def test_only_the_last_packs_of_a_trip_are_kept(trip):
    for number in range(6):
        pack, _ = paper_pack_open(trip=trip, page_size="A4", by=None, now=NOW + timedelta(minutes=number))
        models.PaperPack.objects.filter(pk=pack.pk).update(state="finished", content=b"PK")
    assert trip.paper_packs.count() == 3


def test_the_same_files_give_the_same_zip():
    files = [("b.pdf", b"2"), ("a.pdf", b"1")]
    assert zip_bytes(files) == zip_bytes(reversed(files))


# --- commands -------------------------------------------------------------------------------------------------------


def test_papers_are_written_into_a_folder(trip, tmp_path, capsys):
    call_command("write_papers", str(trip.uuid), str(tmp_path / "new" / "folder"), "--page-size", "Letter")
    folder = tmp_path / "new" / "folder"
    assert len(list(folder.glob("*.pdf"))) == 2
    assert len(list((folder / "papers").glob("*.pdf"))) == 2 + 2 + 2 + 1 + 1
    assert float(reader(next(folder.glob("*.pdf")).read_bytes()).pages[0].mediabox.width) == 612
    assert "10 papers of rota 1 (issued)" in capsys.readouterr().out


def test_half_a_set_of_papers_is_never_written(trip, tmp_path):
    person = trip.places.order_by("participant__name").last().participant
    person.name = "\U0001e290"
    person.save()
    with pytest.raises(Refusal) as refused:
        call_command("write_papers", str(trip.uuid), str(tmp_path))
    assert refused.value.returncode == 1
    assert "fonts-noto-core" in str(refused.value)
    assert list(tmp_path.rglob("*.pdf")) == []


def test_calendars_are_written_as_files(trip, tmp_path):
    call_command("write_calendar", trip.name, str(tmp_path / "trip.ics"))
    assert (tmp_path / "trip.ics").read_bytes() == calendar_bytes(CalendarOf(trip))
    place = trip.places.first()
    call_command("write_calendar", trip.name, str(tmp_path / "one.ics"), "--person", str(place.participant.uuid))
    assert (tmp_path / "one.ics").read_bytes() == calendar_bytes(CalendarOf(trip, place=place))


def test_a_draft_calendar_says_that_it_is_one(tmp_path, capsys):
    trip = factories.planned_trip(people_count=1, hides=1, sessions=1)
    seated_rota(trip)
    call_command("write_calendar", str(trip.uuid), str(tmp_path / "trip.ics"))
    assert "newest draft" in capsys.readouterr().err
    written = (tmp_path / "trip.ics").read_bytes()
    assert {str(event["status"]) for event in events_of(written).values()} == {"TENTATIVE"}
    assert len(events_of(written)) == 2
    calendar = icalendar.Calendar.from_ical(written)
    assert str(calendar["name"]) == f"Draft: {trip.name}"
    assert str(calendar["description"]).startswith("Draft, not issued")
    issue(trip.rotas.get())
    call_command("write_calendar", str(trip.uuid), str(tmp_path / "trip.ics"))
    assert b"TENTATIVE" not in (tmp_path / "trip.ics").read_bytes()
    assert b"Draft" not in (tmp_path / "trip.ics").read_bytes()


@pytest.mark.parametrize("person", ["nobody", "00000000-0000-0000-0000-000000000007"])
def test_an_unknown_person_is_a_sentence(trip, tmp_path, person):
    with pytest.raises(Refusal) as refused:
        call_command("write_calendar", str(trip.uuid), str(tmp_path / "one.ics"), "--person", person)
    assert refused.value.returncode == 2
    assert person in str(refused.value)


def test_an_unknown_trip_and_a_folder_that_cannot_be_made_are_sentences(trip, tmp_path):
    with pytest.raises(Refusal):
        call_command("write_papers", "no such trip", str(tmp_path))
    (tmp_path / "file").write_text("")
    with pytest.raises(Refusal, match="cannot be written"):
        call_command("write_papers", str(trip.uuid), str(tmp_path / "file" / "papers"))


def test_a_script_without_a_font_is_found_before_anything_is_printed(trip):
    person = trip.places.first().participant
    person.name = "\U0001e290"
    person.save()
    rota = rota_for_papers(trip)
    papers = rota_papers(rota=rota, now=timezone.now())
    with pytest.raises(NoFont):
        papers_print(list(paper_files(rota=rota, papers=papers, order=PaperOrder(briefings_only=True))))
