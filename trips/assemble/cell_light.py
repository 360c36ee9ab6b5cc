"""What a rota's page shows of light, worked out once when the rota is saved, so that opening the page computes none."""

from typing import Any

from trips.assemble.points import own_session
from trips.assemble.trip import TripValues
from trips.core.light import SessionLight, session_light, trip_light
from trips.documents.drawings import small_seat_drawing
from trips.documents.quantities import clock_text
from trips.documents.wording.light import CLASS_WORDS, caution_words

CellLight = dict[str, dict[str, Any]]  # "session uuid/hide uuid" -> what the cell shows


def cell_key(session: str, hide: str) -> str:
    """The key of a cell."""
    return f"{session}/{hide}"


def light_of_cells(values: TripValues) -> CellLight:
    """Light in words, score, cautions and the small drawing of every hide in each session of its site, for plain front
    light; also where nobody sits, so that whoever moves people sees what a free seat is worth."""
    settings = values.rules.light
    plain = trip_light(values.hides, values.sessions, "front", settings)
    cells: CellLight = {}
    for s, session in enumerate(values.sessions):
        for h, hide in enumerate(values.hides):
            if not hide.views or values.hide_rows[h].site_id != values.session_rows[s].site_id:
                continue
            own = own_session(values, s, h)
            light = plain[hide.key, session.key] if own is session else session_light(hide, own, "front", settings)
            cells[cell_key(session.key, hide.key)] = cell_of(light)
    return cells


def cell_of(light: SessionLight) -> dict[str, Any]:
    """One cell: the class that lasts longest, when it changes, cautions, the drawing."""
    best = light.best_view
    longest = max(best.on_perch, key=lambda interval: interval.ends_at - interval.starts_at)
    cautions = [caution_words(caution) for caution in best.cautions if caution.kind not in ("class_changes", "scent")]
    cautions += [caution_words(caution) for caution in light.cautions if caution.kind == "scent"][:1]
    return {
        "light": CLASS_WORDS[longest.name],
        "from": clock_text(longest.starts_at),
        "to": clock_text(longest.ends_at),
        "score": round(light.score, 2),
        "view": best.view.name if len(light.views) > 1 else "",
        "cautions": cautions,
        "drawing": small_seat_drawing(best),
        "assumed": sorted({name for one in light.views for name in one.view.assumed}),
    }
