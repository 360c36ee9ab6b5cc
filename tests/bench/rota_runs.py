"""One planner or rival on one problem, in a process of its own, so that its memory is measured apart.

`python tests/bench/rota_runs.py WHAT SECONDS SEED SEARCH_TIME [CHECKOUT]` with the pickled fields of the problem on
standard input prints its result as one line of JSON. CHECKOUT: the project whose planner runs, without the rules that
it does not know. Rivals get SECONDS; the time to start the process is left out.
"""

import hashlib
import json
import pickle
import resource
import sys
import time
from collections.abc import Callable
from dataclasses import fields, replace
from functools import partial
from pathlib import Path
from typing import Any

if __name__ == "__main__":
    sys.path.insert(0, sys.argv[5] if len(sys.argv) > 5 else str(Path(__file__).resolve().parents[2]))

FIRST_WORK = 10.0  # deterministic seconds for a rival's first plan; it comes in a fraction of one
_EFFORTS = {"quick": 5, "normal": 10, "thorough": 40}  # what a checkout without search times was asked for


def run_ours(problem: Any, _: float, seed: int, search_time: str, *, whole: bool = True) -> dict[str, Any]:
    """Our planner; unless `whole`, as far as the worst share."""
    from trips.core.rota.model.cp_sat import StopSignal
    from trips.core.rota.search import outcome as room
    from trips.core.rota.search.solve import solve

    words = getattr(room, "SearchTime", None)
    asked = {"search_time": words(search_time)} if words else {"effort": _EFFORTS[search_time]}
    stages: dict[str, dict[str, float]] = {}  # when each began

    def told(progress: room.Progress) -> None:
        stages.setdefault(progress.stage, _proof_seconds(began, cpu))

    began, cpu = time.monotonic(), time.process_time()
    stop = StopSignal(lambda: not whole and "total_of_shares" in stages, clock=time.monotonic)
    outcome = solve(problem, seed=seed, progress=told, stop=stop, **asked)
    stage = next(stage for stage in outcome.stages if stage.name == "worst_share")
    return {
        "worst_share": outcome.worst_share,
        "best_of_its_stage": stage.best,
        "best_possible": outcome.bound,
        "proved": stage.proved,
        "total_of_shares": outcome.total_of_shares,
        "first_plan_ms": (outcome.seconds_to_first_plan or 0.0) * 1000,
        "status": outcome.status,
        "plan": hashlib.sha256(repr(outcome.plan).encode()).hexdigest(),
    } | stages.get("total_of_shares", _proof_seconds(began, cpu))


def _proof_seconds(began: float, cpu: float) -> dict[str, float]:
    return {"proof_s": time.monotonic() - began, "proof_cpu_s": time.process_time() - cpu}


def run_cp_sat(problem: Any, seconds: float, seed: int, _: str) -> dict[str, Any]:
    """One CP-SAT model of everything, two workers, nothing else, begun from the first plan."""
    from trips.core.rota.model.space import SCALE

    began, cpu = time.monotonic(), time.process_time()
    ends = began + seconds
    model, wish, _limits = _held_model(problem, seed, ends)
    solver, proved = _solved(model, wish, seed, ends)
    found = solver.response_proto.solution
    worst = wish.value(model.space, model.read(solver.boolean_value)) / SCALE if found else None
    told = {"worst_share": worst, "best_possible": solver.best_objective_bound / SCALE, "proved": proved}
    return told | _proof_seconds(began, cpu)


def _held_model(problem: Any, seed: int, ends: float) -> Any:
    """The model of the worst share that holds the wishes before it, each solved the same plain way; its limits."""
    from trips.core.rota.model.cp_sat import StopSignal
    from trips.core.rota.model.group_wishes import Served
    from trips.core.rota.model.rules import rota_model
    from trips.core.rota.model.share_wishes import WorstShare
    from trips.core.rota.model.stages import Draw, stages_for
    from trips.core.rota.search.first_plan import first_draft
    from trips.core.rota.search.preprocess import preprocess

    space, limits = preprocess(problem), []
    draft = first_draft(space, seed, FIRST_WORK, StopSignal()).draft
    for stage in stages_for(problem, seed):
        model = rota_model(space, draft, space.open_cells(), seats_leader=problem.leader == "coaching")
        for earlier, limit in limits:
            earlier.require(model, limit)
        model.hint(draft)
        if isinstance(stage.wish, WorstShare):
            return model, stage.wish, limits
        solver, _ = _solved(model, stage.wish, seed, ends)
        draft = model.read(solver.boolean_value) if solver.response_proto.solution else draft
        limits.append((stage.wish, stage.limit(stage.wish.value(space, draft))))
        if isinstance(stage.wish, Draw) and stage.wish.is_last:
            limits.append((Served(space, draft), 0))
    raise ValueError("no stage lifts the worst share")


