"""Problem files are read whole or refused with path, value and reason."""

import json
import re
import sys
from dataclasses import fields
from pathlib import Path
from typing import Any
from unicodedata import category

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from participants.core.errors import BadShape
from trips.core.rota.files.problem_file import REASONS, read_problem
from trips.core.rota.files.problem_schema import NOT_PRINTED, PROBLEM_SCHEMA
from trips.core.rota.problem.values import Pin, Problem
from trips.documents.wording.rota_refusals import REASONS as WORDS
from trips.documents.wording.rota_refusals import bad_shape_sentence

DATA = Path(__file__).parents[1] / "data"


def sample(**changes: Any) -> dict[str, Any]:
    """A small problem as JSON data."""
    data = {
        "name": "two",
        "people": ["Ada", "Ben"],
        "sessions": ["S1", "S2"],
        "hides": [
            {"name": "Alder", "capacity": 1, "minimum_people": 1},
            {"name": "Birch", "capacity": 2, "minimum_people": 0},
        ],
        "open_hides_at_once": 2,
        "visits_at_most": None,
        "never_twice_running": False,
        "leader": "never",
        "tolerance": 0,
        "closed": [["S1", "Birch"]],
        "absent": [["Ben", "S1"]],
        "cannot": [],
        "together": [],
        "apart": [["Ben", "Ada"]],
        "pins": [["Ada", "S1", "Alder"]],
        "points": [[[1, 2], [3, 4.5]], [[5, 6], [7, 100]]],
        "visit_loss": [0, 0.4],
    }
    return {**data, **changes}


def problem_from(data: dict[str, Any]) -> Problem:
    """The problem in JSON data, by way of the text."""
    return read_problem(json.dumps(data))


def test_a_file_becomes_a_problem_of_indices() -> None:
    problem = problem_from(
        sample(
            joined=[["Birch", ["S2", "S1"]]],
            in_demand=["Birch"],
            rests_allowed=[["S2", 1]],
            no_loss=[["Ada", "Birch"]],
            owed=[["Ben", "Alder"]],
            want_mixing=True,
            sharers=[["Ben", "Ada", "S2"]],
        )
    )
    assert problem.people == ("Ada", "Ben")
    assert [len(hide.seats) for hide in problem.hides] == [1, 2]
    assert problem.points[1][1] == (7.0, 100.0)
    assert problem.closed == {(0, 1)}
    assert problem.absent == {(1, 0)}
    assert problem.apart == ((0, 1),)
    assert problem.pins == (Pin(0, 0, 0),)
    assert problem.joined == ((1, (0, 1)),)
    assert problem.in_demand == (1,)
    assert problem.rests_allowed == (0, 1)
    assert problem.no_loss == {(0, 1)}
    assert problem.owed == {(1, 0)}
    assert problem.want_mixing
    assert problem.sharers == {(0, 1, 1)}
    assert problem.visits_at_most is None
    assert problem.consecutive_turns_at_most is None


@pytest.mark.parametrize("path", sorted(DATA.glob("*.json")), ids=lambda path: path.stem)
def test_every_problem_of_the_collection_is_read(path: Path) -> None:
    problem = read_problem(path.read_text())
    assert problem.name == path.stem
    assert len(problem.points) == len(problem.people)


