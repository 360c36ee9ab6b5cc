"""Gear that is lost, lent or shared: what is planned with it, and the pages that keep it."""

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from participants.models import Lens
from tests import factories
from tests.frozen_clock import clock_of
from tests.trips.full_trip import full_trip
from tests.trips.issued_trips import issue, phone_of, seated_rota
from tests.trips.my_days_pages import page_of
from tests.trips.paper_reading import one_line, text_of
from tests.trips.paper_values import head
from trips import models
from trips.assemble import trip_values
from trips.assemble.hide_papers import gear_table
from trips.assemble.presence_and_states import gear_packed
from trips.assemble.rota import rota_inputs
from trips.assemble.why_cannot_sit import trip_names
from trips.selectors.rota import changed_since
from trips.selectors.trip import trip_gaps
from trips.services import print_jobs
from trips.services.pdf import job_pdf
from trips.services.trip_file import TripFileRefused, trip_file_import
from trips.services.trip_file.exporting import file_bytes, trip_data

pytestmark = pytest.mark.django_db


@pytest.fixture
def trip():
    return factories.planned_trip(sessions=3)


@pytest.fixture
def as_leader(client, trip):
    client.force_login(trip.leader)
    return client


def inputs(trip):
    return rota_inputs(trip_values(models.Trip.objects.get(pk=trip.pk)))


def away(trip, piece, borrower=None, sessions=(0, None), **fields):
    """A lens away from the session of that number to another, or for good."""
    first, last = sessions
    rows = list(trip.sessions.all())
    until = None if last is None else rows[last].ends_at
    fields |= {"from_at": rows[first].starts_at, "until_at": until, "borrower": borrower}
    return models.GearAway.objects.create(trip=trip, lens=piece, **fields)


def people(trip):
    places = list(trip.places.all())
    return places, [place.participant.lenses.get() for place in places]


def test_a_lens_lost_from_a_session_on_is_a_fault_from_then_and_not_unknown(trip):
    before = inputs(trip)
    _, lenses = people(trip)
    away(trip, lenses[0], sessions=(1, None))
    found = inputs(trip)
    hides = range(len(found.problem.hides))
    assert found.problem.cannot_then == {(0, session, hide) for session in (1, 2) for hide in hides}
    assert found.problem.points[0][0] == before.problem.points[0][0]
    assert set(found.problem.points[0][1]) == {0.0}
    assert "No usable lens (600 mm f/4 is away)" in trip_names(found).why_cannot_sit[0, 0][0]


def test_with_the_only_lens_taken_off_nobody_gets_the_best_share_by_it(trip):
    _, lenses = people(trip)
    lenses[0].delete()
    problem = inputs(trip).problem
    assert {(0, hide) for hide in range(len(problem.hides))} <= problem.cannot
    assert {point for row in problem.points[0] for point in row} == {0.0}
    kinds = {gap.kind for gap in trip_gaps(trip.leader, trip)}
    assert "people_gear_unusable" in kinds
    assert "people_without_gear" not in kinds


def test_a_lent_lens_counts_for_the_borrower_while_it_is_lent(trip):
    places, lenses = people(trip)
    lenses[1].delete()
    away(trip, lenses[0], borrower=places[1], sessions=(1, 1))
    problem = inputs(trip).problem
    hides = range(len(problem.hides))
    assert problem.cannot_then == {
        *((0, 1, hide) for hide in hides),
        *((1, session, hide) for session in (0, 2) for hide in hides),
    }
    assert problem.sharers == set()


def test_who_lends_and_who_borrows_read_it_on_their_cards_and_only_the_owner_packs_it(trip):
    places, lenses = people(trip)
    away(trip, lenses[1], places[0], sessions=(1, 1))
    issue(seated_rota(trip))
    borrower, lender = (page_of(place) for place in places[:2])
    says = f"{places[1].participant.name} lends you {lenses[1].name}.", f"You lend {lenses[1].name} to "
    assert [one in page for page in (borrower, lender) for one in says] == [True, False, False, True]
    values = trip_values(models.Trip.objects.get(pk=trip.pk))
    packed = [[lens.key for lens in gear_packed(values, row).lenses] for row in values.place_rows[:2]]
    assert packed == [[str(lenses[0].uuid)], [str(lenses[1].uuid)]]


