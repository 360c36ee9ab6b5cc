"""The leader's gear table, and files of people and gear out and in."""

import csv
import io

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from participants.models import Lens, Participant
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def trip():
    return factories.planned_trip(people_count=2, hides=2)


def url(name, trip):
    return reverse(f"trips:{name}", kwargs={"trip_uuid": trip.uuid})


def text(answer):
    return answer.content.decode("utf-8-sig")


@pytest.mark.parametrize("name", ["gear-table", "gear-export", "people-export", "people-import"])
def test_gear_pages_are_the_leaders_alone(as_leader, trip, name):
    assert as_leader.get(url(name, trip)).status_code == 200
    stranger = Client()
    stranger.force_login(factories.leader())
    assert stranger.get(url(name, trip)).status_code == 404
    assert Client().get(url(name, trip)).status_code == 302


def test_gear_table_shows_a_verdict_and_a_set_for_everybody_in_every_view(as_leader, trip):
    page = text(as_leader.get(url("gear-table", trip)))
    for place in trip.places.all():
        assert place.participant.name in page
    assert page.count('<span class="sign sign-good">good</span>') == 4
    assert "600 mm" in page


def test_gear_table_lists_what_could_be_lent_and_by_whom(as_leader, trip):
    first, second = (place.participant for place in trip.places.all())
    first.lenses.update(near_limit_m=6.5, name="800 mm f/5.6", focal_min_mm=800, focal_max_mm=800)
    second.lenses.update(spare=True)
    page = text(as_leader.get(url("gear-table", trip)))
    assert "cannot focus here" in page
    assert f"The lens 600 mm f/4 (lent by {second.name}): good." in page
    second.lenses.update(spare=False)
    page = text(as_leader.get(url("gear-table", trip)))
    assert "would help anybody" in page
    assert "An extension tube of" in page


def test_gear_table_says_who_has_no_gear_and_leaves_guests_out(as_leader, trip):
    bare, guest = factories.place(trip=trip), factories.place(trip=trip, photographs=False)
    page = text(as_leader.get(url("gear-table", trip)))
    assert bare.participant.name in page
    assert "no gear yet" in page
    assert guest.participant.name not in page


def test_gear_table_costs_the_same_queries_with_many_people(as_leader, trip, django_assert_max_num_queries):
    for _ in range(8):
        person = factories.place(trip=trip).participant
        factories.body(participant=person)
        factories.lens(participant=person)
        factories.hide_subject(hide=factories.hide(site=trip.sites.get()))
    with django_assert_max_num_queries(28):
        as_leader.get(url("gear-table", trip))


def send(browser, trip, data, name="people.csv", **more):
    return browser.post(url("people-import", trip), {"file": SimpleUploadedFile(name, data, "text/csv"), **more})


def test_people_import_knows_the_headings_of_the_pages_and_the_state_of_a_place(as_leader, trip):
    known = trip.places.first()
    data = "Name,E-mail,Telephone,Place\r\nAna Cruz,ana@example.org,+34 600 000 001,confirmed\r\n"
    data += f"{known.participant.name},,,on the waiting list\r\nBo Lind,,,\r\n"
    answer = send(as_leader, trip, data.encode())
    assert answer.context["plan"].ignored == ()
    take(as_leader, trip, answer)
    ana = Participant.objects.get(name="Ana Cruz")
    assert (ana.email, ana.phone) == ("ana@example.org", "+34 600 000 001")
    states = dict(trip.places.values_list("participant__name", "state"))
    assert (states["Ana Cruz"], states["Bo Lind"]) == ("confirmed", "invited")
    assert states[known.participant.name] == "waiting"
    wrong = send(as_leader, trip, b"name,place\r\nCy Dahl,perhaps\r\n").context["plan"]
    assert [(fault.column, fault.text) for fault in wrong.faults] == [("place", "perhaps")]
    table = as_leader.get(url("people-export", trip)).content.decode("utf-8-sig")
    assert table.splitlines()[0].endswith(",place")
    assert ",confirmed" in table


def test_gear_import_knows_the_labels_of_the_gear_page(as_leader, trip):
    owner = trip.places.first().participant.name
    data = f"Person,Kind,Name,Factor\r\n{owner},converter,Extender,1.4\r\n"
    assert send(as_leader, trip, data.encode()).context["plan"].ignored == ()
    data = f"Person,Kind,Name,Volts,Ampere-hours,How many\r\n{owner},battery,Spare,7.2,2.28,2\r\n"
    plan = send(as_leader, trip, data.encode()).context["plan"]
    assert (plan.ignored, plan.faults) == ((), [])
    assert (plan.pieces[0][2].ampere_hours, plan.pieces[0][2].count) == (2.28, 2)


def take(browser, trip, answer):
    """Press the button that takes what the page shows."""
    form, plan = answer.context["form"], answer.context["plan"]
    sent = {"content": form.cleaned_data["kept"], "encoding": plan.table.encoding, "delimiter": plan.table.delimiter}
    return browser.post(url("people-import", trip), sent | {"step": "save"})


