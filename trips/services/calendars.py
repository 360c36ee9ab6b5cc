"""Calendars of a person, a trip and an owner: as files, and as feeds behind an address that can be replaced at once.

Feeds show what issues kept and nothing else. The address carries HMAC(key, kind, uuid, counter); only the counter is
stored, and raising it makes every older address answer that it is gone.
"""

from dataclasses import dataclass, replace
from typing import Any
from uuid import UUID

from django.conf import settings
from django.db import transaction
from django.db.models import F, Q, QuerySet
from django.db.models.fields.json import KeyTransform
from django.urls import reverse
from django.utils import timezone

from participants.core.isolation import isolated
from participants.core.language import gettext as _
from participants.core.language import gettext_noop as noted
from participants.models import AccessLink, Participant
from participants.speaking import ENGLISH, language_of, speaking
from participants.tokens import Address, address_token
from trips.documents.ical import (
    CalendarHead,
    EventPayload,
    IssuedPayloads,
    calendar_file,
    calendar_uid,
    events_from_issues,
)
from trips.models import Issue, Place, Rota, RotaState, Site, Trip
from trips.services.issue_papers import issue_papers

FEED_KINDS = ("feed_person", "feed_trip", "feed_owner")
LAG = noted(
    "Telephones fetch a calendar when they like, up to a day late: on the day itself trust the page or the paper."
)


@dataclass(frozen=True)
class FeedLine:
    """A calendar that can be subscribed to: whose, its address, and what replaces the address."""

    title: str
    address: str
    kind: str
    owner_uuid: UUID


@dataclass(frozen=True)
class CalendarOf:
    """Whose calendar: the trip, and a place, or a site for its owner, or neither for the whole trip."""

    trip: Trip
    place: Place | None = None
    site: Site | None = None

    @property
    def path(self) -> tuple[str, ...]:
        """Where the payloads stand in Issue.events."""
        if self.place is not None:
            return ("people", str(self.place.uuid))
        if self.site is not None:
            return ("owners", str(self.site.uuid))
        return ("trip",)

    @property
    def language(self) -> str:
        """What it speaks: entries do since they were issued."""
        if self.place is not None:
            return language_of(self.place.participant)
        return self.site.owner_language if self.site is not None else ENGLISH

    @property
    def head(self) -> CalendarHead:
        """What the calendar says of itself."""
        name = isolated(self.trip.name)
        if self.place is not None:
            name = f"{name}: {isolated(self.place.participant.name)}"
        elif self.site is not None:
            name = f"{name}: {isolated(self.site.name)}"
        whose = self.place or self.site
        return CalendarHead(calendar_uid(self.trip.uuid, whose.uuid if whose else None), name, _(LAG))


def calendar_bytes(wanted: CalendarOf) -> bytes:
    """The calendar after all issues of the trip; before the first issue it has no entries."""
    with speaking(wanted.language):
        return calendar_file(wanted.head, events_from_issues(issued_payloads(wanted)))


def issued_payloads(wanted: CalendarOf) -> list[IssuedPayloads]:
    """What each issue kept for this calendar, oldest first; only its own part is read."""
    own: Any = "events"
    for key in wanted.path:
        own = KeyTransform(key, own)
    issues = Issue.objects.filter(rota__trip=wanted.trip).annotate(own=own).order_by("issued_at", "pk")
    return [IssuedPayloads(moment, _payloads(kept)) for moment, kept in issues.values_list("issued_at", "own")]


def calendar_for_file(wanted: CalendarOf) -> tuple[bytes, bool]:
    """The calendar as a file, and whether it was issued; before the first issue it shows the newest draft."""
    if wanted.trip.rotas.filter(issue__isnull=False).exists():
        return calendar_bytes(wanted), True
    rota = wanted.trip.rotas.filter(state=RotaState.DRAFT).order_by("-number").first()
    if rota is None:
        return calendar_bytes(wanted), False
    kept: Any = issue_papers(rota=rota).events
    for key in wanted.path:
        kept = kept.get(key, {})
    events = events_from_issues([IssuedPayloads(rota.made_at, _payloads(kept))])
    with speaking(wanted.language):
        return calendar_file(replace(wanted.head, draft=True), events), False


def _payloads(kept: list[dict[str, Any]] | None) -> tuple[EventPayload, ...]:
    return tuple(EventPayload.from_json(one) for one in kept or ())


