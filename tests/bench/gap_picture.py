"""Draw how the gap closes on the demo, for docs/rota.md: `python tests/bench/gap_picture.py`."""

import sys
from pathlib import Path
from time import monotonic

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from trips.core.rota.files.problem_file import read_problem  # noqa: E402
from trips.core.rota.model.cp_sat import StopSignal  # noqa: E402
from trips.core.rota.search.outcome import Progress  # noqa: E402
from trips.core.rota.search.solve import solve  # noqa: E402
from trips.documents.drawings import closing_drawing  # noqa: E402

GREY = "#777"  # to be read on a light page and on a dark one


def main() -> None:
    """Plan the demo at the normal search time, and draw what was found and possible second by second."""
    from ortools.sat.python import cp_model  # noqa: F401  loaded before the clock begins

    problem = read_problem((ROOT / "tests/core/rota/trips/demo.json").read_text())
    steps: list[tuple[float, float, float]] = []
    stop = StopSignal(clock=monotonic)

    def told(progress: Progress) -> None:
        steps.append((stop.seconds(), progress.worst_share, progress.bound))

    outcome = solve(problem, progress=told, stop=stop)
    steps.append((outcome.seconds, outcome.worst_share, outcome.bound))
    drawing = closing_drawing(steps, outcome.seconds).replace(' fill="none"', f' fill="none" color="{GREY}"', 1)
    (ROOT / "docs/rota_gap.svg").write_text(drawing + "\n")
    print(f"{outcome.status}: found {outcome.worst_share:.4f}, best possible {outcome.bound:.4f}")


if __name__ == "__main__":
    main()
