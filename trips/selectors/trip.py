"""Trips of the person who asks, and what a trip still lacks. A stranger's id is a 404."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.contrib.auth import get_user_model
from django.contrib.auth.models import AbstractBaseUser, AnonymousUser
from django.db.models import Count, Exists, F, OuterRef, Q, QuerySet
from django.shortcuts import get_object_or_404

from participants.core.gear import LIST_OF
from participants.core.isolation import isolated
from participants.core.language import gettext as _
from participants.core.language import gettext_noop as noted
from participants.models import LeaderDetails, Participant
from trips.documents.quantities import Fact
from trips.documents.wording.gaps import Concerned, Gap
from trips.models import ON_TRIP, GearAway, Hide, Place, PlaceState, Rota, RotaState, Session, Site, SitePlanner, Trip
from trips.models.gear_away import PIECES
from trips.selectors.my_wishes import reader_name

Asker = AbstractBaseUser | AnonymousUser | Any
GEAR_COUNTS = ("body", "lens")
PHONE_TO_FOLLOW = noted("telephone to follow")
ONE_DAY = timedelta(days=1)  # the clock of a site is that far from any other at most
SITE_FACTS = ("meeting_point", "emergency_number", "hospital", "rescue_point")


def trips_of(asker: Asker) -> QuerySet[Trip]:
    """All trips that this leader leads or co-leads."""
    if not asker.is_authenticated:
        return Trip.objects.none()
    return Trip.objects.filter(Q(leader=asker) | Q(co_leaders=asker)).distinct()


def trip_for(asker: Asker, uuid: UUID | str) -> Trip:
    """The trip of that uuid, with its rules, if the asker leads it."""
    return get_object_or_404(trips_of(asker).select_related("rules", "leader"), uuid=uuid)


def trip_rows(asker: Asker, now: datetime) -> list[tuple[Trip, str]]:
    """Trips with the counts that the list shows, newest first, each with its stage by the clock of its first site."""
    trips = trips_of(asker).annotate(
        people_count=Count("places", filter=Q(places__state__in=ON_TRIP), distinct=True),
        session_count=Count("sessions", distinct=True),
        hide_count=Count("sites__hides", distinct=True),
        is_issued=Exists(Rota.objects.filter(trip=OuterRef("pk"), state=RotaState.ISSUED)),
    )
    rows = trips.order_by("-starts_on", "name").prefetch_related("sites")
    days = {trip.pk: now.astimezone(_zone_of(trip)).date() for trip in rows}
    return [(trip, trip.stage_on(days[trip.pk], issued=trip.is_issued)) for trip in rows]


def running_trip(asker: Asker, now: datetime) -> Trip | None:
    """The asker's first trip on one of its days, by the clock of its first site."""
    near = trips_of(asker).filter(starts_on__lte=now.date() + ONE_DAY, ends_on__gte=now.date() - ONE_DAY)
    trips = near.order_by("starts_on", "name").prefetch_related("sites")
    return next((one for one in trips if one.starts_on <= now.astimezone(_zone_of(one)).date() <= one.ends_on), None)


def _zone_of(trip: Trip) -> ZoneInfo:
    return ZoneInfo(next((site.time_zone for site in trip.sites.all()), "UTC"))


def leaders_named(names: Iterable[str]) -> dict[str, Any]:
    """Who may sign in under those names, by name."""
    return {user.get_username(): user for user in get_user_model().objects.filter(username__in=names, is_active=True)}


def sites_of(asker: Asker) -> QuerySet[Site]:
    """Sites that open to this leader: their own, and those of trips led now that the site's leader leads or allows."""
    if not asker.is_authenticated:
        return Site.objects.none()
    said_yes = Q(trips__leader=F("leader")) | Q(trips__leader=F("planners__leader"))
    led = Site.objects.filter(said_yes, trips__in=trips_of(asker).values("pk"))
    return Site.objects.filter(Q(leader=asker) | Q(pk__in=led.values("pk")))


def open_sites(asker: Asker, trip: Trip) -> set[int]:
    """The keys of those sites of the trip that open to the asker."""
    return set(sites_of(asker).filter(trips=trip).values_list("pk", flat=True))


def sites_allowed(leader: Any) -> QuerySet[Site]:
    """Sites on which a leader may plan: their own, and those whose leader said yes."""
    welcome = SitePlanner.objects.filter(leader=leader)
    return Site.objects.filter(Q(leader=leader) | Q(pk__in=welcome.values("site")))


def sites_to_plan(asker: Asker, trip: Trip | None) -> QuerySet[Site]:
    """Sites that the asker may tick for a trip (None: a new one of theirs): what it has already always stays offered.

    A co-leader may also tick a site of their own, which is their yes to the trip's leader.
    """
    leader = trip.leader if trip else asker
    offered = Q(pk__in=sites_allowed(leader).values("pk"))
    if leader != asker:
        offered &= Q(pk__in=sites_of(asker).values("pk"))
        offered |= Q(leader=asker)
    if trip is not None:
        offered |= Q(pk__in=trip.sites.values("pk"))
    return Site.objects.filter(offered)


def sites_for_sessions(trip: Trip, *, kept: Site | None = None) -> QuerySet[Site]:
    """Sites of the trip on which it may have new sessions, and the one that a session has already."""
    allowed = Q(pk__in=sites_allowed(trip.leader).values("pk"))
    return trip.sites.filter(allowed | Q(pk=kept.pk) if kept else allowed)


def leader_details(leader: Any) -> LeaderDetails:
    """What participants are told of a leader; unsaved where nothing is typed yet."""
    return LeaderDetails.objects.filter(leader=leader).first() or LeaderDetails(leader=leader)


