"""Trips with an issued rota, for tests of what people are told."""

from datetime import timedelta

from django.test import Client
from django.urls import reverse
from django.utils import timezone

from participants import services
from tests import factories
from trips.models import Issue
from trips.services.calendars import events_kept
from trips.services.issue_papers import issue_papers
from trips.services.issue_payload import issue_contents
from trips.services.notices import notices_write


def seated_rota(trip, *, moves=None):
    """A draft in which everybody sits in every session: two people to a hide, in order of name.

    `moves`: {(person index, session index): (hide index, seat index) or None for no turn}.
    """
    rota = factories.rota(trip=trip)
    hides = list(trip.sites.get().hides.all())
    for s, session in enumerate(trip.sessions.all()):
        for p, place in enumerate(trip.places.all()):
            target = (moves or {}).get((p, s), (p // 2, p % 2))
            if target is not None:
                hide = hides[target[0]]
                seat = list(hide.seats.all())[target[1]]
                factories.turn(rota=rota, session=session, place=place, hide=hide, seat=seat)
    return rota


def issue(rota):
    """Issue a rota: its payloads, and a notice to each person whom it changes something for."""
    trip = rota.trip
    last = Issue.objects.filter(rota__trip=trip).order_by("-issued_at").first()
    trip.rotas.filter(state="issued").update(state="retired")
    rota.state = "issued"
    rota.save()
    told = issue_contents(rota=rota, last=last, now=timezone.now())
    issued_at = max(timezone.now(), last.issued_at + timedelta(seconds=1)) if last else timezone.now()
    kept = issue_papers(rota=rota)
    papers = kept.papers | {"drawings": told.drawings}
    events = events_kept(events=kept.events, last=last, issued_at=issued_at)
    row = Issue.objects.create(rota=rota, issued_at=issued_at, pages=told.pages, papers=papers, events=events)
    notices_write(issue=row, told=told.told, by=None)
    return row


def issued_trip(*, people=4, hides=3, sessions=4):
    """A trip with gear, hides and sessions whose first rota is issued."""
    trip = factories.planned_trip(people_count=people, hides=hides, sessions=sessions)
    issue(seated_rota(trip))
    return trip


def phone_of(person):
    """A browser in which that person is signed in by a handed link."""
    client = Client()
    token = services.link_hand_over(person=person)
    answer = client.post(reverse("participants:link-press"), {"token": token})
    assert answer.status_code == 302
    return client
