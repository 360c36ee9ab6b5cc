"""Calendars of a person, a trip and an owner: as files, and as feeds behind an address that can be replaced at once.

Feeds show what issues kept and nothing else. The address carries HMAC(key, kind, uuid, counter); only the counter is
stored, and raising it makes every older address answer that it is gone.
"""

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any
from uuid import UUID

from django.conf import settings
from django.db import transaction
from django.db.models import Count, F, Max, Q, QuerySet, Sum
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
    CalendarEvent,
    CalendarHead,
    EventPayload,
    IssuedPayloads,
    calendar_file,
    calendar_uid,
    events_after,
    events_from_issues,
)
from trips.models import Issue, Place, Rota, RotaState, Site, Trip
from trips.services.issue_papers import issue_papers

HISTORY = "history"  # in Issue.events: whether its entries have theirs with them
OF_MANY = ("people", "owners")  # the parts of Issue.events that hold a calendar each for several
FEED_EDITION = 1  # raise it when the same entries are to be written in another way
FEED_NAMES = {"feed_person": noted("My turns"), "feed_trip": noted("Trip"), "feed_owner": noted("Hides in use")}
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
        return calendar_file(wanted.head, issued_events(wanted))


def issued_events(wanted: CalendarOf) -> tuple[CalendarEvent, ...]:
    """The entries of this calendar after all issues of the trip. Of the newest issue alone only its own part is read;
    of all of them where that one was kept before entries had their history with them.
    """
    own: Any = "events"
    for key in wanted.path:
        own = KeyTransform(key, own)
    issues = Issue.objects.filter(rota__trip=wanted.trip)
    newest = issues.order_by("-issued_at", "-pk").values_list("pk", flat=True).first()
    kept = issues.annotate(own=own, history=KeyTransform(HISTORY, "events")).order_by("issued_at", "pk")
    rows = kept.values_list("issued_at", "own", "history")
    found = list(rows.filter(pk=newest)) if newest is not None else []
    return _events_of(found if found and found[0][2] else list(rows) if found else [])


def _events_of(
    issues: Iterable[tuple[datetime, list[dict[str, Any]] | None, bool | None]],
) -> tuple[CalendarEvent, ...]:
    """The entries after these issues, oldest first: moment, what each kept of a calendar, whether with history."""
    events: tuple[CalendarEvent, ...] = ()
    for issued_at, kept, with_history in issues:
        if with_history:
            events = tuple(CalendarEvent.from_json(one) for one in kept or ())
        else:
            events = events_after(events, IssuedPayloads(issued_at, _payloads(kept)))
    return events


def events_kept(*, events: dict[str, Any], last: Issue | None, issued_at: datetime) -> dict[str, Any]:
    """What an issue keeps of its `events`: each entry with its history, and those that it cancels with them.

    `last`: the issue before. So the newest issue alone tells every calendar.
    """
    told: list[tuple[datetime, dict[str, Any]]] = [(last.issued_at, last.events)] if last else []
    if last is not None and not last.events.get(HISTORY):
        issues = Issue.objects.filter(rota__trip=last.rota.trip_id).order_by("issued_at", "pk")
        told = list(issues.values_list("issued_at", "events"))

    found: dict[str, Any] = {HISTORY: True, "people": {}, "owners": {}}
    paths = {
        (whose, key) for one in (events, *(kept for _, kept in told)) for whose in OF_MANY for key in one.get(whose, {})
    }
    for path in [("trip",), *sorted(paths)]:
        before = _events_of((moment, _part(one, path), one.get(HISTORY)) for moment, one in told)
        after = events_after(before, IssuedPayloads(issued_at, _payloads(_part(events, path))))
        _part(found, path[:-1])[path[-1]] = [event.as_json() for event in after]
    return found


def _part(events: Any, path: tuple[str, ...]) -> Any:
    """What stands in an issue's events at a path; None where it has nothing there."""
    for key in path:
        events = (events or {}).get(key)
    return events


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


def feed_is_open(address: Address) -> bool:
    """Whether an address is the one of its calendar that is in force."""
    links = AccessLink.objects.filter(kind=address.kind, owner_uuid=address.owner_uuid, revoked_at__isnull=True)
    return address.kind in FEED_NAMES and links.filter(counter=address.counter).exists()


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
        places = Place.objects.filter(participant=person).select_related("trip", "participant")
        ordered = places.order_by("trip__starts_on", "pk")
        return [CalendarOf(place.trip, place=place) for place in ordered] if person else None
    site = Site.objects.filter(uuid=owner_uuid).first()
    return [CalendarOf(trip, site=site) for trip in _trips_of(owner_uuid)] if site else None


def _trips_of(site_uuid: UUID) -> QuerySet[Trip]:
    """The trips that go to a site, and those with an issued rota in which people sit there."""
    going = Trip.sites.through.objects.filter(site__uuid=site_uuid).values("trip")
    issued = Rota.objects.filter(issue__isnull=False, turns__hide__site__uuid=site_uuid).values("trip")
    return Trip.objects.filter(Q(pk__in=going) | Q(pk__in=issued)).order_by("starts_on", "pk")


def feed_bytes(calendars: list[CalendarOf], *, kind: str, owner_uuid: UUID) -> bytes:
    """One calendar with the entries of all of them."""
    events = [event for one in calendars for event in issued_events(one)]
    with speaking(calendars[0].language if calendars else ENGLISH):
        name = _(FEED_NAMES[kind])
        head = calendars[0].head if len(calendars) == 1 else CalendarHead(str(owner_uuid), name, _(LAG))
        return calendar_file(head, events)


def feed_mark(*, kind: str, owner_uuid: UUID) -> str:
    """What tells one content of a feed from another; empty where the feed has no trip.

    It is worked out before anything is read that an issue kept, from one look at the database (an owner's takes two):
    names, languages, and how many issues each trip has, the newest moment and their versions.
    """
    whose: list[Any] = []
    found: list[Any]
    if kind == "feed_person":
        places = Place.objects.filter(participant__uuid=owner_uuid, participant__erased_at__isnull=True)
        person = ("uuid", "participant__name", "participant__language")
        rows = places.order_by("trip__starts_on", "pk").values_list("trip__uuid", "trip__name", *person)
        found = list(rows.annotate(*_issues_of("trip__")))
    elif kind == "feed_trip":
        found = list(Trip.objects.filter(uuid=owner_uuid).values_list("uuid", "name").annotate(*_issues_of("")))
    else:
        whose = list(Site.objects.filter(uuid=owner_uuid).values_list("name", "owner_language"))
        found = list(_trips_of(owner_uuid).values_list("uuid", "name").annotate(*_issues_of("")))
    said = repr((FEED_EDITION, LAG, kind, owner_uuid, whose, found))
    return hashlib.sha256(said.encode()).hexdigest()[:32] if found else ""


def _issues_of(trip: str) -> tuple[Any, ...]:
    """How many issues a trip has, the newest moment, and their versions. `trip`: the way to it, "" from itself."""
    issues = f"{trip}rotas__issue"
    return Count(issues), Max(f"{issues}__issued_at"), Sum(f"{issues}__version")


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