def leaders_reached(trip: Trip) -> tuple[tuple[str, str, str], ...]:
    """(role, name, telephone or "") of the leader and the co-leaders, as they are today: no issue keeps them."""
    leading = Q(pk=trip.leader_id) | Q(co_led_trips=trip)
    rows = get_user_model().objects.filter(leading).select_related("details").distinct()
    leaders = sorted(rows, key=lambda one: (one.pk != trip.leader_id, one.pk))
    return tuple(
        (
            _("Leader") if one.pk == trip.leader_id else _("Co-leader"),
            reader_name(one),
            one.details.phone if hasattr(one, "details") else "",
        )
        for one in leaders
    )


def leader_phones(trip: Trip) -> tuple[Fact, ...]:
    """The same as lines of papers."""
    return tuple(
        Fact(role, f"{isolated(name)}, {isolated(phone or _(PHONE_TO_FOLLOW))}")
        for role, name, phone in leaders_reached(trip)
    )


def person_phones(trip: Trip) -> tuple[Fact, ...]:
    """The telephones of those on the trip who gave one, by name, for their leaders alone."""
    people = trip.places.filter(state__in=ON_TRIP).exclude(participant__phone="").select_related("participant")
    return tuple(
        Fact(place.participant.name, place.participant.phone) for place in people.order_by("participant__name", "pk")
    )


def _gaps(checks: Mapping[str, Iterable[Hide | Site | Place | Participant]]) -> list[Gap]:
    """A gap of each kind that concerns anything."""
    found = {kind: tuple(_concerned(row) for row in rows) for kind, rows in checks.items()}
    return [Gap(kind, concerned) for kind, concerned in found.items() if concerned]


def _concerned(row: Hide | Site | Place | Participant) -> Concerned:
    return Concerned(row.participant.name if isinstance(row, Place) else row.name, str(row.uuid))


def _hide_gaps(hides: list[Hide]) -> list[Gap]:
    seen = [hide for hide in hides if hide.views.all()]
    return _gaps(
        {
            "hide_without_seats": [hide for hide in hides if not hide.seats.all()],
            "hide_without_views": [hide for hide in hides if not hide.views.all()],
            "hide_without_horizon": [hide for hide in seen if not any(view.horizon for view in hide.views.all())],
            "hide_without_subjects": [hide for hide in hides if not hide.hide_subjects.all()],
        }
    )


def _people_gaps(places: list[Place], away: list[GearAway]) -> list[Gap]:
    photographers = [place for place in places if place.photographs]
    gear = {place.pk: _gear_said(place, away) for place in photographers}
    return _gaps(
        {
            "people_without_gear": [place.participant for place in photographers if not gear[place.pk].typed],
            "people_gear_unusable": [place for place in photographers if gear[place.pk].unusable],
            "people_without_wishes": [place.participant for place in photographers if not place.wishes.all()],
            "people_not_confirmed": [place for place in places if place.state == PlaceState.INVITED],
        }
    )


@dataclass(frozen=True, slots=True)
class _GearSaid:
    """Whether a body or lens was ever typed in, and whether some were but no set can be made for good."""

    typed: bool
    unusable: bool


def _gear_said(place: Place, away: list[GearAway]) -> _GearSaid:
    gone = {(row.kind, row.piece) for row in away if not row.shared}
    borrowed = {row.kind for row in away if row.borrower_id == place.pk}
    own = {kind: list(getattr(place.participant, LIST_OF[kind]).all()) for kind in GEAR_COUNTS}
    typed = any(own.values())
    left = all(kind in borrowed or any((kind, one) not in gone for one in own[kind]) for kind in GEAR_COUNTS)
    return _GearSaid(typed, typed and not left)


def trip_gaps(asker: Asker, trip: Trip) -> list[Gap]:
    """What the trip still lacks, what stops a rota first; of a site that is closed to the asker only that it is.

    A fixed number of queries.
    """
    sites = list(trip.sites.all())
    opened = list(sites_of(asker).filter(trips=trip))
    hides = list(
        Hide.objects.filter(site__in=opened).prefetch_related("seats", "views", "hide_subjects").order_by("name")
    )
    places = list(
        trip.places.filter(state__in=ON_TRIP)
        .select_related("participant")
        .prefetch_related("wishes", *[f"participant__{LIST_OF[kind]}" for kind in GEAR_COUNTS])
    )
    away = list(trip.gear_away.filter(until_at=None).select_related(*PIECES))
    sessions = list(trip.sessions.select_related("site"))
    gaps = [Gap("no_site")] if not sites else []
    gaps += [Gap("no_hides")] if opened and not hides else []
    gaps += [Gap("no_people")] if not places else []
    gaps += [Gap("no_sessions")] if not sessions else []
    gaps += _hide_gaps(hides) + _people_gaps(places, away)
    gaps += [Gap("no_car")] if not trip.cars.count() else []
    closed = [site for site in sites if site not in opened]
    told = {"no_leader_phone": leader_details(asker).phone, "no_leader_email": getattr(asker, "email", "")}
    gaps += [Gap(kind, (Concerned(reader_name(asker)),)) for kind, known in told.items() if not known]
    bare = [site for site in opened if not all(getattr(site, fact) for fact in SITE_FACTS)]
    outside = [Concerned(str(one), str(one.uuid)) for one in sessions if not _in_days(trip, one)]
    gaps += [Gap("session_outside", tuple(outside))] if outside else []
    return gaps + _gaps({"site_closed": closed, "site_facts": bare})


def _in_days(trip: Trip, session: Session) -> bool:
    day = session.starts_at.astimezone(ZoneInfo(session.site.time_zone)).date()
    return trip.starts_on <= day <= trip.ends_on
