"""The commands about rotas, as separate processes: what they print, and the number they end with."""

import json
import sqlite3
from io import StringIO
from pathlib import Path

import pytest

from tests.trips.own_database import OwnDatabase
from tests.trips.rota_trips import estate, planned
from trips.core.rota.check.checker import check
from trips.core.rota.files.problem_file import read_problem
from trips.core.rota.problem.values import Plan, Problem, Turn
from trips.management.rota_commands import RotaCommand
from trips.models import Making

DATA = Path(__file__).resolve().parents[1] / "core" / "rota" / "data"
ANSWER_KEYS = [
    "status",
    "worst_share",
    "bound",
    "gap",
    "total_of_shares",
    "shares",
    "pairs_met",
    "turns",
    "leader",
    "rests",
    "stages",
    "seconds",
]


@pytest.fixture(scope="module")
def own(tmp_path_factory: pytest.TempPathFactory) -> OwnDatabase:
    """Two trips: one that can be planned, and one with a seat too few."""
    database = OwnDatabase(tmp_path_factory.mktemp("commands"))
    database.program(
        "from tests.trips.rota_trips import estate\n"
        "good = estate(people=4, seats=(2, 2, 1), sessions=4, leader_policy='never')\n"
        "good.name = 'Good'\ngood.save()\n"
        "tight = estate(people=6, seats=(2, 2, 1), sessions=1)\ntight.name = 'Tight'\ntight.save()\nanswer = 0"
    )
    return database


def plan_in(problem: Problem, data: dict[str, object]) -> Plan:
    """The plan of a printed answer."""
    hides = {hide.name: index for index, hide in enumerate(problem.hides)}
    turns = [
        Turn(problem.people.index(person), problem.sessions.index(session), hides[hide])
        for session, seated in data["turns"].items()  # type: ignore[attr-defined]
        for hide, people in seated.items()
        for person in people
    ]
    leading = [
        Turn(-1, problem.sessions.index(session), hides[hide])
        for session, hide in data["leader"].items()  # type: ignore[attr-defined]
    ]
    return Plan(tuple(turns + leading))


def test_a_problem_file_is_planned_without_a_database_and_printed_as_one_object(own: OwnDatabase) -> None:
    path = DATA / "tiny-4x3x3-23.json"
    nowhere = OwnDatabase.__new__(OwnDatabase)
    nowhere.environment = {**own.environment, "DATABASE_URL": "sqlite:////nowhere/at/all.sqlite3"}
    done = nowhere.manage("solve_problem", str(path), "--json", "--seed", "2")
    assert (done.returncode, done.stderr) == (0, "")
    data = json.loads(done.stdout)
    assert list(data) == ANSWER_KEYS
    optimum = json.loads(path.read_text())["optimum"]
    assert data["worst_share"] == pytest.approx(optimum["worst_share"], abs=1e-5)
    assert data["total_of_shares"] == pytest.approx(optimum["total_of_shares"], abs=1e-5)
    assert data["bound"] >= data["worst_share"]
    problem = read_problem(path.read_text())
    assert check(problem, plan_in(problem, data)).is_sound
    again = json.loads(nowhere.manage("solve_problem", "-", "--json", "--seed", "2", given=path.read_text()).stdout)
    del again["seconds"], data["seconds"]
    assert json.dumps(again) == json.dumps(data)


def printed(made: Making, *, as_json: bool) -> str:
    """What a command prints of a run, in this process."""
    out = StringIO()
    RotaCommand(stdout=out).tell(made, {"json": as_json})
    return out.getvalue()


@pytest.mark.django_db
def test_a_bound_of_nothing_is_printed_as_it_is_and_claims_no_more_than_the_guarantee() -> None:
    rota = planned(estate(leader_policy="coaching"))
    made = Making.objects.get(rota=rota)
    made.rota.result["bound"] = 0.0
    made.rota.result["stages"][-1] |= {"name": "burden_excess", "value": 2.0, "bound": None}
    data = json.loads(printed(made, as_json=True))
    assert data["bound"] == data["worst_share"] < 1.0
    told = printed(made, as_json=False)
    assert f"Lowest fair share {data['worst_share']:.4f}, best possible {data['bound']:.4f} (" in told
    assert rota.result["told"]["guarantee"][-1] in told
    assert "is possible" not in told
    assert "Hardships spread evenly: 2, best possible not looked for." in told
    assert data["stages"][-1]["bound"] is None


