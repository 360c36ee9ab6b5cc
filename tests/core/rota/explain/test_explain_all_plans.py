"""Verdicts and named rules, compared with trying all plans of odd problems."""

from dataclasses import replace
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.core.rota.explain.conflicts import helps, people
from tests.core.rota.rota_cases import camp, hide
from tests.core.rota.solver_cases import DATA
from trips.core.rota.check.checker import check
from trips.core.rota.explain.conflict_search import Core, Effort, build, find_core, solve
from trips.core.rota.explain.explain import explain
from trips.core.rota.files.problem_file import read_problem
from trips.core.rota.problem.values import Pin, Plan, Problem, Turn
from trips.core.rota.search.outcome import SearchTime
from trips.core.rota.search.solve import solve as plan_a_rota


@st.composite
def odd_problems(draw: st.DrawFn) -> Problem:
    """Two or three people, two sessions, two hides, and a handful of rules that may contradict each other."""
    number = draw(st.integers(2, 3))
    anyone, session, where = st.integers(0, number - 1), st.integers(0, 1), st.integers(0, 1)
    pairs = st.tuples(anyone, anyone).filter(lambda pair: pair[0] < pair[1])
    pins = draw(st.dictionaries(st.tuples(anyone, session), where, max_size=2))
    return camp(
        people=people(number),
        sessions=("S1", "S2"),
        hides=tuple(hide(f"H{i}", draw(st.integers(0, 2)), draw(st.integers(0, 2))) for i in range(2)),
        open_hides_at_once=draw(st.sampled_from([None, 1, 2])),
        visits_at_most=draw(st.sampled_from([None, 1, 2])),
        consecutive_turns_at_most=draw(st.sampled_from([None, None, 1, 2])),
        never_twice_running=draw(st.booleans()),
        closed=draw(st.frozensets(st.tuples(session, where), max_size=1)),
        absent=draw(st.frozensets(st.tuples(anyone, session), max_size=2)),
        cannot=draw(st.frozensets(st.tuples(anyone, where), max_size=2)),
        together=tuple(sorted(draw(st.sets(pairs, max_size=1)))),
        apart=tuple(sorted(draw(st.sets(pairs, max_size=2)))),
        joined=draw(st.sampled_from([(), ((0, (0, 1)),)])),
        pins=tuple(Pin(person, when, seat) for (person, when), seat in pins.items()),
        rests_allowed=draw(st.sampled_from([(), (1, 0), (1, 1)])),
    )


@st.composite
def odd_repairs(draw: st.DrawFn) -> Problem:
    """Such problems once a rota is issued, be it sound by today's rules or not, and a part of it has begun."""
    problem = draw(odd_problems())
    cells = list(product(range(len(problem.people)), (0, 1)))
    turns = [Turn(*cell, draw(st.integers(0, 1))) for cell in cells if draw(st.booleans())]
    rests = tuple(cell for cell in cells if cell not in {(turn.person, turn.session) for turn in turns})
    frozen = draw(st.frozensets(st.tuples(st.integers(0, 1), st.integers(0, 1)), max_size=2))
    return replace(problem, issued=Plan(tuple(turns), rests), past=draw(st.integers(0, 1)), frozen=frozen)


def fixed_turns(problem: Problem) -> tuple[Turn, ...]:
    """What a repair cannot change."""
    issued = problem.issued.turns if problem.issued else ()
    return tuple(t for t in issued if t.session < problem.past or (t.session, t.hide) in problem.frozen)


def some_plan(problem: Problem) -> bool:
    """Whether any plan passes the checker: all of them are tried."""
    fixed = fixed_turns(problem)
    seated = {(turn.person, turn.session) for turn in fixed}
    over = tuple(rest for rest in (problem.issued.rests if problem.issued else ()) if rest[1] < problem.past)
    free = range(problem.past if problem.issued else 0, len(problem.sessions))
    places = [(p, s) for s in free for p in problem.present(s) if (p, s) not in seated]
    for chosen in product((-1, *range(len(problem.hides))), repeat=len(places)):
        turns = tuple(Turn(p, s, where) for (p, s), where in zip(places, chosen, strict=True) if where >= 0)
        rests = tuple(place for place, where in zip(places, chosen, strict=True) if where < 0)
        if check(problem, Plan(fixed + turns, tuple(sorted(over + rests)))).is_sound:
            return True
    return False


@given(odd_problems() | odd_repairs())
@settings(max_examples=100, deadline=None)
def test_the_verdict_is_that_of_trying_all_plans(problem: Problem) -> None:
    explanation = explain(problem)
    assert explanation.verdict == ("possible" if some_plan(problem) else "impossible")
    assert bool(explanation.conflicts) == (explanation.verdict == "impossible")
    assert (plan_a_rota(problem, search_time=SearchTime.QUICK).plan is not None) == (explanation.verdict == "possible")


@given(odd_problems())
@settings(max_examples=40, deadline=None)
def test_no_rule_is_named_that_is_not_needed(problem: Problem) -> None:
    work = build(problem, (0, 1), all_states=True)
    everything = range(len(work.switches))
    answer = solve(work, everything, Effort(1.0))
    if answer is True:
        return
    core = find_core(work, Effort(1.0))
    assert isinstance(core, Core)
    assert core.is_minimal
    kept = [index for index in everything if work.switches[index][1] in core.reasons]
    assert isinstance(solve(work, kept, Effort(1.0)), list)
    for index in kept:
        assert solve(work, [other for other in kept if other != index], Effort(1.0)) is True


def test_a_spent_effort_says_unknown_and_never_impossible() -> None:
    hard = camp(
        people=people(2), hides=(hide("A", 2), hide("B", 1)), cannot=frozenset({(0, 1)}), never_twice_running=True
    )
    assert explain(hard, effort=0.0).verdict == "unknown"
    assert explain(hard, is_cancelled=lambda: True).verdict == "unknown"


@pytest.mark.parametrize("name", ["12x6x12-1", "24x12x20-1"])
def test_problems_of_the_collection_are_possible_and_become_impossible_with_fewer_hides(name: str) -> None:
    problem = read_problem((DATA / f"{name}.json").read_text())
    assert explain(problem).verdict == "possible"
    tight = explain(replace(problem, open_hides_at_once=2))
    assert {conflict.reasons[0].rule for conflict in tight.conflicts} == {"seats_open_at_once"}
    for conflict in tight.conflicts:
        assert dict(helps(conflict)["rest"].figures)["people"] == dict(conflict.reasons[0].figures)["short"]
