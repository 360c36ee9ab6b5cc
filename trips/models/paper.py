"""Packs of papers that a worker prints."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from participants.models import Row
from participants.models.row import once
from trips.models.rota import Rota
from trips.models.trip import Trip

PAGE_SIZES = [("A4", "A4"), ("Letter", "Letter")]


class PackState(models.TextChoices):
    """How the printing of a pack stands."""

    WAITING = "waiting", "waiting for a worker"
    RUNNING = "running", "being printed"
    FINISHED = "finished", "finished"
    FAILED = "failed", "not made"
    NOT_FINISHED = "not_finished", "not finished, start again"


ACTIVE_PACK_STATES = [PackState.WAITING, PackState.RUNNING]


class PaperPack(Row):
    """All papers of a trip as one zip: asked for, printed in a worker, fetched. One at a time for each trip.

    `rota`: the one they are printed of; None where there was none: forms, door cards and the gear table alone.
    `fault`: the sentence that says why it was not made. `content` is whole or empty, never half. `waits_s`: for how
    long nobody has taken it up, where a page is to say so.
    """

    waits_s: int = 0

    trip = models.ForeignKey(Trip, on_delete=models.CASCADE, related_name="paper_packs")
    rota = models.ForeignKey(Rota, null=True, blank=True, on_delete=models.CASCADE, related_name="paper_packs")
    state = models.CharField(max_length=14, choices=PackState, default=PackState.WAITING)
    page_size = models.CharField(max_length=6, choices=PAGE_SIZES, default="A4")
    asked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="paper_packs"
    )
    asked_at = models.DateTimeField()
    heartbeat_at = models.DateTimeField(null=True, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)
    done = models.PositiveIntegerField(default=0)
    total = models.PositiveIntegerField(default=0)
    fault = models.TextField(blank=True)
    content = models.BinaryField(null=True, blank=True)

    class Meta:
        ordering = ["trip", "asked_at", "uuid"]
        constraints = [
            once(
                "paper_pack_active_once_a_trip",
                "Papers are already being printed for this trip.",
                "trip",
                when=Q(state__in=ACTIVE_PACK_STATES),
            )
        ]

    def __str__(self) -> str:
        return f"papers {self.get_state_display()}"

    @property
    def is_active(self) -> bool:
        """Whether it waits or is being printed."""
        return self.state in ACTIVE_PACK_STATES
