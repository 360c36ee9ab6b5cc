"""What a later wish spends and says so, rounds of a thorough search, and what is told meanwhile."""

from dataclasses import replace

import pytest

from tests.core.rota.search.test_highs import random_camp
from tests.core.rota.solver_cases import a_problem, data_problem
from trips.core.rota.check.checker import check
from trips.core.rota.model.cp_sat import StopSignal
from trips.core.rota.search import solve as planner
from trips.core.rota.search.outcome import Progress, SearchTime
from trips.core.rota.search.solve import solve

HALF_A_PERCENT = 0.005


@pytest.mark.parametrize("seed", range(6))
def test_nothing_is_given_up_that_is_not_told_and_nothing_for_a_gain_that_nobody_sees(seed: int) -> None:
    problem = replace(random_camp(seed), tolerance=0.01)
    outcome = solve(problem, search_time=SearchTime.QUICK)
    told = {trade.gave for trade in outcome.trades}
    spent = {stage.name for stage in outcome.stages if abs(stage.best - stage.value) > 1e-6}
    assert spent - {"next_worst"} <= told
    for trade in outcome.trades:
        assert trade.possible > trade.kept >= trade.possible * 0.99 - 1e-6
        if trade.got == "total_of_shares":
            assert trade.gained - trade.without >= HALF_A_PERCENT * len(problem.people) - 1e-6


def test_a_burden_less_is_worth_a_little_of_the_worst_share_and_says_what_it_cost() -> None:
    """One of two hides is a long walk that half the people like a little better: they would walk four times."""
    points = ((((60.0, 59.9),) * 4),) * 2 + ((((59.9, 60.0),) * 4),) * 2
    burdens = frozenset((session, 0) for session in range(4))
    problem = a_problem(4, 4, (2, 2), points=points, burdens=burdens, visit_loss=(0.0,), tolerance=0.01)
    outcome = solve(problem, search_time=SearchTime.QUICK)
    trade = next(trade for trade in outcome.trades if trade.gave == "worst_share")
    assert (trade.got, trade.gained) == ("burden_excess", 0.0)
    assert trade.without > 0
    assert outcome.worst_share == pytest.approx(trade.kept)
    assert trade.kept < trade.possible
    assert solve(replace(problem, tolerance=0.0)).trades == ()


def test_a_bound_that_no_search_gave_is_none() -> None:
    problem = replace(data_problem("12x6x12-1"), in_demand=(0,))
    outcome = solve(problem, search_time=SearchTime.QUICK)
    shares = [stage for stage in outcome.stages if stage.name in ("worst_share", "next_worst", "total_of_shares")]
    assert len(shares) == 3
    for stage in shares:
        assert stage.proved or stage.bound is None or stage.value <= stage.bound < 0.999 * len(problem.people)
    assert all(stage.bound is not None for stage in outcome.stages if stage.proved)


def test_a_thorough_search_goes_on_in_rounds_until_it_is_stopped(monkeypatch: pytest.MonkeyPatch) -> None:
    for words in (SearchTime.QUICK, SearchTime.THOROUGH):
        monkeypatch.setitem(planner._EFFORT, words, 0.05)
    problem, stages = data_problem("8x5x10-1"), []

    def told(progress: Progress) -> None:
        if stages[-1:] != [progress.stage]:
            stages.append(progress.stage)

    outcome = solve(
        problem,
        search_time=SearchTime.THOROUGH,
        progress=told,
        stop=StopSignal(lambda: stages.count("worst_share") == 2 and stages[-1] != "worst_share"),
    )
    assert outcome.status == "stopped_early"
    assert stages.count("total_of_shares") == 2
    assert outcome.plan is not None
    assert check(problem, outcome.plan).faults == ()
    assert outcome.worst_share >= solve(problem, search_time=SearchTime.QUICK).worst_share - 1e-9


def test_a_thorough_search_ends_by_itself_once_all_is_proved() -> None:
    problem = data_problem("6x4x8-1")
    thorough, normal = (solve(problem, search_time=time) for time in (SearchTime.THOROUGH, SearchTime.NORMAL))
    assert thorough.status == normal.status == "optimal"
    assert thorough.plan == normal.plan


def test_the_gap_is_told_while_it_closes() -> None:
    seen: list[Progress] = []
    solve(data_problem("6x4x8-1"), search_time=SearchTime.QUICK, progress=seen.append)
    during = [told for told in seen if told.stage == "worst_share"]
    assert [told.bound for told in during] == sorted((told.bound for told in during), reverse=True)
    assert during[0].bound < 1.0 or len(during) > 1
    assert during[-1].bound == pytest.approx(during[-1].worst_share)
