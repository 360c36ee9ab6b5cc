"""What is read of people and their sign-in links. Each takes who asks; a stranger's id is a 404."""

import hashlib
import uuid
from datetime import date, datetime, timedelta
from typing import Any

from django.contrib.auth.models import AbstractBaseUser, AnonymousUser
from django.contrib.sessions.backends.base import SessionBase
from django.contrib.sessions.models import Session
from django.db.models import Count, Max, Q, QuerySet
from django.http import Http404
from django.shortcuts import get_object_or_404
from django.utils import timezone

from participants.models import AccessLink, Device, LinkPress, Participant
from participants.session_store import SessionStore, session_digest

Asker = AbstractBaseUser | AnonymousUser
SIGNED_IN_AS = "participant"  # in a session: the uuid of the person whose it is
NEW_FOR = timedelta(days=14)
ROTA_ISSUED, PLACE_CANCELLED = "issued", "cancelled"  # states of rows of `trips`, which is not imported here


def participants_led_by(user: Asker) -> QuerySet[Participant]:
    """The people a user leads: their own, and those with a place on a trip that they lead or co-lead.

    `places` is the name under which a place of a trip points at its person.
    """
    if not user.is_authenticated:
        return Participant.objects.none()
    led = Q(leader=user) | Q(places__trip__leader=user) | Q(places__trip__co_leaders=user)
    return Participant.objects.filter(led, erased_at__isnull=True).distinct()


def participants_kept_by(user: Any) -> QuerySet[Participant]:
    """The people whose own leader a user is, whatever trips they are on."""
    if not user.is_authenticated:
        return Participant.objects.none()
    return Participant.objects.filter(leader=user, erased_at__isnull=True)


def places_seen(person: Participant, typed_by: Asker | None) -> QuerySet[Any]:
    """The person's places that whoever asks may see: all for them and their own leader, else those on trips led now.

    `typed_by`: the leader who asks, None for the person. `places` is the name under which a place of a trip points at
    its person.
    """
    places: QuerySet[Any] = person.places.all()
    if typed_by is None or typed_by.pk == person.leader_id:
        return places
    led = person.places.filter(Q(trip__leader=typed_by) | Q(trip__co_leaders=typed_by))
    return places.filter(pk__in=led.values("pk"))


def participant_for_leader(*, user: Asker, person_uuid: uuid.UUID) -> Participant:
    """One person whose own leader the user is; 404 otherwise."""
    return get_object_or_404(participants_kept_by(user).select_related("leader"), uuid=person_uuid)


def device_in_use(session: SessionBase) -> Device | None:
    """The signed-in device behind a live session, with its person; None when signed out, revoked or erased.

    A session that is over or cannot be read says nobody, so it must be asked before its key is.
    """
    who = session.get(SIGNED_IN_AS)
    if not who or not session.session_key:
        return None
    device = Device.objects.filter(session_digest=session_digest(session.session_key), participant__uuid=who)
    in_use = device.filter(revoked_at__isnull=True, participant__erased_at__isnull=True)
    return in_use.select_related("participant__leader").first()


def device_revoked(session_key: str | None) -> bool:
    """Whether the device that comes with this session key was signed out from elsewhere."""
    if not session_key:
        return False
    return Device.objects.filter(session_digest=session_digest(session_key), revoked_at__isnull=False).exists()


def devices_of(person: Participant) -> list[Device]:
    """The devices that can open a person's pages now, the newest first: those with a live session that names them."""
    devices = person.devices.filter(revoked_at__isnull=True).order_by("-signed_in_at", "uuid")
    alive = Session.objects.filter(session_key__in=[one.session_digest for one in devices])
    store = SessionStore()
    opens = {
        row.session_key
        for row in alive.filter(expire_date__gt=timezone.now())
        if store.decode(row.session_data).get(SIGNED_IN_AS) == str(person.uuid)
    }
    return [one for one in devices if one.session_digest in opens]


def devices_new(devices: list[Device], *, here: Device | None, now: datetime) -> list[Device]:
    """Those a person should look at: signed in lately by a browser that was not theirs before; never `here`."""
    return [one for one in devices if one != here and one.is_new and one.signed_in_at > now - NEW_FOR]


