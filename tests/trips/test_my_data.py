"""My data: all of it as a file, and having it erased."""

import json
import re

import pytest
from django.urls import reverse
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from participants.models import AccessLink, Body, Device, HealthNote, Participant
from tests import factories
from tests.trips.issued_trips import issue, issued_trip, phone_of, seated_rota
from trips.documents.days import DaysPage
from trips.documents.frozen_json import from_json
from trips.documents.paper_facts import PersonFacts
from trips.models import Change, Issue, Making, Notice, Pairing, PaperPack, Rota
from trips.services.health import health_save
from trips.services.issue_erased import unnamed
from trips.services.my_data import person_erase

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("clock")]


@pytest.fixture
def trip():
    return issued_trip(people=3, hides=2, sessions=2)


@pytest.fixture
def place(trip):
    place = trip.places.first()
    Participant.objects.filter(pk=place.participant.pk).update(
        name="Ines Prado", email="ines@example.org", diet="no nuts"
    )
    place.participant.refresh_from_db()
    return place


def url(name, place):
    return reverse(f"trips:{name}", args=[place.participant.uuid])


def test_my_data_holds_all_of_the_person_and_nothing_of_others(trip, place):
    other = trip.places.last()
    Participant.objects.filter(pk=other.participant.pk).update(phone="+34 699 111 222", emergency_contact="Uncle Rui")
    Pairing.objects.create(trip=trip, first=place, second=other, kind="apart")
    health_save(person=place.participant, text="Asthma")
    health_save(person=other.participant, text="Heart")
    place.wishes.create(subject=trip.sites.get().hides.first().hide_subjects.first().subject, votes=5)
    answer = phone_of(place.participant).post(url("my-data-file", place))
    text = answer.content.decode()
    kept = json.loads(text)
    assert kept["person"]["email"] == "ines@example.org"
    assert kept["gear"]["lenses"][0]["focal_max_mm"] == 600
    assert kept["trips"][0]["wishes"][0]["votes"] == 5
    assert len(kept["trips"][0]["turns"]) == place.turns.count() == 2
    for secret in ("Asthma", "Heart", "apart", "699 111", "Uncle Rui", other.participant.name):
        assert secret not in text
    assert "attachment" in answer.headers["Content-Disposition"]
    assert "Ines" not in answer.headers["Content-Disposition"]
    assert "no-store" in answer.headers["Cache-Control"]


def test_the_health_note_goes_along_only_when_it_is_ticked(place):
    health_save(person=place.participant, text="Asthma")
    answer = phone_of(place.participant).post(url("my-data-file", place), {"health": "on"})
    assert answer.json()["health_note"] == "Asthma"


def test_who_read_the_health_note_is_named_as_on_its_page_not_by_sign_in(client, trip, place):
    trip.leader.username, trip.leader.first_name, trip.leader.last_name = "sign-in-name", "Nuria", "Campos"
    trip.leader.save()
    phone = phone_of(place.participant)
    phone.post(url("my-health", place), {"text": "Asthma"})
    client.force_login(trip.leader)
    client.get(url("my-health", place))
    phone.get(url("my-health", place))
    answer = phone.post(url("my-data-file", place))
    assert [reading["reader"] for reading in answer.json()["health_readings"]] == ["Nuria Campos", None]
    assert "sign-in-name" not in answer.content.decode()


def test_only_the_person_takes_the_file(client, trip, place):
    client.force_login(trip.leader)
    assert client.post(url("my-data-file", place)).status_code == 404
    assert phone_of(trip.places.last().participant).post(url("my-data-file", place)).status_code == 404


def test_erasing_asks_first(place):
    answer = phone_of(place.participant).post(url("my-data-erase", place))
    assert answer.status_code == 200
    assert 'role="alert"' in answer.content.decode()
    assert Participant.objects.get(pk=place.participant.pk).name == "Ines Prado"


def test_looking_at_the_erasing_leads_to_its_question(place):
    phone = phone_of(place.participant)
    assert phone.get(url("my-data-erase", place)).url == url("my-data", place)
    assert Participant.objects.get(pk=place.participant.pk).erased_at is None


