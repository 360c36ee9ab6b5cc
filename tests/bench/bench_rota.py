"""The rota against four rivals that get the same seconds, size by size; a large repair; and why there is no rota.

Rivals: one plain CP-SAT model and one HiGHS model of the whole, both with two workers; greedy with local search; and
the fixed rotation that people work out by hand. A row per size and rival: medians of three seeds, the rivals' too.
`python tests/bench/bench_rota.py ours NAME SECONDS SEED` and the like run one alone, in a process of its own, so that
memory is measured apart.
"""

import json
import resource
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
DATA = ROOT / "tests" / "core" / "rota" / "data"
SIZES = ("6x4x8-1", "8x5x10-1", "10x6x12-1", "12x6x12-1", "16x8x14-1", "24x12x20-1", "40x15x24-1")
REPAIRED = "24x12x20-1"
EXPLAINED = ("12x6x12-1", "24x12x20-1")
RIVALS = ("cp_sat", "highs", "greedy", "by_hand")
SEEDS = (0, 1, 2)
sys.path.insert(0, str(ROOT))


def rows() -> list[dict[str, Any]]:
    """A row for each size and rival, then the repair and two explanations."""
    found = []
    for name in SIZES:
        each = [_alone("ours", name, 0.0, seed) for seed in SEEDS]
        ours = _medians(each)
        for rival in RIVALS:
            theirs = [_alone(rival, name, mine["seconds"], seed) for seed, mine in zip(SEEDS, each, strict=True)]
            found.append(_row(name, rival, ours, _medians(theirs)))
    ours = _medians([_alone("repair", REPAIRED, 0.0, seed) for seed in SEEDS])
    theirs = _alone("repair_cp_sat", REPAIRED, max(10.0, ours["seconds"]), 0)
    found.append(_row(f"repair {REPAIRED}", "cp_sat", ours, theirs))
    for name in EXPLAINED:
        ours = _medians([_alone("explain", name, 0.0, seed) for seed in SEEDS])
        found.append({"name": f"explain {name}", "ours_ms": ours.pop("seconds") * 1000} | ours)
    return found


def _medians(results: list[dict[str, Any]]) -> dict[str, Any]:
    """Medians of the numbers; of words and missing values the one that differs from the first run, if any does."""
    found = {}
    for key, first in results[0].items():
        values = [result[key] for result in results]
        numbers = all(isinstance(value, int | float) and not isinstance(value, bool) for value in values)
        found[key] = statistics.median(values) if numbers else next((v for v in values if v != first), first)
    return found


def _row(name: str, rival: str, ours: dict[str, Any], theirs: dict[str, Any]) -> dict[str, Any]:
    row = {"name": f"{name} against {rival}", "ours_ms": ours["seconds"] * 1000, "rival_ms": theirs["seconds"] * 1000}
    ours = {key: value for key, value in ours.items() if key != "seconds"}
    return row | ours | {f"rival_{key}": value for key, value in theirs.items() if key != "seconds"}


def _alone(what: str, name: str, seconds: float, seed: int) -> dict[str, Any]:
    """Run one in a process of its own; its seconds leave out the start of the process."""
    command = [sys.executable, __file__, what, name, str(seconds), str(seed)]
    done = subprocess.run(command, capture_output=True, text=True, check=True, cwd=ROOT)
    result: dict[str, Any] = json.loads(done.stdout.splitlines()[-1])
    return result


def run_ours(name: str, _: float, seed: int) -> dict[str, Any]:
    """Our planner at its default effort."""
    from trips.core.rota.model.cp_sat import StopSignal
    from trips.core.rota.search.solve import solve

    outcome = solve(_problem(name), seed=seed, stop=StopSignal(clock=time.monotonic))
    return {
        "worst_share": outcome.worst_share,
        "bound": outcome.bound,
        "gap": (outcome.bound - outcome.worst_share) / outcome.bound,
        "total_of_shares": outcome.total_of_shares,
        "first_plan_ms": (outcome.seconds_to_first_plan or 0.0) * 1000,
        "status": outcome.status,
    }


