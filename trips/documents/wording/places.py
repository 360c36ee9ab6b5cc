"""Positions, bearings and horizons in words: doubts, offers, refusals, and texts to type back."""

from collections.abc import Iterable

from participants.core.errors import BadShape, BadValue, CoreError, NeverHappens, OutsideValidity
from trips.core.magnetism import Declination
from trips.core.positions import Correction, Doubt
from trips.documents.quantities import clock_text
from trips.documents.wording.clock import day_words
from trips.documents.wording.light import ASSUMED_WORDS


def doubt_words(doubt: Doubt) -> str:
    """Why a position is doubted; the question comes with it."""
    away = f"{doubt.distance_km:,.0f} km"
    if doubt.kind == "far_from_lodge":
        why = f"This is about {away} from the lodge"
    elif doubt.kind == "far_from_zone":
        why = f"This is about {away} from the time zone's place in the time-zone table"
    else:
        why = "The sun would be highest at an odd hour"
    times = f"solar noon would be {clock_text(doubt.noon)}"
    if doubt.rise and doubt.set:
        times += f", sunrise {clock_text(doubt.rise)}, sunset {clock_text(doubt.set)}"
    return f"{why}; {times}. Sign lost, or swapped?"


def offer_words(offer: Correction) -> str:
    """What an offered change does."""
    how = {
        "longitude_sign": "Change the sign of the longitude",
        "latitude_sign": "Change the sign of the latitude",
        "both_signs": "Change both signs",
        "swapped": "Swap latitude and longitude",
        "swapped_longitude_sign": "Swap the two and change the longitude's sign",
    }[offer.turn]
    return f"{how}: {offer.latitude_deg:g}, {offer.longitude_deg:g} ({offer.distance_km:,.0f} km away)"


_FIELD_WORDS = {
    "latitude_deg": "Latitude",
    "longitude_deg": "Longitude",
    "elevation_m": "Elevation",
    "bearing_deg": "A bearing",
    "horizon_azimuth_deg": "An azimuth of the horizon",
    "horizon_height_deg": "A height of the horizon",
    "humidity_pct": "Humidity",
}
_SHAPE_WORDS = {
    (
        "position",
        "not_a_position",
    ): "“{value}” is not a position. Write 39.5, -6.2 or 39°30'0\" N 6°12'0\" W or geo:39.5,-6.2.",
    ("position", "reference_system"): "Only positions in WGS 84 are read, not “{value}”.",
    ("horizon", "unsorted"): "The points of a horizon go by rising azimuth, each azimuth once: look at {value:g}°.",
    ("horizon", "too_many"): "A horizon has at most 720 points, not {value}.",
    ("horizon", "not_a_pair"): "“{value}” is not a pair. Write azimuth:height, such as 60:4 85:12, or two columns.",
    ("horizon", "no_moments"): "Give at least one time at which the sun reached the perch or left it.",
    ("gpx", "too_large"): "This file is over 5 MB. Save only the waypoints and try again.",
    ("gpx", "entities"): "This file declares XML entities, which a GPX file has no use for. It was not read.",
    ("gpx", "not_gpx"): "This is not a GPX file. Save waypoints as GPX 1.0 or 1.1 and try again.",
    ("gpx", "too_many"): "This GPX file has more than 2,000 waypoints. Save those of the estate alone.",
    ("gpx", "no_waypoints"): "This GPX file has no waypoints. Tracks and routes are not used here.",
}


def light_refusal(refused: CoreError) -> str:
    """What is wrong with something typed about a place, a view or a day, and what to do."""
    if isinstance(refused, BadValue) and refused.field == "time_zone":
        return f"There is no time zone “{refused.value}”. Choose one such as Europe/Madrid."
    if isinstance(refused, BadValue) and refused.low is not None:
        unit = {"deg": "°", "%": " %"}.get(refused.unit, f" {refused.unit}".rstrip())
        name = _FIELD_WORDS.get(refused.field, refused.field)
        return f"{name} is from {refused.low:g} to {refused.high:g}{unit}, not {refused.value:g}."
    if isinstance(refused, BadShape):
        template = _SHAPE_WORDS.get((refused.path, refused.reason))
        if template:
            return template.format(value=refused.value)
    if isinstance(refused, NeverHappens):
        when = f"{clock_text(refused.day)} on {day_words(refused.day)}"
        return f"The sun is down at {when}: it cannot have lit the perch then."
    if isinstance(refused, OutsideValidity):
        return _validity_words(refused)
    return "That is not possible here."


def _validity_words(refused: OutsideValidity) -> str:
    if refused.model == "magnetic":
        return (
            f"The magnetic model covers {refused.low.year} to {refused.high.year}. "
            "Give the true bearing, or a day within those years."
        )
    return f"Years from {refused.low} to {refused.high} can be computed, not {refused.value}."


def plain_position(latitude_deg: float, longitude_deg: float) -> str:
    """A position to type back: "39.5, -6.2" (seven decimals, about a centimetre)."""
    return f"{latitude_deg:.7f}".rstrip("0").rstrip(".") + ", " + f"{longitude_deg:.7f}".rstrip("0").rstrip(".")


def horizon_text(horizon: Iterable[Iterable[float]]) -> str:
    """A horizon to type back: "60:4 85:12"."""
    return " ".join(f"{azimuth:g}:{height:g}" for azimuth, height in horizon)


def bearing_words(bearing_deg: float, found: Declination) -> str:
    """A bearing both ways: true, and as a compass shows it, with the model and its dates."""
    compass = (bearing_deg - found.declination_deg) % 360.0
    side = "east" if found.declination_deg >= 0.0 else "west"
    told = (
        f"{bearing_deg:.1f}° true; a compass shows {compass:.1f}° (declination {abs(found.declination_deg):.1f}° "
        f"{side}, ± {found.uncertainty_deg:.1f}°, {found.model}, "
        f"valid {found.valid_from.year} to {found.valid_to.year})"
    )
    if found.compass != "good":
        told += f". So near the magnetic pole a compass is {found.compass}"
    return told + "."


NO_SEATS = "no seats"
NO_VIEW = "no view"
NO_SUBJECTS = "no subjects: reach by distance alone"
OWN_POSITION = "stands where the site stands, assumed"
NO_DRIVE = "0 min from the lodge"


def assumed_words(names: Iterable[str]) -> tuple[str, ...]:
    """What is assumed of a hide and its views, each once."""
    return tuple(dict.fromkeys(ASSUMED_WORDS[name] for name in names))