@pytest.mark.parametrize(
    ("text", "words"), [("{", "not JSON"), ('{"surprise": 1}', "surprise is 'surprise': there is no such key")]
)
def test_a_bad_problem_file_ends_with_two_and_one_plain_sentence(own: OwnDatabase, text: str, words: str) -> None:
    done = own.manage("solve_problem", "-", given=text)
    assert done.returncode == 2
    assert words in done.stderr
    assert done.stdout == ""
    assert len(done.stderr.strip().splitlines()) == 1
    assert "Traceback" not in done.stderr


def test_values_out_of_range_are_named_with_path_value_and_reason(own: OwnDatabase) -> None:
    data = json.loads((DATA / "tiny-3x3x2-26.json").read_text())
    data["hides"][1]["capacity"] = -2
    done = own.manage("solve_problem", "-", given=json.dumps(data))
    assert (done.returncode, done.stderr.strip()) == (2, "-: hides[1].capacity is -2: this number is out of range.")


def test_a_name_that_cannot_be_printed_ends_with_two_and_one_plain_sentence(own: OwnDatabase) -> None:
    data = json.loads((DATA / "tiny-3x3x2-26.json").read_text())
    data["people"][0] = "A\ud800"
    done = own.manage("solve_problem", "-", given=json.dumps(data))
    assert (done.returncode, done.stdout) == (2, "")
    told = r"-: people[0] is 'A\ud800': a name is one line, without characters that cannot be printed."
    assert done.stderr.strip() == told


def test_an_impossible_problem_file_ends_with_one_and_says_why(own: OwnDatabase) -> None:
    data = json.loads((DATA / "tiny-4x2x3-28.json").read_text())
    data["hides"] = [{**hide, "capacity": 1} for hide in data["hides"]]
    done = own.manage("solve_problem", "-", "--json", given=json.dumps(data))
    assert (done.returncode, done.stdout) == (1, "")
    assert "4 people, 2 seats, 2 short" in done.stderr


def test_no_time_at_all_ends_with_three_or_a_plan_that_says_stopped_early(own: OwnDatabase) -> None:
    path = DATA / "40x15x24-1.json"
    done = own.manage("solve_problem", str(path), "--json", "--at-most-seconds", "0.01")
    assert done.returncode in (0, 3)
    if done.returncode == 3:
        assert "none was ruled out" in done.stderr
    else:
        assert json.loads(done.stdout)["status"] == "stopped_early"


ENDS = """
import contextlib, io
from django.core.management import execute_from_command_line
answer = []
for command in {commands!r}:
    said = io.StringIO()
    with contextlib.redirect_stderr(said), contextlib.redirect_stdout(said):
        try:
            execute_from_command_line(["manage.py", *command])
            answer.append([0, ""])
        except SystemExit as ended:
            answer.append([ended.code, said.getvalue()])
"""


def test_bad_options_and_names_end_with_two_and_one_sentence(own: OwnDatabase) -> None:
    problem = str(DATA / "tiny-3x3x2-26.json")
    commands = [["solve_problem", problem, *option] for option in OPTIONS]
    commands += [
        ["solve_problem"],
        ["solve_problem", "/no/such/file"],
        ["plan", "No such trip"],
        ["check_rota", "Tight"],
    ]
    commands += [["replan", "Good"], ["check_rota", "Good", "--number", "9"], ["explain", "Nothing"]]
    commands += [
        ["explain", "Good", "--search-time", "long"],
        ["replan", "Good", "--changes", "all"],
        ["load_demo", "--at"],
    ]
    ends = own.program(ENDS.format(commands=commands))
    assert [code for code, _ in ends] == [2] * len(commands), ends
    for _, said in ends:
        assert len(said.strip().splitlines()) == 1
        assert said[:1].isupper() or said.startswith("/no/such/file")
        assert said.strip().endswith(".")
        assert "usage" not in said
    assert dict(zip(OPTIONS, (said.strip() for _, said in ends), strict=False)) == OPTIONS


