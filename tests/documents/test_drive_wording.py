"""Faults of drives and their remedies in words: who, when, why not, what helps."""

import pytest

from tests.core.drives.drive_cases import at, stop
from trips.core.drives import Drive, DriveFault, Remedy, Run, Visit
from trips.core.rota.explain.conflicts import Help
from trips.documents.wording.drives import DriveNames, driver_phrase, fault_sentence, remedy_sentence
from trips.documents.wording.rota_names import RotaNames
from trips.documents.wording.rota_reasons import help_phrase

NAMES = DriveNames(
    {"a": "Ana", "b": "Ben"}, {"v": "grey van", "p": "pick-up"}, {"A": "Alder", "B": "Birch"}, ("Sat", "Sun")
)
RUN = Run(1, "v", (stop("A"),), "a")
DRIVE = Drive("out", RUN, at(0), (Visit("A", at(10), ("b",)),), at(30))
BEFORE = Drive("fetch", Run(0, "p", (stop("B"),), "a"), at(-30), (Visit("B", at(-10), ("b",)),), at(7))


@pytest.mark.parametrize(
    ("fault", "sentence"),
    [
        (DriveFault("car_out", DRIVE, BEFORE), "The grey van leaves at 06:00 but is back only at 06:07 (Sat)."),
        (
            DriveFault("car_waits", DRIVE, BEFORE, "B"),
            "The grey van leaves the lodge at 06:00 but waits at Birch for its driver.",
        ),
        (
            DriveFault("driver_sits", DRIVE, hide="A", people=("a",)),
            "Ana drives the grey van from 06:00 to 06:30 and sits in Alder at that time.",
        ),
        (
            DriveFault("driver_rides", DRIVE, BEFORE, "B", ("a",)),
            "Ana drives the grey van from 06:00 to 06:30 and is on the way to or from Birch in another car then.",
        ),
        (
            DriveFault("driver_twice", DRIVE, BEFORE, people=("a",)),
            "Ana drives the grey van and the pick-up at the same time, from 06:00 to 06:30.",
        ),
        (
            DriveFault("driver_absent", DRIVE, people=("a",)),
            "Ana, who drives the grey van at 06:00, is not there then.",
        ),
        (
            DriveFault("rider_out", DRIVE, BEFORE, "B", ("a", "b"), 7),
            "Ana and Ben leave at 06:00 with the grey van but are back from Birch only at 06:07.",
        ),
        (DriveFault("too_many", DRIVE, minutes=2), "2 people have no seat in the grey van."),
        (
            DriveFault("late", DRIVE, hide="A", minutes=40),
            "Alder is fetched 40 min after its pick-up window, by the grey van.",
        ),
    ],
)
def test_each_fault_has_its_sentence(fault, sentence):
    assert fault_sentence(fault, NAMES) == sentence


@pytest.mark.parametrize(
    ("remedy", "sentence"),
    [
        (Remedy("order", RUN, ("B", "A")), "Change the order of the drops of the grey van: Birch, Alder."),
        (Remedy("second_run", RUN, ("A",)), "Give the grey van another run for Alder."),
        (Remedy("other_car", RUN, ("A", "B"), car="p"), "Let the pick-up take Alder and Birch."),
        (Remedy("other_driver", RUN, driver="b"), "Let Ben drive the grey van."),
        (Remedy("other_driver", RUN), "Let somebody who sits nowhere then drive the grey van."),
        (None, "Start this session at least 7 min later, or seat other people there."),
    ],
)
def test_each_remedy_says_what_to_do(remedy, sentence):
    assert remedy_sentence(DriveFault("car_out", DRIVE, BEFORE, minutes=7), remedy, NAMES) == sentence


def test_what_keeps_a_driver_out_of_a_hide_and_what_would_set_them_free():
    assert driver_phrase("the van", "Sunday early", "Far") == "drives the van in Sunday early, where Far would do"
    assert driver_phrase("the van", "every session", "") == "drives the van in every session"
    names = RotaNames(people=("Ana",), sessions=("Sunday early",), hides=("Near", "Far"), driving=frozenset({(0, 0)}))
    assert help_phrase(Help("lift_limit", (0,), (), (0,)), names) == (
        "Ana can sit in Near after all if another person drives, the drops come in another order or the car goes twice"
    )
    assert help_phrase(Help("lift_limit", (0,), (), (1,)), names) == "Ana can sit in Far after all"
