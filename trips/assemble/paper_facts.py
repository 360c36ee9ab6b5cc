"""Rows into what papers need beyond the days pages."""

from collections import defaultdict
from datetime import date
from zoneinfo import ZoneInfo

from participants.core.packing import TripNeeds, packing_list
from participants.speaking import language_of
from trips.assemble.from_row import from_row
from trips.assemble.presence_and_states import gear_packed
from trips.assemble.trip import TripValues
from trips.core.values import Hide, View
from trips.documents.paper_facts import (
    DayAir,
    HideFacts,
    PersonFacts,
    SiteFacts,
    TripFacts,
    ViewFacts,
)
from trips.models import Hide as HideRow
from trips.models import Place


def trip_facts(values: TripValues) -> TripFacts:
    """What the papers of everybody share."""
    trip, sites = values.trip, list(values.trip.sites.all())
    return TripFacts(
        trip=trip.name,
        leader=trip.leader.get_full_name() or trip.leader.get_username(),
        starts_on=trip.starts_on,
        ends_on=trip.ends_on,
        time_zone=trip_zone(values),
        units=trip.units,
        sites=tuple(from_row(SiteFacts, site) for site in sites),
        hides=tuple(_hide_facts(row) for row in values.hide_rows),
        air=_air(values),
    )


def trip_zone(values: TripValues) -> str:
    """The zone of the first session's site, or of the first site."""
    if values.session_rows:
        return str(values.session_rows[0].site.time_zone)
    sites = list(values.trip.sites.all())
    return str(sites[0].time_zone) if sites else "UTC"


def person_facts(values: TripValues, place: Place, hides: set[str], needs: TripNeeds) -> PersonFacts:
    """What the papers of one person add. `hides`: keys of the hides they sit in; `needs`: for the packing list."""
    person, zone = place.participant, ZoneInfo(trip_zone(values))
    own = [hide for hide in values.hides if hide.key in hides] if place.photographs else []
    return PersonFacts(
        name=person.name,
        units=person.units,
        arrives_at=place.arrives_at.astimezone(zone) if place.arrives_at else None,
        leaves_at=place.leaves_at.astimezone(zone) if place.leaves_at else None,
        emergency_contact=person.emergency_contact,
        views=tuple(_view(hide, view) for hide in own for view in hide.views),
        packing=packing_list(gear_packed(values, place), needs),
        page_path=f"/my/{person.uuid}/",
        language=language_of(person),
    )


def _hide_facts(row: HideRow) -> HideFacts:
    by_water = any(view.water_edge_m is not None for view in row.views.all())
    return from_row(HideFacts, row, seats=len(row.seats.all()), by_water=by_water)


def _air(values: TripValues) -> tuple[DayAir, ...]:
    by_day: dict[date, list[float]] = defaultdict(list)
    for session in values.sessions:
        by_day[session.starts_at.date()] += [hour.air_c for hour in session.forecast]
    return tuple(DayAir(day, min(airs), max(airs)) for day, airs in sorted(by_day.items()) if airs)


def _view(hide: Hide, view: View) -> ViewFacts:
    return ViewFacts(hide.key, view.name, view.bearing_deg, view.water_edge_m, view.glass_loss_stops)
