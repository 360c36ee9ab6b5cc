from dataclasses import asdict
from time import monotonic
from typing import Any

from django.core.management.base import CommandParser

from participants.core.errors import BadShape
from trips.core.rota.check.checker import check
from trips.core.rota.explain.counting import count_conflicts
from trips.core.rota.explain.explain import explain
from trips.core.rota.files.answer_file import Finding, answer_data
from trips.core.rota.files.problem_file import read_problem
from trips.core.rota.model.cp_sat import StopSignal
from trips.core.rota.problem.values import Problem
from trips.core.rota.search.outcome import IMPOSSIBLE, Outcome
from trips.core.rota.search.solve import solve
from trips.documents.wording.rota_names import names_of
from trips.documents.wording.rota_reasons import refusal_sentences
from trips.documents.wording.rota_refusals import bad_shape_sentence
from trips.management.plain_command import IMPOSSIBLE as IMPOSSIBLE_CODE
from trips.management.plain_command import NOTHING_FOUND, Refusal, read_bytes
from trips.management.quiet_solver import greet_unheard
from trips.management.rota_commands import RotaCommand, no_rota_sentence

MOST_BYTES = 50_000_000  # far beyond the largest trip: refused before it fills the memory


class Command(RotaCommand):
    """Plan a rota for a problem file and print it; no database is needed."""

    examples = ("problem.json",)

    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", metavar="FILE", help="the problem as JSON (- for standard input)")
        self.add_planner_arguments(parser)

    def handle(self, *args: Any, **options: Any) -> None:
        problem = read_file(options["file"])
        if count_conflicts(problem):
            raise impossible(problem)
        greet_unheard()
        outcome = solve(
            problem,
            seed=options["seed"],
            search_time=self.search_time(options),
            stop=StopSignal(at_most_seconds=options["at_most_seconds"], clock=monotonic),
        )
        if outcome.status == IMPOSSIBLE:
            raise impossible(problem)
        if outcome.plan is None:
            raise Refusal("No rota was found in the time given; none was ruled out.", returncode=NOTHING_FOUND)
        faults = check(problem, outcome.plan).faults
        if faults:
            raise Refusal(
                "The planner made a rota that the checker rejects: nothing is told.", returncode=NOTHING_FOUND
            )
        self.tell_answer(problem, outcome, options)

    def tell_answer(self, problem: Problem, outcome: Outcome, options: dict[str, Any]) -> None:
        """Print the answer as one JSON object, or as a table for people."""
        stages = tuple(asdict(stage) for stage in outcome.stages)
        finding = Finding(outcome.status, outcome.bound, stages, outcome.seconds)
        assert outcome.plan is not None
        data = answer_data(problem, outcome.plan, finding)
        if options["json"]:
            self.write_json(data)
        else:
            self.write_table(data)


def read_file(name: str) -> Problem:
    """The problem in a file. Refuses what is no problem with path, value and reason."""
    content = read_bytes(name, at_most=MOST_BYTES)
    if len(content) > MOST_BYTES:
        raise Refusal(f"{name} is larger than {MOST_BYTES // 1_000_000} MB.")
    try:
        return read_problem(content.decode("utf-8"))
    except UnicodeDecodeError as wrong:
        raise Refusal(f"{name} is not UTF-8 text.") from wrong
    except BadShape as wrong:
        raise Refusal(f"{name}: {bad_shape_sentence(wrong)}") from wrong


def impossible(problem: Problem) -> Refusal:
    """Why no plan keeps all rules."""
    sentences = refusal_sentences(explain(problem), names_of(problem))
    return Refusal(no_rota_sentence(sentences), returncode=IMPOSSIBLE_CODE)
