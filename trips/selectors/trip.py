"""Trips of the person who asks, and what a trip still lacks. A stranger's id is a 404."""

from typing import Any
from uuid import UUID

from django.contrib.auth.models import AbstractBaseUser, AnonymousUser
from django.db.models import Count, Q, QuerySet
from django.http import Http404

from trips.documents.wording.gaps import Gap
from trips.models import Hide, Place, Session, Site, Trip

Asker = AbstractBaseUser | AnonymousUser | Any
GEAR_COUNTS = ("bodies", "lenses")
SITE_FACTS = ("meeting_point", "emergency_number", "hospital", "rescue_point")


def trips_of(asker: Asker) -> QuerySet[Trip]:
    """All trips that this leader leads or co-leads."""
    if not asker.is_authenticated:
        return Trip.objects.none()
    return Trip.objects.filter(Q(leader=asker) | Q(co_leaders=asker)).distinct()


def trip_for(asker: Asker, uuid: UUID | str) -> Trip:
    """The trip of that uuid, with its rules, if the asker leads it."""
    trip = trips_of(asker).select_related("rules", "leader").filter(uuid=uuid).first()
    if trip is None:
        raise Http404("no such trip")
    return trip


def trip_rows(asker: Asker) -> list[Trip]:
    """Trips with the counts that the list shows, newest first."""
    trips = trips_of(asker).annotate(
        people_count=Count("places", filter=Q(places__state__in=["invited", "confirmed"]), distinct=True),
        session_count=Count("sessions", distinct=True),
        hide_count=Count("sites__hides", distinct=True),
    )
    return list(trips.order_by("-starts_on", "name").prefetch_related("sites", "rotas"))


def sites_of(asker: Asker) -> QuerySet[Site]:
    """Sites that this leader owns, or meets on a trip that they co-lead."""
    if not asker.is_authenticated:
        return Site.objects.none()
    return Site.objects.filter(Q(leader=asker) | Q(trips__co_leaders=asker)).distinct()


def sessions_of(trip: Trip) -> list[Session]:
    """The trip's sessions in order, with their sites."""
    return list(trip.sessions.select_related("site"))


def _hide_gaps(hides: list[Hide]) -> list[Gap]:
    gaps: list[Gap] = []
    checks = {
        "hide_without_seats": [hide.name for hide in hides if not hide.seats.all()],
        "hide_without_views": [hide.name for hide in hides if not hide.views.all()],
        "hide_without_horizon": [
            hide.name for hide in hides if hide.views.all() and not any(view.horizon for view in hide.views.all())
        ],
        "hide_without_subjects": [hide.name for hide in hides if not hide.hide_subjects.all()],
    }
    for kind, names in checks.items():
        if names:
            gaps.append(Gap(kind, tuple(names)))
    return gaps


def _people_gaps(places: list[Place]) -> list[Gap]:
    gaps: list[Gap] = []
    photographers = [place for place in places if place.photographs]
    checks = {
        "people_without_gear": [
            place.participant.name
            for place in photographers
            if not all(getattr(place.participant, kind).all() for kind in GEAR_COUNTS)
        ],
        "people_without_wishes": [place.participant.name for place in photographers if not place.wishes.all()],
        "people_not_confirmed": [place.participant.name for place in places if place.state == "invited"],
    }
    for kind, names in checks.items():
        if names:
            gaps.append(Gap(kind, tuple(names)))
    return gaps


def trip_gaps(trip: Trip) -> list[Gap]:
    """What the trip still lacks, what stops a rota first. A fixed number of queries."""
    sites = list(trip.sites.all())
    hides = list(
        Hide.objects.filter(site__in=sites).prefetch_related("seats", "views", "hide_subjects").order_by("name")
    )
    places = list(
        trip.places.filter(state__in=["invited", "confirmed"])
        .select_related("participant")
        .prefetch_related("wishes", *[f"participant__{kind}" for kind in GEAR_COUNTS])
    )
    sessions = trip.sessions.count()
    gaps = [Gap("no_site", ())] if not sites else []
    gaps += [Gap("no_hides", ())] if sites and not hides else []
    gaps += [Gap("no_people", ())] if not places else []
    gaps += [Gap("no_sessions", ())] if not sessions else []
    gaps += _hide_gaps(hides) + _people_gaps(places)
    gaps += [Gap("no_car", ())] if not trip.cars.count() else []
    bare = [site.name for site in sites if not all(getattr(site, fact) for fact in SITE_FACTS)]
    return gaps + ([Gap("site_facts", tuple(bare))] if bare else [])