def _solved(model: Any, wish: Any, seed: int, ends: float) -> tuple[Any, bool]:
    """The solver after its run, and whether it proved the optimum."""
    from ortools.sat.python import cp_model

    (model.cp.maximize if wish.upwards else model.cp.minimize)(wish.express(model))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 2
    solver.parameters.linearization_level = 2
    solver.parameters.random_seed = seed
    solver.parameters.max_time_in_seconds = max(0.1, ends - time.monotonic())
    return solver, solver.solve(model.cp) == cp_model.OPTIMAL


def run_highs(problem: Any, seconds: float, seed: int, _: str) -> dict[str, Any]:
    """One HiGHS model of everything: the linear relaxation with whole turns, holding the wishes before the shares."""
    import highspy
    import numpy as np

    from trips.core.rota.search.lp_relaxation import LpRelaxation

    ends = time.monotonic() + seconds
    model_of_cp_sat, _wish, limits = _held_model(problem, seed, ends)
    rows = LpRelaxation(model_of_cp_sat.space, limits=limits).program
    program = highspy.HighsLp()
    program.num_col_, program.num_row_ = len(rows.upper), len(rows.row_low)
    program.sense_ = highspy.ObjSense.kMaximize
    program.col_cost_, program.col_upper_ = np.array(rows.objective), np.array(rows.upper)
    program.col_lower_ = np.zeros(len(rows.upper))
    program.row_lower_, program.row_upper_ = np.array(rows.row_low), np.array(rows.row_high)
    matrix: dict[int, dict[int, float]] = {number: {} for number in range(len(rows.row_low))}
    for number, column, value in zip(rows.entry_rows, rows.entry_columns, rows.entry_values, strict=True):
        matrix[number][column] = matrix[number].get(column, 0.0) + value  # people always together share a column
    program.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    program.a_matrix_.start_ = np.cumsum([0, *(len(terms) for terms in matrix.values())])
    program.a_matrix_.index_ = np.array([column for terms in matrix.values() for column in terms])
    program.a_matrix_.value_ = np.array([value for terms in matrix.values() for value in terms.values()])
    whole, part = highspy.HighsVarType.kInteger, highspy.HighsVarType.kContinuous
    program.integrality_ = [whole if asked else part for asked in rows.whole]
    model = highspy.Highs()
    model.setOptionValue("output_flag", False)
    model.setOptionValue("threads", 2)
    model.setOptionValue("random_seed", seed)
    model.setOptionValue("time_limit", max(0.1, ends - time.monotonic()))
    if model.passModel(program) == highspy.HighsStatus.kError:
        raise ValueError("HiGHS refuses the model")
    model.run()
    info = model.getInfo()
    found = info.primal_solution_status == 2
    return {"worst_share": info.objective_function_value if found else None, "best_possible": info.mip_dual_bound}


def run_greedy(problem: Any, seconds: float, seed: int, _: str) -> dict[str, Any]:
    """Session by session, then exchanges and moves until nothing helps, from ever new random exchanges."""
    import numpy as np

    from trips.core.rota.model.cp_sat import StopSignal
    from trips.core.rota.model.space import SCALE
    from trips.core.rota.search.first_plan import first_draft
    from trips.core.rota.search.local.local_search import LocalSearch, Penalty
    from trips.core.rota.search.preprocess import preprocess

    began = time.monotonic()
    space = preprocess(problem)
    draft = first_draft(space, seed, FIRST_WORK, StopSignal()).draft
    assert draft is not None
    chance, best = np.random.default_rng(seed), 0.0
    weight = np.ones(space.people)
    while True:
        state = LocalSearch(space, draft, Penalty(1.0, weight))
        for _ in range(50):
            moved = [state.improve_session(session, 50) for session in range(space.sessions)]
            if not any(moved):
                break
        best = max(best, min(int(state.share[person]) for person in space.counted) / SCALE)
        if time.monotonic() - began > seconds:
            return {"worst_share": best, "best_possible": None}
        weight = 0.2 + chance.random(space.people)


def run_by_hand(problem: Any, _: float, _seed: int, _search_time: str) -> dict[str, Any]:
    """Everybody moves on by one seat each session; who may not sit there takes the next free seat."""
    from trips.core.rota.check.checker import check
    from trips.core.rota.problem.values import Plan, Turn

    turns = []
    for session in range(len(problem.sessions)):
        hides = sorted(range(len(problem.hides)), key=lambda hide: -problem.capacity(session, hide))
        hides = sorted(hides[: problem.open_hides_at_once])
        seats = [hide for hide in hides for _ in range(problem.capacity(session, hide))]
        for person in problem.present(session) if seats else ():
            order = [(person + session + step) % len(seats) for step in range(len(seats))]
            free = [i for i in order if seats[i] >= 0 and problem.may_sit(person, session, seats[i])]
            if free:
                turns.append(Turn(person, session, seats[free[0]]))
                seats[free[0]] = -1
    verdict = check(problem, Plan(tuple(turns)))
    worst = verdict.tallies.worst_share if verdict.tallies else None
    return {"worst_share": worst, "best_possible": None, "rules_broken": len(verdict.faults)}


