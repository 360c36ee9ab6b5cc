"""What the page of a rota says of how it was made."""

from typing import Any

import pytest

from participants.selectors import PLACE_CANCELLED, ROTA_ISSUED
from trips.core.rota.model.stages import Draw
from trips.documents.rota_page import DRAW, StageLine, short_hides, short_names, stage_lines, worth_step
from trips.models import PlaceState, RotaState


def stage(name: str, value: float, *, proved: bool = True) -> dict[str, Any]:
    """A stage as a rota keeps it."""
    return {"name": name, "value": value, "best": value, "bound": value, "proved": proved, "upwards": False}


@pytest.mark.parametrize("last_proved", [True, False])
def test_the_steps_of_the_draw_are_one_line_without_their_weights(last_proved: bool) -> None:
    steps = [stage(DRAW, 9_000_001.0), stage(DRAW, 0.0), stage(DRAW, 16_000_000.0, proved=last_proved)]
    lines = stage_lines([stage("demand_excess", 2.0), *steps, stage("worst_share", 0.75)])
    assert lines == (
        StageLine("demand_excess", 2.0, 2.0, True),
        StageLine(DRAW, None, None, last_proved),
        StageLine("worst_share", 0.75, 0.75, True),
    )


def test_the_page_knows_the_draw_by_the_planners_name() -> None:
    assert Draw.name == DRAW


def test_states_told_where_no_row_is_known_are_those_of_the_rows() -> None:
    assert (ROTA_ISSUED, PLACE_CANCELLED) == (RotaState.ISSUED, PlaceState.CANCELLED)


def test_a_cell_shows_the_first_word_of_a_name_unless_another_begins_so() -> None:
    names = ("Ada Brun", "Ben Cole", "Ben Dahl", "Dr. Elm", "Yūko")
    assert short_names(names) == {name: name for name in names} | {"Ada Brun": "Ada"}


def test_a_hide_with_a_long_name_is_called_by_its_first_word() -> None:
    names = ("Alder", "High Table", "Kingfisher Pool", "Old Mill North", "Old Mill South")
    assert short_hides(names) == {name: name for name in names} | {"Kingfisher Pool": "Kingfisher"}


def test_the_worth_of_a_turn_has_five_steps_of_twenty_points() -> None:
    points = (-1.0, 0.0, 19.9, 20.0, 40.0, 60.0, 79.9, 80.0, 100.0)
    assert [worth_step(one) for one in points] == [1, 1, 1, 2, 3, 4, 4, 5, 5]