def brings_gear(person: Participant) -> bool:
    """Whether a person takes pictures on any trip, or has no place yet; a guest everywhere has no gear to tell of.

    `places` is the name under which a place of a trip points at its person.
    """
    taking = Q(places__photographs=True) | Q(places__isnull=True)
    return Participant.objects.filter(taking, pk=person.pk).exists()


def edition_of(person: Participant, *, today: date) -> str:
    """Which edition of their pages a person gets on a day (UTC): another one with each issue on a trip of theirs, each
    notice they read and each message they send or have answered; when they, a place of theirs or the meals of a trip
    were changed, and when a trip is over (the day after its end), since the pages are about another one then. `places`
    is the name under which a place of a trip points at its person.
    """
    issued = "places__trip__rotas"
    found = Participant.objects.filter(pk=person.pk).aggregate(
        in_force=Count(issued, filter=Q(**{f"{issued}__state": ROTA_ISSUED}), distinct=True),
        last=Max(f"{issued}__issue__issued_at"),
        meals=Count("places__trip__meals", distinct=True),
        eaten=Max("places__trip__meals__changed_at"),
    )
    unread = Count("notices", filter=Q(notices__read_at__isnull=True), distinct=True)
    said = {"told": Count("messages", distinct=True), "answered": Count("messages__answered_at", distinct=True)}
    places = person.places.annotate(unread=unread, **said).order_by("pk")
    rows = places.values_list("trip__uuid", "state", "version", "unread", *said, "trip__starts_on", "trip__ends_on")
    lines = [(*row, ends_on < today - timedelta(days=1)) for *row, ends_on in rows]
    return hashlib.sha256(repr((person.version, found, lines)).encode()).hexdigest()[:16]


def zone_of(places: QuerySet[Any], *, today: date, trip_uuid: str | None = None) -> str:
    """Whose clock a person's pages go by: that of the trip asked for, else of the running or next one, else of the
    last, by its first site; empty without a trip. `places`: those of the person that whoever asks may see.
    """
    places = places.exclude(state=PLACE_CANCELLED).order_by("trip__starts_on", "pk", "trip__sites__name")
    rows = list(places.values_list("trip__uuid", "trip__ends_on", "trip__sites__time_zone"))
    asked = [zone for uuid, _, zone in rows if str(uuid) == trip_uuid]
    ahead = [zone for _, ends_on, zone in rows if ends_on >= today - timedelta(days=1)]
    last = [zone for uuid, _, zone in rows if uuid == rows[-1][0]]
    return next(iter(asked or ahead or last), "") or ""


def link_of(*, kind: str, owner_uuid: uuid.UUID) -> AccessLink | None:
    """The address of that kind of an owner, if one was ever made."""
    return AccessLink.objects.filter(kind=kind, owner_uuid=owner_uuid).first()


def language_of_owner(owner_uuid: uuid.UUID) -> str:
    """The language of the person behind a link; empty where nobody is."""
    return Participant.objects.filter(uuid=owner_uuid).values_list("language", flat=True).first() or ""


def links_of(person: Participant) -> dict[str, AccessLink]:
    """A person's sign-in links by kind."""
    links = AccessLink.objects.filter(owner_uuid=person.uuid, kind__in=("mail", "handed"))
    return {link.kind: link for link in links}


def link_is_live(link: AccessLink) -> bool:
    """Whether a link opens now."""
    return link.revoked_at is None and (link.expires_at is None or link.expires_at > timezone.now())


def device_of_person(*, person: Participant, device_uuid: uuid.UUID) -> Device:
    """One signed-in device of a person; 404 otherwise."""
    device = next((one for one in devices_of(person) if one.uuid == device_uuid), None)
    if device is None:
        raise Http404("no such device")
    return device


def presses_since(key: str, since: datetime, **conditions: Any) -> QuerySet[LinkPress]:
    """The tries that were counted under a key since a moment, oldest first."""
    return LinkPress.objects.filter(key=key, pressed_at__gt=since, **conditions)


def free_again_at(key: str, *, now: datetime, window: timedelta, most: int) -> datetime | None:
    """When the next try is free; None when it is free now."""
    tries = list(presses_since(key, now - window).values_list("pressed_at", flat=True))
    return tries[-most] + window if len(tries) >= most else None


def people_reached_at(email: str) -> list[Participant]:
    """Everybody who gave that e-mail address (a couple may share one)."""
    return list(
        Participant.objects.filter(email__iexact=email.strip(), erased_at__isnull=True).select_related("leader")
    )
