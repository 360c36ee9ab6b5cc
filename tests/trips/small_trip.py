"""The shortest trip file that opens."""

from typing import Any


def small_trip() -> dict[str, Any]:
    """A trip file as a person would write it: clock times of the place, only what is required."""
    site, hide, trip, session = (f"00000000-0000-4000-8000-00000000000{number}" for number in range(4))
    return {
        "format": "fairhide trip",
        "format_version": 1,
        "health_notes_included": False,
        "leaders": [{"username": "anna"}],
        "sites": [
            {
                "uuid": site,
                "leader": "anna",
                "name": "Estate",
                "latitude_deg": 39.5,
                "longitude_deg": -6.2,
                "time_zone": "Europe/Madrid",
            }
        ],
        "hides": [{"uuid": hide, "site": site, "name": "Alder"}],
        "trip": {
            "uuid": trip,
            "leader": "anna",
            "name": "Small",
            "starts_on": "2027-05-08",
            "ends_on": "2027-05-09",
            "sites": [site],
        },
        "sessions": [
            {"uuid": session, "site": site, "starts_at": "2027-05-08T06:45", "ends_at": "2027-05-08T10:45:00+02:00"}
        ],
    }
