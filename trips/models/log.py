"""What happened: logs of sessions, arrivals, and what was noted on the day."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from participants.models import Row
from participants.models.row import holds, once
from trips.core.day.values import KINDS_OF_HIDES, KINDS_OF_PEOPLE
from trips.models.place import Place
from trips.models.session import Car, Session
from trips.models.site import Hide, Seat
from trips.models.subject import Subject
from trips.models.trip import Trip

MESSAGE_KINDS = [
    ("late", _("I am late")),
    ("ill", _("I am ill")),
    ("not_coming", _("I do not come this session")),
    ("swap", _("I want to swap")),
    ("rest", _("I want to rest")),
    ("gear_complete", _("My gear is complete")),
    ("text", _("Something else")),
]
LIGHT_MET = [("", "not noted"), ("as_predicted", "as predicted"), ("better", "better"), ("worse", "worse")]


class SessionLog(Row):
    """One entry about a hide in a session; two entries of the same session stand side by side."""

    session = models.ForeignKey(Session, on_delete=models.CASCADE, related_name="logs")
    hide = models.ForeignKey(Hide, on_delete=models.CASCADE, related_name="logs")
    place = models.ForeignKey(Place, null=True, blank=True, on_delete=models.SET_NULL, related_name="logs")
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="session_logs"
    )
    written_at = models.DateTimeField()
    light_met = models.CharField(max_length=14, choices=LIGHT_MET, blank=True)
    yield_rating = models.PositiveSmallIntegerField(null=True, blank=True)
    empty = models.BooleanField("nothing came", default=False)
    ev100_met = models.FloatField("EV100 met at the seat", null=True, blank=True)
    problems = models.TextField(blank=True)
    notes = models.TextField(blank=True)

    class Meta:
        ordering = ["session", "hide", "written_at", "uuid"]
        constraints = [
            holds("session_log_yield", "Yield is from 0 to 5.", Q(yield_rating__isnull=True) | Q(yield_rating__lte=5))
        ]

    def __str__(self) -> str:
        return f"log {self.written_at:%Y-%m-%d %H:%M}"


class Arrival(Row):
    """A subject seen in a logged session."""

    log = models.ForeignKey(SessionLog, on_delete=models.CASCADE, related_name="arrivals")
    subject = models.ForeignKey(Subject, on_delete=models.CASCADE, related_name="arrivals")
    count = models.PositiveIntegerField(default=1)

    class Meta:
        ordering = ["log", "subject", "uuid"]
        constraints = [once("arrival_once", "This subject is already in the log.", "log", "subject")]

    def __str__(self) -> str:
        return f"arrival {self.count}"


class Message(Row):
    """What a participant tells their leaders from the phone; it changes nothing by itself.

    `sent_at`: when it was typed; `session`: the first that was not over then; `until_at`: of somebody late.
    `answered_at`: when a leader read it.
    """

    place = models.ForeignKey(Place, on_delete=models.CASCADE, related_name="messages")
    kind = models.CharField(max_length=14, choices=MESSAGE_KINDS)
    session = models.ForeignKey(Session, null=True, blank=True, on_delete=models.SET_NULL, related_name="messages")
    until_at = models.DateTimeField(null=True, blank=True)
    text = models.CharField(max_length=200, blank=True)
    sent_at = models.DateTimeField()
    answered_at = models.DateTimeField(null=True, blank=True)
    answered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="answered_messages"
    )

    class Meta:
        ordering = ["place", "sent_at", "uuid"]

    def __str__(self) -> str:
        return f"message {self.sent_at:%Y-%m-%d %H:%M}"


class IncidentRecord(Row):
    """What happened, for the insurer: `paper` holds all that it says, as it was when it was made, never altered."""

    trip = models.ForeignKey(Trip, on_delete=models.CASCADE, related_name="incidents")
    number = models.PositiveIntegerField()
    session = models.ForeignKey(Session, null=True, blank=True, on_delete=models.SET_NULL, related_name="incidents")
    made_at = models.DateTimeField()
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="incidents"
    )
    paper = models.JSONField(default=dict)

    class Meta:
        ordering = ["trip", "number", "uuid"]
        constraints = [once("incident_number_once_a_trip", "This trip has a record of that number.", "trip", "number")]

    def __str__(self) -> str:
        return f"incident {self.number}"


class HappeningKind(models.TextChoices):
    """What may be noted on the day."""

    OUT = "out", "out"
    BACK = "back", "back"
    NOT_COMING = "not_coming", "not coming"
    LATE = "late", "late"
    MOVED = "moved", "moved"
    LEFT_EARLY = "left_early", "left early"
    HIDE_CLOSED = "hide_closed", "hide closed"
    HIDE_OPEN = "hide_open", "hide open again"
    CAR_DOWN = "car_down", "car down"
    LIGHT_CHANGED = "light_changed", "light changed"
    OVERDUE_NOTED = "overdue_noted", "overdue noted"
    REACHED = "reached", "reached"


class Happening(Row):
    """Something noted on the day, never altered: `trips/core/day` folds all of them to how the day stands.

    `at`: when it happened; `until_at`: when somebody late sits, a hide opens again, or somebody reached wants to be
    back. One that `undoes` another has its kind and takes it back.
    """

    trip = models.ForeignKey(Trip, on_delete=models.CASCADE, related_name="happenings")
    kind = models.CharField(max_length=14, choices=HappeningKind)
    session = models.ForeignKey(Session, null=True, blank=True, on_delete=models.CASCADE, related_name="happenings")
    place = models.ForeignKey(Place, null=True, blank=True, on_delete=models.CASCADE, related_name="happenings")
    leader = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.CASCADE, related_name="happenings"
    )
    hide = models.ForeignKey(Hide, null=True, blank=True, on_delete=models.CASCADE, related_name="happenings")
    seat = models.ForeignKey(Seat, null=True, blank=True, on_delete=models.SET_NULL, related_name="happenings")
    car = models.ForeignKey(Car, null=True, blank=True, on_delete=models.SET_NULL, related_name="happenings")
    at = models.DateTimeField()
    until_at = models.DateTimeField(null=True, blank=True)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="noted_happenings"
    )
    note = models.CharField(max_length=300, blank=True)
    undoes = models.ForeignKey("self", null=True, blank=True, on_delete=models.CASCADE, related_name="undone_by")

    class Meta:
        ordering = ["trip", "at", "uuid"]
        constraints = [
            holds(
                "happening_person_or_leader",
                "A happening is about one participant or one leader.",
                Q(place__isnull=True) | Q(leader__isnull=True),
            ),
            holds(
                "happening_of_a_person",
                "This kind of happening needs a person and a session.",
                ~Q(kind__in=KINDS_OF_PEOPLE)
                | (Q(session__isnull=False) & (Q(place__isnull=False) | Q(leader__isnull=False))),
            ),
            holds(
                "happening_at_a_hide",
                "This kind of happening needs a hide and a session.",
                ~Q(kind__in=KINDS_OF_HIDES) | Q(session__isnull=False, hide__isnull=False),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.at:%Y-%m-%d %H:%M}"
