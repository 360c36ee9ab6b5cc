"""A trip: its rules, cars, sessions, forecast, places and what people wish."""

from typing import Any

from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q

from participants.models import UNITS, Participant, Row
from trips.models.site import Hide, Seat, Site, Subject, between, not_negative

STAGES = [("preparing", "in preparation"), ("running", "running"), ("over", "over")]
KINDS = [("early", "early"), ("midday", "midday"), ("late", "late"), ("night", "night")]
SKIES = [("clear", "clear"), ("partly", "partly cloudy"), ("overcast", "overcast")]
LEADER_POLICIES = [
    ("never", "the leader takes no seat"),
    ("spare_seats", "the leader takes spare seats only"),
    ("coaching", "the leader sits beside people in turn"),
]
HIDE_STATES = [
    ("ready", "ready"),
    ("notice", "possible with notice"),
    ("unavailable", "unavailable"),
]
PLACE_STATES = [
    ("invited", "invited"),
    ("confirmed", "confirmed"),
    ("waiting", "on the waiting list"),
    ("cancelled", "cancelled"),
]
LIGHT_WISHES = [("front", "front light"), ("side", "side light"), ("back", "back light"), ("any", "any light")]
OUTPUTS = [("web", "screen and web"), ("30x20", "print 30 x 20 cm"), ("a3", "print A3")]
HARDEST_ENTRIES = [("walk", "walk in only"), ("stoop", "stoop"), ("ladder", "ladder"), ("crawl", "crawl")]
PAIRINGS = [("together", "together always"), ("half", "together half the time"), ("apart", "apart")]


def validate_shares(value: Any) -> None:
    """A list of numbers from 0 to 1."""
    if not isinstance(value, list) or not value or not all(isinstance(x, int | float) and 0 <= x <= 1 for x in value):
        raise ValidationError("Give a list of numbers from 0 to 1.")


def default_visit_loss() -> list[float]:
    """Share of the average lost at the 1st, 2nd, 3rd ... visit."""
    return [0.0, 0.4, 0.65, 0.8, 0.9, 0.95]


def default_height_marks() -> list[list[float]]:
    """The score's height marks: altitude in degrees, mark 0-1."""
    return [
        [-6, 0],
        [-4, 0.25],
        [-0.83, 0.5],
        [2, 0.9],
        [6, 1],
        [12, 1],
        [20, 0.8],
        [30, 0.5],
        [45, 0.25],
        [60, 0.15],
        [90, 0.1],
    ]


def default_wish_marks() -> dict[str, list[float]]:
    """The score's direction marks at 0, 45, 90 and 180 degrees, by light wish."""
    return {"front": [1, 1, 0.5, 0.1], "side": [0.5, 0.75, 1, 0.3], "back": [0.2, 0.35, 0.5, 1]}


def default_reach_factors() -> dict[str, float]:
    """The factor of each reach verdict in the points."""
    return {
        "good": 1,
        "tight": 0.85,
        "needs_crop": 0.7,
        "portrait_only": 0.6,
        "small_file": 0.5,
        "out_of_reach": 0.3,
        "fault": 0,
    }


class Trip(Row):
    """Some days on one or more sites."""

    leader = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="trips")
    co_leaders = models.ManyToManyField(settings.AUTH_USER_MODEL, blank=True, related_name="co_led_trips")
    name = models.CharField(max_length=200)
    sites = models.ManyToManyField(Site, blank=True, related_name="trips")
    subjects = models.ManyToManyField(Subject, blank=True, related_name="trips")
    starts_on = models.DateField()
    ends_on = models.DateField()
    units = models.CharField(max_length=8, choices=UNITS, default="metric")
    stage = models.CharField(max_length=12, choices=STAGES, default="preparing")

    class Meta:
        ordering = ["starts_on", "name", "uuid"]
        constraints = [
            models.CheckConstraint(
                condition=Q(ends_on__gte=F("starts_on")),
                name="trip_ends_after_start",
                violation_error_message="A trip does not end before it starts.",
            )
        ]

    def __str__(self) -> str:
        return self.name


