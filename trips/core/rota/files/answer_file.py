"""The answer to a rota problem in the format in which it is printed."""

from dataclasses import dataclass
from typing import Any

from trips.core.rota.problem.shares import pairs_met, shares_of, total_of_shares, worst_share
from trips.core.rota.problem.values import LEADER, Plan, Problem


@dataclass(frozen=True, slots=True)
class Finding:
    """What a run says about a plan beside the plan itself.

    `status`: optimal, feasible, stopped_early. `bound`: no plan has a better worst share. `stages`: one dict each.
    """

    status: str
    bound: float
    stages: tuple[dict[str, Any], ...] = ()
    seconds: float = 0.0


def answer_data(problem: Problem, plan: Plan, finding: Finding) -> dict[str, Any]:
    """The answer as it is printed: exactly the keys of the format, `seconds` last."""
    worst = worst_share(problem, plan)
    bound = max(finding.bound, worst)
    return {
        "status": finding.status,
        "worst_share": worst,
        "bound": bound,
        "gap": (bound - worst) / bound if bound > 0 else 0.0,
        "total_of_shares": total_of_shares(problem, plan),
        "shares": dict(zip(problem.people, shares_of(problem, plan), strict=True)),
        "pairs_met": pairs_met(plan),
        "turns": _turns(problem, plan),
        "leader": {
            problem.sessions[turn.session]: problem.hides[turn.hide].name
            for turn in plan.turns
            if turn.person == LEADER
        },
        "rests": [[problem.people[person], problem.sessions[session]] for person, session in plan.rests],
        "stages": [dict(stage) for stage in finding.stages],
        "seconds": finding.seconds,
    }


def _turns(problem: Problem, plan: Plan) -> dict[str, dict[str, list[str]]]:
    result: dict[str, dict[str, list[str]]] = {session: {} for session in problem.sessions}
    for turn in sorted(plan.turns, key=lambda turn: (turn.session, turn.hide, turn.person)):
        if turn.person != LEADER:
            hides = result[problem.sessions[turn.session]]
            hides.setdefault(problem.hides[turn.hide].name, []).append(problem.people[turn.person])
    return result
