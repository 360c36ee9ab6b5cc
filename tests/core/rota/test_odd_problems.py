"""However odd a problem is: no crash, no rota that the checker rejects, no false "impossible"."""

from dataclasses import replace
from itertools import product

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.core.rota.rota_cases import camp, hide
from trips.core.rota.check.checker import Bound, Stated, check
from trips.core.rota.explain.counting import count_conflicts
from trips.core.rota.explain.explain import explain
from trips.core.rota.explain.promises import promises
from trips.core.rota.problem.values import LEADER, NO_SEAT, Pin, Plan, Problem, Turn
from trips.core.rota.search.outcome import IMPOSSIBLE, SearchTime
from trips.core.rota.search.solve import solve
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
    problem = replace(
        base,
        leader=draw(st.sampled_from(["never", "spare_seats", "coaching"])),
        open_hides_at_once=draw(st.sampled_from([None, 1, 2])),
        visits_at_most=draw(st.sampled_from([None, 1, 2])),
        consecutive_turns_at_most=draw(st.sampled_from([None, None, 1, 2])),
        never_twice_running=draw(st.booleans()),
        want_mixing=draw(st.booleans()),
        closed=draw(st.frozensets(st.tuples(when, where), max_size=2)),
        absent=draw(st.frozensets(st.tuples(who, when), max_size=3)),
        cannot=draw(st.frozensets(st.tuples(who, where), max_size=2)),
        cannot_then=draw(st.frozensets(st.tuples(st.integers(LEADER, people - 1), when, where), max_size=2)),
        together=tuple(sorted(draw(pairs))),
        half_together=tuple(sorted(draw(pairs))),
        apart=tuple(sorted(draw(pairs))),
        sharers=frozenset(
            (*pair, draw(when)) for pair in (draw(st.sets(st.sampled_from(all_pairs), max_size=2)) if all_pairs else ())
        ),
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

    return draw(with_seats_named(problem)) if draw(st.booleans()) else draw(in_a_repair(problem))


@st.composite
def with_seats_named(draw: st.DrawFn, problem: Problem) -> Problem:
    """Some last seats out of use, and pins to seats, be they in use or not."""
    out = [draw(st.sampled_from([None, 0, 1])) for _ in problem.hides]
    hides = tuple(
        replace(one, seats=(*one.seats[:-1], replace(one.seats[-1], out_from=when))) if one.seats else one
        for one, when in zip(problem.hides, out, strict=True)
    )
    pins = tuple(
        replace(pin, seat=draw(st.sampled_from([NO_SEAT, *range(len(hides[pin.hide].seats))])))
        for pin in problem.pins
        if (pin.session, pin.hide) not in problem.shared
    )
    return replace(problem, hides=hides, pins=pins)


@st.composite
def in_a_repair(draw: st.DrawFn, problem: Problem) -> Problem:
    """Any issued rota, be it sound by today's rules or not, of which a part is over and some cars have left."""
    sessions, hides = range(len(problem.sessions)), range(len(problem.hides))
    turns: list[Turn] = []
    for person, session in product(range(len(problem.people)), sessions):
        where = draw(st.sampled_from([None, *hides]))
        taken = sum((turn.session, turn.hide) == (session, where) for turn in turns)
        if where is not None and taken < len(problem.hides[where].seats):
            turns.append(Turn(person, session, where, taken, stays=draw(st.booleans())))
    seated = {(turn.person, turn.session) for turn in turns}
    rests = tuple(cell for cell in product(range(len(problem.people)), sessions) if cell not in seated)
    past, cells = draw(st.integers(0, len(sessions))), list(product(sessions, hides))
    frozen = draw(st.frozensets(st.sampled_from(cells), max_size=2))
    free = [(person, *cell) for person, cell in product(range(len(problem.people)), cells) if cell not in frozen]
    staying = [stay for stay in free if stay[1] >= past]
    return replace(
        problem,
        issued=Plan(tuple(turns), rests),
        past=past,
        frozen=frozen,
        repair=draw(st.sampled_from(["fewest", "few", "free"])),
        stays=frozenset(draw(st.lists(st.sampled_from(staying), max_size=1)) if staying else ()),
    )


@given(odd())
@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_no_problem_ends_in_a_crash_or_in_a_rota_that_the_checker_rejects(problem: Problem) -> None:
    outcome = solve(problem, search_time=SearchTime.QUICK)
    if outcome.plan is None or count_conflicts(problem):
        assert outcome.plan is None or not check(problem, outcome.plan).is_sound
        assert outcome.status == IMPOSSIBLE or count_conflicts(problem)
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