class TripRules(Row):
    """The trip's rules and all settings of its marks; empty limits mean no limit."""

    trip = models.OneToOneField(Trip, on_delete=models.CASCADE, related_name="rules")
    open_hides_at_once = models.PositiveSmallIntegerField(null=True, blank=True)
    visits_at_most = models.PositiveSmallIntegerField(null=True, blank=True)
    never_twice_running = models.BooleanField(default=False)
    leader_policy = models.CharField(max_length=12, choices=LEADER_POLICIES, default="spare_seats")
    want_mixing = models.BooleanField(default=False)
    tolerance = models.FloatField(default=0.01)
    visit_loss = models.JSONField(default=default_visit_loss, validators=[validate_shares])
    light_dial = models.FloatField(default=0.5)
    set_up_min = models.FloatField(default=15)
    settle_min = models.FloatField(default=0)
    stop_min = models.FloatField(default=5)
    pick_up_window_min = models.FloatField(default=15)
    hand_over_min = models.FloatField(default=60)
    burden_walk_m = models.FloatField(default=200)
    heat_limit_c = models.FloatField(null=True, blank=True)
    front_deg = models.FloatField(default=45)
    side_deg = models.FloatField(default=120)
    top_deg = models.FloatField(default=50)
    height_marks = models.JSONField(default=default_height_marks)
    wish_marks = models.JSONField(default=default_wish_marks)
    ev_low = models.FloatField(default=7)
    ev_span = models.FloatField(default=2)
    shade_factor = models.FloatField(default=0.3)
    overcast_factor = models.FloatField(default=0.4)
    lamp_score = models.FloatField(default=0.8)
    good_score = models.FloatField(default=0.6)
    good_minutes = models.FloatField(default=60)
    crop_below = models.FloatField(default=0.30)
    tight_above = models.FloatField(default=0.70)
    portrait_above = models.FloatField(default=1.00)
    least_pixels = models.PositiveIntegerField(default=960)
    pixels_web = models.PositiveIntegerField(default=960)
    pixels_30x20 = models.PositiveIntegerField(default=1417)
    pixels_a3 = models.PositiveIntegerField(default=1984)
    reach_factors = models.JSONField(default=default_reach_factors)
    shutter_s = models.FloatField(default=0.0005)
    iso_good = models.PositiveIntegerField(default=3200)
    iso_top_default = models.PositiveIntegerField(default=6400)

    class Meta:
        verbose_name_plural = "trip rules"
        constraints = [
            models.CheckConstraint(
                condition=(Q(open_hides_at_once__isnull=True) | Q(open_hides_at_once__gte=1))
                & (Q(visits_at_most__isnull=True) | Q(visits_at_most__gte=1)),
                name="rules_limits",
                violation_error_message="A limit is at least 1, or empty for no limit.",
            ),
            models.CheckConstraint(
                condition=Q(tolerance__gte=0, tolerance__lte=0.2) & Q(light_dial__gte=0, light_dial__lte=1),
                name="rules_dials",
                violation_error_message="The tolerance is from 0 to 0.2, the light dial from 0 to 1.",
            ),
            models.CheckConstraint(
                condition=not_negative(
                    "set_up_min", "settle_min", "stop_min", "pick_up_window_min", "burden_walk_m", "ev_low"
                )
                & Q(hand_over_min__gt=0, ev_span__gt=0, shutter_s__gt=0),
                name="rules_times",
                violation_error_message="Minutes and metres are not negative; a hand-over comes after more than 0 minutes.",
            ),
            models.CheckConstraint(
                condition=Q(front_deg__gte=0) & Q(side_deg__gte=F("front_deg")) & Q(side_deg__lte=180),
                name="rules_light_limits",
                violation_error_message="The limits of front and side light rise from 0 to at most 180°.",
            ),
            models.CheckConstraint(
                condition=Q(crop_below__gt=0)
                & Q(tight_above__gte=F("crop_below"))
                & Q(portrait_above__gte=F("tight_above")),
                name="rules_fill_bands",
                violation_error_message="The bands of fill rise: needs a crop, tight, portrait only.",
            ),
            models.CheckConstraint(
                condition=between("heat_limit_c", -20, 60),
                name="rules_heat_limit",
                violation_error_message="A heat limit is from -20 to 60 °C.",
            ),
        ]

    def __str__(self) -> str:
        return f"rules of {self.trip_id}"


