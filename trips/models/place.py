"""A person's place on a trip: when they are there, limits, wishes, pairings, absences and pins."""

from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Greatest, Least

from participants.models import Participant, Row
from participants.models.row import holds, once
from trips.models.session import Session
from trips.models.site import Hide, Seat, not_negative
from trips.models.subject import Subject
from trips.models.trip import Trip

LIGHT_WISHES = [("front", "front light"), ("side", "side light"), ("back", "back light"), ("any", "any light")]
OUTPUTS = [("web", "screen and web"), ("30x20", "print 30 x 20 cm"), ("a3", "print A3")]
HARDEST_ENTRIES = [("walk", "walk in only"), ("stoop", "stoop"), ("ladder", "ladder"), ("crawl", "crawl")]


class PairingKind(models.TextChoices):
    """How two people go together."""

    TOGETHER = "together", "together always"
    HALF = "half", "together half the time"
    APART = "apart", "apart"


class PlaceState(models.TextChoices):
    """Whether somebody comes on a trip."""

    INVITED = "invited", "invited"
    CONFIRMED = "confirmed", "confirmed"
    WAITING = "waiting", "on the waiting list"
    CANCELLED = "cancelled", "cancelled"


ON_TRIP = (PlaceState.CONFIRMED, PlaceState.INVITED)  # who counts: for rotas, papers and head counts
VOTES_IN_ALL = 6  # what each person has to spend on subjects
NOT_CANCELLED = (*ON_TRIP, PlaceState.WAITING)  # whom lists name, and who sees the trip


class Place(Row):
    """A participant's place on one trip: when they are there, limits, wishes."""

    trip = models.ForeignKey(Trip, on_delete=models.CASCADE, related_name="places")
    participant = models.ForeignKey(Participant, on_delete=models.PROTECT, related_name="places")
    state = models.CharField(max_length=10, choices=PlaceState, default=PlaceState.INVITED)
    arrives_at = models.DateTimeField(null=True, blank=True)
    leaves_at = models.DateTimeField(null=True, blank=True)
    steps_limit = models.PositiveSmallIntegerField("most steps", null=True, blank=True)
    steps_firm = models.BooleanField("cannot do more steps", default=True)
    walk_limit_m = models.FloatField("longest walk one way (m)", null=True, blank=True)
    walk_firm = models.BooleanField("cannot walk further", default=True)
    entry_limit = models.CharField("hardest entrance", max_length=8, choices=HARDEST_ENTRIES, blank=True)
    entry_firm = models.BooleanField("cannot enter otherwise", default=True)
    hours_limit = models.FloatField("most hours at a stretch", null=True, blank=True)
    hours_firm = models.BooleanField("cannot sit longer", default=True)
    carry_help = models.BooleanField("needs help with carrying", default=False)
    light_wish = models.CharField(max_length=6, choices=LIGHT_WISHES, blank=True)
    output = models.CharField(max_length=6, choices=OUTPUTS, default="web")
    photographs = models.BooleanField(default=True)
    helps = models.ForeignKey("self", null=True, blank=True, on_delete=models.SET_NULL, related_name="helpers")
    gear_ready = models.BooleanField(default=False)

    class Meta:
        ordering = ["participant__name", "uuid"]
        constraints = [
            once("place_once", "This person already has a place on the trip.", "trip", "participant"),
            holds(
                "place_leaves_after_arrival",
                "A person leaves after they arrive.",
                Q(arrives_at__isnull=True) | Q(leaves_at__isnull=True) | Q(leaves_at__gt=F("arrives_at")),
            ),
            holds("place_limits", "A limit is not negative.", not_negative("walk_limit_m", "hours_limit")),
        ]

    def __str__(self) -> str:
        return f"place {self.pk}"


class Wish(Row):
    """Votes a person spends on a subject; six in all."""

    place = models.ForeignKey(Place, on_delete=models.CASCADE, related_name="wishes")
    subject = models.ForeignKey(Subject, on_delete=models.CASCADE, related_name="wishes")
    votes = models.PositiveSmallIntegerField()

    class Meta:
        ordering = ["place", "subject", "uuid"]
        constraints = [
            once("wish_once", "Votes for this subject are already given.", "place", "subject"),
            holds("wish_votes", "From one to six votes go to a subject.", Q(votes__gte=1, votes__lte=VOTES_IN_ALL)),
        ]

    def __str__(self) -> str:
        return f"{self.votes} votes"


class Again(Row):
    """A hide somebody wants to go back to."""

    place = models.ForeignKey(Place, on_delete=models.CASCADE, related_name="agains")
    hide = models.ForeignKey(Hide, on_delete=models.CASCADE, related_name="agains")

    class Meta:
        ordering = ["place", "hide", "uuid"]
        constraints = [once("again_once", "This hide is already marked to go back to.", "place", "hide")]

    def __str__(self) -> str:
        return "again"


class Pairing(Row):
    """Two people together or apart. Leaders only."""

    trip = models.ForeignKey(Trip, on_delete=models.CASCADE, related_name="pairings")
    first = models.ForeignKey(Place, on_delete=models.CASCADE, related_name="pairings_first")
    second = models.ForeignKey(Place, on_delete=models.CASCADE, related_name="pairings_second")
    kind = models.CharField(max_length=10, choices=PairingKind)

    class Meta:
        ordering = ["trip", "kind", "uuid"]
        constraints = [
            models.UniqueConstraint(
                Least("first", "second"),
                Greatest("first", "second"),
                name="pairing_once",
                violation_error_message="These two people already have a pairing; remove that one first.",
            ),
            holds("pairing_of_two", "A pairing is between two different people.", ~Q(first=F("second"))),
        ]

    def __str__(self) -> str:
        return "pairing"


class Absence(Row):
    """A session that somebody is not there for."""

    place = models.ForeignKey(Place, on_delete=models.CASCADE, related_name="absences")
    session = models.ForeignKey(Session, on_delete=models.CASCADE, related_name="absences")
    reason = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["place", "session", "uuid"]
        constraints = [once("absence_once", "This absence is already noted.", "place", "session")]

    def __str__(self) -> str:
        return "absence"


class Pin(Row):
    """A turn the leader fixed before planning; of a person, or (place empty) of the leader."""

    trip = models.ForeignKey(Trip, on_delete=models.CASCADE, related_name="pins")
    session = models.ForeignKey(Session, on_delete=models.CASCADE, related_name="pins")
    place = models.ForeignKey(Place, null=True, blank=True, on_delete=models.CASCADE, related_name="pins")
    hide = models.ForeignKey(Hide, on_delete=models.CASCADE, related_name="pins")
    seat = models.ForeignKey(Seat, null=True, blank=True, on_delete=models.CASCADE, related_name="pins")

    class Meta:
        ordering = ["trip", "session", "uuid"]
        constraints = [
            once("pin_person_once", "This person is already pinned in this session.", "session", "place"),
            once(
                "pin_leader_once",
                "The leader is already pinned in this session.",
                "session",
                when=Q(place__isnull=True),
            ),
            once(
                "pin_seat_once",
                "This seat is already pinned in this session.",
                "session",
                "seat",
                when=Q(seat__isnull=False),
            ),
        ]

    def __str__(self) -> str:
        return "pin"
