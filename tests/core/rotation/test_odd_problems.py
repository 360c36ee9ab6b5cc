"""However odd a problem is: no crash, no rota that the checker rejects, no false "impossible"."""

from dataclasses import replace

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.core.rota_cases import camp, hide
from trips.core.checker import Bound, Stated, check
from trips.core.promises import promises
from trips.core.rotation.outcome import IMPOSSIBLE, Outcome
from trips.core.rotation.problem import LEADER, Pin, Problem
from trips.core.rotation.reasons import explain
from trips.core.rotation.reasons_counting import count_conflicts
from trips.core.rotation.solve import solve
from trips.documents.wording.rota import guarantee_sentences
from trips.documents.wording.rota_names import names_of
from trips.documents.wording.rota_reasons import explanation_sentences


@st.composite
def odd(draw: st.DrawFn) -> Problem:
    """Up to four people, three sessions, three hides; anything may be closed, absent, barred, pinned or joined."""
    people, sessions, hides = (draw(st.integers(low, high)) for low, high in ((0, 4), (0, 3), (0, 3)))
    base = camp(
        people=tuple(f"P{i}" for i in range(people)),
        sessions=tuple(f"S{i}" for i in range(sessions)),
        hides=tuple(hide(f"H{i}", draw(st.integers(0, 3)), draw(st.integers(0, 2))) for i in range(hides)),
    )
    points = tuple(
        tuple(tuple(draw(st.sampled_from([0.0, 1.0, 37.5, 100.0])) for _ in range(hides)) for _ in range(sessions))
        for _ in range(people)
    )
    base = replace(base, points=points, visit_loss=draw(st.sampled_from([(), (0.0, 0.4, 0.9)])))
    if not (people and sessions and hides):
        return base
    who, when, where = st.integers(0, people - 1), st.integers(0, sessions - 1), st.integers(0, hides - 1)
    all_pairs = [(one, other) for other in range(people) for one in range(other)]
    pairs = st.sets(st.sampled_from(all_pairs), max_size=1) if all_pairs else st.just(set())
    pins = draw(st.dictionaries(st.tuples(st.sampled_from([LEADER, *range(people)]), when), where, max_size=2))
    return replace(
        base,
        leader=draw(st.sampled_from(["never", "spare_seats", "coaching"])),
        open_hides_at_once=draw(st.sampled_from([None, 1, 2])),
        visits_at_most=draw(st.sampled_from([None, 1, 2])),
        never_twice_running=draw(st.booleans()),
        want_mixing=draw(st.booleans()),
        closed=draw(st.frozensets(st.tuples(when, where), max_size=2)),
        absent=draw(st.frozensets(st.tuples(who, when), max_size=3)),
        cannot=draw(st.frozensets(st.tuples(who, where), max_size=2)),
        together=tuple(sorted(draw(pairs))),
        half_together=tuple(sorted(draw(pairs))),
        apart=tuple(sorted(draw(pairs))),
        helpers=tuple(sorted(draw(pairs))),
        guests=draw(st.frozensets(who, max_size=1)),
        shared=draw(st.frozensets(st.tuples(when, where), max_size=1)),
        burdens=draw(st.frozensets(st.tuples(when, where), max_size=2)),
        joined=((0, tuple(range(sessions))),) if sessions > 1 and draw(st.booleans()) else (),
        in_demand=tuple(sorted(draw(st.sets(where, max_size=1)))),
        rests_allowed=tuple(draw(st.integers(0, 1)) for _ in range(sessions)),
        pins=tuple(Pin(person, session, there) for (person, session), there in sorted(pins.items())),
        tolerance=draw(st.sampled_from([0.0, 0.01])),
    )


@given(odd())
@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_no_problem_ends_in_a_crash_or_in_a_rota_that_the_checker_rejects(problem: Problem) -> None:
    counted = count_conflicts(problem)
    outcome = solve(problem, effort=1) if not counted else Outcome(IMPOSSIBLE)
    if outcome.plan is None:
        assert outcome.status == IMPOSSIBLE
        explanation = explain(problem)
        assert explanation.verdict == "impossible"
        assert all(explanation_sentences(explanation, names_of(problem)))
        return
    stated = Stated(
        shares=outcome.shares,
        worst_share=outcome.worst_share,
        total_of_shares=outcome.total_of_shares,
        bounds=(Bound("worst_share", outcome.worst_share, outcome.bound),),
    )
    verdict = check(problem, outcome.plan, stated)
    assert verdict.faults == ()
    assert guarantee_sentences(promises(problem, outcome.plan, outcome.bound), names_of(problem)) is not None
    assert explain(problem).verdict == "possible"
