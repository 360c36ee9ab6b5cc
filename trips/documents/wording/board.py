"""Words of the day board: countdowns, the head count, the weather in a line."""

from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta

from trips.documents.quantities import clock_text, count_text, temperature_text

SKY_WORDS = {"clear": "Clear", "partly": "Partly cloudy", "overcast": "Overcast"}
POINTS = ("N", "NE", "E", "SE", "S", "SW", "W", "NW")


def countdown(at: datetime, now: datetime) -> str:
    """How far off a moment is, in whole minutes: "in 12 min", "now", "7 min ago"."""
    minutes = round((at - now) / timedelta(minutes=1))
    if minutes == 0:
        return "now"
    length = _length(abs(minutes))
    return f"in {length}" if minutes > 0 else f"{length} ago"


def _length(minutes: int) -> str:
    if minutes < 60:
        return f"{minutes} min"
    if minutes < 24 * 60:
        return f"{minutes // 60} h {minutes % 60:02d}"
    return count_text(round(minutes / 60 / 24), "day")


def head_count(standing: Mapping[str, int]) -> str:
    """How many people are how: "8 out, 0 back, 1 not coming"; overdue people are out as well."""
    told = [f"{standing.get('out', 0) + standing.get('overdue', 0)} out", f"{standing.get('back', 0)} back"]
    rare = (("not_out", "not out yet"), ("late", "late"), ("not_coming", "not coming"))
    return ", ".join(told + [f"{standing[key]} {words}" for key, words in rare if standing.get(key)])


def weather_line(
    sky: str, airs_c: Iterable[float], wind_from_deg: float | None, sunrise: datetime | None, units: str
) -> str:
    """The weather of a session in a line: "Clear · 12 °C to 19 °C · wind from W · sunrise 07:18"."""
    ends = [temperature_text(one, units) for one in sorted(airs_c)]
    air = ends[0] if len(set(ends)) == 1 else f"{ends[0]} to {ends[-1]}" if ends else ""
    wind = "" if wind_from_deg is None else f"wind from {POINTS[round(wind_from_deg / 45) % 8]}"
    sun = f"sunrise {clock_text(sunrise)}" if sunrise else ""
    return " · ".join(part for part in (SKY_WORDS.get(sky, ""), air, wind, sun) if part)