FAULTS: list[tuple[dict[str, Any], str, str]] = [
    ({"surprise": 1}, "surprise", "unknown_key"),
    ({"people": "Ada"}, "people", "not_a_list"),
    ({"people": ["Ada", "Ada"]}, "people[1]", "name_twice"),
    ({"people": ["Ada", ""]}, "people[1]", "not_a_name"),
    ({"people": ["Ada", 7]}, "people[1]", "not_a_name"),
    ({"people": ["Ada", "A\ud800"]}, "people[1]", "not_printable"),
    ({"people": ["Ada", "Ben\nCleo"]}, "people[1]", "not_printable"),
    ({"name": "a\u2028b"}, "name", "not_printable"),
    ({"sessions": ["S1\x07", "S2"]}, "sessions[0]", "not_printable"),
    ({"hides": [{"name": "Al\tder", "capacity": 1, "minimum_people": 1}]}, "hides[0].name", "not_printable"),
    ({"joined": [["Alder", ["S1", "S\r2"]]]}, "joined[0][1][1]", "not_printable"),
    ({"people": ["Ada"]}, "points", "wrong_length"),
    ({"people": ["Ada", "Ben", "Cleo"]}, "points", "wrong_length"),
    ({"hides": {}}, "hides", "not_a_list"),
    ({"hides": ["Alder"]}, "hides[0]", "not_an_object"),
    ({"hides": [{"name": "Alder", "capacity": -1, "minimum_people": 1}]}, "hides[0].capacity", "out_of_range"),
    ({"hides": [{"name": "Alder", "capacity": 1.5, "minimum_people": 1}]}, "hides[0].capacity", "not_a_whole_number"),
    ({"hides": [{"name": "Alder", "capacity": True, "minimum_people": 1}]}, "hides[0].capacity", "not_a_whole_number"),
    ({"hides": [{"name": "Alder", "minimum_people": 1}]}, "hides[0].capacity", "missing"),
    ({"hides": [{"name": "A", "capacity": 1, "minimum_people": 1, "roof": 2}]}, "hides[0].roof", "unknown_key"),
    ({"hides": [{"name": "A", "capacity": 1, "minimum_people": -1}]}, "hides[0].minimum_people", "out_of_range"),
    ({"open_hides_at_once": "two"}, "open_hides_at_once", "not_a_whole_number"),
    ({"visits_at_most": -1}, "visits_at_most", "out_of_range"),
    ({"consecutive_turns_at_most": True}, "consecutive_turns_at_most", "not_a_whole_number"),
    ({"never_twice_running": 1}, "never_twice_running", "not_true_or_false"),
    ({"leader": "always"}, "leader", "not_one_of_those_allowed"),
    ({"leader": ["never"]}, "leader", "not_one_of_those_allowed"),
    ({"tolerance": -0.1}, "tolerance", "out_of_range"),
    ({"tolerance": "0"}, "tolerance", "not_a_number"),
    ({"closed": [["S1"]]}, "closed[0]", "wrong_length"),
    ({"closed": ["S1"]}, "closed[0]", "not_a_list"),
    ({"closed": [["S9", "Alder"]]}, "closed[0][0]", "unknown_name"),
    ({"closed": [[["S1"], "Alder"]]}, "closed[0][0]", "not_a_name"),
    ({"together": [["Ada", "Ada"]]}, "together[0]", "same_person_twice"),
    ({"pins": [["Ada", "S1", "Alder"], ["Ada", "S1", "Birch"]]}, "pins[1]", "pinned_twice"),
    ({"pins": [["Ada", "S1"]]}, "pins[0]", "wrong_length"),
    ({"points": [[[1, 2], [3, 4]]]}, "points", "wrong_length"),
    ({"points": [[[1, 2], [3, 4]], [[1, 2], [3]]]}, "points[1][1]", "wrong_length"),
    ({"points": [[[1, 2], [3, 4]], [[1, 2], [3, 101]]]}, "points[1][1][1]", "out_of_range"),
    ({"points": [[[1, 2], [3, 4]], [[1, 2], [3, "4"]]]}, "points[1][1][1]", "not_a_number"),
    ({"points": [[[1, 2], [3, 4]], [[1, 2], [3, float("nan")]]]}, "", "not_a_number"),
    ({"points": [[[1, 2], [3, 4]], [[1, 2], [3, True]]]}, "points[1][1][1]", "not_a_number"),
    ({"points": [[[1, 2], [3, 4]], [[1, 2], 3]]}, "points[1][1]", "not_a_list"),
    ({"visit_loss": [0, 0.5, 0.4]}, "visit_loss[2]", "falls"),
    ({"visit_loss": [0, 1.2]}, "visit_loss[1]", "out_of_range"),
    ({"rests_allowed": [["S1", -1]]}, "rests_allowed[0][1]", "out_of_range"),
    ({"rests_allowed": [["S1", 1], ["S1", 2]]}, "rests_allowed[1][0]", "name_twice"),
    ({"joined": [["Alder", ["S1"]], ["Alder", ["S1", "S2"]]]}, "joined[1]", "joined_twice"),
    ({"joined": [["Alder", "S1"]]}, "joined[0][1]", "not_a_list"),
    ({"in_demand": ["Alder", "Alder"]}, "in_demand[1]", "name_twice"),
    ({"in_demand": ["Oak"]}, "in_demand[0]", "unknown_name"),
]


@pytest.mark.parametrize(("changes", "path", "reason"), FAULTS, ids=[f"{row[1]}-{row[2]}" for row in FAULTS])
def test_what_does_not_fit_is_refused_with_its_path(changes: dict[str, Any], path: str, reason: str) -> None:
    with pytest.raises(BadShape) as refused:
        problem_from(sample(**changes))
    assert (refused.value.path, refused.value.reason) == (path, reason)


UNPRINTABLE = ("Cc", "Cs", "Zl", "Zp")  # control characters, halves of a character, breaks of line and paragraph
# What no schema can say: names known, names once, lengths that agree, an order.
BEYOND_THE_SCHEMA = {
    "unknown_name",
    "name_twice",
    "same_person_twice",
    "pinned_twice",
    "joined_twice",
    "falls",
}