def test_erasing_leaves_turns_without_a_name(trip, place):
    health_save(person=place.participant, text="Asthma")
    turns = place.turns.count()
    phone = phone_of(place.participant)
    answer = phone.post(url("my-data-erase", place), {"sure": "on"})
    assert answer.headers["Clear-Site-Data"] == '"cache", "cookies", "storage"'
    gone = Participant.objects.get(pk=place.participant.pk)
    assert gone.name == "Erased person"
    assert gone.erased_at is not None
    assert (gone.email, gone.diet, gone.phone, gone.emergency_contact) == ("", "", "", "")
    assert not HealthNote.objects.exists()
    assert not Body.objects.filter(participant=gone).exists()
    assert not Device.objects.filter(participant=gone, revoked_at=None).exists()
    assert not AccessLink.objects.filter(owner_uuid=gone.uuid, revoked_at=None).exists()
    assert place.turns.count() == turns
    assert phone.get(url("my-days", place)).status_code == 302
    mate = phone_of(trip.places.exclude(pk=place.pk).first().participant)
    page = mate.get(reverse("trips:my-days", args=[trip.places.exclude(pk=place.pk).first().participant.uuid]))
    assert "Ines" not in page.content.decode()


def test_erasing_takes_the_name_out_of_what_issues_keep(trip, place):
    row = Issue.objects.get()
    row.papers = row.papers | {"sheet": ["Ines Prado sits left", {"Ines Prado": "key stays"}, "Ines Pradoso"]}
    row.save()
    phone_of(place.participant).post(url("my-data-erase", place), {"sure": "on"})
    row.refresh_from_db()
    assert row.papers["sheet"][0] == "Erased person sits left"
    assert row.papers["sheet"][2] == "Ines Pradoso"


def test_erasing_takes_the_name_out_of_what_rotas_and_runs_say(trip, place):
    said = "Ines Prado: 3 good mornings."
    rota = trip.rotas.get(state="issued")
    Rota.objects.filter(pk=rota.pk).update(result={"told": {"counts": [said]}, "shares": {str(place.uuid): 0.5}})
    turns = rota.turns.exclude(place=place)
    turns.update(reasons=[said], leader_reasons=[said])
    rest = rota.rests.create(session=trip.sessions.first(), place=trip.places.last(), reason=said)
    other = factories.trip(leader=trip.leader)  # their place there was removed since
    runs = [
        Making.objects.create(trip=one, started_at=timezone.now(), state=state, explanation={"leader": [said]})
        for one, state in ((trip, "impossible"), (other, "trip_changed"))
    ]
    person_erase(person=place.participant)
    rota.refresh_from_db()
    rest.refresh_from_db()
    kept = [rota.result, list(turns.values_list("reasons", "leader_reasons")), rest.reason]
    kept += [Making.objects.get(pk=run.pk).explanation for run in runs]
    assert "Ines" not in json.dumps(kept)
    assert json.dumps(kept).count("Erased person: 3 good mornings.") == 4 + 2 * turns.count()
    assert rota.result["shares"] == {str(place.uuid): 0.5}


def test_a_leader_erases_somebody_and_stays_signed_in(client, trip, place):
    client.force_login(trip.leader)
    answer = client.post(url("my-data-erase", place), {"sure": "on"})
    assert "Clear-Site-Data" not in answer.headers
    assert client.get(reverse("home")).url == reverse("trips:trip-list")
    client.force_login(factories.leader())
    other = trip.places.last()
    assert client.post(url("my-data-erase", other), {"sure": "on"}).status_code == 404


def test_a_name_is_taken_out_as_a_whole_only():
    assert unnamed({"Ana": ["Ana and Anabel", 3, None, "Banana Ana."]}, {"Ana"}) == {
        "Ana": ["Erased person and Anabel", 3, None, "Banana Erased person."]
    }


def test_the_longer_of_two_names_is_taken_out_whole():
    assert unnamed("Ana Prado (Ana)", {"Ana", "Ana Prado"}) == "Erased person (Erased person)"


def kept_of(trip):
    """All that issues, changes and notices of the trip keep, as text."""
    rows = [(row.pages, row.papers, row.events) for row in Issue.objects.filter(rota__trip=trip)]
    changes = Change.objects.filter(rota__trip=trip).values_list("old", "new", "why")
    return str([rows, list(changes), list(Notice.objects.filter(place__trip=trip).values_list("summary"))])


