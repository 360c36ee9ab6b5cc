"""All that is kept of a person, to take along; and having it erased: the person goes, their turns stay unnamed."""

from typing import Any

from django.db import transaction
from django.db.models import F
from django.utils import timezone

from participants.models import AccessLink, HealthNote, Participant
from participants.services import devices_revoke
from participants.tasks import task_traces_delete
from trips.models import Pairing, Place
from trips.models.gear_away import PIECES
from trips.selectors.my_wishes import reader_name
from trips.services.issue_erased import ERASED_NAME, place_unnamed, runs_unnamed
from trips.services.staleness import inputs_changed

GEAR = ("bodies", "lenses", "converters", "tubes", "batteries", "supports")
OWN_FIELDS = (
    *("name", "email", "phone", "language", "units", "on_paper", "emergency_contact", "diet"),
    *("cabin_bag_note", "cabin_bag_kg"),
)
PLACE_FIELDS = (
    *("state", "arrives_at", "leaves_at", "steps_limit", "steps_firm", "walk_limit_m", "walk_firm"),
    *("entry_limit", "entry_firm", "hours_limit", "hours_firm", "carry_help", "light_wish", "output", "photographs"),
)
NOT_GEAR = ("id", "participant_id", "version", "changed_at")


def my_data(*, person: Participant, with_health: bool = False) -> dict[str, Any]:
    """Everything of a person as plain values: person, gear, places with wishes, turns and what they were told.

    Who is wished apart, and anybody else's contact, is not part of it. Lengths in metres, moments in UTC.
    """
    places = Place.objects.filter(participant=person).select_related("trip")
    found: dict[str, Any] = {
        "person": {"uuid": str(person.uuid), **{name: getattr(person, name) for name in OWN_FIELDS}},
        "gear": {kind: [_piece(piece) for piece in getattr(person, kind).all()] for kind in GEAR},
        "trips": [_place(place) for place in places.order_by("trip__starts_on", "pk")],
        "devices": list(person.devices.order_by("signed_in_at").values("name", "signed_in_at", "revoked_at")),
        "health_readings": [
            {"read_at": row.read_at, "reader": reader_name(row.reader) if row.reader else None}
            for row in person.health_readings.select_related("reader")
        ],
    }
    if with_health:
        note = HealthNote.objects.filter(participant=person).first()
        found["health_note"] = note.text if note else ""
    return found


def _piece(piece: Any) -> dict[str, Any]:
    names = [field.attname for field in piece._meta.concrete_fields if field.attname not in NOT_GEAR]
    away = piece.away.values("from_at", "until_at", "shared") if hasattr(piece, "away") else ()
    return {name: getattr(piece, name) for name in names} | ({"away": list(away)} if away else {})


def _place(place: Place) -> dict[str, Any]:
    turns = place.turns.filter(rota__issue__isnull=False).order_by("rota__number", "session__starts_at")
    moments = ("rota__number", "session__starts_at", "session__ends_at", "hide__name", "seat__name")
    return {
        "trip": place.trip.name,
        "starts_on": place.trip.starts_on,
        "ends_on": place.trip.ends_on,
        **{name: getattr(place, name) for name in PLACE_FIELDS},
        "wishes": list(place.wishes.values("subject__name", "votes")),
        "again": list(place.agains.values_list("hide__name", flat=True)),
        "borrowed": [
            {"piece": str(row), "from_at": row.from_at, "until_at": row.until_at, "shared": row.shared}
            for row in place.borrowed.select_related(*PIECES)
        ],
        "absences": list(place.absences.values("session__starts_at", "reason")),
        "turns": list(turns.values(*moments)),
        "rests": list(place.rests.filter(rota__issue__isnull=False).values("rota__number", "session__starts_at")),
        "told": list(place.notices.values("issue__rota__number", "told_at", "read_at")),
        "happenings": list(
            place.happenings.order_by("at").values("kind", "at", "until_at", "session__starts_at", "hide__name", "note")
        ),
        "messages": list(place.messages.values("kind", "sent_at", "until_at", "text", "answered_at")),
        "logs": list(place.logs.values("session__starts_at", "hide__name", "yield_rating", "notes", "problems")),
    }


@transaction.atomic
def person_erase(*, person: Participant) -> None:
    """Erase a person: contact, gear, wishes, pairings, health, links and devices go; places and turns stay unnamed."""
    names, email = {person.name}, person.email
    places = list(Place.objects.filter(participant=person).select_related("trip"))
    for kind in GEAR:
        getattr(person, kind).all().delete()
    HealthNote.objects.filter(participant=person).delete()
    person.health_readings.all().delete()
    AccessLink.objects.filter(owner_uuid=person.uuid).update(revoked_at=timezone.now(), counter=F("counter") + 1)
    devices_revoke(person=person)
    for place in places:
        _place_emptied(place)
        names |= place_unnamed(place, person.name)
    runs_unnamed(leader=person.leader, names=names)
    inputs_changed(place.trip for place in places)
    Participant.objects.filter(pk=person.pk).update(
        name=ERASED_NAME,
        email="",
        phone="",
        emergency_contact="",
        diet="",
        cabin_bag_note="",
        cabin_bag_kg=None,
        erased_at=timezone.now(),
        version=F("version") + 1,
    )
    task_traces_delete(names=names, email=email)


def _place_emptied(place: Place) -> None:
    place.wishes.all().delete()
    place.agains.all().delete()
    place.absences.update(reason="")
    place.happenings.update(note="")
    place.messages.all().delete()
    Pairing.objects.filter(first=place).delete()
    Pairing.objects.filter(second=place).delete()
    place.borrowed.all().delete()
    limits = {"steps_limit": None, "walk_limit_m": None, "entry_limit": "", "hours_limit": None}
    Place.objects.filter(pk=place.pk).update(**limits, carry_help=False, light_wish="", version=F("version") + 1)