def run_cp_sat(name: str, seconds: float, seed: int) -> dict[str, Any]:
    """One CP-SAT model of everything that lifts the worst share, two workers, nothing else."""
    from ortools.sat.python import cp_model

    from trips.core.rota.model.rules import rota_model
    from trips.core.rota.model.share_wishes import WorstShare
    from trips.core.rota.model.space import SCALE
    from trips.core.rota.search.preprocess import preprocess

    space, wish = preprocess(_problem(name)), WorstShare()
    model = rota_model(space, space.empty_draft(), space.planned_cells())
    model.cp.maximize(wish.express(model))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 2
    solver.parameters.random_seed = seed
    solver.parameters.max_time_in_seconds = seconds
    status = solver.solve(model.cp)
    found = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
    worst = wish.value(space, model.read(solver.boolean_value)) / SCALE if found else None
    return {"worst_share": worst, "bound": solver.best_objective_bound / SCALE}


def run_highs(name: str, seconds: float, seed: int) -> dict[str, Any]:
    """One HiGHS model of everything: the linear relaxation with whole turns."""
    import highspy
    import numpy as np

    from trips.core.rota.search.lp_relaxation import LpRelaxation
    from trips.core.rota.search.preprocess import preprocess

    rows = LpRelaxation(preprocess(_problem(name))).program
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
    model.setOptionValue("time_limit", seconds)
    if model.passModel(program) == highspy.HighsStatus.kError:
        raise ValueError("HiGHS refuses the model")
    model.run()
    info = model.getInfo()
    found = info.primal_solution_status == 2
    return {"worst_share": info.objective_function_value if found else None, "bound": info.mip_dual_bound}


def run_greedy(name: str, seconds: float, seed: int) -> dict[str, Any]:
    """Session by session, then exchanges and moves until nothing helps, from ever new random exchanges."""
    import numpy as np

    from trips.core.rota.model.cp_sat import StopSignal
    from trips.core.rota.model.space import SCALE
    from trips.core.rota.search.first_plan import first_draft
    from trips.core.rota.search.local.local_search import LocalSearch, Penalty
    from trips.core.rota.search.preprocess import preprocess

    began = time.monotonic()
    space = preprocess(_problem(name))
    draft = first_draft(space, seed, 10.0, StopSignal()).draft
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
            return {"worst_share": best, "bound": None}
        weight = 0.2 + chance.random(space.people)


def run_by_hand(name: str, _: float, _seed: int) -> dict[str, Any]:
    """Everybody moves on by one seat each session; who may not sit there takes the next free seat."""
    from trips.core.rota.check.checker import check
    from trips.core.rota.problem.values import Plan, Turn

    problem = _problem(name)
    turns = []
    for session in range(len(problem.sessions)):
        hides = sorted(range(len(problem.hides)), key=lambda hide: -problem.capacity(session, hide))
        hides = sorted(hides[: problem.open_hides_at_once])
        seats = [hide for hide in hides for _ in range(problem.capacity(session, hide))]
        for person in problem.present(session):
            order = [(person + session + step) % len(seats) for step in range(len(seats))]
            free = [i for i in order if seats[i] >= 0 and problem.may_sit(person, session, seats[i])]
            if free:
                turns.append(Turn(person, session, seats[free[0]]))
                seats[free[0]] = -1
    verdict = check(problem, Plan(tuple(turns)))
    worst = verdict.tallies.worst_share if verdict.tallies else None
    return {"worst_share": worst, "bound": None, "rules_broken": len(verdict.faults)}


