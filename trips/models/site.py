"""Sites, hides, views, seats, and the subjects that come there."""

from typing import Any

from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q

from participants.models import LANGUAGES, Row
from participants.models.row import holds, once

ENTRIES = [("walk", "walk in"), ("stoop", "stoop"), ("ladder", "ladder"), ("crawl", "crawl")]
HIDE_SUPPORTS = [("tripod", "tripod"), ("bean_bag", "bean bag"), ("clamp", "clamp")]
CARS_LEAVE_FROM = [("lodge", "the lodge"), ("meeting", "the meeting point")]
NAMELESS_VIEW = "view"
QUALITIES = [(1, "1 poor"), (2, "2"), (3, "3 fair"), (4, "4"), (5, "5 best")]


class Doors(models.TextChoices):
    """How long a hide's doors stay shut."""

    FREE = "free", "people may come and go"
    SESSION = "session", "closed between the session's hours"
    ALL_DAY = "all_day", "closed all day"


def between(field: str, low: float, high: float) -> Q:
    """Condition: the field is empty or within low..high."""
    return Q(**{f"{field}__isnull": True}) | Q(**{f"{field}__gte": low, f"{field}__lte": high})


def not_negative(*fields: str) -> Q:
    """Condition: none of the fields is negative (empty is allowed)."""
    condition = Q()
    for field in fields:
        condition &= Q(**{f"{field}__isnull": True}) | Q(**{f"{field}__gte": 0})
    return condition


def validate_horizon(value: Any) -> None:
    """A horizon is a list of [azimuth 0-360, height -10..90] pairs, by azimuth, none twice."""
    if not isinstance(value, list):
        raise ValidationError("A horizon is a list of azimuth and height.")
    before = -1.0
    for pair in value:
        if not (isinstance(pair, list | tuple) and len(pair) == 2 and all(isinstance(x, int | float) for x in pair)):
            raise ValidationError("Each point of a horizon is an azimuth and a height, both in degrees.")
        azimuth, height = pair
        if not 0 <= azimuth < 360:
            raise ValidationError(f"An azimuth is from 0 to below 360°, not {azimuth}.")
        if not -10 <= height <= 90:
            raise ValidationError(f"A height of the horizon is from -10 to 90°, not {height}.")
        if azimuth <= before:
            raise ValidationError("The points of a horizon go by rising azimuth, each azimuth once.")
        before = azimuth


class Site(Row):
    """The estate."""

    leader = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="sites")
    name = models.CharField(max_length=200)
    latitude_deg = models.FloatField()
    longitude_deg = models.FloatField()
    elevation_m = models.FloatField(default=0)
    time_zone = models.CharField(max_length=64)
    lodge = models.CharField(max_length=300, blank=True)
    meeting_point = models.CharField(max_length=300, blank=True)
    cars_leave_from = models.CharField(max_length=8, choices=CARS_LEAVE_FROM, default="lodge")
    meeting_latitude_deg = models.FloatField(null=True, blank=True)
    meeting_longitude_deg = models.FloatField(null=True, blank=True)
    owner = models.CharField(max_length=200, blank=True)
    owner_contact = models.CharField(max_length=200, blank=True)
    owner_language = models.CharField(max_length=8, choices=LANGUAGES, default="en")
    emergency_number = models.CharField(max_length=60, blank=True)
    hospital = models.CharField(max_length=300, blank=True)
    rescue_point = models.CharField(max_length=300, blank=True)
    radio = models.CharField(max_length=200, blank=True)
    phone_coverage = models.CharField(max_length=300, blank=True)
    hazards = models.TextField(blank=True)
    arrival = models.TextField("how to get there", blank=True)
    last_changes_time = models.TimeField("last time for changes", null=True, blank=True)

    class Meta:
        ordering = ["name", "uuid"]
        constraints = [
            holds(
                "site_on_earth",
                "Latitude is from -90 to 90°, longitude from -180 to 180°.",
                Q(latitude_deg__gte=-90, latitude_deg__lte=90) & Q(longitude_deg__gte=-180, longitude_deg__lte=180),
            ),
            holds(
                "site_meeting_point_on_earth",
                "A meeting point's latitude is from -90 to 90°, its longitude -180 to 180°.",
                between("meeting_latitude_deg", -90, 90) & between("meeting_longitude_deg", -180, 180),
            ),
            holds(
                "site_elevation", "Elevation is from -500 to 9000 m.", Q(elevation_m__gte=-500, elevation_m__lte=9000)
            ),
        ]

    def __str__(self) -> str:
        return self.name


class SitePlanner(Row):
    """The yes of a site's leader to another leader, who may plan on the site in trips of their own."""

    site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="planners")
    leader = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="planned_sites")

    class Meta:
        ordering = ["leader__username", "uuid"]
        constraints = [once("site_planner_once", "This leader may plan on the site already.", "site", "leader")]

    def __str__(self) -> str:
        return self.leader.get_full_name() or self.leader.get_username()