def feed_of(address: Address) -> list[CalendarOf] | None:
    """What an address shows: None when it was replaced or its owner is gone, else one calendar for each trip."""
    if address.kind not in FEED_KINDS:
        return None
    link = AccessLink.objects.filter(kind=address.kind, owner_uuid=address.owner_uuid).first()
    if link is None or link.counter != address.counter or link.revoked_at is not None:
        return None
    return calendars_of(address.kind, address.owner_uuid)


def calendars_of(kind: str, owner_uuid: UUID) -> list[CalendarOf] | None:
    """The calendars behind a kind of feed and its owner; None when there is no such owner.

    A place that was given up stays in its person's feed, and a site that left a trip in its owner's: the next issue
    cancels their entries instead of losing them.
    """
    if kind == "feed_trip":
        trips = Trip.objects.filter(uuid=owner_uuid)
        return [CalendarOf(trip) for trip in trips] or None
    if kind == "feed_person":
        person = Participant.objects.filter(uuid=owner_uuid, erased_at__isnull=True).first()
        places = Place.objects.filter(participant=person) if person else []
        return [CalendarOf(place.trip, place=place) for place in _with_trip(places)] if person else None
    site = Site.objects.filter(uuid=owner_uuid).first()
    return [CalendarOf(trip, site=site) for trip in _trips_of(site)] if site else None


def _trips_of(site: Site) -> QuerySet[Trip]:
    """The trips that go to a site, and those with an issued rota in which people sit there."""
    issued = Rota.objects.filter(issue__isnull=False, turns__hide__site=site)
    return Trip.objects.filter(Q(sites=site) | Q(pk__in=issued.values("trip"))).distinct().order_by("starts_on", "pk")


def _with_trip(places: Any) -> Any:
    return places.select_related("trip", "participant").order_by("trip__starts_on", "pk")


def feed_bytes(calendars: list[CalendarOf], *, kind: str, owner_uuid: UUID) -> bytes:
    """One calendar with the entries of all of them."""
    events = [event for one in calendars for event in events_from_issues(issued_payloads(one))]
    with speaking(calendars[0].language if calendars else ENGLISH):
        head = calendars[0].head if len(calendars) == 1 else CalendarHead(str(owner_uuid), _feed_name(kind), _(LAG))
        return calendar_file(head, events)


def _feed_name(kind: str) -> str:
    return {"feed_person": _("My turns"), "feed_trip": _("Trip"), "feed_owner": _("Hides in use")}[kind]


def feed_address(*, kind: str, owner_uuid: UUID) -> str:
    """The full address of a feed; the first call makes it."""
    link, _ = AccessLink.objects.get_or_create(kind=kind, owner_uuid=owner_uuid, defaults={"made_at": timezone.now()})
    token = address_token(kind=kind, owner_uuid=owner_uuid, counter=link.counter)
    return f"{settings.PUBLIC_URL}{reverse('trips:feed-show', args=[token])}"


@transaction.atomic
def feed_address_replace(*, kind: str, owner_uuid: UUID) -> str:
    """A new address for a feed; every older one is gone from now on."""
    feed_address(kind=kind, owner_uuid=owner_uuid)
    AccessLink.objects.filter(kind=kind, owner_uuid=owner_uuid).update(
        counter=F("counter") + 1, made_at=timezone.now(), version=F("version") + 1
    )
    return feed_address(kind=kind, owner_uuid=owner_uuid)


def owner_feeds_of(trip: Trip, asker: Any) -> QuerySet[Site]:
    """The sites of the trip whose owner's calendar the asker may see and replace: their own.

    That calendar names the people of every trip that goes there, whoever leads it.
    """
    return trip.sites.filter(leader=asker)


def feed_lines(trip: Trip, asker: Any) -> tuple[FeedLine, ...]:
    """The trip's own calendar and the owners' that the asker may see, with the addresses in force."""
    owners = [(f"Owner of {site.name}", "feed_owner", site.uuid) for site in owner_feeds_of(trip, asker)]
    whose = [("Leaders: all hides and people", "feed_trip", trip.uuid), *owners]
    return tuple(
        FeedLine(title, feed_address(kind=kind, owner_uuid=owner), kind, owner) for title, kind, owner in whose
    )
