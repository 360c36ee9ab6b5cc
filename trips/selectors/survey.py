"""What a survey on the spot begins from."""

from dataclasses import dataclass
from datetime import date

from participants.core.errors import CoreError
from trips.assemble import point_value
from trips.core.magnetism import Declination, declination
from trips.models import Hide


@dataclass(frozen=True)
class SurveyedHide:
    """A hide of the site with the declination there; None outside the model's years."""

    hide: Hide
    declination: Declination | None


def hides_to_survey(hide: Hide, day: date) -> list[SurveyedHide]:
    """All hides of the same site, the asked-for one first, the others by name."""
    rows = Hide.objects.filter(site=hide.site).select_related("site").prefetch_related("views")
    ordered = sorted(rows.order_by("name", "uuid"), key=lambda row: row.pk != hide.pk)
    return [SurveyedHide(row, _declination(row, day)) for row in ordered]


def _declination(hide: Hide, day: date) -> Declination | None:
    place = point_value(hide.site, hide)
    try:
        return declination(place.latitude_deg, place.longitude_deg, place.elevation_m, day)
    except CoreError:
        return None
