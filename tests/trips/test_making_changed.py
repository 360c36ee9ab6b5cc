"""Runs whose trip changes while the planner runs."""

import logging

import pytest
from django.core.management import call_command

from participants.versions import row_save
from tests import factories
from tests.trips.making_runs import LITTLE, meanwhile, started
from tests.trips.rota_trips import A_LITTLE, LONG_BEFORE, estate, planned
from trips.core.rota.search.outcome import Outcome
from trips.core.rota.search.solve import solve
from trips.management.plain_command import Refusal
from trips.models import Hide, Place, Rota, Session, Trip
from trips.selectors.making import active_making, making_panel
from trips.selectors.rota import changed_since
from trips.services import making_run as room
from trips.services import rota as rotas
from trips.services.making import Wanted, making_open
from trips.services.making_run import making_run
from trips.services.person import place_remove
from trips.services.rota import rota_follow, rota_issue, rota_retire
from trips.services.rota_rows import InputsGone
from trips.services.session import session_delete
from trips.services.site import HideParts, hide_delete, hide_save


def a_person_goes(trip: Trip) -> None:
    place_remove(place=trip.places.get(participant__name="P2"))


def a_session_goes(trip: Trip) -> None:
    session_delete(session=trip.sessions.first())


def a_hide_goes(trip: Trip) -> None:
    hide_delete(hide=Hide.objects.get(site__trips=trip, name="Alder"))


def a_seat_goes(trip: Trip) -> None:
    hide = Hide.objects.get(site__trips=trip, name="Alder")
    hide_save(hide=hide, parts=HideParts(gone=[hide.seats.first()]), seen_version=hide.version)


def a_person_and_a_hide_go(trip: Trip) -> None:
    a_person_goes(trip)
    a_hide_goes(trip)


TAKEN_OUT = [
    (a_person_goes, "(person P2 was taken out)"),
    (a_session_goes, "(session early on {start:%-d %B}, "),
    (a_hide_goes, "(hide Alder was taken out)"),
    (a_seat_goes, " of Alder was taken out)"),
    (a_person_and_a_hide_go, "(person P2 and hide Alder were taken out)"),
]


@pytest.mark.django_db
@pytest.mark.parametrize(("goes", "named"), TAKEN_OUT, ids=[goes.__name__ for goes, _ in TAKEN_OUT])
def test_a_run_names_what_was_taken_out_while_it_ran(
    monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture, goes, named: str
) -> None:
    trip = estate(people=5)
    start = trip.sessions.first().starts_at
    making = started(trip)
    meanwhile(monkeypatch, lambda: goes(trip))
    with caplog.at_level(logging.WARNING):
        done = making_run(making_uuid=making.uuid)
    assert (done.state, done.rota, Rota.objects.count()) == ("trip_changed", None, 0)
    panel = making_panel(done, LONG_BEFORE)
    assert panel is not None
    (sentence,) = panel.sentences
    assert sentence.startswith("The trip changed while the rota was made (")
    assert named.format(start=start) in sentence
    assert sentence.endswith("): start again.")
    assert not caplog.records
    assert active_making(trip) is None
    monkeypatch.undo()
    assert making_run(making_uuid=started(trip).uuid).state in ("finished", "impossible")


@pytest.mark.django_db
def test_what_nobody_sits_in_may_go_while_the_planner_runs(monkeypatch: pytest.MonkeyPatch) -> None:
    trip = estate(people=2, seats=(2, 2, 2), sessions=1)
    making = started(trip)

    def free_hides_go(problem, **asked) -> Outcome:
        outcome = solve(problem, **asked)
        seated = {problem.hides[turn.hide].name for turn in outcome.plan.turns}
        for hide in Hide.objects.filter(site__trips=trip).exclude(name__in=seated):
            hide_delete(hide=hide)
        return outcome

    monkeypatch.setattr(room, "solve", free_hides_go)
    done = making_run(making_uuid=making.uuid)
    assert done.state == "finished"
    assert done.rota is not None
    assert changed_since(done.rota) is not None


@pytest.mark.django_db
def test_a_change_while_the_planner_runs_is_told_on_the_rota(monkeypatch: pytest.MonkeyPatch) -> None:
    trip = estate()
    making = started(trip)
    meanwhile(monkeypatch, lambda: trip.places.first().save())
    done = making_run(making_uuid=making.uuid)
    assert done.rota is not None
    assert changed_since(done.rota) is not None