def run_repair(name: str, _: float, seed: int) -> dict[str, Any]:
    """Close two hides of a later session, and mend: seconds until the fewest changes are proved."""
    from trips.core.rota.model.cp_sat import StopSignal
    from trips.core.rota.search.outcome import Progress
    from trips.core.rota.search.solve import solve

    problem = _broken(name)
    began, proved = time.monotonic(), 0.0

    def told(progress: Progress) -> None:
        nonlocal proved
        if not proved and progress.stage not in ("first_plan", "changes"):
            proved = time.monotonic() - began

    outcome = solve(problem, seed=seed, progress=told, stop=StopSignal(clock=time.monotonic))
    stage = next(stage for stage in outcome.stages if stage.name == "changes")
    result = {"changes": stage.value, "proved": stage.proved, "whole_repair_ms": outcome.seconds * 1000}
    return result | {"seconds": proved or outcome.seconds}


def run_repair_cp_sat(name: str, seconds: float, seed: int) -> dict[str, Any]:
    """The same with one model of everything."""
    from ortools.sat.python import cp_model

    from trips.core.rota.model.rules import rota_model
    from trips.core.rota.model.wishes import Changes
    from trips.core.rota.search.preprocess import preprocess

    space = preprocess(_broken(name))
    model = rota_model(space, space.empty_draft(), space.planned_cells())
    model.cp.minimize(Changes().express(model))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 2
    solver.parameters.random_seed = seed
    solver.parameters.max_time_in_seconds = seconds
    status = solver.solve(model.cp)
    known = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
    return {"changes": solver.objective_value if known else None, "proved": status == cp_model.OPTIMAL}


def run_explain(name: str, _: float, _seed: int) -> dict[str, Any]:
    """Two people are to be half together and kept apart: name the rules in conflict and what would help."""
    from trips.core.rota.explain.explain import explain

    explanation = explain(_contrary(name))
    (conflict,) = explanation.conflicts
    rules = sorted({reason.rule for reason in conflict.reasons})
    return {"verdict": explanation.verdict, "rules": rules, "helps": len(conflict.helps)}


def _contrary(name: str) -> Any:
    problem = _problem(name)
    tied = {person for pair in problem.together + problem.apart for person in pair}
    one, other = [person for person in range(len(problem.people)) if person not in tied][:2]
    return replace(problem, half_together=((one, other),), apart=(*problem.apart, (one, other)))


def _problem(name: str) -> Any:
    from trips.core.rota.files.problem_file import read_problem

    return read_problem((DATA / f"{name}.json").read_text())


def _broken(name: str) -> Any:
    from trips.core.rota.problem.shares import best_alone
    from trips.core.rota.search.outcome import SearchTime
    from trips.core.rota.search.solve import solve

    problem = _problem(name)
    plan = solve(problem, search_time=SearchTime.QUICK).plan
    assert plan is not None
    used = sorted({turn.hide for turn in plan.turns if turn.session == 8})
    closed = problem.closed | {(8, hide) for hide in used[:2]}
    base = replace(problem, issued=plan, past=5, closed=closed, tolerance=0.01)
    return replace(base, best_alone=best_alone(problem), repair="fewest")


RUNS: dict[str, Callable[[str, float, int], dict[str, Any]]] = {
    "ours": run_ours,
    "cp_sat": run_cp_sat,
    "highs": run_highs,
    "greedy": run_greedy,
    "by_hand": run_by_hand,
    "repair": run_repair,
    "repair_cp_sat": run_repair_cp_sat,
    "explain": run_explain,
}


def main(what: str, name: str, seconds: float, seed: int) -> None:
    """Run one and print its result with its seconds and its peak memory."""
    began = time.monotonic()
    result = RUNS[what](name, seconds, seed)
    result.setdefault("seconds", time.monotonic() - began)
    result["peak_mb"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(json.dumps(result))


if __name__ == "__main__":
    what, name, *rest = sys.argv[1:]
    main(what, name, float(rest[0]) if rest else 0.0, int(rest[1]) if len(rest) > 1 else 0)
