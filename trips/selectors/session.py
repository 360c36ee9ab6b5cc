"""Sessions beside the sun's times."""

from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID
from zoneinfo import ZoneInfo

from django.shortcuts import get_object_or_404

from trips.assemble.places import sun_day
from trips.core.session_rules import ProposedSession, overlapping
from trips.documents.days import DayPage
from trips.documents.wording.sessions import session_hours
from trips.models import Session, Site, Trip


@dataclass(frozen=True)
class SessionDay:
    """One day of a trip at a site: the sun and the sessions that start on it."""

    site: Site
    sun: DayPage
    sessions: tuple[Session, ...]


@dataclass(frozen=True)
class SessionChoice:
    """A proposed session: whether its box is ticked, and what it would be at the same time as, in words."""

    session: ProposedSession
    ticked: bool
    clash: str


def session_offers(
    trip: Trip, site: Site, proposed: list[ProposedSession], ticked: list[int] | None = None
) -> list[SessionChoice]:
    """What rules propose, beside the trip's sessions. `ticked` None: all but those for which the hours are taken."""
    stand = list(trip.sessions.select_related("site"))
    known = {one.starts_at for one in stand if one.site_id == site.pk}
    new = [one for one in proposed if one.starts_at not in known]
    together: list[Session | ProposedSession] = [*stand, *new]
    clashes = {id(together[other]): session_hours(*local_hours(together[one])) for one, other in overlapping(together)}
    offers = []
    for number, session in enumerate(proposed):
        clash = clashes.get(id(session), "")
        offers.append(SessionChoice(session, not clash if ticked is None else number in ticked, clash))
    return offers


def local_hours(session: Session | ProposedSession) -> tuple[str, datetime, datetime]:
    """What a session is called, its start and its end by the clock of its site."""
    if isinstance(session, ProposedSession):
        return session.kind, session.starts_at, session.ends_at
    zone = ZoneInfo(session.site.time_zone)
    name = session.name or session.get_kind_display()
    return name, session.starts_at.astimezone(zone), session.ends_at.astimezone(zone)


def session_for(trip: Trip, uuid: UUID | str) -> Session:
    """The session of that uuid on this trip."""
    return get_object_or_404(trip.sessions.select_related("site"), uuid=uuid)


def session_days(trip: Trip) -> list[SessionDay]:
    """The trip's sessions day by day, each day with its sun."""
    found: dict[tuple[date, int], list[Session]] = {}
    sites: dict[int, Site] = {}
    for session in trip.sessions.select_related("site"):
        zone = ZoneInfo(session.site.time_zone)
        session.local_start = session.starts_at.astimezone(zone)  # type: ignore[attr-defined]
        session.local_end = session.ends_at.astimezone(zone)  # type: ignore[attr-defined]
        sites[session.site_id] = session.site
        found.setdefault((session.starts_at.astimezone(zone).date(), session.site_id), []).append(session)
    return [
        SessionDay(sites[site_id], sun_day(sites[site_id], day), tuple(sessions))
        for (day, site_id), sessions in sorted(found.items())
    ]
