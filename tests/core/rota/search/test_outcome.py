"""Search times in words, and what a stored number of effort stands for."""

import pytest

from trips.core.rota.search.outcome import DEFAULT_EFFORT, SearchTime


@pytest.mark.parametrize(
    ("effort", "word"),
    [(0, "normal"), (1, "quick"), (5, "quick"), (DEFAULT_EFFORT, "normal"), (20, "normal"), (21, "thorough")],
)
def test_a_stored_effort_has_a_search_time(effort: int, word: str) -> None:
    assert SearchTime.of_effort(effort) == SearchTime(word)
