"""What a leader's device keeps of a trip for the time without a network: addresses of pages, and their edition."""

import hashlib
from datetime import datetime, timedelta
from typing import Any
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

from django.db.models import Count, Max
from django.urls import reverse

from participants.models import Participant
from trips.models import Hide, Issue, Message, Session, Site, Trip
from trips.selectors.trip import sites_of

BEHIND, AHEAD = timedelta(hours=18), timedelta(hours=36)  # the sessions of today and tomorrow, whatever the hour


def kept_paths(asker: Any, trip: Trip, *, now: datetime) -> list[str]:
    """The board, the day, tomorrow, the rota, who is out when, and each hide's emergency page; two queries."""
    near = trip.sessions.filter(ends_at__gt=now - BEHIND, starts_at__lt=now + AHEAD).select_related("site")
    sessions = list(near.order_by("starts_at", "uuid"))
    days = sorted({one.starts_at.astimezone(ZoneInfo(one.site.time_zone)).date() for one in sessions})
    day = reverse("trips:day-show", args=[trip.uuid])
    hides = Hide.objects.filter(site__in=sites_of(asker).filter(trips=trip)).order_by("name", "uuid")
    return [
        reverse("trips:board-show", args=[trip.uuid]),
        day,
        *(f"{day}?{urlencode({'day': one.isoformat()})}" for one in days),
        reverse("trips:rota-show", args=[trip.uuid]),
        *(reverse("trips:out-show", args=[trip.uuid, one.uuid]) for one in sessions),
        *(reverse("trips:emergency-show", args=[trip.uuid, hide.uuid]) for hide in hides),
    ]


def pack_edition(trip: Trip, paths: list[str]) -> str:
    """What changes whenever a kept page would: its rows, counted and dated; seven queries."""
    rows = (
        trip.happenings,
        Message.objects.filter(place__trip=trip),
        Issue.objects.filter(rota__trip=trip),
        Session.objects.filter(trip=trip),
        Site.objects.filter(trips=trip),
        Hide.objects.filter(site__trips=trip),
        Participant.objects.filter(places__trip=trip),
    )
    marks = [one.aggregate(count=Count("pk"), last=Max("changed_at")) for one in rows]
    said = repr((paths, trip.changed_at, [(mark["count"], mark["last"]) for mark in marks]))
    return hashlib.sha256(said.encode()).hexdigest()[:24]
