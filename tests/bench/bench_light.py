"""Light of a whole trip and of a year, each against the bare positions of ephem in the same run."""

import json
import time
from collections.abc import Callable
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import ephem
import numpy as np

from trips.core import sun
from trips.core.light import trip_light, year_maps
from trips.core.light import year as light_year
from trips.core.light.runs import sample_stamps
from trips.core.values import Hide, LightSettings, Point, Session, View

POINT = Point(39.5, -6.2, 320.0, "Europe/Madrid")
ZONE = ZoneInfo(POINT.time_zone)
HORIZON = ((0.0, 2.0), (60.0, 4.0), (85.0, 9.0), (110.0, 6.0), (180.0, 3.0), (250.0, 9.0), (300.0, 12.0), (350.0, 2.0))


def hides(count: int) -> list[Hide]:
    """Hides with one view each, at bearings spread over the compass."""
    return [
        Hide(
            key=f"hide-{number}",
            name=f"Hide {number}",
            point=POINT,
            views=(View(f"view-{number}", "view", number * 360.0 / count, 6.0, 8.0, 4.5, horizon=HORIZON),),
            seats=(),
            roof_height_m=0.5,
        )
        for number in range(count)
    ]


def sessions() -> list[Session]:
    """Twelve days with an early and a late session of four hours."""
    found = []
    for number in range(12):
        day = date(2027, 5, 1) + timedelta(days=number)
        for kind, hour, minute in (("early", 6, 45), ("late", 17, 30)):
            starts = datetime(day.year, day.month, day.day, hour, minute, tzinfo=ZONE)
            found.append(Session(f"{day}-{kind}", kind, starts, starts + timedelta(hours=4), kind=kind))
    return found


def bare_positions(stamps: np.ndarray) -> list[tuple[float, float]]:
    """The same positions asked of ephem one by one, nothing else."""
    observer = ephem.Observer()
    observer.lat, observer.lon, observer.elevation, observer.pressure = "39.5", "-6.2", POINT.elevation_m, 0
    body = ephem.Sun()
    found = []
    for stamp in stamps.tolist():
        observer.date = stamp / 86400.0 + 25567.5
        body.compute(observer)
        found.append((float(body.az), float(body.alt)))
    return found


def whole_trip() -> int:
    """Every view and session: scores, classes, intervals and cautions."""
    sun._knot.cache_clear()
    found = trip_light(hides(12), sessions(), "front")
    return sum(len(light.intervals) for session in found.values() for light in session.views)


def whole_year() -> int:
    """The year maps of eight views of one site."""
    sun._knot.cache_clear()
    light_year._year_sun.cache_clear()
    views = [(hide, hide.views[0]) for hide in hides(8)]
    return sum(found.scores.size for found in year_maps(views, 2027))


def best_ms(action: Callable[[], object], times: int = 5) -> float:
    """The shortest of a few runs, in milliseconds."""
    took = []
    for _ in range(times):
        begun = time.perf_counter()
        action()
        took.append((time.perf_counter() - begun) * 1000.0)
    return min(took)


def rows() -> list[dict[str, object]]:
    """One row for the trip and one for the year map."""
    trip_stamps = np.unique(np.concatenate([sample_stamps(session, LightSettings()) for session in sessions()]))
    year_stamps = np.concatenate(
        [light_year._quarter_stamps(day, POINT.time_zone) for day in light_year.week_days(2027)]
    )
    found: list[dict[str, object]] = []
    for name, action, stamps in (
        ("light: 12 views, 24 sessions at 5 minutes", whole_trip, trip_stamps),
        ("light: year map of 8 views, 52 weeks by 96 quarter-hours", whole_year, year_stamps),
    ):
        ours_ms, rival_ms = best_ms(action), best_ms(lambda stamps=stamps: bare_positions(stamps))
        found.append(
            {
                "name": name,
                "ours_ms": round(ours_ms, 3),
                "rival_ms": round(rival_ms, 3),
                "ratio": round(ours_ms / rival_ms, 3),
                "rival": f"ephem alone, {stamps.size} positions",
                "target": 2.0,
            }
        )
    return found


if __name__ == "__main__":
    print(json.dumps({"rows": rows()}, indent=1))
