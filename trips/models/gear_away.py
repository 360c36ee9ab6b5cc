"""Gear that is not with its owner for a part of a trip: lost or broken, lent, or shared."""

from typing import Any

from django.db import models
from django.db.models import F, Q

from participants.models import Body, Converter, Lens, Row, Tube
from participants.models.row import holds
from trips.models.place import Place
from trips.models.session import Session
from trips.models.trip import Trip

PIECES = ("body", "lens", "converter", "tube")  # what decides reach; supports and batteries are not kept track of
OWNED_PIECES = tuple(f"{kind}__participant" for kind in PIECES)  # for select_related


class GearAway(Row):
    """A piece lost (`borrower` empty) or lent from a moment on; `until_at` empty: to the end of the trip.

    `shared`: its owner goes on using it, so that one piece serves both. A session counts when any of it lies within.
    """

    trip = models.ForeignKey(Trip, on_delete=models.CASCADE, related_name="gear_away")
    body = models.ForeignKey(Body, null=True, blank=True, on_delete=models.CASCADE, related_name="away")
    lens = models.ForeignKey(Lens, null=True, blank=True, on_delete=models.CASCADE, related_name="away")
    converter = models.ForeignKey(Converter, null=True, blank=True, on_delete=models.CASCADE, related_name="away")
    tube = models.ForeignKey(Tube, null=True, blank=True, on_delete=models.CASCADE, related_name="away")
    borrower = models.ForeignKey(Place, null=True, blank=True, on_delete=models.CASCADE, related_name="borrowed")
    from_at = models.DateTimeField()
    until_at = models.DateTimeField(null=True, blank=True)
    shared = models.BooleanField("its owner goes on using it, in the same hide", default=False)

    class Meta:
        ordering = ["from_at", "uuid"]
        verbose_name_plural = "gear away"
        constraints = [
            holds(
                "gear_away_one_piece",
                "Name one piece of gear: a body, a lens, a converter or a tube.",
                Q(*(Q(**{f"{other}__isnull": other != one for other in PIECES}) for one in PIECES), _connector=Q.OR),
            ),
            holds(
                "gear_away_ends_after_start",
                "A loan ends after it begins.",
                Q(until_at__isnull=True) | Q(until_at__gt=F("from_at")),
            ),
            holds(
                "gear_away_shared_with_somebody",
                "Say who shares the piece.",
                Q(shared=False) | Q(borrower__isnull=False),
            ),
        ]

    def __str__(self) -> str:
        return str(self.piece)

    @property
    def kind(self) -> str:
        """Which kind of piece it is."""
        return next(kind for kind in PIECES if getattr(self, f"{kind}_id"))

    @property
    def piece(self) -> Any:
        """The piece itself."""
        return getattr(self, self.kind)

    def covers(self, session: Session) -> bool:
        """Whether any of a session lies within."""
        return self.from_at < session.ends_at and (self.until_at is None or self.until_at > session.starts_at)
