"""What people of a trip tell their leaders from their phones."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID
from zoneinfo import ZoneInfo

from django.shortcuts import get_object_or_404
from django.urls import reverse

from trips.documents.wording.messages import message_sentence
from trips.models import Message, Place, Session, Trip

SHOWN_AT_MOST = 5  # of a person's own
OPENS_SHEET = ("late", "ill", "not_coming", "swap", "rest")


@dataclass(frozen=True)
class MessageLine:
    """A message in words; `opens_sheet`: whether a sheet of the board answers it."""

    message: Message
    text: str

    @property
    def opens_sheet(self) -> bool:
        """Whether a sheet of the board answers it."""
        return self.message.kind in OPENS_SHEET


def messages_open(trip: Trip) -> tuple[MessageLine, ...]:
    """What no leader has answered yet, the oldest first; one query."""
    rows = Message.objects.filter(place__trip=trip, answered_at=None).select_related(
        "place__participant", "session__site"
    )
    return tuple(_line(row, row.place.participant.name) for row in rows.order_by("sent_at", "uuid"))


def messages_of(place: Place) -> tuple[MessageLine, ...]:
    """A person's own, the newest first."""
    rows = place.messages.select_related("session__site").order_by("-sent_at", "uuid")[:SHOWN_AT_MOST]
    return tuple(_line(row, "") for row in rows)


def message_for(trip: Trip, uuid: UUID) -> Message:
    """The message of that uuid on this trip; 404 otherwise."""
    return get_object_or_404(Message.objects.select_related("place", "session__site"), place__trip=trip, uuid=uuid)


def sheet_of(message: Message) -> str:
    """The sheet of the board that answers a message, its fields filled."""
    query = {"one": f"place-{message.place.uuid}"}
    if message.until_at is not None and message.session is not None:
        query["until"] = f"{message.until_at.astimezone(ZoneInfo(message.session.site.time_zone)):%H:%M}"
    return reverse("trips:board-sheet", args=[message.place.trip.uuid, "person"], query=query)


def session_meant(place: Place, at: datetime) -> Session | None:
    """The first session of the trip that was not over at a moment."""
    return place.trip.sessions.select_related("site").filter(ends_at__gt=at).order_by("starts_at").first()


def _line(row: Message, name: str) -> MessageLine:
    zone = ZoneInfo(row.session.site.time_zone if row.session else "UTC")
    sent_at, until_at = row.sent_at.astimezone(zone), row.until_at and row.until_at.astimezone(zone)
    return MessageLine(row, message_sentence(name, row.get_kind_display(), sent_at, until_at, row.text))
