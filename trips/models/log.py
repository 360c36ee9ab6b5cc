"""What happened: logs of sessions, arrivals, and who is out and back."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from participants.models import Row
from participants.models.row import holds, once
from trips.models.place import Place
from trips.models.session import Session
from trips.models.site import Hide
from trips.models.subject import Subject

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


class OutBack(Row):
    """Who is out in a hide and back again."""

    session = models.ForeignKey(Session, on_delete=models.CASCADE, related_name="outs")
    place = models.ForeignKey(Place, null=True, blank=True, on_delete=models.CASCADE, related_name="outs")
    leader = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.CASCADE, related_name="outs"
    )
    hide = models.ForeignKey(Hide, on_delete=models.CASCADE, related_name="outs")
    out_at = models.DateTimeField(null=True, blank=True)
    back_at = models.DateTimeField(null=True, blank=True)
    ticked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="ticks"
    )

    class Meta:
        ordering = ["session", "hide", "uuid"]
        constraints = [
            holds(
                "out_back_person_or_leader",
                "A tick belongs to one participant or to a leader.",
                Q(place__isnull=True, leader__isnull=False) | Q(place__isnull=False, leader__isnull=True),
            ),
            once(
                "out_back_person_once",
                "This person is already listed for this session.",
                "session",
                "place",
                when=Q(place__isnull=False),
            ),
            once(
                "out_back_leader_once",
                "This leader is already listed for this session.",
                "session",
                "leader",
                when=Q(leader__isnull=False),
            ),
            holds(
                "out_back_order",
                "Nobody is back before going out.",
                Q(back_at__isnull=True) | Q(out_at__isnull=True) | Q(back_at__gte=F("out_at")),
            ),
        ]

    def __str__(self) -> str:
        return "out and back"
