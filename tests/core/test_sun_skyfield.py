"""The sun at 2,000 random places and times against Skyfield with JPL's ephemerides DE430 and DE441.

Skyfield carries short pieces of these ephemerides for its own tests; the times fall into those weeks of 1969, 2015
and 2053. Whole years are covered by the tables of `test_sun.py`.
"""

from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest
import skyfield
from skyfield.api import load, load_file, wgs84

from trips.core import sun
from trips.core.angles import difference_deg

PIECES = Path(skyfield.__file__).parent / "tests" / "data"
WINDOWS = (
    ("de441-1969.bsp", datetime(1969, 7, 31, tzinfo=UTC), 2.5),
    ("de430-2015-03-02.bsp", datetime(2015, 2, 28, tzinfo=UTC), 6.5),
    ("jup310-2053-10-08.bsp", datetime(2053, 10, 6, tzinfo=UTC), 6.5),
)


@pytest.mark.parametrize(("number", "window"), list(enumerate(WINDOWS)))
def test_positions_agree_with_skyfield_below_89_degrees(number: int, window: tuple[str, datetime, float]) -> None:
    name, begins, days = window
    count = 667
    chance = np.random.default_rng(number)
    latitudes, longitudes = chance.uniform(-90.0, 90.0, count), chance.uniform(-180.0, 180.0, count)
    stamps = begins.timestamp() + chance.uniform(0.0, days * 86400.0, count)
    pieces = load_file(str(PIECES / name))
    earth, body = pieces["earth"], pieces["sun"]
    scale = load.timescale(builtin=True)
    compared = 0
    for latitude, longitude, stamp in zip(latitudes, longitudes, stamps, strict=True):
        moment = scale.ut1_jd(stamp / 86400.0 + 2440587.5)
        place = earth + wgs84.latlon(latitude, longitude)
        altitude, azimuth, _ = place.at(moment).observe(body).apparent(deflectors=()).altaz()
        found = sun.track(latitude, longitude, np.array([stamp]))
        if altitude.degrees >= 89.0:
            continue
        compared += 1
        assert found.geometric_deg[0] == pytest.approx(altitude.degrees, abs=0.01)
        across = float(difference_deg(found.azimuth_deg[0], azimuth.degrees)) * np.cos(altitude.radians)
        assert across < 0.01
    assert compared > 650