class Hide(Row):
    """A structure that people sit in. An empty position means the site's."""

    site = models.ForeignKey(Site, on_delete=models.CASCADE, related_name="hides")
    name = models.CharField(max_length=200)
    latitude_deg = models.FloatField(null=True, blank=True)
    longitude_deg = models.FloatField(null=True, blank=True)
    roof_height_m = models.FloatField("roof above the ground (m)", null=True, blank=True)
    width_m = models.FloatField(null=True, blank=True)
    sunken = models.BooleanField(default=False)
    entry = models.CharField(max_length=8, choices=ENTRIES, default="walk")
    steps = models.PositiveSmallIntegerField(default=0)
    seat_height_m = models.FloatField(null=True, blank=True)
    standing_room = models.BooleanField(default=False)
    toilet = models.BooleanField(default=False)
    drop_off_at_door = models.BooleanField(default=False)
    walk_m = models.FloatField(default=0)
    walk_min = models.FloatField(default=0)
    drive_min = models.FloatField(default=0)
    doors = models.CharField(max_length=8, choices=Doors, default=Doors.FREE)
    minimum_people = models.PositiveSmallIntegerField(default=1)
    sought_after = models.BooleanField(default=False)
    support = models.CharField(max_length=12, choices=HIDE_SUPPORTS, default="tripod")
    scent_matters = models.BooleanField(default=False)
    lamp_lit = models.BooleanField(default=False)
    excess_c = models.FloatField("measured, above the air's temperature (°C)", null=True, blank=True)
    fan = models.BooleanField(default=False)
    in_place_min_before_sunrise = models.FloatField(null=True, blank=True)
    rescue_point = models.CharField(max_length=300, blank=True)
    nearest_road = models.CharField(max_length=300, blank=True)
    gates = models.CharField("gates on the way", max_length=300, blank=True)
    owner_tasks = models.TextField(blank=True)
    etiquette = models.TextField(blank=True)
    cautions = models.TextField(blank=True)

    class Meta:
        ordering = ["name", "uuid"]
        constraints = [
            once("hide_name_once_a_site", "This site already has a hide of that name.", "site", "name"),
            holds(
                "hide_on_earth",
                "Latitude is from -90 to 90°, longitude from -180 to 180°.",
                between("latitude_deg", -90, 90) & between("longitude_deg", -180, 180),
            ),
            holds(
                "hide_position_whole",
                "A position needs both latitude and longitude.",
                Q(latitude_deg__isnull=True, longitude_deg__isnull=True)
                | Q(latitude_deg__isnull=False, longitude_deg__isnull=False),
            ),
            holds(
                "hide_lengths",
                "Lengths and times of a hide are not negative, and its width is above 0 m.",
                not_negative("roof_height_m", "seat_height_m", "walk_m", "walk_min", "drive_min")
                & (Q(width_m__isnull=True) | Q(width_m__gt=0)),
            ),
            holds("hide_excess", "A hide's measured excess is from -20 to 40 °C.", between("excess_c", -20, 40)),
            holds("hide_minimum_people", "A hide opens for at least one person.", Q(minimum_people__gte=1)),
            holds(
                "hide_in_place", "Minutes before sunrise are not negative.", not_negative("in_place_min_before_sunrise")
            ),
        ]

    def __str__(self) -> str:
        return self.name


class View(Row):
    """One opening of a hide; bearing true, from seat to subject."""

    hide = models.ForeignKey(Hide, on_delete=models.CASCADE, related_name="views")
    name = models.CharField(max_length=120, default=NAMELESS_VIEW)
    bearing_deg = models.FloatField()
    near_m = models.FloatField()
    far_m = models.FloatField()
    water_edge_m = models.FloatField(null=True, blank=True)
    perch_height_m = models.FloatField(null=True, blank=True)
    glass = models.BooleanField("behind glass", default=False)
    glass_loss_stops = models.FloatField(null=True, blank=True)
    horizon = models.JSONField(default=list, blank=True, validators=[validate_horizon])
    light_offset_stops = models.FloatField(default=0)

    class Meta:
        ordering = ["bearing_deg", "uuid"]
        constraints = [
            once("view_name_once_a_hide", "This hide already has a view of that name.", "hide", "name"),
            holds("view_bearing", "A bearing is from 0 to below 360°.", Q(bearing_deg__gte=0, bearing_deg__lt=360)),
            holds(
                "view_distances",
                "The near distance is above 0 m and not beyond the far one.",
                Q(near_m__gt=0) & Q(far_m__gte=F("near_m")),
            ),
            holds(
                "view_water_edge",
                "The near edge of the water is more than 0 m away.",
                Q(water_edge_m__isnull=True) | Q(water_edge_m__gt=0),
            ),
            holds("view_perch_height", "A perch's height is from -10 to 100 m.", between("perch_height_m", -10, 100)),
            holds(
                "view_stops",
                "Light lost in glass is from 0 to 10 stops; a learnt offset from -10 to 10.",
                between("glass_loss_stops", 0, 10) & between("light_offset_stops", -10, 10),
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Seat(Row):
    """One person's position in a hide."""

    hide = models.ForeignKey(Hide, on_delete=models.CASCADE, related_name="seats")
    name = models.CharField(max_length=60)
    quality = models.PositiveSmallIntegerField(choices=QUALITIES, default=3)
    defects = models.CharField(max_length=200, blank=True)
    out_of_use_from = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["name", "uuid"]
        constraints = [
            once("seat_name_once_a_hide", "This hide already has a seat of that name.", "hide", "name"),
            holds("seat_quality", "A seat's quality is from 1 to 5.", Q(quality__gte=1, quality__lte=5)),
        ]

    def __str__(self) -> str:
        return self.name