class Car(Row):
    """A car of a trip; `seats` counts everybody but the driver."""

    trip = models.ForeignKey(Trip, on_delete=models.CASCADE, related_name="cars")
    name = models.CharField(max_length=80)
    plate = models.CharField(max_length=20, blank=True)
    seats = models.PositiveSmallIntegerField(default=4)
    driver = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["name", "uuid"]
        constraints = [
            models.UniqueConstraint(
                fields=["trip", "name"],
                name="car_name_once_a_trip",
                violation_error_message="This trip already has a car of that name.",
            ),
            models.CheckConstraint(
                condition=Q(seats__gte=1), name="car_seats", violation_error_message="A car has at least one seat."
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Session(Row):
    """One stretch in the hides; may cross midnight."""

    trip = models.ForeignKey(Trip, on_delete=models.CASCADE, related_name="sessions")
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="sessions")
    name = models.CharField(max_length=80, blank=True)
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    kind = models.CharField(max_length=8, choices=KINDS, default="early")
    sky = models.CharField(max_length=8, choices=SKIES, default="clear")
    wind_from_deg = models.FloatField(null=True, blank=True)
    heat_limit_c = models.FloatField(null=True, blank=True)
    rests_allowed = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering = ["starts_at", "uuid"]
        constraints = [
            models.UniqueConstraint(
                fields=["trip", "site", "starts_at"],
                name="session_start_once",
                violation_error_message="This trip already has a session that starts then at this site.",
            ),
            models.CheckConstraint(
                condition=Q(ends_at__gt=F("starts_at")),
                name="session_ends_after_start",
                violation_error_message="A session ends after it starts; one that crosses midnight ends on the next day.",
            ),
            models.CheckConstraint(
                condition=between("wind_from_deg", 0, 360) & between("heat_limit_c", -20, 60),
                name="session_wind_and_heat",
                violation_error_message="Wind comes from 0 to 360°; a heat limit is from -20 to 60 °C.",
            ),
        ]

    def __str__(self) -> str:
        return self.name or f"{self.starts_at:%d %b} {self.kind}"


class Run(Row):
    """A car's round of drops for a session. Without runs one car does all by drive time."""

    session = models.ForeignKey(Session, on_delete=models.CASCADE, related_name="runs")
    car = models.ForeignKey(Car, on_delete=models.CASCADE, related_name="runs")

    class Meta:
        ordering = ["session", "car", "uuid"]
        constraints = [
            models.UniqueConstraint(
                fields=["session", "car"],
                name="run_once",
                violation_error_message="This car already has a run in this session.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.car} run"


class RunStop(Row):
    """One drop of a run; `leg_min` empty: by the rules."""

    run = models.ForeignKey(Run, on_delete=models.CASCADE, related_name="stops")
    hide = models.ForeignKey(Hide, on_delete=models.CASCADE, related_name="run_stops")
    position = models.PositiveSmallIntegerField()
    leg_min = models.FloatField(null=True, blank=True)

    class Meta:
        ordering = ["run", "position", "uuid"]
        constraints = [
            models.UniqueConstraint(
                fields=["run", "position"],
                name="run_stop_position_once",
                violation_error_message="Two stops of a run cannot have the same place in its order.",
            ),
            models.UniqueConstraint(
                fields=["run", "hide"],
                name="run_stop_hide_once",
                violation_error_message="A run stops once at a hide.",
            ),
            models.CheckConstraint(
                condition=not_negative("leg_min"),
                name="run_stop_leg",
                violation_error_message="Minutes of a leg are not negative.",
            ),
        ]

    def __str__(self) -> str:
        return f"stop {self.position}"


class Forecast(Row):
    """Air in the shade at a full hour of a session."""

    session = models.ForeignKey(Session, on_delete=models.CASCADE, related_name="forecasts")
    hour = models.DateTimeField()
    air_c = models.FloatField()
    humidity_pct = models.FloatField(null=True, blank=True)

    class Meta:
        ordering = ["session", "hour", "uuid"]
        constraints = [
            models.UniqueConstraint(
                fields=["session", "hour"],
                name="forecast_hour_once",
                violation_error_message="There is already a forecast for this hour.",
            ),
            models.CheckConstraint(
                condition=Q(air_c__gte=-60, air_c__lte=60) & between("humidity_pct", 0, 100),
                name="forecast_values",
                violation_error_message="Air is from -60 to 60 °C, humidity from 0 to 100 %.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.hour:%d %b %H:%M} {self.air_c} °C"


class SessionHide(Row):
    """What the owner says of a hide in a session. No row: ready, with the session's hours."""

    session = models.ForeignKey(Session, on_delete=models.CASCADE, related_name="session_hides")
    hide = models.ForeignKey(Hide, on_delete=models.CASCADE, related_name="session_hides")
    state = models.CharField(max_length=12, choices=HIDE_STATES, default="ready")
    notice_h = models.FloatField(null=True, blank=True)
    reason = models.CharField(max_length=200, blank=True)
    shares_seat = models.BooleanField("one seat is handed over between two people", default=False)
    starts_at = models.DateTimeField(null=True, blank=True)
    ends_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["session", "hide", "uuid"]
        constraints = [
            models.UniqueConstraint(
                fields=["session", "hide"],
                name="session_hide_once",
                violation_error_message="This hide already has a line for this session.",
            ),
            models.CheckConstraint(
                condition=Q(starts_at__isnull=True) | Q(ends_at__isnull=True) | Q(ends_at__gt=F("starts_at")),
                name="session_hide_ends_after_start",
                violation_error_message="A hide's own hours end after they start.",
            ),
            models.CheckConstraint(
                condition=not_negative("notice_h"),
                name="session_hide_notice",
                violation_error_message="Hours of notice are not negative.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_state_display()}"


class Place(Row):
    """A participant's place on one trip: when they are there, limits, wishes."""

    trip = models.ForeignKey(Trip, on_delete=models.CASCADE, related_name="places")
    participant = models.ForeignKey(Participant, on_delete=models.PROTECT, related_name="places")
    state = models.CharField(max_length=10, choices=PLACE_STATES, default="invited")
    arrives_at = models.DateTimeField(null=True, blank=True)
    leaves_at = models.DateTimeField(null=True, blank=True)
    steps_limit = models.PositiveSmallIntegerField("most steps", null=True, blank=True)
    steps_firm = models.BooleanField("cannot do more steps", default=True)
    walk_limit_m = models.FloatField("longest walk one way (m)", null=True, blank=True)
    walk_firm = models.BooleanField("cannot walk further", default=True)
    entry_limit = models.CharField("hardest way in", max_length=8, choices=HARDEST_ENTRIES, blank=True)
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
            models.UniqueConstraint(
                fields=["trip", "participant"],
                name="place_once",
                violation_error_message="This person already has a place on the trip.",
            ),
            models.CheckConstraint(
                condition=Q(arrives_at__isnull=True) | Q(leaves_at__isnull=True) | Q(leaves_at__gt=F("arrives_at")),
                name="place_leaves_after_arrival",
                violation_error_message="A person leaves after they arrive.",
            ),
            models.CheckConstraint(
                condition=not_negative("walk_limit_m", "hours_limit"),
                name="place_limits",
                violation_error_message="A limit is not negative.",
            ),
        ]

    def __str__(self) -> str:
        return f"place {self.pk}"


class Wish(Row):
    """Marks a person spends on a subject; six in all."""

    place = models.ForeignKey(Place, on_delete=models.CASCADE, related_name="wishes")
    subject = models.ForeignKey(Subject, on_delete=models.CASCADE, related_name="wishes")
    marks = models.PositiveSmallIntegerField()

    class Meta:
        ordering = ["place", "subject", "uuid"]
        constraints = [
            models.UniqueConstraint(
                fields=["place", "subject"],
                name="wish_once",
                violation_error_message="Marks for this subject are already given.",
            ),
            models.CheckConstraint(
                condition=Q(marks__gte=1, marks__lte=6),
                name="wish_marks",
                violation_error_message="From one to six marks go to a subject.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.marks} marks"


class Again(Row):
    """A hide somebody wants to go back to."""

    place = models.ForeignKey(Place, on_delete=models.CASCADE, related_name="agains")
    hide = models.ForeignKey(Hide, on_delete=models.CASCADE, related_name="agains")

    class Meta:
        ordering = ["place", "hide", "uuid"]
        constraints = [
            models.UniqueConstraint(
                fields=["place", "hide"],
                name="again_once",
                violation_error_message="This hide is already marked to go back to.",
            )
        ]

    def __str__(self) -> str:
        return "again"


class Pairing(Row):
    """Two people together or apart. Leaders only."""

    trip = models.ForeignKey(Trip, on_delete=models.CASCADE, related_name="pairings")
    first = models.ForeignKey(Place, on_delete=models.CASCADE, related_name="pairings_first")
    second = models.ForeignKey(Place, on_delete=models.CASCADE, related_name="pairings_second")
    kind = models.CharField(max_length=10, choices=PAIRINGS)

    class Meta:
        ordering = ["trip", "kind", "uuid"]
        constraints = [
            models.UniqueConstraint(
                fields=["first", "second"],
                name="pairing_once",
                violation_error_message="These two people already have a pairing.",
            ),
            models.CheckConstraint(
                condition=~Q(first=F("second")),
                name="pairing_of_two",
                violation_error_message="A pairing is between two different people.",
            ),
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
        constraints = [
            models.UniqueConstraint(
                fields=["place", "session"],
                name="absence_once",
                violation_error_message="This absence is already noted.",
            )
        ]

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
            models.UniqueConstraint(
                fields=["session", "place"],
                name="pin_person_once",
                violation_error_message="This person is already pinned in this session.",
            ),
            models.UniqueConstraint(
                fields=["session"],
                condition=Q(place__isnull=True),
                name="pin_leader_once",
                violation_error_message="The leader is already pinned in this session.",
            ),
            models.UniqueConstraint(
                fields=["session", "seat"],
                condition=Q(seat__isnull=False),
                name="pin_seat_once",
                violation_error_message="This seat is already pinned in this session.",
            ),
        ]

    def __str__(self) -> str:
        return "pin"
