"""Cards are true line by line: worked out again from the rows of the demo trip."""

from dataclasses import replace

import pytest

from tests import factories
from tests.trips.card_check import card_lines, seated_by_turns
from trips.assemble.days import RotaPages
from trips.services.demo import demo_load

pytestmark = pytest.mark.django_db


def test_every_line_of_every_card_of_the_demo_follows_from_its_rows_and_a_planted_fault_is_found():
    rota = seated_by_turns(factories.rota(trip=demo_load().trip))
    made = RotaPages(rota)
    pages = {str(place.uuid): made.page(place) for place in made.values.place_rows}
    lines = list(card_lines(rota, pages))
    assert len({line.card for line in lines}) == rota.turns.filter(place__photographs=True).count() > 60
    assert [line for line in lines if line.differs] == []
    lights = " ".join(line.printed for line in lines if line.line == "light")
    assert all(name in lights for name in ("soft", "shade", "front", "back"))
    key, page = next(iter(pages.items()))
    faults = _planted(rota, key, page)
    assert {line.line.split(" at ")[0].split(",")[0] for line in faults} >= {"sky", "still", "fill", "water"}


def _planted(rota, key, page):
    """The differences after the first turn's sky, water, first fill and every ISO are made wrong."""
    at = next(index for index, one in enumerate(page.sessions) if one.turn and one.turn.views[0].fills)
    session = page.sessions[at]
    view = session.turn.views[0]
    rows = tuple(replace(row, still=row.still and replace(row.still, iso=row.still.iso * 2)) for row in view.rows)
    fills = (replace(view.fills[0], fill=0.6 * (view.fills[0].fill or 1.0)), *view.fills[1:])
    heat = replace(session.turn.heat, water_l=session.turn.heat.water_l + 0.25)
    turn = replace(session.turn, views=(replace(view, rows=rows, fills=fills), *session.turn.views[1:]), heat=heat)
    wrong = replace(session, turn=turn, sky="partly" if session.sky == "clear" else "clear")
    sessions = (*page.sessions[:at], wrong, *page.sessions[at + 1 :])
    return [line for line in card_lines(rota, {key: replace(page, sessions=sessions)}) if line.differs]