def test_the_schema_is_one_and_names_the_keys_that_are_documented() -> None:
    Draft202012Validator.check_schema(PROBLEM_SCHEMA)
    documented = re.findall(r"^\| ([a-z_, ]+) \|", (DATA / "README.md").read_text(), re.MULTILINE)[1:]
    assert set(PROBLEM_SCHEMA["properties"]) == set(", ".join(documented).split(", "))
    assert set(PROBLEM_SCHEMA["properties"]) - {"optimum", "reference"} <= {field.name for field in fields(Problem)}
    assert PROBLEM_SCHEMA["required"] == list(sample())


@pytest.mark.parametrize("path", sorted(DATA.glob("*.json")), ids=lambda path: path.stem)
def test_every_problem_of_the_collection_fits_the_schema(path: Path) -> None:
    Draft202012Validator(PROBLEM_SCHEMA).validate(json.loads(path.read_text()))


@pytest.mark.parametrize(("changes", "path", "reason"), FAULTS, ids=[f"{row[1]}-{row[2]}" for row in FAULTS])
def test_the_schema_refuses_what_the_reader_refuses_save_what_it_cannot_say(
    changes: dict[str, Any], path: str, reason: str
) -> None:
    fits = Draft202012Validator(PROBLEM_SCHEMA).is_valid(sample(**changes))
    is_matrix = path.startswith("points") and reason == "wrong_length"
    is_text_alone = path == "" and reason == "not_a_number"
    assert fits == (reason in BEYOND_THE_SCHEMA or is_matrix or is_text_alone)


def test_a_name_may_hold_every_character_that_can_be_printed_on_one_line() -> None:
    every = "".join(map(chr, range(sys.maxunicode + 1)))
    assert set(re.findall(NOT_PRINTED, every)) == {letter for letter in every if category(letter) in UNPRINTABLE}


def test_every_word_of_the_schema_has_its_refusal_and_every_refusal_its_words() -> None:
    silent = {"$schema", "title", "items", "prefixItems", "properties", "type"}
    types = {"object", "array", "string", "boolean", "integer", "number"}
    assert (keywords(PROBLEM_SCHEMA) - silent) | types == set(REASONS)
    assert set(REASONS.values()) <= set(WORDS)


def keywords(shape: Any) -> set[str]:
    """The keywords of a schema and of the schemas in it."""
    if isinstance(shape, list):
        return set().union(*map(keywords, shape))
    if not isinstance(shape, dict):
        return set()
    inner = [value for key, value in shape.items() if key not in ("properties", "not")]
    return set(shape) | keywords(inner) | keywords(list(shape.get("properties", {}).values()))


@pytest.mark.parametrize("key", [key for key in sample() if key not in ("optimum", "reference")])
def test_a_missing_key_is_named(key: str) -> None:
    data = sample()
    del data[key]
    with pytest.raises(BadShape) as refused:
        problem_from(data)
    assert (refused.value.path, refused.value.reason) == (key, "missing")


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("", "not_json"),
        ("{", "not_json"),
        ("[1]", "not_an_object"),
        ("null", "not_an_object"),
        ('{"name": NaN}', "not_a_number"),
        ('{"name": Infinity}', "not_a_number"),
        ('{"name": "a", "name": "b"}', "key_twice"),
        ("[" * 100_000, "not_json"),
        ('{"points": 1e999}', "missing"),
        ('{"name": ' + "9" * 5000 + "}", "not_json"),
    ],
)
def test_texts_that_are_no_problem_are_refused(text: str, reason: str) -> None:
    with pytest.raises(BadShape) as refused:
        read_problem(text)
    assert refused.value.reason == reason


JUNK = st.recursive(
    st.none() | st.booleans() | st.integers(-3, 3) | st.floats() | st.text(max_size=3) | st.just("Ada"),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=3), inner, max_size=2),
    max_leaves=6,
)


@given(st.sampled_from(sorted(sample())), JUNK)
@settings(max_examples=150, deadline=None)
def test_junk_in_any_place_is_read_or_refused_and_never_crashes(key: str, junk: Any) -> None:
    refused = None
    try:
        problem_from(sample(**{key: junk}))
    except BadShape as fault:
        refused = fault
    if refused is not None:
        assert json.dumps([refused.path, refused.value, refused.reason])
        assert bad_shape_sentence(refused).encode()


def test_a_key_that_cannot_be_printed_is_told_in_signs_that_can() -> None:
    with pytest.raises(BadShape) as refused:
        read_problem(json.dumps(sample(**{"a\ud800\n": 1})))
    assert bad_shape_sentence(refused.value) == r"a\ud800\n is 'a\ud800\n': there is no such key."
