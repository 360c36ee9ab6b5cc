"""What the commands about rotas share: the planner's options, its runs, and how a rota is printed."""

import json
from argparse import ArgumentTypeError
from collections.abc import Callable
from contextlib import suppress
from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from participants.core.errors import CoreError
from trips.assemble.rota_result import stored_rota
from trips.core.rota.files.answer_file import Finding, answer_data
from trips.core.rota.search.outcome import SearchTime
from trips.documents.rota_page import stage_lines
from trips.documents.wording.rota_names import starting
from trips.documents.wording.rota_refusals import rota_refusal
from trips.management.plain_command import IMPOSSIBLE, NOTHING_FOUND, PlainCommand, Refusal
from trips.management.quiet_solver import greet_unheard
from trips.models import Making, MakingState, Session, Trip
from trips.selectors.making import stage_words
from trips.services.making import NothingIssued, NothingToPlan, Wanted, making_open
from trips.services.making_run import making_run

MOST_SEED = 2**31 - 1  # what the solver and both databases take
MOST_EFFORT = 10_000  # as the older option had it
MOST_NUMBER = 2**31 - 1  # what both databases store


class RotaCommand(PlainCommand):
    """A command that plans, explains or judges rotas."""

    def add_planner_arguments(self, parser: CommandParser, search_time: str = "normal") -> None:
        """The options of every planning command."""
        self.add_search_time_argument(parser, search_time)
        another = "another draw number may give another rota of the same worth"
        parser.add_argument("--seed", type=whole(0, MOST_SEED), default=0, help=another)
        parser.add_argument("--at-most-seconds", type=seconds, help="end the run early; the rota then says so")
        parser.add_argument("--json", action="store_true", help="print one JSON object")

    def add_search_time_argument(self, parser: CommandParser, otherwise: str = "normal") -> None:
        """The option of every command that searches; `otherwise`: what it is without it."""
        told = f"how long to search: about 5 seconds, up to a minute, until proved; by default {otherwise}"
        parser.add_argument("--search-time", choices=[time.value for time in SearchTime], default="", help=told)
        parser.add_argument("--effort", type=whole(1, MOST_EFFORT), help="an older word for --search-time")

    def search_time(self, options: dict[str, Any], otherwise: SearchTime = SearchTime.NORMAL) -> SearchTime:
        """The search time asked for; a number of effort is read as one, and stderr says so."""
        if options["search_time"] and options["effort"]:
            raise Refusal("--search-time takes the place of --effort: say one of the two.")
        if options["effort"]:
            found = SearchTime.of_effort(options["effort"])
            self.stderr.write(f"--effort is replaced by --search-time: {options['effort']} is read as {found}.")
            return found
        return SearchTime(options["search_time"]) if options["search_time"] else otherwise

    def run_planner(self, trip: Trip, wanted: Wanted, options: dict[str, Any]) -> Making:
        """Plan here and now; refuses while another run of the trip is under way."""
        try:
            making, is_new = making_open(trip=trip, wanted=wanted, by=None, now=timezone.now())
        except (NothingToPlan, NothingIssued) as nothing:
            raise self.refusal(nothing) from nothing
        if not is_new:
            raise Refusal(f"A rota of {trip.name!r} is being made already; wait for it or cancel it.")
        greet_unheard()
        made = making_run(making_uuid=making.uuid, at_most_seconds=options["at_most_seconds"])
        if made.state == MakingState.IMPOSSIBLE:
            raise Refusal(no_rota_sentence(made.explanation["leader"]), returncode=IMPOSSIBLE)
        if made.state == MakingState.TRIP_CHANGED:
            raise Refusal(" ".join(made.explanation["leader"]))
        if made.state == MakingState.NOT_FINISHED:
            raise Refusal("The run was silent for too long and was given up; another may be under way by now.")
        if made.rota is None:
            raise Refusal("No rota was found in the time given; none was ruled out.", returncode=NOTHING_FOUND)
        return made

    def tell(self, made: Making, options: dict[str, Any]) -> None:
        """Print the draft that a run made."""
        assert made.rota is not None
        stored = stored_rota(made.rota)
        result = made.rota.result
        bound = 1.0 if result["bound"] is None else result["bound"]
        finding = Finding(result["status"], bound, tuple(result["stages"]), made.rota.seconds or 0.0)
        data = answer_data(stored.inputs.problem, stored.plan, finding)
        head = {
            "trip": str(made.trip.uuid),
            "rota": made.rota.number,
            "seed": made.rota.seed,
            "search_time": made.rota.search_time,
            "solver_version": made.rota.solver_version,
            "rules_digest": made.rota.rules_digest,
            "inputs_digest": made.rota.inputs_digest,
            "told": result["told"],
        }
        if options["json"]:
            self.write_json(head | data)
            return
        self.stdout.write(f"Draft {made.rota.number} of {made.trip.name}, draw number {made.rota.seed}.")
        for part in ("counts", "guarantee", "points"):
            self.stdout.write("\n".join(result["told"][part]))
        self.write_table(data)

    def write_json(self, data: dict[str, Any]) -> None:
        """One object, keys in their order."""
        self.stdout.write(json.dumps(data, ensure_ascii=False, indent=1))

    def write_table(self, data: dict[str, Any]) -> None:
        """Sessions, hides and people for reading."""
        for session, hides in data["turns"].items():
            seated = "; ".join(f"{hide}: {', '.join(people)}" for hide, people in hides.items())
            leader = f"; leader: {data['leader'][session]}" if session in data["leader"] else ""
            resting = [person for person, when in data["rests"] if when == session]
            rests = f"; rests: {', '.join(resting)}" if resting else ""
            self.stdout.write(f"{session}: {seated}{leader}{rests}")
        self.stdout.write(
            f"Lowest fair share {data['worst_share']:.4f}, best possible {data['bound']:.4f} "
            f"({data['status'].replace('_', ' ')}; {data['seconds']:.1f} s)."
        )
        for stage in stage_lines(data["stages"]):
            if stage.value is not None:
                limit = "not looked for" if stage.bound is None else f"{round(stage.bound, 4):g}"
                words = stage_words(stage.name)
                self.stdout.write(f"{starting(words)}: {round(stage.value, 4):g}, best possible {limit}.")

    def refusal(self, error: CoreError) -> Refusal:
        """The sentence for what a service refuses."""
        if isinstance(error, NothingIssued):
            return Refusal(f"The trip {error.trip.name!r} has no issued rota to repair: issue one first.")
        return Refusal(rota_refusal(error))


def no_rota_sentence(sentences: list[str]) -> str:
    """The whole explanation on one line."""
    return f"No rota keeps all rules. {' '.join(sentences)}"


def session_named(trip: Trip, named: str) -> Session:
    """A session by uuid, by name, or by its place in the trip (1 = the first)."""
    sessions = list(trip.sessions.select_related("site"))
    for index, session in enumerate(sessions, start=1):
        if named in (str(session.uuid), session.name, str(index)):
            return session
    raise Refusal(f"The trip has no session {named!r}; give a uuid, a name or a number from 1 to {len(sessions)}.")


def whole(least: int, most: int) -> Callable[[str], int]:
    """What reads a whole number from `least` to `most`."""

    def read(text: str) -> int:
        with suppress(ValueError):
            if least <= int(text) <= most:
                return int(text)
        raise ArgumentTypeError(f"{text!r} is no whole number from {least} to {most}")

    return read


def seconds(text: str) -> float:
    """A number of seconds above 0."""
    with suppress(ValueError):
        if 0 < float(text) < float("inf"):
            return float(text)
    raise ArgumentTypeError(f"{text!r} is no number of seconds above 0")
