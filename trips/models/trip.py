"""A trip and its rules."""

from datetime import date, timedelta
from functools import reduce
from operator import and_
from typing import Any

from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q

from participants.models import UNITS, Row
from participants.models.row import holds, once
from trips.core.rota.problem.values import LIMITS
from trips.models.site import Site, between, not_negative
from trips.models.subject import Subject

LEADER_POLICIES = [
    ("never", "the leader takes no seat"),
    ("spare_seats", "the leader takes spare seats only"),
    ("coaching", "the leader sits beside people in turn"),
]


def validate_shares(value: Any) -> None:
    """A list of numbers from 0 to 1."""
    if not isinstance(value, list) or not value or not all(isinstance(x, int | float) and 0 <= x <= 1 for x in value):
        raise ValidationError("Give a list of numbers from 0 to 1.")


def default_visit_loss() -> list[float]:
    """Share of the average lost at the 1st, 2nd, 3rd ... visit."""
    return [0.0, 0.4, 0.65, 0.8, 0.9, 0.95]


def default_height_scoring() -> list[list[float]]:
    """The score's factor by the sun's height: altitude in degrees, factor 0-1."""
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


def default_wish_scoring() -> dict[str, list[float]]:
    """The score's factors by direction at 0, 45, 90 and 180 degrees, by light wish."""
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
    """Some days on one or more sites.

    `parts_changed_at`: when something that rotas are made from was last taken out, or its sites changed.
    `drives_changed_at`: when a car or a run was last taken out; it changes papers, and rotas whose people drive.
    """

    leader = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="trips")
    co_leaders = models.ManyToManyField(settings.AUTH_USER_MODEL, blank=True, related_name="co_led_trips")
    name = models.CharField(max_length=200)
    sites = models.ManyToManyField(Site, blank=True, related_name="trips")
    subjects = models.ManyToManyField(Subject, blank=True, related_name="trips")
    starts_on = models.DateField()
    ends_on = models.DateField()
    units = models.CharField(max_length=8, choices=UNITS, default="metric")
    parts_changed_at = models.DateTimeField(null=True, editable=False)
    drives_changed_at = models.DateTimeField(null=True, editable=False)

    class Meta:
        ordering = ["starts_on", "name", "uuid"]
        constraints = [
            holds("trip_ends_after_start", "A trip does not end before it starts.", Q(ends_on__gte=F("starts_on")))
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def days(self) -> list[date]:
        """All days from its first to its last."""
        return [self.starts_on + timedelta(days=number) for number in range((self.ends_on - self.starts_on).days + 1)]

    def stage_on(self, day: date, *, issued: bool = False) -> str:
        """How far the trip is on a day of its sites' calendar: before its dates, by whether a rota is issued."""
        ahead = "rota issued" if issued else "in preparation"
        return ahead if day < self.starts_on else "running" if day <= self.ends_on else "over"


class TripRules(Row):
    """The trip's rules and all numbers of its scoring; empty limits mean no limit."""

    trip = models.OneToOneField(Trip, on_delete=models.CASCADE, related_name="rules")
    open_hides_at_once = models.PositiveSmallIntegerField(null=True, blank=True)
    visits_at_most = models.PositiveSmallIntegerField(null=True, blank=True)
    consecutive_turns_at_most = models.PositiveSmallIntegerField(null=True, blank=True)
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
    later_untold_min = models.FloatField(default=5)
    hand_over_min = models.FloatField(default=60)
    overdue_min = models.FloatField(default=15)
    overdue_mail_min = models.FloatField(default=25)
    hardship_walk_m = models.FloatField(default=200)
    heat_limit_c = models.FloatField(null=True, blank=True)
    front_deg = models.FloatField(default=45)
    side_deg = models.FloatField(default=120)
    top_deg = models.FloatField(default=50)
    height_scoring = models.JSONField(default=default_height_scoring)
    wish_scoring = models.JSONField(default=default_wish_scoring)
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
            holds(
                "rules_limits",
                "A limit is at least 1, or empty for no limit.",
                reduce(and_, (Q(**{f"{name}__isnull": True}) | Q(**{f"{name}__gte": 1}) for name in LIMITS)),
            ),
            holds(
                "rules_dials",
                "The tolerance is from 0 to 0.2, the light dial from 0 to 1.",
                Q(tolerance__gte=0, tolerance__lte=0.2) & Q(light_dial__gte=0, light_dial__lte=1),
            ),
            holds(
                "rules_times",
                "Minutes and metres are not negative; a hand-over comes after some minutes.",
                not_negative("set_up_min", "settle_min", "stop_min", "pick_up_window_min", "later_untold_min")
                & not_negative("hardship_walk_m", "ev_low")
                & Q(hand_over_min__gt=0, ev_span__gt=0, shutter_s__gt=0),
            ),
            holds(
                "rules_overdue",
                "Minutes until somebody is overdue are not negative, and the mail does not come before them.",
                Q(overdue_min__gte=0, overdue_mail_min__gte=F("overdue_min")),
            ),
            holds(
                "rules_light_limits",
                "The limits of front and side light rise from 0 to at most 180°.",
                Q(front_deg__gte=0) & Q(side_deg__gte=F("front_deg")) & Q(side_deg__lte=180),
            ),
            holds(
                "rules_fill_bands",
                "The bands of fill rise: needs a crop, tight, portrait only.",
                Q(crop_below__gt=0) & Q(tight_above__gte=F("crop_below")) & Q(portrait_above__gte=F("tight_above")),
            ),
            holds("rules_heat_limit", "A heat limit is from -20 to 60 °C.", between("heat_limit_c", -20, 60)),
        ]

    def __str__(self) -> str:
        return f"rules of {self.trip_id}"


class Meal(Row):
    """A meal on one day; `at` is what the clock of the site shows then. No part of a rota: it is read as it stands."""

    trip = models.ForeignKey(Trip, on_delete=models.CASCADE, related_name="meals")
    day = models.DateField()
    at = models.TimeField()
    name = models.CharField(max_length=60)
    place = models.CharField(max_length=80, blank=True)
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["day", "at", "name", "uuid"]
        constraints = [once("meal_name_once_a_day", "This day already has a meal of that name.", "trip", "day", "name")]

    def __str__(self) -> str:
        return f"{self.name} at {self.at:%H:%M}"