def test_erasing_takes_out_the_names_that_somebody_had_before(trip, place):
    issue(seated_rota(trip, moves={(0, 1): (1, 1)}))
    Change.objects.create(rota=trip.rotas.last(), when=timezone.now(), why="Ines Prado asked", old=["Ines Prado"])
    Participant.objects.filter(pk=place.participant.pk).update(name="Ines Vale")
    place.participant.refresh_from_db()
    issue(seated_rota(trip))
    assert {"Ines Prado", "Ines Vale"} <= set(re.findall(r"Ines \w+", kept_of(trip)))
    person_erase(person=place.participant)
    assert "Ines" not in kept_of(trip)


def test_erasing_takes_the_gear_out_of_what_issues_keep_and_leaves_that_of_others(trip, place):
    place.participant.lenses.update(name="own 500 mm f/5.6")
    issue(seated_rota(trip, moves={(0, 1): (1, 1)}))
    assert "own 500" in kept_of(trip)
    assert "600 mm f/4" in kept_of(trip)
    person_erase(person=place.participant)
    for piece in ("own 500", "500.0"):
        assert piece not in kept_of(trip)
    key, row = str(place.uuid), Issue.objects.last()
    assert from_json(PersonFacts, row.papers["people"][key]).packing == ()
    turns = [session.turn for session in from_json(DaysPage, row.pages["people"][key]).sessions if session.turn]
    assert [view.reach for turn in turns for view in turn.views] == [None] * len(turns)
    assert [(view.rows, view.steps) for turn in turns for view in turn.views] == [((), ())] * len(turns)
    assert all(key not in kept.events["people"] for kept in Issue.objects.all())
    mates = [entry for kept in row.events["people"].values() for entry in kept if "600 mm" in entry["description"]]
    assert mates
    assert "600 mm f/4" in kept_of(trip)


def test_papers_that_were_printed_go_with_whom_they_name(trip, place):
    PaperPack.objects.create(trip=trip, rota=trip.rotas.get(), state="finished", asked_at=timezone.now(), content=b"PK")
    person_erase(person=place.participant)
    assert not PaperPack.objects.exists()


def test_after_erasing_a_next_rota_is_issued_and_told(trip, place):
    person_erase(person=place.participant)
    issue(seated_rota(trip, moves={(0, 1): (1, 1)}))
    mate = trip.places.exclude(pk=place.pk).first()
    assert phone_of(mate.participant).get(url("my-briefing", mate)).status_code == 200


def test_nothing_of_an_erased_person_waits_in_the_queue_of_tasks(client, trip, place):
    for email in (place.participant.email, "INES@example.org", "somebody@example.org"):
        client.post(reverse("participants:link-ask"), {"email": email})
    refused = DBTaskResult.objects.create(
        args_kwargs={"args": ["x"], "kwargs": {}},
        task_path="trips.tasks.papers.paper_pack_print",
        backend_name="default",
        run_after=timezone.now(),
        status="FAILED",
        traceback="KeyError: 'Ines Prado'",
    )
    person_erase(person=place.participant)
    assert [row.args_kwargs["args"] for row in DBTaskResult.objects.all()] == [["somebody@example.org"]]
    assert not DBTaskResult.objects.filter(pk=refused.pk).exists()


def test_what_an_address_of_two_people_asked_for_stays(client, trip, place):
    Participant.objects.filter(pk=trip.places.last().participant.pk).update(email=place.participant.email)
    client.post(reverse("participants:link-ask"), {"email": place.participant.email})
    person_erase(person=place.participant)
    assert DBTaskResult.objects.count() == 1


def test_nobody_may_wish_to_sit_with_an_erased_person(trip, place):
    other = trip.places.exclude(pk=place.pk).first()
    phone = phone_of(other.participant)

    def offered():
        return set(phone.get(url("my-wishes", other)).context["form"].fields["company_with"].queryset)

    everybody = offered()
    assert place in everybody
    person_erase(person=place.participant)
    assert offered() == everybody - {place}
