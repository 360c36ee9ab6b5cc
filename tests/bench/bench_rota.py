"""The rota against four rivals that get the same seconds; a large repair; and why there is no rota.

Rivals: the fixed rotation that people work out by hand; greedy with local search; one plain CP-SAT model of the whole
with two workers, begun from the first plan; one HiGHS model of the whole. With --against, our planner of another
checkout stands beside them as "before". A row per problem and rival: medians over the seeds, the rivals' too.
`proof_s`, `proof_cpu_s`: until the worst share is proved or given up; `best_of_its_stage`: before later wishes spend of
it. "trips" are trips as leaders make them, "random" are files with random points, named by people x hides x sessions.
"""

import argparse
import json
import pickle
import statistics
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import fields
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
FOLDERS = [ROOT / "tests" / "core" / "rota" / name for name in ("trips", "data")]
GROUPS = {
    "trips": tuple(sorted(path.stem for path in FOLDERS[0].glob("*.json"))),
    "random": ("6x4x8-1", "8x5x10-1", "10x6x12-1", "12x6x12-1", "16x8x14-1", "24x12x20-1", "40x15x24-1"),
    "others": ("repair 24x12x20-1", "explain 12x6x12-1", "explain 24x12x20-1"),
}
RIVALS = ("before", "cp_sat", "highs", "greedy", "by_hand")
Result = dict[str, Any]
sys.path.insert(0, str(ROOT))


def add_options(parser: argparse.ArgumentParser) -> None:
    """What to run, so that a part can be run alone."""
    every = [name for names in GROUPS.values() for name in names]
    told = f"names or groups ({', '.join(GROUPS)}); by default all: {', '.join(every)}"
    parser.add_argument("--rows", nargs="+", default=list(GROUPS), choices=[*GROUPS, *every], metavar="ROW", help=told)
    parser.add_argument("--rivals", nargs="*", default=list(RIVALS), choices=RIVALS, help="by default all")
    parser.add_argument("--seeds", nargs="+", type=int, default=[0, 1, 2], metavar="SEED")
    parser.add_argument("--search-time", choices=["quick", "normal", "thorough"], default="normal")
    parser.add_argument("--rival-seconds", type=float, help="for each rival; by default as long as ours took")
    parser.add_argument(
        "--worst-share", action="store_true", help="end ours once the worst share is proved or given up"
    )
    parser.add_argument("--busy", type=int, default=0, help="processes at work beside the run that has to be the same")
    parser.add_argument("--against", type=Path, metavar="PATH", help="another checkout, whose planner is a rival too")


def rows(options: argparse.Namespace) -> list[Result]:
    """A row for each problem and rival."""
    found = []
    for name in (name for chosen in options.rows for name in GROUPS.get(chosen, (chosen,))):
        if name.startswith("repair "):
            found.append(_repair_row(name, options))
        elif name.startswith("explain "):
            ours = _medians([_alone("explain", name, 0.0, seed) for seed in options.seeds])
            found.append({"name": name, "ours_ms": ours.pop("seconds") * 1000} | ours)
        else:
            found += _rival_rows(name, options)
    return found


def _rival_rows(name: str, options: argparse.Namespace) -> list[Result]:
    """Ours and each rival by turns, seed after seed, so that what else the machine does meets all of them alike."""
    rivals = [rival for rival in options.rivals if rival != "before" or options.against is not None]
    asked = "worst_share" if options.worst_share else "ours"
    ours: list[Result] = []
    theirs: dict[str, list[Result]] = {rival: [] for rival in rivals}
    for seed in options.seeds:
        ours.append(_alone(asked, name, 0.0, seed, options.search_time))
        seconds = options.rival_seconds or ours[-1]["seconds"]
        for rival in rivals:
            what, checkout = (asked, options.against.resolve()) if rival == "before" else (rival, ROOT)
            theirs[rival].append(_alone(what, name, seconds, seed, options.search_time, checkout))
    with _busy(options.busy):
        again = _alone(asked, name, 0.0, options.seeds[0], options.search_time)
    mine = _medians(ours) | {"repeatable": again["plan"] == ours[0]["plan"]}
    found = [_row(name, rival, mine, _medians(results)) for rival, results in theirs.items()]
    return found or [{"name": name, "ours_ms": mine["seconds"] * 1000} | mine]


@contextmanager
def _busy(processes: int) -> Iterator[None]:
    """So many other processes at work meanwhile."""
    working = [subprocess.Popen([sys.executable, "-c", "while True: pass"]) for _ in range(processes)]
    try:
        yield
    finally:
        for one in working:
            one.kill()
            one.wait()


def _repair_row(name: str, options: argparse.Namespace) -> Result:
    ours = _medians([_alone("repair", name, 0.0, seed) for seed in options.seeds])
    theirs = _alone("repair_cp_sat", name, max(10.0, ours["seconds"]), 0)
    return _row(name, "cp_sat", ours, theirs)


def _medians(results: list[Result]) -> Result:
    """Medians of the numbers; of words and missing values the one that differs from the first run, if any does."""
    found = {}
    for key, first in results[0].items():
        values = [result[key] for result in results]
        numbers = all(isinstance(value, int | float) and not isinstance(value, bool) for value in values)
        found[key] = statistics.median(values) if numbers else next((v for v in values if v != first), first)
    found.pop("plan", None)
    if found.get("best_possible") and found.get("worst_share") is not None:
        found["gap"] = max(0.0, 1.0 - found["worst_share"] / found["best_possible"])
    return found


def _row(name: str, rival: str, ours: Result, theirs: Result) -> Result:
    row = {"name": f"{name} against {rival}", "ours_ms": ours["seconds"] * 1000, "rival_ms": theirs["seconds"] * 1000}
    ours = {key: value for key, value in ours.items() if key != "seconds"}
    return row | ours | {f"rival_{key}": value for key, value in theirs.items() if key != "seconds"}


def _alone(
    what: str, name: str, seconds: float, seed: int, search_time: str = "normal", checkout: Path = ROOT
) -> Result:
    """Run one in a process of its own; its seconds leave out the start of the process."""
    from trips.core.rota.files.problem_file import read_problem

    (path,) = (
        folder / f"{name.split()[-1]}.json" for folder in FOLDERS if (folder / f"{name.split()[-1]}.json").exists()
    )
    command = [
        sys.executable,
        str(Path(__file__).with_name("rota_runs.py")),
        what,
        str(seconds),
        str(seed),
        search_time,
    ]
    problem = read_problem(path.read_text())
    values = {field.name: getattr(problem, field.name) for field in fields(problem)}  # another checkout has other ones
    done = subprocess.run([*command, str(checkout)], input=pickle.dumps(values), capture_output=True, check=False)
    if done.returncode:
        raise RuntimeError(f"{what} on {name}: {done.stderr.decode()[-2000:]}")
    result: Result = json.loads(next(line for line in done.stdout.splitlines() if line.startswith(b"{")))
    return result
