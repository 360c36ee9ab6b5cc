"""Drafts: how they are kept, counted and explained, and what is refused."""

from dataclasses import replace

import pytest

from tests import factories
from tests.trips.rota_trips import LONG_BEFORE, estate, planned, seats_of
from trips.assemble.rota import RepairFrom, rota_inputs
from trips.assemble.rota_result import Made, stored_rota
from trips.assemble.trip import trip_values
from trips.core.rota.check.checker import check
from trips.core.rota.problem.shares import best_alone, counts_for_shares
from trips.core.rota.problem.values import Plan
from trips.models import Pairing, Rota, SessionHide
from trips.services.rota import RotaRejected, rota_issue, rota_save

pytestmark = pytest.mark.django_db


def test_a_draft_keeps_how_it_was_made() -> None:
    trip = estate()
    rota = planned(trip, seed=7)
    assert (rota.number, rota.state, rota.seed, rota.search_time) == (1, "draft", 7, "quick")
    assert rota.made_by == trip.leader
    assert len(rota.rules_digest) == len(rota.inputs_digest) == 64
    assert "ortools" in rota.solver_version
    assert {"name", "value", "best", "bound", "proved"} <= set(rota.result["stages"][0])
    assert rota.result["worst_share"] <= rota.result["bound"]
    assert rota.seconds is not None
    assert "seconds" not in rota.result
    assert rota.turns.filter(place__isnull=False).count() == 16
    assert stored_rota(rota).is_current


def test_the_same_seed_gives_the_same_rota_and_result() -> None:
    trip = estate()
    first, second = planned(trip, seed=3), planned(trip, seed=3)
    assert seats_of(first) == seats_of(second)
    assert first.result == second.result
    assert (first.rules_digest, first.inputs_digest) == (second.rules_digest, second.inputs_digest)
    assert (first.number, second.number) == (1, 2)


def test_a_plan_that_the_checker_rejects_is_not_saved() -> None:
    trip = estate()
    inputs = rota_inputs(trip_values(trip))
    with pytest.raises(RotaRejected) as refused:
        rota_save(inputs=inputs, plan=Plan(), made=Made("feasible"), by=trip.leader, now=LONG_BEFORE)
    assert {fault.rule for fault in refused.value.faults} == {"no_turn"}
    assert not Rota.objects.exists()


def test_people_read_counts_then_the_guarantee_then_points() -> None:
    told = planned(estate()).result["told"]
    assert len(told["counts"]) == len(told["points"]) == 4
    assert told["counts"][0].startswith("P1: ")
    assert any("of their own best" in sentence for sentence in told["guarantee"])


def test_a_repair_after_a_closed_track_names_who_moves_and_which_rule() -> None:
    trip = estate(people=6, seats=(2, 2, 1, 2), sessions=4)
    rota_issue(rota=planned(trip), by=trip.leader, now=LONG_BEFORE)
    issued = trip.rotas.get()
    dogwood = trip.sites.get().hides.get(name="Dogwood")
    for session in list(trip.sessions.all())[2:]:
        SessionHide.objects.create(session=session, hide=dogwood, state="unavailable", reason="track closed by rain")
        session.rests_allowed = 1
        session.save()
    draft = planned(trip, repair="fewest")
    before, after = seats_of(issued), seats_of(draft)
    assert draft.follows == issued
    assert "Dogwood" not in {hide for (_, session), hide in after.items() if session >= 2}
    for session in (2, 3):
        losers = {who for (who, when), hide in before.items() if when == session and hide == "Dogwood"}
        moved = {who for (who, when), hide in before.items() if when == session and after.get((who, when)) != hide}
        assert losers <= moved
        assert len(moved) <= max(len(losers), 1)
        assert draft.rests.filter(session=trip.sessions.all()[session]).count() == 1
    assert len({rest.place_id for rest in draft.rests.all()}) == 2
    told = [reason for turn in draft.turns.all() for reason in turn.reasons]
    told += [rest.reason for rest in draft.rests.all()]
    assert any("Dogwood is not available then" in reason for reason in told)
    assert draft.result["counts"]["changes"] == sum(1 for key in before if before[key] != after.get(key))