OPTIONS = {
    ("--effort", "0"): "Argument --effort: '0' is no whole number from 1 to 10000.",
    ("--seed", "-1"): "Argument --seed: '-1' is no whole number from 0 to 2147483647.",
    ("--at-most-seconds", "nan"): "Argument --at-most-seconds: 'nan' is no number of seconds above 0.",
    ("--colour", "red"): "Unrecognized arguments: --colour red.",
}


def test_a_trip_is_planned_checked_issued_broken_by_hand_and_found_out(own: OwnDatabase) -> None:
    plan = own.manage("plan", "Good", "--search-time", "quick", "--seed", "4", "--json")
    assert plan.returncode == 0, plan.stderr
    data = json.loads(plan.stdout)
    assert (data["rota"], data["seed"], data["search_time"]) == (1, 4, "quick")
    assert list(data)[-1] == "seconds"
    assert data["told"]["counts"]
    checked = own.manage("check_rota", "Good")
    assert (checked.returncode, checked.stderr) == (0, "")
    assert checked.stdout.startswith("Rota 1 (draft) keeps all rules.")
    hide, person = _move_into_a_full_hide(own.path)
    broken = own.manage("check_rota", "Good", "--number", "1")
    assert broken.returncode == 1
    assert hide in broken.stderr
    assert person in broken.stderr
    assert "Traceback" not in broken.stderr


def _move_into_a_full_hide(path: Path) -> tuple[str, str]:
    """Move one turn into a hide that is full in that session, past every check of the house."""
    with sqlite3.connect(path) as database:
        session, full = database.execute(
            "SELECT session_id, hide_id FROM trips_turn GROUP BY session_id, hide_id HAVING COUNT(*) = 2 LIMIT 1"
        ).fetchone()
        turn, person = database.execute(
            "SELECT t.id, p.name FROM trips_turn t JOIN trips_place l ON l.id = t.place_id "
            "JOIN participants_participant p ON p.id = l.participant_id WHERE t.session_id = ? AND t.hide_id != ?",
            (session, full),
        ).fetchone()
        database.execute("UPDATE trips_turn SET hide_id = ? WHERE id = ?", (full, turn))
        name = database.execute("SELECT name FROM trips_hide WHERE id = ?", (full,)).fetchone()[0]
        return str(name), str(person)


def test_a_trip_with_a_seat_too_few_is_explained(own: OwnDatabase) -> None:
    told = own.manage("explain", "Tight")
    assert told.returncode == 1
    assert "6 people, 5 seats, 1 short" in told.stdout
    assert told.stderr.strip() == "No rota can keep all rules of this trip."
    plan = own.manage("plan", "Tight")
    assert (plan.returncode, plan.stdout) == (1, "")
    assert "1 short" in plan.stderr


def test_an_issued_rota_is_repaired_from_a_session_on(own: OwnDatabase) -> None:
    made = own.program(
        "from datetime import datetime, UTC\nfrom tests.trips.rota_trips import estate, planned\n"
        "from trips.services.rota import rota_issue\nfrom trips.models import SessionHide\n"
        "from tests import factories\nleader = factories.leader(username='another')\n"
        "trip = estate(leader=leader, people=4, seats=(2, 2, 2), sessions=4)\ntrip.name = 'Repair'\ntrip.save()\n"
        "rota_issue(rota=planned(trip), by=None, now=datetime(2027, 4, 1, tzinfo=UTC))\n"
        "hide = trip.sites.get().hides.get(name='Cedar')\n"
        "[SessionHide.objects.create(session=s, hide=hide, state='unavailable') for s in trip.sessions.all()[2:]]\n"
        "answer = [s.name or str(s.uuid) for s in trip.sessions.all()]"
    )
    done = own.manage("replan", "Repair", "--from", made[2], "--json")
    assert done.returncode == 0, done.stderr
    data = json.loads(done.stdout)
    assert data["stages"][0]["name"] == "changes"
    sessions = list(data["turns"].values())
    assert all("Cedar" not in hides for hides in sessions[2:])
    assert own.manage("check_rota", "Repair", "--number", "2").returncode == 0
