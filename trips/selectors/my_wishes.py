"""What the forms of a participant choose from, and who may read what they write."""

from typing import Any

from django.contrib.auth import get_user_model
from django.db.models import Q, QuerySet

from participants.models import HealthReading, Participant
from trips.models import Hide, Place, Subject


def subjects_to_wish(place: Place) -> list[Subject]:
    """The subjects of the trip and of its hides, by name."""
    of_trip, of_hides = Q(trips=place.trip), Q(hide_subjects__hide__site__trips=place.trip)
    return list(Subject.objects.filter(of_trip | of_hides).distinct().order_by("name", "uuid"))


def hides_to_wish(place: Place) -> QuerySet[Hide]:
    """The hides of the trip, by name."""
    return Hide.objects.filter(site__trips=place.trip).order_by("name", "uuid").distinct()


def readers_of(person: Participant) -> list[str]:
    """The names of everybody who may read the person's health note besides them."""
    led = Q(pk=person.leader_id) | Q(trips__places__participant=person) | Q(co_led_trips__places__participant=person)
    leaders = get_user_model().objects.filter(led).distinct().order_by("username")
    return [reader_name(leader) for leader in leaders]


def reader_name(leader: Any) -> str:
    """What a leader is called on pages."""
    return str(leader.get_full_name() or leader.get_username())


def readings_of(person: Participant) -> list[dict[str, Any]]:
    """When the note was read and by whom, the newest first."""
    rows = HealthReading.objects.filter(participant=person).select_related("reader").order_by("-read_at", "pk")[:50]
    return [{"when": row.read_at, "who": reader_name(row.reader)} for row in rows if row.reader]
