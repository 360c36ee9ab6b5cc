"""Rows into what papers need beyond the days pages."""

import math
from collections import defaultdict
from datetime import date
from zoneinfo import ZoneInfo

from participants.core.packing import TripNeeds, packing_list
from trips.assemble.people import place_key
from trips.assemble.trip import TripValues
from trips.core.advice import Advice, Situation, advise
from trips.core.reach import HideReach, Reach, ViewReach, hide_reach
from trips.core.values import Hide, Subject, View
from trips.documents.paper_facts import (
    DayAir,
    DepthFact,
    FillFact,
    HideFacts,
    PersonFacts,
    SiteFacts,
    TripFacts,
    WindowFacts,
)
from trips.models import Hide as HideRow
from trips.models import Place, Site

NO_LIGHT = (None, None, None)


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
        sites=tuple(_site_facts(site) for site in sites),
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
        windows=tuple(window for hide in own for window in _windows(values, place_key(place), hide)),
        packing=packing_list(values.gear[place_key(place)], needs),
        page_path=f"/my/{person.uuid}/",
    )


def _site_facts(site: Site) -> SiteFacts:
    return SiteFacts(site.name, site.rescue_point, site.owner, site.owner_contact, site.hazards)


def _hide_facts(row: HideRow) -> HideFacts:
    return HideFacts(
        key=str(row.uuid),
        name=row.name,
        seats=len(row.seats.all()),
        entry=row.entry,
        sunken=row.sunken,
        by_water=any(view.water_edge_m is not None for view in row.views.all()),
        rescue_point=row.rescue_point,
        nearest_road=row.nearest_road,
        cautions=row.cautions,
        etiquette=row.etiquette,
    )


def _air(values: TripValues) -> tuple[DayAir, ...]:
    by_day: dict[date, list[float]] = defaultdict(list)
    for session in values.sessions:
        by_day[session.starts_at.date()] += [hour.air_c for hour in session.forecast]
    return tuple(DayAir(day, min(airs), max(airs)) for day, airs in sorted(by_day.items()) if airs)


def _windows(values: TripValues, key: str, hide: Hide) -> list[WindowFacts]:
    gear, wishes = values.gear[key], values.wishes[key]
    reach = hide_reach(gear, hide, values.subjects, wishes, values.rules.reach)
    return [_window(values, key, hide, view, reach) for view in hide.views]


def _window(values: TripValues, key: str, hide: Hide, view: View, reach: HideReach) -> WindowFacts:
    rows = sorted(reach.in_view(view.key), key=lambda row: (row.reach.rank, -(row.reach.fill or 0.0)))
    subjects = {subject.key: subject for subject in values.subjects}
    votes = dict(values.wishes[key].votes)
    rows.sort(key=lambda row: -votes.get(row.subject or "", 0))
    card = _card(values, key, hide, view, rows)
    return WindowFacts(
        hide=hide.key,
        window=view.name,
        bearing_deg=view.bearing_deg,
        water_edge_m=view.water_edge_m,
        glass_loss_stops=view.glass_loss_stops,
        fills=tuple(_fill(subjects[row.subject], row.reach) for row in rows if row.subject in subjects),
        depths=_depths(card) if card else (),
        circle_mm=card.circle_mm if card else None,
    )


def _card(values: TripValues, key: str, hide: Hide, view: View, rows: list[ViewReach]) -> Advice | None:
    """The settings card for the depths of field, which do not depend on the light."""
    best = min((row.reach for row in rows if row.reach.best), key=lambda one: one.rank, default=None)
    if best is None or best.judged_at_m is None:
        return None
    return advise(values.gear[key], best, Situation(hide, view, None, NO_LIGHT), values.rules.advice)


def _fill(subject: Subject, reach: Reach) -> FillFact:
    return FillFact(subject.name, subject.length_min_cm, subject.length_max_cm, reach.fill, reach.verdict)


def _depths(card: Advice) -> tuple[DepthFact, ...]:
    return tuple(
        DepthFact(one.distance_m, one.near_m, None if math.isinf(one.far_m) else one.far_m, one.f_number)
        for one in card.depths
    )
