"""How papers and calendars write quantities: lengths, temperatures, clock times, days; and what is not known yet."""

from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from participants.core.language import day_by_pattern, decimal_text, gettext_noop, pgettext
from participants.core.language import gettext as _
from participants.core.units import fahrenheit_from_celsius, feet_from_metres
from trips.core.local_time import nearest_minute

ROTA_STATES = {"issued": gettext_noop("issued"), "retired": gettext_noop("retired")}
TO_FOLLOW = gettext_noop("to follow")


@dataclass(frozen=True, slots=True)
class Fact:
    """A line of a paper: what it is and what is known of it; unknown prints as "to follow"."""

    label: str
    text: str
    known: bool = True


def to_follow() -> str:
    """What is said of what is not known yet."""
    return _(TO_FOLLOW)


def fact(label: str, text: str | None) -> Fact:
    """The fact, or the fact that it is to follow when nothing but spaces is known."""
    known = bool(text and text.strip())
    return Fact(label, text.strip() if known and text else to_follow(), known)


def length_text(length_m: float | None, units: str = "metric") -> str:
    """A length in metres (`metric`) or feet (`feet`): one decimal below ten, whole above; None is to follow."""
    if length_m is None:
        return to_follow()
    number, unit = (feet_from_metres(length_m), "ft") if units == "feet" else (length_m, "m")
    return f"{number:.0f} {unit}" if abs(number) >= 9.95 else f"{decimal_text(_short(number))} {unit}"


def distance_range(near_m: float, far_m: float, units: str = "metric") -> str:
    """From the near to the far distance of a perch."""
    near, far = length_text(near_m, units), length_text(far_m, units)
    return near if near == far else _("{low} to {high}", low=near, high=far)


def walk_text(length_m: float, units: str = "metric") -> str:
    """The length of a walk to the whole metre or foot."""
    return f"{feet_from_metres(length_m):.0f} ft" if units == "feet" else f"{length_m:.0f} m"


def size_text(smallest_cm: float, largest_cm: float, units: str = "metric") -> str:
    """From one small length to another: centimetres as they are, or whole inches."""
    if units == "feet":
        ends, unit = [f"{feet_from_metres(size / 100.0) * 12.0:.0f}" for size in (smallest_cm, largest_cm)], "in"
    else:
        ends, unit = [f"{size:g}" for size in (smallest_cm, largest_cm)], "cm"
    ends = [decimal_text(end) for end in dict.fromkeys(ends)]
    size = ends[0] if len(ends) == 1 else _("{low} to {high}", low=ends[0], high=ends[1])
    return f"{size} {unit}"


def temperature_text(temperature_c: float | None, units: str = "metric") -> str:
    """A temperature to the whole degree; None is to follow."""
    if temperature_c is None:
        return to_follow()
    if units == "feet":
        return f"{round(fahrenheit_from_celsius(temperature_c))} °F".replace("-", "−")
    return f"{round(temperature_c)} °C".replace("-", "−")


def clock_text(moment: datetime | None) -> str:
    """The nearest minute on the clock of the moment's own zone; None is to follow. All printed times come from here."""
    return to_follow() if moment is None else f"{nearest_minute(moment):%H:%M}"


def clock_range_text(starts_at: datetime, ends_at: datetime) -> str:
    """Two clock times; the end of another day carries that day's name."""
    hours = f"{clock_text(starts_at)}–{clock_text(ends_at)}"
    return hours if starts_at.date() == ends_at.date() else f"{hours} {day_by_pattern(ends_at.date(), 'ccc')}"


def day_text(day: date) -> str:
    """A day in words: Saturday 8 May."""
    return day_by_pattern(day, pgettext("day", "EEEE d MMMM"))


def short_day_text(day: date) -> str:
    """A day in few letters: Sat 8 May."""
    return day_by_pattern(day, pgettext("day", "ccc d MMM"))


def days_text(first: date, last: date) -> str:
    """From one day to another, with the year: 8 to 12 May 2027."""
    if first == last:
        return year_day_text(first)
    pattern = pgettext("day", "d") if first.month == last.month else pgettext("day", "d MMMM")
    start = year_day_text(first) if first.year != last.year else day_by_pattern(first, pattern)
    return _("{low} to {high}", low=start, high=year_day_text(last))


def year_day_text(day: date) -> str:
    """A day with its year: 8 May 2027."""
    return day_by_pattern(day, pgettext("day", "d MMMM y"))


def offset_text(moment: datetime) -> str:
    """How far the moment's clock is from universal time: UTC+02:00."""
    seconds = int((moment.utcoffset() or moment - moment).total_seconds())
    hours, minutes = divmod(abs(seconds) // 60, 60)
    return f"UTC{'−' if seconds < 0 else '+'}{hours:02d}:{minutes:02d}"


def zoned_text(moment: datetime, time_zone: str) -> str:
    """A moment that nobody can misread: 06:45 on Saturday 8 May (Europe/Madrid, UTC+02:00)."""
    values = {"clock": f"{moment:%H:%M}", "day": day_text(moment.date()), "zone": time_zone}
    return _("{clock} on {day} ({zone}, {offset})", **values, offset=offset_text(moment))


def stamp_text(moment: datetime, time_zone: str) -> str:
    """When a paper was made, for its foot: 7 May 2027 19:05 Europe/Madrid."""
    return f"{year_day_text(moment.date())} {moment:%H:%M} {time_zone}"


def rota_words(number: int, state: str, told_at: datetime | None, time_zone: str) -> str:
    """Which rota a paper is of: "rota 3, issued, told 7 May 2027 19:05 Europe/Madrid"."""
    if told_at is None:
        return _("rota {number}, draft", number=number)
    told = stamp_text(told_at.astimezone(ZoneInfo(time_zone)), time_zone)
    return _(
        "rota {number}, {state}, told {moment}", number=number, state=_(ROTA_STATES.get(state, state)), moment=told
    )


def position_text(latitude_deg: float | None, longitude_deg: float | None) -> str:
    """A position in degrees with five decimals (about a metre) and letters for the hemispheres."""
    if latitude_deg is None or longitude_deg is None:
        return to_follow()
    north = "S" if latitude_deg < 0 else "N"
    east = "W" if longitude_deg < 0 else "E"  # in every language: O is east in German, west in Spanish
    return decimal_text(f"{abs(latitude_deg):.5f}° {north}, {abs(longitude_deg):.5f}° {east}")


def position_minutes_text(latitude_deg: float, longitude_deg: float) -> str:
    """A position as rescue services ask for it: degrees and minutes with three decimals (about two metres)."""
    parts = []
    for value_deg, letters in ((latitude_deg, "NS"), (longitude_deg, "EW")):
        degrees, thousandths = divmod(round(abs(value_deg) * 60_000), 60_000)
        parts.append(f"{degrees}° {thousandths / 1000:06.3f}′ {letters[value_deg < 0]}")
    return decimal_text(", ".join(parts))


def count_text(number: int, one: str, many: str | None = None) -> str:
    """A number with its noun: 1 step, 5 steps."""
    return f"{number} {one if number == 1 else many or one + 's'}"


def _short(number: float) -> str:
    text = f"{number:.1f}"
    return text.removesuffix(".0")