def run_repair(problem: Any, _: float, seed: int, _search_time: str) -> dict[str, Any]:
    """Close two hides of a later session, and mend: seconds until the fewest changes are proved."""
    from trips.core.rota.model.cp_sat import StopSignal
    from trips.core.rota.search.outcome import Progress
    from trips.core.rota.search.solve import solve

    problem = _broken(problem)
    began, proved = time.monotonic(), 0.0

    def told(progress: Progress) -> None:
        nonlocal proved
        if not proved and progress.stage not in ("first_plan", "changes"):
            proved = time.monotonic() - began

    outcome = solve(problem, seed=seed, progress=told, stop=StopSignal(clock=time.monotonic))
    stage = next(stage for stage in outcome.stages if stage.name == "changes")
    result = {"changes": stage.value, "proved": stage.proved, "whole_repair_ms": outcome.seconds * 1000}
    return result | {"seconds": proved or outcome.seconds}


def run_repair_cp_sat(problem: Any, seconds: float, seed: int, _: str) -> dict[str, Any]:
    """The same with one model of everything."""
    from trips.core.rota.model.rules import rota_model
    from trips.core.rota.model.wishes import Changes
    from trips.core.rota.search.preprocess import preprocess

    space = preprocess(_broken(problem))
    model = rota_model(space, space.empty_draft(), space.planned_cells())
    solver, proved = _solved(model, Changes(), seed, time.monotonic() + seconds)
    return {"changes": solver.objective_value if solver.response_proto.solution else None, "proved": proved}


def run_explain(problem: Any, _: float, _seed: int, _search_time: str) -> dict[str, Any]:
    """Two people are to be half together and kept apart: name the rules in conflict and what would help."""
    from trips.core.rota.explain.explain import explain

    explanation = explain(_contrary(problem))
    (conflict,) = explanation.conflicts
    rules = sorted({reason.rule for reason in conflict.reasons})
    return {"verdict": explanation.verdict, "rules": rules, "helps": len(conflict.helps)}


def _contrary(problem: Any) -> Any:
    tied = {person for pair in problem.together + problem.apart for person in pair}
    one, other = [person for person in range(len(problem.people)) if person not in tied][:2]
    return replace(problem, half_together=((one, other),), apart=(*problem.apart, (one, other)))


def _broken(problem: Any) -> Any:
    from trips.core.rota.problem.shares import best_alone
    from trips.core.rota.search.outcome import SearchTime
    from trips.core.rota.search.solve import solve

    plan = solve(problem, search_time=SearchTime.QUICK).plan
    assert plan is not None
    used = sorted({turn.hide for turn in plan.turns if turn.session == 8})
    closed = problem.closed | {(8, hide) for hide in used[:2]}
    base = replace(problem, issued=plan, past=5, closed=closed, tolerance=0.01)
    return replace(base, best_alone=best_alone(problem), repair="fewest")


RUNS: dict[str, Callable[[Any, float, int, str], dict[str, Any]]] = {
    "ours": run_ours,
    "worst_share": partial(run_ours, whole=False),
    "cp_sat": run_cp_sat,
    "highs": run_highs,
    "greedy": run_greedy,
    "by_hand": run_by_hand,
    "repair": run_repair,
    "repair_cp_sat": run_repair_cp_sat,
    "explain": run_explain,
}


def main(what: str, seconds: float, seed: int, search_time: str) -> None:
    """Run one and print its result with its seconds and its peak memory."""
    import highspy  # noqa: F401
    from ortools.sat.python import cp_model  # noqa: F401

    from trips.core.rota.problem.values import Problem

    known = {field.name for field in fields(Problem)}
    values = pickle.load(sys.stdin.buffer)
    problem = Problem(**{name: value for name, value in values.items() if name in known})
    # and the solvers are loaded: nobody's seconds hold that
    began, cpu = time.monotonic(), time.process_time()
    result = RUNS[what](problem, seconds, seed, search_time)
    result.setdefault("seconds", time.monotonic() - began)
    result["cpu_s"] = time.process_time() - cpu  # says more than seconds where others use the machine
    result["peak_mb"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(json.dumps(result))


if __name__ == "__main__":
    main(sys.argv[1], float(sys.argv[2]), int(sys.argv[3]), sys.argv[4])
