"""One set judged for all subjects of a view."""

import pytest

from participants.core.kit import Converter
from tests.core.test_reach import KITE, MARKS, SHORT, SPARROW, VULTURE, ZOOM, A, hide, kit
from trips.core.reach import hide_reach, with_one_set
from trips.core.values import Chance, Wishes


def test_one_set_is_judged_for_every_subject_and_another_named_where_it_serves_better():
    """A 300 mm lens with a 2x in the bag: at 6 m the kite is good bare, the sparrow needs the converter."""
    double = Converter("2x", 2.0)
    likely = (Chance("sparrow", 0.6, 0.6, 0.6, 0.0), Chance("kite", 0.6, 0.6, 0.6, 0.0))
    found = hide_reach(kit(SHORT, converters=(double,)), hide(A, chances=likely), (SPARROW, KITE), Wishes(), MARKS)
    kite = next(row for row in found.rows if row.subject == "kite")
    assert kite.reach.best.converter is None
    told = {one.subject: one for one in with_one_set(kite.reach.best, A, found.rows, (SPARROW, KITE), ("web", MARKS))}
    assert told["kite"].reach.fill == kite.reach.fill
    assert told["kite"].other is None
    assert told["sparrow"].reach.best == kite.reach.best
    assert told["sparrow"].reach.fill == pytest.approx(told["sparrow"].other.fill / 2)
    assert told["sparrow"].other.best.converter == double


def test_a_zoom_shows_every_subject_at_the_one_focal_length_of_its_set():
    likely = (Chance("sparrow", 0.6, 0.6, 0.6, 0.0), Chance("vulture", 0.6, 0.6, 0.6, 0.0))
    found = hide_reach(kit(ZOOM), hide(A, chances=likely), (SPARROW, VULTURE), Wishes(), MARKS)
    sparrow, vulture = found.rows
    assert sparrow.reach.best.focal_mm != vulture.reach.best.focal_mm
    told = with_one_set(sparrow.reach.best, A, found.rows, (SPARROW, VULTURE), ("web", MARKS))
    assert {one.reach.best.focal_mm for one in told} == {sparrow.reach.best.focal_mm}
    assert told[1].other.best.focal_mm == vulture.reach.best.focal_mm
