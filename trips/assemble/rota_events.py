"""A rota's rows into the entries of everybody's calendar, the trip's and the owners'."""

from uuid import UUID
from zoneinfo import ZoneInfo

from participants.core.isolation import isolated
from participants.core.language import gettext as _
from participants.core.language import gettext_noop as noted
from participants.speaking import speaking
from trips.assemble.day_papers import DayPapers
from trips.assemble.from_row import from_row
from trips.assemble.paper_facts import trip_zone
from trips.assemble.people import place_key
from trips.assemble.trip import TripValues
from trips.documents.days import DaysPage, SitePage
from trips.documents.ical import EventPayload, day_uid, hide_session_uid, person_session_uid
from trips.documents.turn_events import (
    boarding_text,
    coming_event,
    day_event,
    drive_event,
    hide_event,
    meeting_text,
    person_event,
)
from trips.models import Place, Session


def person_events(values: TripValues, place: Place, page: DaysPage) -> tuple[EventPayload, ...]:
    """A person's turns and drives, and a day-wide entry each for arriving and leaving."""
    trip, zone = values.trip, ZoneInfo(trip_zone(values))
    sites = {site.name: site for site in page.sites}
    site_names = {str(row.uuid): row.site.name for row in values.session_rows}
    names = {place_key(row): row.participant.name for row in values.place_rows}
    turns = []
    for session in page.sessions:
        uid = person_session_uid(trip.uuid, place.uuid, UUID(session.key))
        site = sites.get(site_names[session.key])
        if session.turn is not None:
            turns.append(person_event(uid, session, site, place.participant.units, names))
        elif session.drives:
            turns.append(drive_event(uid, session, site))
    location = meeting_text(page.sites[0]) if page.sites else ""
    days = []
    for said, what, moment, day in (
        (noted("Arrival: {trip}"), "arrival", place.arrives_at, trip.starts_on),
        (noted("Departure: {trip}"), "departure", place.leaves_at, trip.ends_on),
    ):
        local = moment.astimezone(zone) if moment else None
        uid, summary = day_uid(trip.uuid, what, place.uuid), _(said, trip=isolated(trip.name))
        if local is not None:
            days.append(coming_event(uid, local, summary, time_zone=str(zone), location=location))
        else:
            days.append(day_event(uid, day, day, summary, lines=[_("The time is to follow.")], location=location))
    return (*days, *turns)


def trip_events(values: TripValues, papers: DayPapers) -> tuple[EventPayload, ...]:
    """The trip's calendar for its leaders: the trip as a whole, and every hide in every session."""
    trip = values.trip
    names = ", ".join(isolated(site.name) for site in trip.sites.all())
    whole = day_event(
        day_uid(trip.uuid, "trip"), trip.starts_on, trip.ends_on, isolated(trip.name), lines=[names], location=names
    )
    pages = {site.pk: boarding_text(from_row(SitePage, site)) for site in trip.sites.all()}
    return (
        whole,
        *(
            event
            for row in values.session_rows
            for event in _hide_events(values, papers, row, pages.get(row.site_id, ""))
        ),
    )


def owner_events(values: TripValues, papers: DayPapers) -> dict[str, tuple[EventPayload, ...]]:
    """The owners' calendars by site uuid, in their language: every hide of theirs in every session."""
    found = {}
    for site in values.trip.sites.all():
        rows = [row for row in values.session_rows if row.site_id == site.pk]
        with speaking(site.owner_language):
            found[str(site.uuid)] = tuple(event for row in rows for event in _hide_events(values, papers, row))
    return found


def _hide_events(values: TripValues, papers: DayPapers, row: Session, location: str = "") -> tuple[EventPayload, ...]:
    """The hides in use in a session. `location`: where people get in; empty for the owner, who reads the hide's."""
    session, rides = values.session(str(row.uuid)), papers.rides(row)
    return tuple(
        hide_event(
            hide_session_uid(values.trip.uuid, UUID(key), row.uuid),
            session,
            row.site.time_zone,
            hide,
            leaves_at=rides[key].leaves_at,
            location=location or f"{isolated(hide.name)}, {isolated(row.site.name)}",
        )
        for key, hide in papers.hides_in_use(row).items()
    )
