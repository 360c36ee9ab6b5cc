"""Rotas, their turns, how they were made, issued and changed."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from participants.models import Row
from participants.models.row import holds, once
from trips.core.rota.search.outcome import SearchTime
from trips.models.log import Happening
from trips.models.place import Place
from trips.models.session import Session
from trips.models.site import Hide, Seat
from trips.models.trip import Trip

USER = settings.AUTH_USER_MODEL
SEARCH_TIMES = [(time.value, time.value) for time in SearchTime]
REPAIRS = [("", "from the start"), ("fewest", "fewest changes"), ("few", "a few more changes"), ("free", "free")]


class RotaState(models.TextChoices):
    """What a rota is to people: seen by leaders alone, in force, or no longer."""

    DRAFT = "draft", "draft"
    ISSUED = "issued", "issued"
    RETIRED = "retired", "retired"


class MakingState(models.TextChoices):
    """How a run of the solver stands."""

    WAITING = "waiting", "waiting for a worker"
    RUNNING = "running", "running"
    FINISHED = "finished", "finished"
    STOPPED = "stopped", "stopped early"
    IMPOSSIBLE = "impossible", "no rota keeps all rules"
    NOTHING_FOUND = "nothing_found", "nothing found in time"
    NOT_FINISHED = "not_finished", "not finished"
    TRIP_CHANGED = "trip_changed", "the trip changed meanwhile"
    FAILED = "failed", "failed"


ACTIVE_MAKING_STATES = [MakingState.WAITING, MakingState.RUNNING]


class Rota(Row):
    """All turns of a trip, numbered. `result`: each stage's value, bound and proof; `seconds` apart.

    `cell_light`: light, cautions and drawings of its cells, worked out when it was saved. `search_time`: empty where no
    planner made it.
    """

    trip = models.ForeignKey(Trip, on_delete=models.PROTECT, related_name="rotas")
    number = models.PositiveIntegerField()
    state = models.CharField(max_length=8, choices=RotaState, default=RotaState.DRAFT)
    seed = models.PositiveIntegerField(default=0)
    search_time = models.CharField(max_length=8, choices=SEARCH_TIMES, blank=True, default="")
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(USER, null=True, blank=True, on_delete=models.SET_NULL, related_name="rotas_made")
    follows = models.ForeignKey("self", null=True, blank=True, on_delete=models.SET_NULL, related_name="followers")
    repair = models.CharField(max_length=8, choices=REPAIRS, blank=True, default="")
    result = models.JSONField(default=dict, blank=True)
    cell_light = models.JSONField(default=dict, blank=True)
    seconds = models.FloatField(null=True, blank=True)
    solver_version = models.CharField(max_length=60, blank=True)
    rules_digest = models.CharField(max_length=64, blank=True)
    inputs_digest = models.CharField(max_length=64, blank=True)

    class Meta:
        ordering = ["trip", "number", "uuid"]
        constraints = [
            once("rota_number_once_a_trip", "This trip already has a rota of that number.", "trip", "number"),
            once(
                "rota_issued_once_a_trip",
                "Another rota of this trip is issued.",
                "trip",
                when=Q(state=RotaState.ISSUED),
            ),
            holds("rota_number", "Rotas are numbered from 1.", Q(number__gte=1)),
        ]

    def __str__(self) -> str:
        return f"rota {self.number}"


class Turn(Row):
    """One person (or the leader) in one seat in one session.

    `part` 0: the whole session; 1, 2 ...: order in a hand-over of one seat. `reasons`: for everybody;
    `leader_reasons`: what only leaders may read.
    """

    rota = models.ForeignKey(Rota, on_delete=models.CASCADE, related_name="turns")
    session = models.ForeignKey(Session, on_delete=models.PROTECT, related_name="turns")
    place = models.ForeignKey(Place, null=True, blank=True, on_delete=models.PROTECT, related_name="turns")
    leader = models.ForeignKey(USER, null=True, blank=True, on_delete=models.PROTECT, related_name="turns")
    hide = models.ForeignKey(Hide, on_delete=models.PROTECT, related_name="turns")
    seat = models.ForeignKey(Seat, on_delete=models.PROTECT, related_name="turns")
    pinned = models.BooleanField(default=False)
    stays = models.BooleanField("stays through the break", default=False)
    part = models.PositiveSmallIntegerField(default=0)
    points = models.FloatField(default=0)
    reasons = models.JSONField(default=list, blank=True)
    leader_reasons = models.JSONField(default=list, blank=True)

    class Meta:
        ordering = ["rota", "session", "hide", "seat", "part", "uuid"]
        constraints = [
            once("turn_seat_once", "This seat is already taken in this session.", "rota", "session", "seat", "part"),
            once(
                "turn_whole_excludes_parts",
                "This seat is already taken in this session.",
                "rota",
                "session",
                "seat",
                when=Q(part__lte=1),
            ),
            once(
                "turn_person_once",
                "This person already has a turn in this session.",
                "rota",
                "session",
                "place",
                when=Q(place__isnull=False),
            ),
            once(
                "turn_leader_once",
                "This leader already has a turn in this session.",
                "rota",
                "session",
                "leader",
                when=Q(leader__isnull=False),
            ),
            holds(
                "turn_person_or_leader",
                "A turn belongs to one participant or to a leader.",
                Q(place__isnull=True, leader__isnull=False) | Q(place__isnull=False, leader__isnull=True),
            ),
        ]

    def __str__(self) -> str:
        return f"turn {self.pk}"


class Rest(Row):
    """A session without a turn that the leader allowed."""

    rota = models.ForeignKey(Rota, on_delete=models.CASCADE, related_name="rests")
    session = models.ForeignKey(Session, on_delete=models.PROTECT, related_name="rests")
    place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="rests")
    reason = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["rota", "session", "place", "uuid"]
        constraints = [once("rest_once", "This rest is already noted.", "rota", "session", "place")]

    def __str__(self) -> str:
        return "rest"


class Making(Row):
    """A run of the solver. One active for each trip; without a heartbeat it counts as not finished.

    `towards`: the former rota that a repair goes back to as far as it holds; empty: it keeps to the issued one.
    `progress`: [seconds, worst share, its bound] whenever one of the two got better.
    """

    trip = models.ForeignKey(Trip, on_delete=models.CASCADE, related_name="makings")
    state = models.CharField(max_length=14, choices=MakingState, default=MakingState.WAITING)
    started_by = models.ForeignKey(USER, null=True, blank=True, on_delete=models.SET_NULL, related_name="makings")
    started_at = models.DateTimeField()
    heartbeat_at = models.DateTimeField(null=True, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)
    seed = models.PositiveIntegerField(default=0)
    search_time = models.CharField(max_length=8, choices=SEARCH_TIMES, default=SearchTime.NORMAL)
    repair = models.CharField(max_length=8, choices=REPAIRS, blank=True, default="")
    from_session = models.ForeignKey(Session, null=True, blank=True, on_delete=models.SET_NULL, related_name="makings")
    towards = models.ForeignKey(Rota, null=True, blank=True, on_delete=models.SET_NULL, related_name="+")
    stage = models.CharField(max_length=60, blank=True)
    best = models.FloatField(null=True, blank=True)
    bound = models.FloatField(null=True, blank=True)
    progress = models.JSONField(default=list, blank=True)
    cancel = models.BooleanField(default=False)
    explanation = models.JSONField(default=dict, blank=True)
    rota = models.ForeignKey(Rota, null=True, blank=True, on_delete=models.SET_NULL, related_name="makings")

    class Meta:
        ordering = ["trip", "started_at", "uuid"]
        constraints = [
            once(
                "making_active_once_a_trip",
                "A rota is already being made for this trip.",
                "trip",
                when=Q(state__in=ACTIVE_MAKING_STATES),
            )
        ]

    def __str__(self) -> str:
        return f"making {self.get_state_display()}"


class Issue(Row):
    """A rota as it was told to people: the payloads of pages, papers and events, never altered."""

    rota = models.OneToOneField(Rota, on_delete=models.PROTECT, related_name="issue")
    issued_at = models.DateTimeField()
    by = models.ForeignKey(USER, null=True, blank=True, on_delete=models.SET_NULL, related_name="issues")
    pages = models.JSONField(default=dict, blank=True)
    papers = models.JSONField(default=dict, blank=True)
    events = models.JSONField(default=dict, blank=True)

    class Meta:
        ordering = ["issued_at", "uuid"]

    def __str__(self) -> str:
        return f"issue {self.issued_at:%Y-%m-%d %H:%M}"


class MailState(models.TextChoices):
    """How the mail of a notice stands."""

    NONE = "", "no mail"
    WAITING = "waiting", "to be sent"
    SENT = "sent", "sent"
    GIVEN_UP = "given_up", "not sent"


OF_ISSUE = Q(session__isnull=True)
OF_OVERDUE = Q(session__isnull=False, happening__isnull=True)
OF_DAY = Q(happening__isnull=False)


class Notice(Row):
    """What one person, or a leader with a seat, was told of an issue; `summary`: what changed for them.

    With a `session` it tells a leader who is overdue in its `hide` (`summary`: {"overdue": names}), once; with a
    `happening` somebody of a move under way, which no issue follows. It is its mail's place in the outbox too.
    `mail_due_at`: when it is sent, tried again, or, where a worker has claimed it, free for another; `mail_fault`: why
    the last try failed, as `MailNotSent.fault`.
    """

    issue = models.ForeignKey(Issue, on_delete=models.CASCADE, related_name="notices")
    place = models.ForeignKey(Place, null=True, blank=True, on_delete=models.CASCADE, related_name="notices")
    leader = models.ForeignKey(USER, null=True, blank=True, on_delete=models.CASCADE, related_name="notices")
    session = models.ForeignKey(Session, null=True, blank=True, on_delete=models.CASCADE, related_name="alarms")
    hide = models.ForeignKey(Hide, null=True, blank=True, on_delete=models.CASCADE, related_name="alarms")
    happening = models.ForeignKey(Happening, null=True, blank=True, on_delete=models.CASCADE, related_name="notices")
    summary = models.JSONField(default=dict, blank=True)
    told_at = models.DateTimeField(null=True, blank=True)
    confirmed_at = models.DateTimeField(null=True, blank=True)
    read_at = models.DateTimeField(null=True, blank=True)
    mail = models.CharField(max_length=8, choices=MailState, default=MailState.NONE, blank=True)
    mail_due_at = models.DateTimeField(null=True, blank=True)
    mail_tries = models.PositiveSmallIntegerField(default=0)
    mail_fault = models.CharField(max_length=20, blank=True)

    class Meta:
        ordering = ["issue", "place", "uuid"]
        indexes = [
            models.Index(fields=["mail_due_at"], name="notice_mails_waiting", condition=Q(mail=MailState.WAITING))
        ]
        constraints = [
            once("notice_once", "This person already has a notice of this issue.", "issue", "place", when=OF_ISSUE),
            once(
                "notice_leader_once",
                "This leader already has a notice of this issue.",
                *("issue", "leader"),
                when=Q(leader__isnull=False) & OF_ISSUE,
            ),
            once("notice_overdue_once", "It was told.", "session", "hide", "leader", when=OF_OVERDUE),
            holds("notice_overdue_leader", "Leaders alone get it.", ~OF_OVERDUE | Q(leader__isnull=False)),
            once("notice_day_once", "It was told.", "happening", "place", when=OF_DAY),
            once("notice_day_leader_once", "It was told.", "happening", "leader", when=OF_DAY),
            holds(
                "notice_person_or_leader",
                "A notice belongs to one participant or to a leader.",
                Q(place__isnull=True, leader__isnull=False) | Q(place__isnull=False, leader__isnull=True),
            ),
        ]

    def __str__(self) -> str:
        return "notice"


class Change(Row):
    """One change of a rota by hand: who, when, why, old and new turns."""

    rota = models.ForeignKey(Rota, on_delete=models.CASCADE, related_name="changes")
    who = models.ForeignKey(USER, null=True, blank=True, on_delete=models.SET_NULL, related_name="rota_changes")
    when = models.DateTimeField()
    why = models.CharField(max_length=300, blank=True)
    old = models.JSONField(default=list, blank=True)
    new = models.JSONField(default=list, blank=True)
    undone_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["rota", "when", "uuid"]

    def __str__(self) -> str:
        return f"change {self.when:%Y-%m-%d %H:%M}"
