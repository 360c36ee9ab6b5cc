"""People as their leader knows them, and what they want the leader to know of their health."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from participants.models.row import Row, holds

LANGUAGES = [("en", "English"), ("de", "Deutsch"), ("es", "Español")]
UNITS = [("metric", _("metres, °C")), ("feet", _("feet, °F"))]


class Participant(Row):
    """A person as the leader knows them; e-mail is optional, everything can also be typed by the leader."""

    leader = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="participants")
    name = models.CharField(max_length=200)
    email = models.EmailField(blank=True)
    phone = models.CharField(max_length=60, blank=True)
    language = models.CharField(max_length=8, choices=LANGUAGES, default="en")
    units = models.CharField(max_length=8, choices=UNITS, default="metric")
    on_paper = models.BooleanField("reads on paper, not on a phone", default=False)
    emergency_contact = models.CharField(max_length=300, blank=True)
    diet = models.CharField(max_length=300, blank=True)
    cabin_bag_note = models.CharField("cabin-bag limits of the person's carrier", max_length=200, blank=True)
    cabin_bag_kg = models.FloatField("cabin-bag weight limit (kg)", null=True, blank=True)
    erased_at = models.DateTimeField(null=True, blank=True, editable=False)

    class Meta:
        ordering = ["name", "uuid"]
        constraints = [
            holds("participant_has_a_name", "Give the person a name.", ~Q(name="")),
            holds(
                "participant_cabin_bag_above_zero",
                "A cabin-bag limit is more than 0 kg.",
                Q(cabin_bag_kg__isnull=True) | Q(cabin_bag_kg__gt=0),
            ),
        ]

    def __str__(self) -> str:
        return self.name


class LeaderDetails(Row):
    """What participants are told of somebody who leads, beside the name. No row: nothing yet."""

    leader = models.OneToOneField(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="details")
    phone = models.CharField("telephone", max_length=60, blank=True)

    class Meta:
        verbose_name_plural = "leader details"

    def __str__(self) -> str:
        return self.phone


class HealthNote(Row):
    """What a person wants the leader to know about their health; read by that person and the trip's leaders only."""

    participant = models.OneToOneField(Participant, on_delete=models.CASCADE, related_name="health_note")
    text = models.TextField(blank=True)

    def __str__(self) -> str:
        return "health note"


class HealthReading(Row):
    """One reading of a health note: by a leader (`reader`), or by the person themselves (`reader` empty)."""

    participant = models.ForeignKey(Participant, on_delete=models.CASCADE, related_name="health_readings")
    reader = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL)
    read_at = models.DateTimeField()

    class Meta:
        ordering = ["read_at", "uuid"]

    def __str__(self) -> str:
        return f"read {self.read_at:%Y-%m-%d %H:%M}"
