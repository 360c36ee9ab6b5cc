"""How papers and calendars write quantities: lengths, temperatures, clock times, days; and what is not known yet."""

from dataclasses import dataclass
from datetime import date, datetime

from participants.core.units import fahrenheit_from_celsius, feet_from_metres
from trips.core.local_time import nearest_minute

TO_FOLLOW = "to follow"
_DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Fact:
    """A line of a paper: what it is and what is known of it; unknown prints as "to follow"."""

    label: str
    text: str
    known: bool = True


def fact(label: str, text: str | None) -> Fact:
    """The fact, or the fact that it is to follow when nothing but spaces is known."""
    known = bool(text and text.strip())
    return Fact(label, text.strip() if known and text else TO_FOLLOW, known)


def length_text(length_m: float | None, units: str = "metric") -> str:
    """A length in metres (`metric`) or feet (`feet`): one decimal below ten, whole above; None is to follow."""
    if length_m is None:
        return TO_FOLLOW
    number, unit = (feet_from_metres(length_m), "ft") if units == "feet" else (length_m, "m")
    return f"{number:.0f} {unit}" if abs(number) >= 9.95 else f"{_short(number)} {unit}"


def distance_range(near_m: float, far_m: float, units: str = "metric") -> str:
    """From the near to the far distance of a perch."""
    near, far = length_text(near_m, units), length_text(far_m, units)
    return near if near == far else f"{near} to {far}"


def walk_text(length_m: float, units: str = "metric") -> str:
    """The length of a walk to the whole metre or foot."""
    return f"{feet_from_metres(length_m):.0f} ft" if units == "feet" else f"{length_m:.0f} m"


def size_text(smallest_cm: float, largest_cm: float, units: str = "metric") -> str:
    """From one small length to another: centimetres as they are, or whole inches."""
    if units == "feet":
        ends, unit = [f"{feet_from_metres(size / 100.0) * 12.0:.0f}" for size in (smallest_cm, largest_cm)], "in"
    else:
        ends, unit = [f"{size:g}" for size in (smallest_cm, largest_cm)], "cm"
    return f"{' to '.join(dict.fromkeys(ends))} {unit}"


def temperature_text(temperature_c: float | None, units: str = "metric") -> str:
    """A temperature to the whole degree; None is to follow."""
    if temperature_c is None:
        return TO_FOLLOW
    if units == "feet":
        return f"{round(fahrenheit_from_celsius(temperature_c))} °F".replace("-", "−")
    return f"{round(temperature_c)} °C".replace("-", "−")


def clock_text(moment: datetime | None) -> str:
    """The nearest minute on the clock of the moment's own zone; None is to follow. All printed times come from here."""
    return TO_FOLLOW if moment is None else f"{nearest_minute(moment):%H:%M}"


def clock_range_text(starts_at: datetime, ends_at: datetime) -> str:
    """Two clock times; the end of another day carries that day's name."""
    hours = f"{clock_text(starts_at)}–{clock_text(ends_at)}"
    return hours if starts_at.date() == ends_at.date() else f"{hours} {_DAYS[ends_at.weekday()][:3]}"


def day_text(day: date) -> str:
    """A day in words: Saturday 8 May."""
    return f"{_DAYS[day.weekday()]} {day.day} {_MONTHS[day.month - 1]}"


def short_day_text(day: date) -> str:
    """A day in few letters: Sat 8 May."""
    return f"{_DAYS[day.weekday()][:3]} {day.day} {_MONTHS[day.month - 1][:3]}"


def days_text(first: date, last: date) -> str:
    """From one day to another, with the year: 8 to 12 May 2027."""
    if first == last:
        return f"{first.day} {_MONTHS[first.month - 1]} {first.year}"
    if (first.year, first.month) == (last.year, last.month):
        return f"{first.day} to {last.day} {_MONTHS[last.month - 1]} {last.year}"
    start = f"{first.day} {_MONTHS[first.month - 1]}" + (f" {first.year}" if first.year != last.year else "")
    return f"{start} to {last.day} {_MONTHS[last.month - 1]} {last.year}"


def offset_text(moment: datetime) -> str:
    """How far the moment's clock is from universal time: UTC+02:00."""
    seconds = int((moment.utcoffset() or moment - moment).total_seconds())
    hours, minutes = divmod(abs(seconds) // 60, 60)
    return f"UTC{'−' if seconds < 0 else '+'}{hours:02d}:{minutes:02d}"


def zoned_text(moment: datetime, time_zone: str) -> str:
    """A moment that nobody can misread: 06:45 on Saturday 8 May (Europe/Madrid, UTC+02:00)."""
    return f"{moment:%H:%M} on {day_text(moment.date())} ({time_zone}, {offset_text(moment)})"


def stamp_text(moment: datetime, time_zone: str) -> str:
    """When a paper was made, for its foot: 7 May 2027 19:05 Europe/Madrid."""
    return f"{moment.day} {_MONTHS[moment.month - 1]} {moment.year} {moment:%H:%M} {time_zone}"


def position_text(latitude_deg: float | None, longitude_deg: float | None) -> str:
    """A position in degrees with five decimals (about a metre) and letters for the hemispheres."""
    if latitude_deg is None or longitude_deg is None:
        return TO_FOLLOW
    north = "S" if latitude_deg < 0 else "N"
    east = "W" if longitude_deg < 0 else "E"
    return f"{abs(latitude_deg):.5f}° {north}, {abs(longitude_deg):.5f}° {east}"


def count_text(number: int, one: str, many: str | None = None) -> str:
    """A number with its noun: 1 step, 5 steps."""
    return f"{number} {one if number == 1 else many or one + 's'}"


def _short(number: float) -> str:
    text = f"{number:.1f}"
    return text.removesuffix(".0")
