"""Health notes: written, read with a record of each reading, erased when they are no longer needed."""

from datetime import date, timedelta
from typing import Any

from django.db import transaction
from django.db.models import Max, Q
from django.utils import timezone

from participants.models import HealthNote, HealthReading, Participant
from participants.versions import row_save
from trips.models import ON_TRIP

KEPT_DAYS = 30  # what comes to light after a trip; the page of the note says so


def health_read(*, person: Participant, reader: Any) -> str:
    """The text of a person's note; the reading is recorded (`reader`: a leader, or None for the person)."""
    note = HealthNote.objects.filter(participant=person).first()
    if note is None or not note.text:
        return ""
    HealthReading.objects.create(participant=person, reader=reader, read_at=timezone.now())
    return note.text


@transaction.atomic
def health_save(*, person: Participant, text: str, seen_version: int | None = None) -> None:
    """Write a person's note; an empty one is erased. `Stale` where it changed since.

    `seen_version`: 0 for a form that was opened before there was a note; None writes without asking.
    """
    note, is_first = HealthNote.objects.select_for_update().get_or_create(participant=person, defaults={"text": text})
    if not is_first:
        note.text = text
        row_save(row=note, seen_version=seen_version)
    if not text:
        note.delete()


def health_due(*, today: date) -> list[HealthNote]:
    """The notes that are due to go: no backup holds them either.

    A note is due 30 days after the last trip that its person is confirmed on or invited to, or after it was last
    written, whichever is later.
    """
    expected = Q(participant__places__state__in=ON_TRIP)
    ends = Max("participant__places__trip__ends_on", filter=expected)
    due: list[HealthNote] = []
    for note in HealthNote.objects.annotate(last_day=ends):
        written = note.changed_at.date()
        if max(written, note.last_day or written) + timedelta(days=KEPT_DAYS) <= today:
            due.append(note)
    return due


@transaction.atomic
def health_erase_due(*, today: date) -> int:
    """Erase the notes that are due, with the record of their readings."""
    due = health_due(today=today)
    HealthReading.objects.filter(participant__in=[note.participant_id for note in due]).delete()
    return sum(note.delete()[0] for note in due)