def test_whoever_joins_after_the_issue_is_compared_by_what_is_left_for_them() -> None:
    """The others keep the best that they had at the issue; the newcomer's counts from the first free session."""
    trip = estate()
    issued = planned(trip)
    rota_issue(rota=issued, by=trip.leader, now=LONG_BEFORE)
    issued.refresh_from_db()
    person = factories.participant(leader=trip.leader, name="P5")
    place = factories.place(trip=trip, participant=person)
    factories.body(participant=person)
    factories.lens(participant=person)
    for first in (0, 2):
        repair = RepairFrom(issued, from_session=first)
        problem = rota_inputs(trip_values(trip), repair=repair).problem
        over = frozenset((4, session) for session in range(first))
        alone = best_alone(replace(problem, best_alone=None, absent=problem.absent | over))
        assert problem.best_alone is not None
        assert problem.best_alone[4] == pytest.approx(alone[4])
        assert problem.best_alone[:4] == tuple(issued.result["best_alone"].values())
        assert 4 in counts_for_shares(problem)
    assert planned(trip, repair="fewest").result["shares"][str(place.uuid)] != 1.0


def test_what_rests_on_apart_is_kept_where_only_leaders_read() -> None:
    trip = estate(people=4, seats=(2, 2, 2), sessions=1)
    rota_issue(rota=planned(trip), by=trip.leader, now=LONG_BEFORE)
    issued = trip.rotas.get()
    together = [[turn.place for turn in issued.turns.filter(hide=hide, place__isnull=False)] for hide in _hides(trip)]
    first, second = next(pair for pair in together if len(pair) == 2)
    Pairing.objects.create(trip=trip, first=first, second=second, kind="apart")
    draft = planned(trip, repair="fewest")
    leader_told = [reason for turn in draft.turns.all() for reason in turn.leader_reasons]
    told = [reason for turn in draft.turns.all() for reason in turn.reasons] + [str(draft.result)]
    assert any("kept apart" in reason for reason in leader_told)
    assert any("to fit the whole group" in reason for reason in told)
    assert not any("apart" in reason for reason in told)


def _hides(trip: object) -> list[object]:
    return list(trip.sites.get().hides.all())  # type: ignore[attr-defined]


def test_a_hand_over_gives_both_half_and_names_their_order() -> None:
    trip = estate(people=4, seats=(2, 1), sessions=2)
    for session in trip.sessions.all():
        SessionHide.objects.create(session=session, hide=_hides(trip)[1], shares_seat=True)
    rota = planned(trip)
    for session in trip.sessions.all():
        parts = rota.turns.filter(session=session, part__gt=0)
        assert sorted(parts.values_list("part", flat=True)) == [1, 2]
        assert len(set(parts.values_list("seat", flat=True))) == 1
    stored = stored_rota(rota)
    for row in rota.turns.filter(part__gt=0).select_related("place"):
        person = stored.inputs.people.index(row.place)
        session = stored.inputs.values.session_rows.index(row.session)
        hide = stored.inputs.values.hide_rows.index(row.hide)
        assert row.points == pytest.approx(stored.inputs.problem.points[person][session][hide] / 2)


def test_an_all_day_hide_has_the_same_people_in_the_same_seats_all_day() -> None:
    trip = estate(people=4, seats=(2, 2, 1), sessions=4)
    all_day = _hides(trip)[0]
    all_day.doors = "all_day"
    all_day.save()
    rota = planned(trip)
    sessions = list(trip.sessions.all())
    for early, late in ((0, 1), (2, 3)):
        seats = [
            {(turn.place_id, turn.seat_id) for turn in rota.turns.filter(session=sessions[when], hide=all_day)}
            for when in (early, late)
        ]
        assert seats[0] == seats[1]
        assert seats[0]


def test_figures_of_another_days_rules_are_not_compared() -> None:
    rota = planned(estate())
    rota.trip.rules.visit_loss = [0.0, 0.9]
    rota.trip.rules.save()
    stored = stored_rota(Rota.objects.get(pk=rota.pk))
    assert not stored.is_current
    assert stored.stated is None
    assert check(stored.inputs.problem, stored.plan).is_sound


def test_a_false_figure_in_the_database_is_found() -> None:
    rota = planned(estate())
    rota.result["worst_share"] += 0.01
    rota.save()
    stored = stored_rota(Rota.objects.get(pk=rota.pk))
    faults = check(stored.inputs.problem, stored.plan, stored.stated).faults
    assert "stated_worst_share" in {fault.rule for fault in faults}
