"""A rota is told as counts first, then the guarantee, then points; moves with the rule behind them."""

from dataclasses import replace

import pytest

from tests.core.rota.rota_cases import camp, plan_of
from trips.core.rota.check.seating import Fault
from trips.core.rota.edit.repair_moves import RepairMove, repair_moves
from trips.core.rota.explain.promises import promises
from trips.core.rota.model.stages import stages_for
from trips.core.rota.problem.values import Plan, Problem
from trips.core.rota.search.outcome import Trade
from trips.documents.wording.rota import (
    counts_sentence,
    guarantee_sentences,
    move_reason,
    points_sentence,
    trade_sentence,
)
from trips.documents.wording.rota_names import listed, names_of, times

KINDS = ("early", "late", "early", "late")


GOOD = frozenset((p, s, 0) for p in range(4) for s in (0, 2))


def test_counts_come_first_then_the_guarantee_then_points() -> None:
    problem = camp(kinds=KINDS, good=GOOD, in_demand=(0,))
    told = promises(problem, plan_of(["AABB", "BBAA", "AABB", "BBAA"]), 0.97)
    names = names_of(problem)
    assert counts_sentence(told.counts[0], names) == "Ada: Alder twice; 2 good mornings, 0 good evenings; no rest."
    assert guarantee_sentences(told, names) == [
        "Everybody sits twice in Alder.",
        f"Everybody gets at least {told.least_share:.2f} of their own best. No rota that shares out sought-after hides "
        "and rests as evenly gives everybody more than 0.97.",
    ]
    assert points_sentence(told.counts[0], names) == f"Ada: {told.counts[0].share:.2f} of their own best."


def test_equal_good_mornings_and_a_proved_share() -> None:
    problem = camp(kinds=KINDS, good=frozenset((p, 0, h) for p in range(4) for h in range(3)), leader="never")
    plan = plan_of(["AABB", "BBAA", "AABB", "BBAA"])
    best = promises(problem, plan)
    proved = promises(problem, plan, min(count.share for count in best.counts))
    assert guarantee_sentences(proved, names_of(problem)) == [
        "Everybody has one good morning.",
        f"Everybody gets at least {best.least_share:.2f} of their own best. No rota can give everybody more.",
    ]


def test_what_is_said_of_a_sought_after_hide_counts_no_guest() -> None:
    """A guest may have more turns there than anybody who photographs: those are spare seats."""
    problem = camp(guests=frozenset({3}), in_demand=(0,), leader="never")
    told = promises(problem, plan_of(["ABBA", "BABA", "BBAA", "ABBA"]))
    first = guarantee_sentences(told, names_of(problem))[0]
    assert first == "Everybody who photographs sits in Alder once at least and twice at most."
    unable = replace(told, demand=(replace(told.demand[0], unable=(2, 3)),))
    first = guarantee_sentences(unable, names_of(problem))[0]
    assert first == "Everybody who photographs and can sit there sits in Alder once at least and twice at most."


def test_a_repair_claims_nothing_about_rotas_with_more_changes() -> None:
    plan = plan_of(["AABB", "BBAA", "AABB", "BBAA"])
    alone = camp(issued=plan, repair="fewest", leader="never")
    told = guarantee_sentences(promises(alone, plan, 0.99), names_of(alone))
    assert "No rota with as few changes gives everybody more than 0.99" in told[-1]
    both = replace(alone, in_demand=(0,))
    told = guarantee_sentences(promises(both, plan, 0.99), names_of(both))
    assert "No rota with as few changes that shares out sought-after hides and rests as evenly gives" in told[-1]


def demand_sentence(problem: Problem, letters: list[str], *, fewest_without: bool = True) -> str:
    told = promises(problem, plan_of(letters), fewest_without=fewest_without)
    return guarantee_sentences(told, names_of(problem))[0]


def test_who_goes_without_is_named_and_told_to_come_first_next_time() -> None:
    problem = camp(in_demand=(2,), leader="never")
    assert demand_sentence(problem, ["CABA", "ABCB", "AABB", "BBAA"]) == (
        "In Cedar there are not enough turns for everybody: Ben and Dov go without this time and come first next time."
    )
    assert demand_sentence(problem, ["CABA", "ACBB", "AABC", "BBAA"]) == (
        "In Cedar there are not enough turns for everybody: Cleo goes without this time and comes first next time."
    )


