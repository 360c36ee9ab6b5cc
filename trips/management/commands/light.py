import json
from typing import Any

import numpy as np
from django.core.management.base import CommandParser

from participants.core.errors import CoreError
from trips.core.light import SessionLight
from trips.core.values import LIGHT_WISHES
from trips.documents.quantities import clock_range_text
from trips.documents.wording.light import best_words, caution_words
from trips.documents.wording.places import light_refusal
from trips.management.plain_command import PlainCommand, Refusal
from trips.selectors.light import SessionLights, light_of_trip
from trips.selectors.trip_named import trip_named


class Command(PlainCommand):
    """Print the light of every hide in every session of a trip."""

    examples = ('"May at the estate" --wish side',)

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("trip", metavar="TRIP", help="uuid or name of the trip")
        parser.add_argument("--wish", choices=LIGHT_WISHES, default="front", help="the wanted light")
        parser.add_argument("--json", action="store_true", help="print as JSON")

    def handle(self, *args: Any, **options: Any) -> None:
        trip = trip_named(options["trip"])
        try:
            found = light_of_trip(trip, options["wish"])
        except CoreError as refused:
            raise Refusal(light_refusal(refused)) from refused
        if options["json"]:
            rows = [_session(line) for line in found.lines]
            answer = {"trip": str(trip.uuid), "name": trip.name, "wish": options["wish"], "sessions": rows}
            self.stdout.write(json.dumps(answer, indent=1, ensure_ascii=False))
            return
        for line in found.lines:
            self.stdout.write(f"{line.session.name}, {clock_range_text(line.session.starts_at, line.session.ends_at)}")
            for cell in line.cells:
                if cell.light:
                    self.stdout.write(f"  {cell.hide.name}: {best_words(cell.light)}")
            for name, words in line.heat:
                self.stdout.write(f"  {name}, heat: {words}")


def _session(line: SessionLights) -> dict[str, Any]:
    return {
        "session": line.session.key,
        "name": line.session.name,
        "starts_at": line.session.starts_at.isoformat(),
        "ends_at": line.session.ends_at.isoformat(),
        "hides": [_hide(cell.light) for cell in line.cells if cell.light],
        "heat": dict(line.heat),
    }


def _hide(light: SessionLight) -> dict[str, Any]:
    return {
        "hide": light.hide.key,
        "name": light.hide.name,
        "score": round(light.score, 4),
        "good_minutes": light.good_minutes,
        "best_view": light.best_view.view.name,
        "views": [
            {
                "name": view.view.name,
                "bearing_deg": view.view.bearing_deg,
                "score": round(view.score, 4),
                "intervals": [
                    {
                        "light": interval.name,
                        "starts_at": interval.starts_at.isoformat(timespec="seconds"),
                        "ends_at": interval.ends_at.isoformat(timespec="seconds"),
                    }
                    for interval in view.on_perch
                ],
                "cautions": [caution_words(caution) for caution in view.cautions],
                "assumed": list(view.view.assumed),
                "ev100": [None if np.isnan(ev) else round(float(ev), 2) for ev in view.ev100],
            }
            for view in light.views
        ],
    }
