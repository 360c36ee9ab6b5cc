"""Rows of sites and hides into values; what nobody measured gets its default here and is named as assumed."""

from datetime import date

from trips.assemble.from_row import from_row
from trips.core.sun import CIVIL_DEG, SUNRISE_DEG, day_events, stays
from trips.core.values import Chance, Hide, Point, Seat, Subject, View
from trips.documents.days import DayPage
from trips.models import Hide as HideRow
from trips.models import HideSubject as HideSubjectRow
from trips.models import Site as SiteRow
from trips.models import Subject as SubjectRow
from trips.models import View as ViewRow
from trips.selectors.species import names_of

ASSUMED_WIDTH_M = 3.0  # two seats side by side
ASSUMED_PERCH_HEIGHT_M = 0.0  # on the ground: the hide's shadow reaches it soonest
ASSUMED_GLASS_LOSS_STOPS = 1.5  # one-way glass; from memory, panes differ
ASSUMED_CHANCE = 0.5  # even: says nothing for or against the subject
CHANCE_NUMBERS = {"nearly_always": 0.9, "often": 0.6, "sometimes": 0.3, "rarely": 0.1, "none": 0.0}
KIND_FIELDS = ("early", "midday", "late", "night")


def point_value(site: SiteRow, hide: HideRow | None = None) -> Point:
    """The position of a hide (its own, or the site's)."""
    latitude_deg, longitude_deg = site.latitude_deg, site.longitude_deg
    if hide is not None and hide.latitude_deg is not None and hide.longitude_deg is not None:
        latitude_deg, longitude_deg = hide.latitude_deg, hide.longitude_deg
    return Point(latitude_deg, longitude_deg, site.elevation_m, site.time_zone)


def view_value(row: ViewRow) -> View:
    """A view; an empty perch height, glass loss or horizon is assumed."""
    assumed = []
    if row.perch_height_m is None:
        assumed.append("perch_height_m")
    if not row.horizon:
        assumed.append("horizon")
    loss = row.glass_loss_stops
    if loss is None:
        loss = ASSUMED_GLASS_LOSS_STOPS if row.glass else 0.0
        if row.glass:
            assumed.append("glass_loss_stops")
    return from_row(
        View,
        row,
        perch_height_m=ASSUMED_PERCH_HEIGHT_M if row.perch_height_m is None else row.perch_height_m,
        glass_loss_stops=loss,
        horizon=tuple((float(azimuth), float(height)) for azimuth, height in row.horizon),
        assumed=tuple(assumed),
    )


def chance_value(row: HideSubjectRow, month: int | None = None) -> Chance:
    """The chances of a subject at a hide: blanks are the mean of the others, all blank even.

    Outside the row's months (blank = all) no chance is above "rarely".
    """
    typed = {field: CHANCE_NUMBERS[getattr(row, field)] for field in KIND_FIELDS if getattr(row, field)}
    mean = sum(typed.values()) / len(typed) if typed else ASSUMED_CHANCE
    chances = {field: typed.get(field, mean) for field in KIND_FIELDS}
    if month is not None and row.months and month not in row.months:
        chances = {field: min(chance, CHANCE_NUMBERS["rarely"]) for field, chance in chances.items()}
    return Chance(str(row.subject.uuid), **chances)


def hide_value(row: HideRow, month: int | None = None) -> Hide:
    """A hide with its views, seats and the chances of its subjects in that month (None: all months alike)."""
    assumed = tuple(name for name in ("width_m", "roof_height_m", "excess_c") if getattr(row, name) is None)
    return from_row(
        Hide,
        row,
        point=point_value(row.site, row),
        views=tuple(view_value(view) for view in row.views.all()),
        seats=tuple(from_row(Seat, seat) for seat in row.seats.all()),
        chances=tuple(chance_value(chance, month) for chance in row.hide_subjects.all()),
        width_m=ASSUMED_WIDTH_M if row.width_m is None else row.width_m,
        assumed=assumed,
    )


def subject_value(row: SubjectRow) -> Subject:
    """A subject."""
    return from_row(Subject, row, speed=row.speed or "feeding", names=names_of(row))


def sun_day(site: SiteRow, day: date) -> DayPage:
    """The sun's times at a site on a local civil day: of several the first to rise past a height, the last to set."""
    where = (site.latitude_deg, site.longitude_deg, day, site.time_zone)
    events = day_events(*where)
    rise = {event.limit_deg: event.moment for event in reversed(events) if event.rising}
    set_ = {event.limit_deg: event.moment for event in events if not event.rising}
    return DayPage(
        day,
        first_light=rise.get(CIVIL_DEG),
        sunrise=rise.get(SUNRISE_DEG),
        sunset=set_.get(SUNRISE_DEG),
        last_light=set_.get(CIVIL_DEG),
        stays=stays(*where, SUNRISE_DEG) or "",
    )