def test_the_gear_table_on_paper_tells_when_a_piece_is_with_whom(trip):
    places, lenses = people(trip)
    away(trip, lenses[1], places[0], sessions=(1, 1))
    table = gear_table(trip_values(models.Trip.objects.get(pk=trip.pk)), head(title="Gear table"))
    (text,) = table.away
    owner, borrower = places[1].participant.name, places[0].participant.name
    session = trip_values(trip).sessions[1].name
    assert text == f"{owner}: {lenses[1].name}, lent to {borrower}, {session}"
    assert text in one_line(text_of(job_pdf(print_jobs.gear_table(table))))


def test_a_shared_lens_binds_both_to_one_hide_while_it_is_shared(trip):
    places, lenses = people(trip)
    lenses[2].delete()
    away(trip, lenses[1], borrower=places[2], sessions=(0, 1), shared=True)
    problem = inputs(trip).problem
    assert problem.sharers == {(1, 2, 0), (1, 2, 1)}
    assert {session for _, session, _ in problem.cannot_then} == {2}
    places[2].photographs = False
    places[2].save()
    assert inputs(trip).problem.sharers == set()


def test_a_loan_to_somebody_who_cancelled_does_not_count(trip):
    places, lenses = people(trip)
    away(trip, lenses[0], borrower=places[1])
    models.Place.objects.filter(pk=places[1].pk).update(state="cancelled")
    assert inputs(trip).problem.cannot_then == set()


def form(trip, lens, **typed):
    first = trip.sessions.first()
    return {"piece": f"lens:{lens.uuid}", "what": "lent", "from_session": first.pk} | typed


def test_a_leader_notes_a_loan_changes_it_and_undoes_it(as_leader, trip):
    places, lenses = people(trip)
    rota = factories.rota(trip=trip, made_at=trip.changed_at)
    last = trip.sessions.last()
    new = reverse("trips:gear-away-new", args=[trip.uuid])
    data = form(trip, lenses[0], borrower=places[1].pk, until_session=last.pk)
    assert as_leader.post(new, data).status_code == 302
    row = trip.gear_away.get()
    assert (row.lens, row.borrower, row.until_at, row.shared) == (lenses[0], places[1], last.ends_at, False)
    assert changed_since(rota) is not None
    page = as_leader.get(reverse("trips:gear-table", args=[trip.uuid])).content.decode()
    assert f"lent to {places[1].participant.name}, " in page
    assert "no usable lens" in page
    edit = reverse("trips:gear-away-edit", args=[trip.uuid, row.uuid])
    assert "checked" in as_leader.get(edit).content.decode()
    as_leader.post(edit, data | {"what": "shared", "seen_version": row.version})
    assert trip.gear_away.get().shared
    again = as_leader.post(edit, data | {"seen_version": row.version})
    assert again.status_code == 200
    as_leader.post(reverse("trips:gear-away-remove", args=[trip.uuid, row.uuid]))
    assert not trip.gear_away.exists()


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({}, "Say who has it."),
        ({"borrower": 0}, "That is the owner."),
        ({"borrower": 1, "from_session": 2, "until_session": 0}, "before the session it begins with"),
        ({"borrower": 2}, "has it then. Change that first."),
        ({"what": "lost", "piece": "lens:none"}, "Select a valid choice"),
    ],
)
def test_a_loan_that_cannot_be_is_told_at_its_field(as_leader, trip, typed, said):
    places, lenses = people(trip)
    away(trip, lenses[0], borrower=places[1])
    sessions = list(trip.sessions.all())
    rows = {"borrower": places, "from_session": sessions, "until_session": sessions}
    sent = {name: rows[name][value].pk if name in rows else value for name, value in typed.items()}
    answer = as_leader.post(reverse("trips:gear-away-new", args=[trip.uuid]), form(trip, lenses[0], **sent))
    assert answer.status_code == 200
    assert said in answer.content.decode()
    assert trip.gear_away.count() == 1


