"""Rows of sites and hides into values; what nobody measured gets its default here and is named as assumed."""

from trips.core.values import Chance, Hide, Point, Seat, Subject, View
from trips.models import Hide as HideRow
from trips.models import HideSubject as HideSubjectRow
from trips.models import Seat as SeatRow
from trips.models import Site as SiteRow
from trips.models import Subject as SubjectRow
from trips.models import View as ViewRow

ASSUMED_WIDTH_M = 3.0
ASSUMED_PERCH_HEIGHT_M = 0.0
ASSUMED_GLASS_LOSS_STOPS = 1.5
ASSUMED_CHANCE = 0.5
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
    return View(
        key=str(row.uuid),
        name=row.name,
        bearing_deg=row.bearing_deg,
        near_m=row.near_m,
        far_m=row.far_m,
        water_edge_m=row.water_edge_m,
        perch_height_m=ASSUMED_PERCH_HEIGHT_M if row.perch_height_m is None else row.perch_height_m,
        glass_loss_stops=loss,
        light_offset_stops=row.light_offset_stops,
        horizon=tuple((float(azimuth), float(height)) for azimuth, height in row.horizon),
        assumed=tuple(assumed),
    )


def seat_value(row: SeatRow) -> Seat:
    """A seat."""
    return Seat(str(row.uuid), row.name, row.quality, row.defects, row.out_of_use_from)


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
    assumed = [] if row.width_m is not None else ["width_m"]
    if row.roof_height_m is None:
        assumed.append("roof_height_m")
    if row.excess_c is None:
        assumed.append("excess_c")
    return Hide(
        key=str(row.uuid),
        name=row.name,
        point=point_value(row.site, row),
        views=tuple(view_value(view) for view in row.views.all()),
        seats=tuple(seat_value(seat) for seat in row.seats.all()),
        chances=tuple(chance_value(chance, month) for chance in row.hide_subjects.all()),
        roof_height_m=row.roof_height_m,
        width_m=ASSUMED_WIDTH_M if row.width_m is None else row.width_m,
        sunken=row.sunken,
        entry=row.entry,
        steps=row.steps,
        seat_height_m=row.seat_height_m,
        walk_m=row.walk_m,
        walk_min=row.walk_min,
        drive_min=row.drive_min,
        doors=row.doors,
        minimum_people=row.minimum_people,
        sought_after=row.sought_after,
        support=row.support,
        scent_matters=row.scent_matters,
        lamp_lit=row.lamp_lit,
        excess_c=row.excess_c,
        fan=row.fan,
        in_place_min_before_sunrise=row.in_place_min_before_sunrise,
        assumed=tuple(assumed),
    )


def subject_value(row: SubjectRow) -> Subject:
    """A subject."""
    return Subject(
        str(row.uuid), row.name, row.length_min_cm, row.length_max_cm, row.standing_height_cm, row.speed or "feeding"
    )