FIRST_NAMES = ("Ana Cruz", "José Núñez", "Άννα")


@pytest.mark.parametrize(
    ("data", "encoding", "separator"),
    [
        ("\ufeffname,email\r\nAna Cruz,ana@example.org\r\n".encode(), "utf-8", "comma"),
        (b"name;diet\r\nAna Cruz;from 8 May, 2027\r\nBo Lind;till 8 May, 2027\r\n", "utf-8", "semicolon"),
        (b"name\r\nAna Cruz\r\nBo Lind\r\n", "utf-8", "comma"),
        (b"Name\tE mail\r\nAna Cruz\t\r\n", "utf-8", "tab"),
        ("name;diet\r\nJosé Núñez;sin azúcar, señor\r\nAña Peña;piña\r\n".encode("cp1252"), "cp1252", "semicolon"),
        ("name\tdiet\nΆννα\tψωμί\n".encode("utf-16"), "utf-16", "tab"),
    ],
    ids=["mark", "semicolon", "one column", "tab", "one byte", "two bytes"],
)  # fmt: skip
def test_people_import_finds_encoding_and_separator_and_shows_them(as_leader, trip, data, encoding, separator):
    before = Participant.objects.count()
    answer = send(as_leader, trip, data)
    page = text(answer)
    assert f"<dd>{encoding}</dd>" in page
    assert f"<dd>{separator}" in page
    assert not answer.context["plan"].faults
    assert Participant.objects.count() == before  # looked at only
    assert take(as_leader, trip, answer).status_code == 302
    assert Participant.objects.count() == before + answer.context["plan"].rows
    assert Participant.objects.filter(
        name=data.decode(encoding if encoding != "utf-8" else "utf-8-sig")
        .splitlines()[1]
        .split(";")[0]
        .split(",")[0]
        .split("\t")[0],
        places__trip=trip,
    ).exists()


def test_people_import_with_a_chosen_encoding_and_separator(as_leader, trip):
    data = "name,diet\r\nŁukasz;x,brak\r\n".encode("cp1250")
    answer = send(as_leader, trip, data, encoding="cp1250", delimiter=",")
    assert "Łukasz;x" in text(answer)
    again = as_leader.post(
        url("people-import", trip), {"content": answer.context["form"].cleaned_data["kept"], "delimiter": ";"}
    )
    assert "<dd>semicolon" in text(again)
    assert send(as_leader, trip, "name\r\nÅsa\r\n".encode("cp1252"), encoding="utf-8").context["plan"] is None


def test_people_import_lists_wrong_rows_by_number_and_takes_nothing(as_leader, trip):
    before = Participant.objects.count()
    data = "name,email,units\r\nAna Cruz,ana@example.org,metric\r\n\r\nBo,not an address,leagues\r\n,x@example.org,\r\n"
    answer = send(as_leader, trip, data.encode())
    faults = {(fault.row, fault.column) for fault in answer.context["plan"].faults}
    assert faults == {(4, "email"), (4, "units"), (5, "name")}
    assert "Nothing is imported while a row is wrong" in text(answer)
    take(as_leader, trip, answer)
    assert Participant.objects.count() == before


def test_people_import_knows_people_again_and_leaves_blanks_alone(as_leader, trip):
    person = trip.places.first().participant
    person.phone, person.email = "123", "a@example.org"
    person.save()
    answer = send(as_leader, trip, f"name,email,phone,diet\r\n{person.name},A@example.org,,no nuts\r\n".encode())
    take(as_leader, trip, answer)
    person.refresh_from_db()
    assert (person.phone, person.diet) == ("123", "no nuts")
    assert trip.places.count() == 2


def test_people_import_refuses_the_same_person_twice_and_rows_that_are_too_long(as_leader, trip):
    faults = send(as_leader, trip, b"name,phone\r\nAna,60012\r\nana,60013\r\nBo,60014,4\r\n").context["plan"].faults
    assert [(fault.row, fault.sentence) for fault in faults] == [
        (3, "This stands in row 2 already."),
        (4, "3 cells, but 2 headings."),
    ]


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (b"", "The file is empty."),
        (b"\r\n \r\n", "The file is empty."),
        (b"age,shoe\r\n4,5\r\n", "There is no column “name”."),
        (b"\x00\x01\x02\x03" * 40, "This file is no text."),
        (b"name\r\n" + b"Ana\r\n" * 2001, "more than 2000 rows"),
        (b"name\r\n" + b"A" * 600_000, "larger than 512 kB"),
        (b"name,name\r\nA,B\r\n", "This column comes twice."),
    ],
    ids=["empty", "blank", "no name", "binary", "long", "large", "twice"],
)
def test_files_that_are_no_table_come_back_with_a_sentence(as_leader, trip, data, sentence):
    answer = send(as_leader, trip, data)
    assert answer.status_code == 200
    assert sentence in text(answer)