@pytest.mark.parametrize(
    "changes",
    [
        {"issued": plan_of(["AABB"]), "repair": "fewest"},
        {"issued": plan_of(["AABB"]), "repair": "free"},
        {"rests_allowed": (1, 1, 1, 1)},
        {"leader": "coaching"},
        {"in_demand": (2, 0)},
    ],
)
def test_turns_are_called_short_only_where_no_rota_could_give_more(changes: dict[str, object]) -> None:
    letters = ["CABA", "ACBB", "AABC", "BBAA"]
    plain = "Cleo has no turn in Cedar in this rota and comes first next time."
    wanted = camp(in_demand=(2,), leader="never")
    assert demand_sentence(replace(wanted, **changes), letters) == plain
    assert demand_sentence(wanted, letters, fewest_without=False) == plain
    assert demand_sentence(wanted, ["CABA", "ABBA", "AABC", "BBAA"], fewest_without=False) == (
        "Ben and Cleo have no turn in Cedar in this rota and come first next time."
    )


def test_rests_are_told_as_they_are() -> None:
    problem = camp(rests_allowed=(1, 1, 0, 0))
    plan = plan_of(["-ABB", "B-AA", "CABA", "ABCB"], rests=((0, 0), (1, 1)))
    assert "Some rest, nobody more than once." in guarantee_sentences(promises(problem, plan), names_of(problem))


def test_the_leaders_seats_are_told_with_the_good_ones() -> None:
    problem = camp(kinds=KINDS, good=frozenset({(2, 0, 0)}))
    told = guarantee_sentences(promises(problem, plan_of(["BBCCA"], seats=False)), names_of(problem))
    assert told[-1] == ("The leader sits in 1 session; good seats among them that somebody else could have used: 1.")


def test_what_a_later_wish_cost_an_earlier_one_is_told_with_both_values() -> None:
    trade = Trade("worst_share", 0.8987, 0.8896, "pairs_met", 24, 28)
    assert trade_sentence(trade) == "0.899 is possible as lowest fair share; 0.890 lets 28 pairs meet instead of 24."
    names = [stage.wish.name for stage in stages_for(everything(), seed=0)]
    for gave in names:
        for got in (*names, "leader_company"):
            told = trade_sentence(Trade(gave, 0.9, 0.89, got, 3, 2))
            assert not set("_{}") & set(told)


def everything() -> Problem:
    """A problem that has every wish there is."""
    wishes = {"rests_allowed": (1,), "leader": "coaching", "in_demand": (0,), "want_mixing": True}
    return camp(issued=Plan(), repair="few", guests=frozenset({0}), burdens=frozenset({(0, 0)}), **wishes)


def test_a_move_names_the_rule_that_forces_it() -> None:
    issued = plan_of(["AABB", "BBAA", "CABA", "ABCB"])
    problem = camp(issued=issued, closed=frozenset({(2, 2)}))
    (move,) = repair_moves(problem, plan_of(["AABB", "BBAA", "BABA", "ABCB"]))
    assert (move.person, move.session, move.old_hide, move.new_hide) == (0, 2, 2, 1)
    assert move_reason(move, names_of(problem)) == "Cedar is not available then"


def test_a_move_because_of_apart_reads_to_fit_the_whole_group() -> None:
    fault = Fault("apart", (0, 1), (0,), (0,))
    move = RepairMove(1, 0, 0, 1, (fault,))
    names = names_of(camp())
    assert "kept apart" in move_reason(move, names)
    assert move_reason(move, names, for_leader=False) == "to fit the whole group"


def test_a_move_that_nothing_forces_makes_the_rota_fairer() -> None:
    told = move_reason(RepairMove(0, 0, 0, None, ()), names_of(camp()))
    assert told == "no rule needs it, but the rota is fairer"


def test_lists_and_numbers_read_well() -> None:
    assert [listed([]), listed(["A"]), listed(["A", "B", "C"], "or")] == ["", "A", "A, B or C"]
    assert [times(0), times(1), times(2), times(3), times(20)] == [
        "not at all",
        "once",
        "twice",
        "three times",
        "20 times",
    ]
