"""What a leader reads out on the telephone about one hide: where it is, who is there, whom to call."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import Q
from django.shortcuts import get_object_or_404

from trips.assemble import point_value
from trips.assemble.hide_papers import rescue_facts
from trips.documents.overdue import AlarmStep, Dial, numbers_in
from trips.documents.quantities import Fact, fact, position_minutes_text, position_text, walk_text
from trips.models import Hide, Notice, Session, Trip
from trips.selectors.day_state import ALARM_DAYS, TripDay, trip_day
from trips.selectors.my_wishes import reader_name
from trips.selectors.out_back import HideOutings, outings_of
from trips.selectors.trip import leaders_reached, sites_of

AHEAD = timedelta(hours=36)  # a page that was kept yesterday evening still names who sits there today


@dataclass(frozen=True)
class HideStay:
    """Who is in the hide in a session, who is expected, and who is not back; times as the site's clocks show them."""

    session: Session
    starts_at: datetime
    ends_at: datetime
    outing: HideOutings

    @property
    def is_out(self) -> bool:
        """Whether somebody is still there, as far as was noted."""
        return any(one.standing in ("out", "overdue") for one in self.outing.people)

    @property
    def people(self) -> tuple[Any, ...]:
        """Everybody but those who are back or do not come."""
        return tuple(one for one in self.outing.people if one.standing not in ("back", "not_coming"))


@dataclass(frozen=True)
class EmergencyPage:
    """The page of one hide. `is_own`: the position is the hide's, not the estate's.

    `facts`: lines to read out. `calls`: whom to call, by (role, name, telephone as typed, its numbers). `steps`: what
    to do about somebody who is not back, with times where somebody is due. `mails`: who got the mail, and when it went.
    """

    hide: Hide
    position: str
    position_minutes: str
    geo: str
    is_own: bool
    emergency: tuple[Dial, ...]
    facts: tuple[Fact, ...]
    calls: tuple[tuple[str, str, str, tuple[Dial, ...]], ...]
    stays: tuple[HideStay, ...]
    steps: tuple[AlarmStep, ...]
    session: Session | None
    mails: tuple[tuple[str, datetime | None], ...] = ()

    @property
    def now(self) -> tuple[HideStay, ...]:
        """Sessions that somebody is not back from."""
        return tuple(stay for stay in self.stays if stay.is_out)

    @property
    def ahead(self) -> tuple[HideStay, ...]:
        """The other sessions of now and the next day and a half."""
        return tuple(stay for stay in self.stays if not stay.is_out)


def emergency_hide(asker: Any, trip: Trip, uuid: UUID) -> Hide:
    """The hide of that uuid on the trip. Where a site was closed to its leader since, its sessions keep it open."""
    used = Q(site__sessions__trip=trip)
    opened = Q(site__trips=trip, site__in=sites_of(asker).values("pk"))
    return get_object_or_404(Hide.objects.filter(used | opened).select_related("site").distinct(), uuid=uuid)


def emergency_page(asker: Any, trip: Trip, uuid: UUID, *, now: datetime) -> EmergencyPage:
    """All of it as it stands now."""
    hide = emergency_hide(asker, trip, uuid)
    site, point = hide.site, point_value(hide.site, hide)
    stays = tuple(_stays(trip_day(trip, now=now), hide, now))
    first = next((stay for stay in stays if stay.is_out), stays[0] if stays else None)
    leaders = [(role, name, phone, numbers_in(phone)) for role, name, phone in leaders_reached(trip)]
    owner = ("Owner", site.owner, site.owner_contact, numbers_in(site.owner_contact))
    return EmergencyPage(
        hide=hide,
        position=position_text(point.latitude_deg, point.longitude_deg),
        position_minutes=position_minutes_text(point.latitude_deg, point.longitude_deg),
        geo=f"geo:{point.latitude_deg:.5f},{point.longitude_deg:.5f}",
        is_own=hide.latitude_deg is not None,
        emergency=numbers_in(site.emergency_number),
        facts=(
            *(one for one in rescue_facts(hide) if one.label != "Owner"),
            Fact("Way there", f"{hide.drive_min:g} min by car, then {_walk(hide, trip.units)}"),
            fact("Gates", hide.gates),
            *((Fact("Hazards", site.hazards),) if site.hazards else ()),
            *((Fact("At the hide", hide.cautions),) if hide.cautions else ()),
        ),
        calls=(*leaders, owner),
        stays=stays,
        steps=first.outing.steps if first else (),
        session=first.session if first else None,
        mails=_mails(first, hide) if first else (),
    )


def _mails(stay: HideStay, hide: Hide) -> tuple[tuple[str, datetime | None], ...]:
    told = Notice.objects.filter(session=stay.session, hide=hide).select_related("leader").order_by("pk")
    return tuple((reader_name(notice.leader), notice.told_at) for notice in told)


def _walk(hide: Hide, units: str) -> str:
    return f"{walk_text(hide.walk_m, units)} and {hide.walk_min:g} min on foot"


def _stays(day: TripDay, hide: Hide, now: datetime) -> Iterator[HideStay]:
    zone = ZoneInfo(hide.site.time_zone)
    for session in sorted(day.sessions.values(), key=lambda row: (row.starts_at, row.pk)):
        is_near = now - timedelta(days=ALARM_DAYS) < session.ends_at and session.starts_at < now + AHEAD
        if session.site_id != hide.site_id or not is_near:
            continue
        outing = next((one for one in outings_of(day, session).hides if one.hide.pk == hide.pk), None)
        if outing is None:
            continue
        stay = HideStay(session, session.starts_at.astimezone(zone), session.ends_at.astimezone(zone), outing)
        if stay.is_out or (session.ends_at > now and stay.people):
            yield stay
