"""The problem with nothing worked into it but what is fixed: every rule is left to the model, so that it can be off."""

from dataclasses import replace

from trips.core.rota.model.space import NONE, OUT, Draft, Space
from trips.core.rota.problem.presence import Fixed, fixed_part, leader_pins, open_limits
from trips.core.rota.problem.values import LEADER, Problem
from trips.core.rota.problem.visits import visit_limits, visits_of


def open_space(problem: Problem, *, all_states: bool) -> Space:
    """A space without parties, joined sessions or narrowed choices; it knows no shares.

    `all_states`: people may choose closed hides and those they cannot sit in, so that these are rules; else facts.
    """
    fixed = fixed_part(problem)
    people, sessions, hides = range(len(problem.people)), range(len(problem.sessions)), range(len(problem.hides))
    leader, visit_of = leader_pins(problem, fixed), visits_of(problem, fixed)
    ready = replace(problem, closed=frozenset())  # a closing is a rule of its own, not a lack of seats
    return Space(
        problem=problem,
        fixed=fixed,
        options=[[_choices(problem, fixed, (p, s), all_states=all_states) for s in sessions] for p in people],
        held=frozenset(
            {(p, s) for p in people for s in range(fixed.first_free)} | {c for c in fixed.turns if c[0] != LEADER}
        ),
        room=[[ready.capacity(s, h) - (leader.get(s) == h) for h in hides] for s in sessions],
        least=[[max(1, problem.hides[h].minimum_people) for h in hides] for _ in sessions],
        open_limit=open_limits(problem, fixed),
        must_open=frozenset(),
        visits_limit=visit_limits(problem, fixed, visit_of),
        visit_of=visit_of,
        party_of={},
        joined_of={},
        counted=(),
        gain=[],
        fee=[],
        leader_held=leader,
    )


def _choices(problem: Problem, fixed: Fixed, cell: tuple[int, int], *, all_states: bool) -> tuple[int, ...]:
    """Where somebody may choose to sit; a hide without any seat is no place."""
    person, session = cell
    held = fixed.hide_of(person, session)
    if held is not None or cell in problem.absent:
        return (OUT if held is None else held,)
    rests = (NONE,) if person in problem.guests or problem.rests(session) else ()
    hides = [
        hide
        for hide, value in enumerate(problem.hides)
        if value.seats and not fixed.is_fixed(session, hide) and (all_states or problem.may_sit(person, session, hide))
    ]
    return (*rests, *hides)


def fixed_draft(space: Space) -> Draft:
    """Only what is fixed is filled in."""
    cells = [[OUT] * space.sessions for _ in range(space.people)]
    for (person, session), turn in space.fixed.turns.items():
        if person != LEADER:
            cells[person][session] = turn.hide
    return Draft(cells, [space.leader_held.get(session, NONE) for session in range(space.sessions)])