def test_a_table_of_two_gigabytes_is_refused_before_it_is_read(as_leader, trip):
    answer = as_leader.post(url("people-import", trip), {}, CONTENT_LENGTH=str(2 * 1024**3))
    assert answer.status_code == 200
    assert "larger than 512 kB" in text(answer)


TRICKY = ["=1+1", "@x", "+44 1632 960100", "-5", "'=1", "'t Hooft", "''", "a\r\nb", 'say "hi", twice', "\tx", "＝1"]


def test_cells_that_a_spreadsheet_would_run_leave_as_text_and_come_back_unchanged(as_leader, trip):
    for number, tricky in enumerate(TRICKY):
        person = factories.participant(leader=trip.leader, name=tricky.strip(), diet=tricky, phone=f"{number}")
        factories.place(trip=trip, participant=person)
    data = as_leader.get(url("people-export", trip)).content
    assert data.startswith(b"\xef\xbb\xbf")
    for row in csv.reader(io.StringIO(data.decode("utf-8-sig"), newline="")):
        assert not any(cell[:1] in ("=", "+", "-", "@", "\t", "\r", "＝") for cell in row)
    kept = {person.phone: (person.name, person.diet) for person in Participant.objects.exclude(phone="")}
    Participant.objects.exclude(phone="").update(diet="lost")
    answer = send(as_leader, trip, data)
    assert not answer.context["plan"].faults
    take(as_leader, trip, answer)
    stripped = {phone: (name, diet.strip()) for phone, (name, diet) in kept.items()}
    found = {person.phone: (person.name, person.diet) for person in Participant.objects.exclude(phone="")}
    assert found == stripped
    assert as_leader.get(url("people-export", trip)).content.count(b"\r\n") == data.count(b"\r\n")


def test_gear_comes_back_from_its_own_file_as_it_was(as_leader, trip):
    person = trip.places.first().participant
    Lens.objects.filter(participant=person).update(near_limit_m=6.096, max_magnification=0.1543, spare=True)
    factories.people.Tube.objects.create(participant=person, name="=tube", length_mm=25.0)
    factories.people.Support.objects.create(participant=person, name="sack", kind="bean_bag")
    factories.people.Battery.objects.create(participant=person, name="b", volts=7.2, ampere_hours=2.28, count=3)
    data = as_leader.get(url("gear-export", trip)).content
    assert b"6.0960" in data
    Lens.objects.filter(participant=person).update(near_limit_m=1, max_magnification=None, spare=False)
    person.tubes.all().delete()
    answer = send(as_leader, trip, data, "kit.csv")
    assert not answer.context["plan"].faults
    assert take(as_leader, trip, answer).status_code == 302
    lens = person.lenses.get()
    assert (lens.near_limit_m, lens.max_magnification, lens.spare) == (6.096, 0.1543, True)
    assert person.tubes.get().name == "=tube"
    assert as_leader.get(url("gear-export", trip)).content == data


def test_a_file_of_gear_may_have_decimal_commas(as_leader, trip):
    person = trip.places.first().participant
    rows = ["person;kind;name;factor;focal_min_mm;aperture_wide;near_limit_m", f"{person.name};converter;;1,4;;;"]
    rows.append(f"{person.name};lens;;;600;5,6;1,25")
    answer = send(as_leader, trip, "\r\n".join(rows).encode())
    assert take(as_leader, trip, answer).status_code == 302, answer.context["plan"].faults
    lens = person.lenses.get(near_limit_m=1.25)
    assert (person.converters.get().factor, lens.aperture_wide) == (1.4, 5.6)


def test_gear_import_lists_every_wrong_row_and_changes_nothing(as_leader, trip):
    name = trip.places.first().participant.name
    rows = [
        "person;kind;name;factor;near_limit_m;focal_min_mm;aperture_wide;spare",
        f"{name};converter;;0.5;;;;",
        f"{name};balloon;;1.4;;;;",
        "Nobody;converter;;1.4;;;;",
        f"{name};converter;;1.4;;;;maybe",
        f"{name};lens;;;1.500;600;4;",
        f"{name};converter;;1.4;;;;yes",
    ]
    answer = send(as_leader, trip, "\r\n".join(rows).encode())
    faults = [(fault.row, fault.column) for fault in answer.context["plan"].faults]
    assert faults == [(2, "factor"), (3, "kind"), (4, "person"), (5, "spare"), (6, "near_limit_m")]
    take(as_leader, trip, answer)
    assert not trip.places.first().participant.converters.exists()


def test_neither_health_notes_nor_pairings_are_in_any_file(as_leader, trip):
    first, second = trip.places.all()
    factories.people.HealthNote.objects.create(participant=first.participant, text="very private")
    factories.models.Pairing.objects.create(trip=trip, first=first, second=second, kind="apart")
    for name in ("gear-export", "people-export"):
        body = text(as_leader.get(url(name, trip)))
        assert "private" not in body
        assert "apart" not in body
