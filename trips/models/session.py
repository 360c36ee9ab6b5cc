"""Sessions of a trip, their cars, forecast, and the availability of each hide."""

from django.db import models
from django.db.models import F, Q

from participants.models import Row
from trips.models.site import Hide, Site, between, not_negative
from trips.models.trip import Trip

KINDS = [("early", "early"), ("midday", "midday"), ("late", "late"), ("night", "night")]
SKIES = [("clear", "clear"), ("partly", "partly cloudy"), ("overcast", "overcast")]


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
                violation_error_message="A session ends after it starts; one across midnight ends on the next day.",
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
                violation_error_message="Air is from -60 to 60 °C, humidity from 0 to 100 per cent.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.hour:%d %b %H:%M} {self.air_c} °C"


class HideState(models.TextChoices):
    """Whether a hide can be used in a session."""

    READY = "ready", "ready"
    NOTICE = "notice", "possible with notice"
    UNAVAILABLE = "unavailable", "unavailable"


class SessionHide(Row):
    """The availability of a hide in a session. No row: ready, with the session's hours."""

    session = models.ForeignKey(Session, on_delete=models.CASCADE, related_name="session_hides")
    hide = models.ForeignKey(Hide, on_delete=models.CASCADE, related_name="session_hides")
    state = models.CharField(max_length=12, choices=HideState, default=HideState.READY)
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
