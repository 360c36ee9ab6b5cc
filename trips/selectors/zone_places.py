"""The reference points of the time zones, from the tables of the installed time-zone database."""

from functools import lru_cache
from importlib.resources import files

from trips.core.positions import places_of_zones

ZONE_TABLES = ("zone.tab", "zone1970.tab")


@lru_cache(maxsize=1)
def zone_places() -> dict[str, tuple[float, float]]:
    """The reference point (latitude, longitude) of each zone; read once a process."""
    folder = files("tzdata") / "zoneinfo"
    return places_of_zones((folder / table).read_text(encoding="utf-8") for table in ZONE_TABLES)
