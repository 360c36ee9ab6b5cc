"""A problem written as a file reads back as the same problem, whatever rules it uses and whatever its names are."""

from dataclasses import replace
from pathlib import Path
from random import Random

import pytest

from tests.core.rota.solver_cases import a_problem, random_problem
from trips.core.rota.check.checker import check
from trips.core.rota.files.digests import inputs_digest, rules_digest
from trips.core.rota.files.problem_file import read_problem
from trips.core.rota.files.problem_text import anonymous, problem_text
from trips.core.rota.problem.values import LEADER, Pin, Plan, Problem, ProblemHide, ProblemSeat, Turn
from trips.core.rota.search.outcome import SearchTime
from trips.core.rota.search.solve import solve

TRIPS = sorted((Path(__file__).parents[1] / "trips").glob("*.json"))


def repaired() -> Problem:
    """A repair that uses whatever a repair can use."""
    turns = (Turn(0, 0, 0, 1, stays=True), Turn(LEADER, 0, 1), Turn(1, 0, 1, 10_000, part=2))
    base = a_problem(2, 3, (2, 1), pins=(Pin(LEADER, 1, 1), Pin(0, 2, 0, 1)), kinds=("late", "early", "midday"))
    seats = (ProblemSeat("left", 5), ProblemSeat("right", 1, out_from=2))
    return replace(
        base,
        hides=(replace(base.hides[0], seats=seats), base.hides[1]),
        issued=Plan(turns, ((1, 1),)),
        past=1,
        frozen=frozenset({(1, 1)}),
        repair="few",
        best_alone=(88.1, 0.1 + 0.2),
        stays=frozenset({(0, 0, 0)}),
        good=frozenset({(1, 2, 1)}),
        cannot_then=frozenset({(1, 1, 0), (LEADER, 2, 0)}),
        possible=frozenset({(2, 1)}),
        owed=frozenset({(1, 1)}),
        rests_allowed=(0, 1, 0),
    )


def in_use(problem: Problem) -> tuple[ProblemHide, ...]:
    """The hides; a seat that goes out of use after the last session is in use."""
    last = len(problem.sessions)
    return tuple(
        replace(hide, seats=tuple(replace(s, out_from=None) if s.out_from == last else s for s in hide.seats))
        for hide in problem.hides
    )


@pytest.mark.parametrize("problem", [repaired(), *(random_problem(Random(seed)) for seed in range(40))])
def test_what_is_written_reads_back_as_the_same_problem(problem: Problem) -> None:
    pins = tuple(sorted(problem.pins, key=lambda pin: (pin.session, pin.person)))
    assert read_problem(problem_text(problem)) == replace(problem, pins=pins, hides=in_use(problem))


@pytest.mark.parametrize("path", TRIPS, ids=lambda path: path.stem)
def test_every_real_trip_opens_and_is_written_as_it_was(path: Path) -> None:
    problem = read_problem(path.read_text())
    assert problem.name == path.stem
    assert problem_text(problem) == path.read_text()
    assert problem_text(anonymous(problem)) == path.read_text().replace(f'"name":"{path.stem}"', '"name":"trip"', 1)


def test_names_that_no_file_can_hold_are_changed_and_stay_apart() -> None:
    problem = replace(a_problem(4, 1, (2, 2)), people=("Ana", "Ana", "Ana (2)", "\n"), sessions=("a\x07b",))
    read = read_problem(problem_text(problem))
    assert read.people == ("Ana", "Ana (2)", "Ana (2) (2)", "person 4")
    assert read.sessions == ("a b",)


def test_a_problem_without_names_names_nothing_and_is_the_same_rota() -> None:
    problem = replace(
        repaired(), name="Kites in May", people=("Ana Ruiz", "Bo"), sessions=("Sat", "Sun", "Mon"), notes={"Ana": "x"}
    )
    hides = tuple(replace(hide, name=name) for hide, name in zip(problem.hides, ("Alder", "Birch"), strict=True))
    text = problem_text(anonymous(replace(problem, hides=hides)))
    for name in ("Kites", "Ana", "Ruiz", "Bo", "Sat", "Sun", "Mon", "Alder", "Birch", "left", "right"):
        assert f'"{name}' not in text
    assert rules_digest(read_problem(text)) == rules_digest(problem)
    assert inputs_digest(read_problem(text)) != inputs_digest(problem)


@pytest.mark.parametrize("name", ["four", "five"])
def test_a_real_trip_is_planned_and_the_checker_accepts_it(name: str) -> None:
    problem = next(read_problem(path.read_text()) for path in TRIPS if path.stem == name)
    outcome = solve(problem, search_time=SearchTime.QUICK)
    assert outcome.plan is not None
    assert check(problem, outcome.plan).is_sound
