"""Subjects wanted on trips, and how likely they come to a hide."""

from typing import Any

from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q

from participants.models import Row
from participants.models.row import holds, once
from trips.models.site import Hide

SPEEDS = [
    ("still", "still"),
    ("feeding", "feeding"),
    ("head_turn", "turning its head"),
    ("hop", "hopping"),
    ("flight", "in flight"),
]
CHANCES = [
    ("nearly_always", "nearly always"),
    ("often", "often"),
    ("sometimes", "sometimes"),
    ("rarely", "rarely"),
    ("none", "none"),
]


def validate_months(value: Any) -> None:
    """Months are a list of numbers 1-12, each once."""
    if not isinstance(value, list) or any(type(month) is not int or not 1 <= month <= 12 for month in value):
        raise ValidationError("Months are numbers from 1 to 12.")
    if len(set(value)) != len(value):
        raise ValidationError("Each month is given once.")


class Subject(Row):
    """A species wanted on trips of a leader; length of grown animals in centimetres."""

    leader = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="subjects")
    name = models.CharField(max_length=120)
    scientific_name = models.CharField(max_length=120, blank=True)
    other_names = models.JSONField(default=dict, blank=True)
    length_min_cm = models.FloatField()
    length_max_cm = models.FloatField()
    standing_height_cm = models.FloatField(null=True, blank=True)
    speed = models.CharField(max_length=12, choices=SPEEDS, default="feeding")
    sensitive = models.BooleanField("do not name its place", default=False)

    class Meta:
        ordering = ["name", "uuid"]
        constraints = [
            once("subject_name_once_a_leader", "You already have a subject of that name.", "leader", "name"),
            holds(
                "subject_length",
                "A subject's length is above 0 cm, the smallest not more than the largest.",
                Q(length_min_cm__gt=0) & Q(length_max_cm__gte=F("length_min_cm")),
            ),
            holds(
                "subject_standing_height",
                "A standing height is above 0 cm.",
                Q(standing_height_cm__isnull=True) | Q(standing_height_cm__gt=0),
            ),
        ]

    def __str__(self) -> str:
        return self.name


class HideSubject(Row):
    """How likely a subject comes to a hide; blank: the mean of the others, all blank: even."""

    hide = models.ForeignKey(Hide, on_delete=models.CASCADE, related_name="hide_subjects")
    subject = models.ForeignKey(Subject, on_delete=models.CASCADE, related_name="hide_subjects")
    early = models.CharField(max_length=14, choices=CHANCES, blank=True)
    midday = models.CharField(max_length=14, choices=CHANCES, blank=True)
    late = models.CharField(max_length=14, choices=CHANCES, blank=True)
    night = models.CharField(max_length=14, choices=CHANCES, blank=True)
    months = models.JSONField(default=list, blank=True, validators=[validate_months])

    class Meta:
        ordering = ["hide", "subject", "uuid"]
        constraints = [once("hide_subject_once", "This subject is already listed for the hide.", "hide", "subject")]

    def __str__(self) -> str:
        return f"{self.subject} at {self.hide}"
