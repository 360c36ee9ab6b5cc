"""A constraint model and a branch and bound side by side: the rota does not hang on which of them is quicker."""

import threading
from collections import defaultdict
from collections.abc import Callable

import pytest

from tests.core.rota.solver_cases import data_problem, real_trip
from trips.core.rota.check.checker import check
from trips.core.rota.model.cp_sat import StopSignal
from trips.core.rota.model.share_wishes import WorstShare
from trips.core.rota.model.space import SCALE, plan_from
from trips.core.rota.problem.values import NO_SEAT, Problem
from trips.core.rota.search import bound, neighbourhood_search
from trips.core.rota.search.first_plan import first_draft
from trips.core.rota.search.lp_relaxation import LpRelaxation
from trips.core.rota.search.neighbourhood_search import NeighbourhoodSearch
from trips.core.rota.search.preprocess import preprocess

NEARLY = 300  # of a share's 10,000,000: what nobody sees


def begun(problem: Problem) -> NeighbourhoodSearch:
    space = preprocess(problem)
    draft = first_draft(space, 0, 10.0, StopSignal()).draft
    assert draft is not None
    return NeighbourhoodSearch(space, draft, 0, StopSignal(), lambda _: None)


def raced(search: NeighbourhoodSearch, work: float, nodes: int = 600) -> tuple[bool, float | None, int]:
    wish = WorstShare()
    least = wish.value(search.space, search.draft) + 1
    settled, known = search.race(wish, least, work, nodes, LpRelaxation(search.space))
    return settled, known, wish.value(search.space, search.draft)


def _in_order(usual: Callable[..., object], is_over: threading.Event, *, waits: bool) -> Callable[..., object]:
    """One of the two as it is, but for that it begins only when the other has ended."""

    def run(*args: object) -> object:
        if waits:
            is_over.wait(60.0)
        try:
            return usual(*args)
        finally:
            is_over.set()

    return run


@pytest.mark.parametrize(("work", "settled"), [(5.0, True), (1e-4, False)], ids=["model", "branch and bound"])
@pytest.mark.parametrize("slow", [bound, neighbourhood_search])
def test_the_rota_is_the_same_whichever_is_slow(
    slow: object, work: float, settled: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = begun(real_trip("five"))
    found = raced(first, work)
    is_over = threading.Event()
    for module, name in ((bound, "_run"), (neighbourhood_search, "solve_tasks")):
        monkeypatch.setattr(module, name, _in_order(getattr(module, name), is_over, waits=module is slow))
    again = begun(real_trip("five"))
    assert raced(again, work) == found
    assert again.draft.cells == first.draft.cells
    assert found[0] == settled


def test_what_branch_and_bound_finds_is_the_best_and_its_bound_says_so() -> None:
    settled, _, best = raced(begun(real_trip("five")), 5.0)
    _, known, value = raced(begun(real_trip("five")), 1e-4)
    assert settled
    assert known is not None
    assert best - NEARLY <= value <= best <= known <= best + NEARLY


def test_turns_that_break_a_rule_unknown_to_its_rows_are_not_taken() -> None:
    """It seats no guests, so what it finds is no rota here; its bound holds all the same."""
    problem = real_trip("with_guest")
    search = begun(problem)
    before = WorstShare().value(search.space, search.draft)
    _, known, value = raced(search, 1e-4, nodes=1)
    plan = plan_from(search.space, search.draft, defaultdict(lambda: NO_SEAT))
    assert "guests_last" not in {fault.rule for fault in check(problem, plan).faults}
    assert known is not None
    assert known / SCALE > 0.99
    assert value >= before


def test_a_stop_ends_both_and_leaves_no_rota_behind() -> None:
    search = begun(data_problem("10x6x12-1"))
    draft = search.draft
    search.stop = StopSignal(lambda: True)
    assert raced(search, 5.0)[:2] == (False, None)
    assert search.draft is draft
