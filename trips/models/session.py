"""Sessions of a trip, their cars, forecast, and the availability of each hide."""

from typing import Any

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from participants.models import Row
from participants.models.row import holds, once
from trips.models.site import Hide, Site, between, not_negative
from trips.models.trip import Trip

KINDS = [("early", _("early")), ("midday", _("midday")), ("late", _("late")), ("night", _("night"))]
SKIES = [("clear", "clear"), ("partly", "partly cloudy"), ("overcast", "overcast")]


class Driven(Row):
    """What somebody drives: a person of the trip, one of its leaders, or anybody else by name (`driver`)."""

    driver = models.CharField(max_length=120, blank=True)
    driver_place = models.ForeignKey(
        "trips.Place", null=True, blank=True, on_delete=models.SET_NULL, related_name="+", verbose_name="driving person"
    )
    driver_leader = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        null=True,
        blank=True,
        on_delete=models.SET_NULL,
        related_name="+",
        verbose_name="driving leader",
    )

    class Meta:
        abstract = True

    @property
    def driver_name(self) -> str:
        """Who drives, empty where that is open."""
        if self.driver_place is not None:
            return str(self.driver_place.participant.name)
        leader = self.driver_leader
        return leader.get_full_name() or leader.get_username() if leader is not None else self.driver

    @property
    def driver_key(self) -> str:
        """Who drives, alike for one person wherever they drive or sit: place-, leader- or name-."""
        if self.driver_place is not None:
            return f"place-{self.driver_place.uuid}"
        if self.driver_leader_id is not None:
            return f"leader-{self.driver_leader_id}"
        return f"name-{self.driver.strip().casefold()}" if self.driver.strip() else ""


def one_driver(name: str) -> models.CheckConstraint:
    """A driver is named in one way."""
    place, leader = Q(driver_place__isnull=True), Q(driver_leader__isnull=True)
    condition: Any = (Q(driver="") & (place | leader)) | (place & leader)
    return holds(name, "Name one driver: a person of the trip, a leader, or somebody else.", condition)


class Car(Driven):
    """A car of a trip with its usual driver; `seats` counts everybody but the driver."""

    trip = models.ForeignKey(Trip, on_delete=models.CASCADE, related_name="cars")
    name = models.CharField(max_length=80)
    plate = models.CharField(max_length=20, blank=True)
    seats = models.PositiveSmallIntegerField(default=4)

    class Meta:
        ordering = ["name", "uuid"]
        constraints = [
            once("car_name_once_a_trip", "This trip already has a car of that name.", "trip", "name"),
            holds("car_seats", "A car has at least one seat.", Q(seats__gte=1)),
            one_driver("car_one_driver"),
        ]

    def __str__(self) -> str:
        return self.name


class DriverList(Row):
    """What one driver drives on one day, behind an address of its own: an `AccessLink` of the kind "driver".

    `driver`: as `Driven.driver_key`, empty for whoever drives where nobody is named.
    """

    trip = models.ForeignKey(Trip, on_delete=models.CASCADE, related_name="driver_lists")
    day = models.DateField()
    driver = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["day", "driver", "uuid"]
        constraints = [
            once("driver_list_once", "This driver already has a list for this day.", "trip", "day", "driver")
        ]

    def __str__(self) -> str:
        return f"list of a driver {self.day}"


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
            once(
                "session_start_once",
                "This trip already has a session that starts then at this site.",
                "trip",
                "site",
                "starts_at",
            ),
            holds(
                "session_ends_after_start",
                "A session ends after it starts; one across midnight ends on the next day.",
                Q(ends_at__gt=F("starts_at")),
            ),
            holds(
                "session_wind_and_heat",
                "Wind comes from 0 to 360°; a heat limit is from -20 to 60 °C.",
                between("wind_from_deg", 0, 360) & between("heat_limit_c", -20, 60),
            ),
        ]

    def __str__(self) -> str:
        return self.name or f"{self.starts_at:%d %b} {self.kind}"


class Run(Driven):
    """A car's round of drops for a session. Without runs one car does all by drive time.

    `number`: 1 for the car's first round of the session. Without a driver of its own the car's drives.
    """

    session = models.ForeignKey(Session, on_delete=models.CASCADE, related_name="runs")
    car = models.ForeignKey(Car, on_delete=models.CASCADE, related_name="runs")
    number = models.PositiveSmallIntegerField(default=1)

    class Meta:
        ordering = ["session", "car", "number", "uuid"]
        constraints = [
            once("run_once", "This car already has a run of that number then.", "session", "car", "number"),
            holds("run_number", "A car's first run is number 1.", Q(number__gte=1)),
            one_driver("run_one_driver"),
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
            once(
                "run_stop_position_once",
                "Two stops of a run cannot have the same place in its order.",
                "run",
                "position",
            ),
            once("run_stop_hide_once", "A run stops once at a hide.", "run", "hide"),
            holds("run_stop_leg", "Minutes of a leg are not negative.", not_negative("leg_min")),
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
            once("forecast_hour_once", "There is already a forecast for this hour.", "session", "hour"),
            holds(
                "forecast_values",
                "Air is from -60 to 60 °C, humidity from 0 to 100 per cent.",
                Q(air_c__gte=-60, air_c__lte=60) & between("humidity_pct", 0, 100),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.hour:%d %b %H:%M} {self.air_c} °C"


class HideState(models.TextChoices):
    """Whether a hide can be used in a session."""

    READY = "ready", _("ready")
    NOTICE = "notice", _("possible with notice")
    UNAVAILABLE = "unavailable", _("unavailable")


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
            once("session_hide_once", "This hide already has a line for this session.", "session", "hide"),
            holds(
                "session_hide_ends_after_start",
                "A hide's own hours end after they start.",
                Q(starts_at__isnull=True) | Q(ends_at__isnull=True) | Q(ends_at__gt=F("starts_at")),
            ),
            holds("session_hide_notice", "Hours of notice are not negative.", not_negative("notice_h")),
        ]

    def __str__(self) -> str:
        return f"{self.get_state_display()}"