@pytest.mark.django_db
def test_a_draft_that_was_changed_by_hand_is_as_new_as_that_change() -> None:
    rota = planned(estate())
    rota.trip.places.first().save()
    assert changed_since(rota) is not None
    rota.result["changed_by_hand"] = True
    row_save(row=rota)
    assert changed_since(rota) is None


@pytest.mark.django_db
def test_a_draft_of_an_unchanged_trip_is_up_to_date() -> None:
    assert changed_since(planned(estate())) is None


@pytest.mark.django_db
def test_a_person_who_cancels_while_the_planner_runs_leaves_a_draft_that_says_so(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    trip = estate()
    making = started(trip)

    def cancels() -> None:
        place = trip.places.first()
        place.state = "cancelled"
        place.save()

    meanwhile(monkeypatch, cancels)
    done = making_run(making_uuid=making.uuid)
    assert (done.state, changed_since(done.rota) is not None) == ("finished", True)


@pytest.mark.django_db
def test_the_leader_who_started_a_run_may_be_gone_at_its_end(monkeypatch: pytest.MonkeyPatch) -> None:
    trip = estate()
    helper = factories.leader()
    making, _ = making_open(trip=trip, wanted=LITTLE, by=helper, now=LONG_BEFORE)
    meanwhile(monkeypatch, helper.delete)
    done = making_run(making_uuid=making.uuid)
    assert done.rota is not None
    assert done.rota.made_by is None


@pytest.mark.django_db
def test_the_leader_of_a_trip_may_change_while_the_planner_runs(monkeypatch: pytest.MonkeyPatch) -> None:
    trip = estate(leader_policy="spare_seats", people=2, seats=(3,), sessions=1)
    other = factories.leader()
    making = started(trip)
    meanwhile(monkeypatch, lambda: Trip.objects.filter(pk=trip.pk).update(leader=other))
    done = making_run(making_uuid=making.uuid)
    assert done.rota is not None
    assert {turn.leader for turn in done.rota.turns.filter(place=None)} == {other}


@pytest.mark.django_db
@pytest.mark.parametrize(("rows", "named"), [(Place, "(everybody was"), (Session, "(every session was")])
def test_a_trip_that_was_emptied_while_the_run_waited_is_no_breakdown(rows, named: str) -> None:
    trip = estate()
    making = started(trip)
    rows.objects.filter(trip=trip).delete()
    done = making_run(making_uuid=making.uuid)
    assert done.state == "trip_changed"
    assert named in done.explanation["leader"][0]


@pytest.mark.django_db
def test_a_repair_whose_rota_was_withdrawn_while_it_waited_is_no_breakdown() -> None:
    trip = estate()
    rota = planned(trip)
    rota_issue(rota=rota, by=None, now=LONG_BEFORE)
    making = started(trip, Wanted(search_time=A_LITTLE, repair="fewest"))
    rota.refresh_from_db()
    rota_retire(rota=rota)
    done = making_run(making_uuid=making.uuid)
    assert done.state == "trip_changed"
    assert "the issued rota was taken out" in done.explanation["leader"][0]


@pytest.mark.django_db
def test_the_command_says_what_was_taken_out(monkeypatch: pytest.MonkeyPatch) -> None:
    trip = estate()
    meanwhile(monkeypatch, lambda: a_hide_goes(trip))
    with pytest.raises(Refusal, match=r"hide Alder was taken out\): start again\."):
        call_command("plan", str(trip.uuid), search_time=A_LITTLE)


@pytest.mark.django_db
def test_a_draft_by_hand_names_what_was_taken_out_meanwhile(monkeypatch: pytest.MonkeyPatch) -> None:
    trip = estate(people=2, seats=(2, 2), sessions=2)
    rota_issue(rota=planned(trip), by=None, now=LONG_BEFORE)
    issued = trip.rotas.get(state="issued")
    result = rotas.hand_result

    def slow(*asked):
        done = result(*asked)
        issued.turns.all().delete()
        a_person_goes(trip)
        return done

    monkeypatch.setattr(rotas, "hand_result", slow)
    with pytest.raises(InputsGone) as refused:
        rota_follow(rota=issued, by=None, now=LONG_BEFORE)
    assert refused.value.gone == ("person P2",)