def test_lenders_are_named_by_what_they_lose_and_who_has_no_lens_comes_first(as_leader, trip):
    places, lenses = people(trip)
    lenses[0].near_limit_m = 6.5
    lenses[0].save()
    Lens.objects.filter(pk__in=[lenses[1].pk]).update(spare=True)
    second = factories.lens(participant=places[1].participant, name="the other", spare=True)
    lenses[2].delete()
    page = as_leader.get(reverse("trips:gear-table", args=[trip.uuid])).content.decode()
    lent = page[page.index("What could be lent") :]
    assert lent.index(places[2].participant.name) < lent.index(places[0].participant.name)
    assert f"{places[1].participant.name} loses nothing." in lent
    second.delete()
    page = as_leader.get(reverse("trips:gear-table", args=[trip.uuid])).content.decode()
    assert f"{places[1].participant.name} loses reach in 2 of 2 views." in page


def test_a_person_notes_a_lens_as_lost_and_has_it_again(trip):
    places, lenses = people(trip)
    person = places[0].participant
    phone = phone_of(person)
    lost = reverse("trips:piece-lost", args=[person.uuid, "lens", lenses[0].uuid])
    assert trip.sessions.first().name in phone.get(lost).content.decode()
    phone.post(lost, {"from_session": trip.sessions.first().pk})
    phone.post(lost, {"from_session": trip.sessions.all()[1].pk})
    row = trip.gear_away.get()
    assert (row.lens, row.borrower, row.from_at) == (lenses[0], None, trip.sessions.all()[1].starts_at)
    page = phone.get(reverse("trips:gear-show", args=[person.uuid])).content.decode()
    assert "lost or broken" in page
    phone.post(reverse("trips:piece-found", args=[person.uuid, "lens", lenses[0].uuid]))
    assert not trip.gear_away.exists()
    assert Client().get(lost).status_code == 302


def test_the_gear_page_opens_at_the_session_that_runs_or_comes_next(as_leader, trip):
    first, second, _ = trip.sessions.all()
    for moment, named in ((first.ends_at - timedelta(minutes=1), first), (first.ends_at, second)):
        with clock_of("trips.views.gear_table", moment):
            shown = as_leader.get(reverse("trips:gear-table", args=[trip.uuid])).context["session"]
        assert shown == str(named.uuid)


def test_a_loss_is_noted_on_the_trip_that_was_asked_for(trip):
    places, lenses = people(trip)
    person, lens = places[0].participant, lenses[0]
    days = {"starts_on": trip.starts_on + timedelta(days=30), "ends_on": trip.ends_on + timedelta(days=30)}
    later = factories.place(participant=person, trip=factories.trip(leader=trip.leader, **days)).trip
    session = factories.session(trip=later)
    phone, query = phone_of(person), f"?trip={later.uuid}"
    shown, edit, lost, found = (
        reverse(f"trips:{name}", args=[person.uuid, *piece]) + query
        for name, piece in (
            ("gear-show", ()),
            *((name, ("lens", lens.uuid)) for name in ("piece-edit", "piece-lost", "piece-found")),
        )
    )
    assert f'"{edit}"' in phone.get(shown).content.decode()
    assert f'"{lost}"' in phone.get(edit).content.decode()
    assert f'"{edit}"' in phone.get(lost).content.decode()
    assert phone.post(lost, {"from_session": session.pk}).url == shown
    assert (later.gear_away.count(), trip.gear_away.count()) == (1, 0)
    assert f'action="{found}"' in phone.get(edit).content.decode()
    assert "lost or broken</span>" not in phone.get(edit.removesuffix(query)).content.decode()
    phone.post(found)
    assert not later.gear_away.exists()


def test_a_trip_file_with_a_piece_lent_to_its_owner_is_refused():
    data = trip_data(full_trip())
    (row,) = data["gear_away"]
    owner = next(piece["participant"] for piece in data["tubes"] if piece["uuid"] == row["tube"])
    own = next(place["uuid"] for place in data["places"] if place["participant"] == owner)
    with pytest.raises(TripFileRefused) as refused:
        trip_file_import(content=file_bytes(data | {"gear_away": [row | {"borrower": own}]}))
    assert refused.value.sentences() == [f'gear_away[0].borrower: "{own}" is the owner of the piece.']
