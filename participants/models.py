"""People and what they bring. A person belongs to a leader, not to a trip."""

import uuid

from django.conf import settings
from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import F, Q

LANGUAGES = [("en", "English"), ("de", "Deutsch"), ("es", "Español")]
UNITS = [("metric", "metres, °C"), ("feet", "feet, °F")]
SUPPORT_KINDS = [("tripod", "tripod"), ("bean_bag", "bean bag"), ("clamp", "clamp"), ("monopod", "monopod")]
LINK_KINDS = [
    ("mail", "sign-in by mail"),
    ("handed", "sign-in handed over"),
    ("feed_person", "calendar of a person"),
    ("feed_trip", "calendar of a trip"),
    ("feed_owner", "calendar of an owner"),
    ("owner_sheet", "owner's sheet"),
]


class Row(models.Model):
    """What every row has: a uuid that the trip file carries, and a version that stale forms are told by."""

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    version = models.PositiveIntegerField(default=1, editable=False)
    changed_at = models.DateTimeField(auto_now=True)

    class Meta:
        abstract = True


class Participant(Row):
    """A person as the leader knows them; e-mail is optional, everything can also be typed by the leader."""

    leader = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="participants")
    name = models.CharField(max_length=200)
    email = models.EmailField(blank=True)
    phone = models.CharField(max_length=60, blank=True)
    language = models.CharField(max_length=8, choices=LANGUAGES, default="en")
    units = models.CharField(max_length=8, choices=UNITS, default="metric")
    on_paper = models.BooleanField("reads on paper, not on a phone", default=False)
    emergency_contact = models.CharField(max_length=300, blank=True)
    diet = models.CharField(max_length=300, blank=True)
    cabin_bag_note = models.CharField("cabin-bag limits of the person's carrier", max_length=200, blank=True)
    cabin_bag_kg = models.FloatField("cabin-bag weight limit (kg)", null=True, blank=True)
    erased_at = models.DateTimeField(null=True, blank=True, editable=False)

    class Meta:
        ordering = ["name", "uuid"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(name=""), name="participant_has_a_name", violation_error_message="Give the person a name."
            ),
            models.CheckConstraint(
                condition=Q(cabin_bag_kg__isnull=True) | Q(cabin_bag_kg__gt=0),
                name="participant_cabin_bag_above_zero",
                violation_error_message="A cabin-bag limit is more than 0 kg.",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class HealthNote(Row):
    """What a person wants the leader to know about their health; read by that person and the trip's leaders only."""

    participant = models.OneToOneField(Participant, on_delete=models.CASCADE, related_name="health_note")
    text = models.TextField(blank=True)

    def __str__(self) -> str:
        return "health note"


class HealthReading(Row):
    """One reading of a health note: by a leader (`reader`), or by the person themselves (`reader` empty)."""

    participant = models.ForeignKey(Participant, on_delete=models.CASCADE, related_name="health_readings")
    reader = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL)
    read_at = models.DateTimeField()

    class Meta:
        ordering = ["read_at", "uuid"]

    def __str__(self) -> str:
        return f"read {self.read_at:%Y-%m-%d %H:%M}"


class Gear(Row):
    """What all pieces of gear share: whose it is, and a name by numbers ("600 mm f/4")."""

    participant = models.ForeignKey(Participant, on_delete=models.CASCADE, related_name="%(class)ss")
    name = models.CharField(max_length=120)
    spare = models.BooleanField("can be lent to others", default=False)

    class Meta:
        abstract = True
        ordering = ["name", "uuid"]

    def __str__(self) -> str:
        return self.name


class Body(Gear):
    """A camera body."""

    participant = models.ForeignKey(Participant, on_delete=models.CASCADE, related_name="bodies")
    sensor_width_mm = models.FloatField()
    sensor_height_mm = models.FloatField()
    pixels_wide = models.PositiveIntegerField()
    pixels_high = models.PositiveIntegerField()
    frames_per_s = models.FloatField(null=True, blank=True)
    af_limit_f = models.FloatField("smallest aperture with autofocus (f-number)", null=True, blank=True)
    top_iso = models.PositiveIntegerField("highest ISO still good enough", null=True, blank=True)

    class Meta(Gear.Meta):
        verbose_name_plural = "bodies"
        constraints = [
            models.CheckConstraint(
                condition=Q(sensor_width_mm__gt=0, sensor_width_mm__lte=120)
                & Q(sensor_height_mm__gt=0, sensor_height_mm__lte=120),
                name="body_sensor_size",
                violation_error_message="A sensor is more than 0 and at most 120 mm wide and high.",
            ),
            models.CheckConstraint(
                condition=Q(pixels_wide__gt=0, pixels_high__gt=0),
                name="body_pixels",
                violation_error_message="A sensor has at least one pixel each way.",
            ),
        ]


class Lens(Gear):
    """A lens; near limit in metres from the sensor."""

    participant = models.ForeignKey(Participant, on_delete=models.CASCADE, related_name="lenses")
    focal_min_mm = models.FloatField()
    focal_max_mm = models.FloatField()
    aperture_wide = models.FloatField("widest f-number at the short end")
    aperture_long = models.FloatField("widest f-number at the long end")
    near_limit_m = models.FloatField(null=True, blank=True)
    max_magnification = models.FloatField(null=True, blank=True)
    takes_converter = models.BooleanField(default=True)
    weight_g = models.FloatField(null=True, blank=True)

    class Meta(Gear.Meta):
        verbose_name_plural = "lenses"
        constraints = [
            models.CheckConstraint(
                condition=Q(focal_min_mm__gt=0) & Q(focal_max_mm__gte=F("focal_min_mm")),
                name="lens_focal_range",
                violation_error_message="Focal lengths are above 0 mm, the long end not shorter than the short one.",
            ),
            models.CheckConstraint(
                condition=Q(aperture_wide__gt=0, aperture_long__gt=0),
                name="lens_aperture",
                violation_error_message="An f-number is above 0.",
            ),
            models.CheckConstraint(
                condition=Q(near_limit_m__isnull=True) | Q(near_limit_m__gt=0),
                name="lens_near_limit",
                violation_error_message="A near limit is more than 0 m.",
            ),
            models.CheckConstraint(
                condition=Q(max_magnification__isnull=True) | Q(max_magnification__gt=0),
                name="lens_magnification",
                violation_error_message="A maximum magnification is above 0.",
            ),
        ]


class Converter(Gear):
    """A teleconverter."""

    participant = models.ForeignKey(Participant, on_delete=models.CASCADE, related_name="converters")
    factor = models.FloatField()

    class Meta(Gear.Meta):
        constraints = [
            models.CheckConstraint(
                condition=Q(factor__gt=1, factor__lte=4),
                name="converter_factor",
                violation_error_message="A teleconverter's factor is above 1 and at most 4 (1.4 or 2.0 are usual).",
            )
        ]


class Tube(Gear):
    """An extension tube."""

    participant = models.ForeignKey(Participant, on_delete=models.CASCADE, related_name="tubes")
    length_mm = models.FloatField()

    class Meta(Gear.Meta):
        constraints = [
            models.CheckConstraint(
                condition=Q(length_mm__gt=0, length_mm__lte=300),
                name="tube_length",
                violation_error_message="An extension tube is more than 0 and at most 300 mm long.",
            )
        ]


class Battery(Gear):
    """Spare batteries of one kind."""

    participant = models.ForeignKey(Participant, on_delete=models.CASCADE, related_name="batteries")
    volts = models.FloatField()
    ampere_hours = models.FloatField()
    count = models.PositiveSmallIntegerField(default=1, validators=[MinValueValidator(1)])

    class Meta(Gear.Meta):
        verbose_name_plural = "batteries"
        constraints = [
            models.CheckConstraint(
                condition=Q(volts__gt=0, ampere_hours__gt=0, count__gte=1),
                name="battery_values",
                violation_error_message="Volts, ampere-hours and the number of batteries are above 0.",
            )
        ]


class Support(Gear):
    """What the camera rests on."""

    participant = models.ForeignKey(Participant, on_delete=models.CASCADE, related_name="supports")
    kind = models.CharField(max_length=12, choices=SUPPORT_KINDS, default="tripod")


class AccessLink(Row):
    """A way in without a password, or a feed's address. The token is an HMAC of kind, owner and counter.

    `owner_uuid` names a Participant, a Trip or a Site, by kind. Raising `counter` makes the old address answer 410.
    """

    owner_uuid = models.UUIDField()
    kind = models.CharField(max_length=12, choices=LINK_KINDS)
    counter = models.PositiveIntegerField(default=1)
    code_digest = models.CharField(max_length=128, blank=True)
    made_at = models.DateTimeField()
    expires_at = models.DateTimeField(null=True, blank=True)
    revoked_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["made_at", "uuid"]
        constraints = [
            models.UniqueConstraint(
                fields=["owner_uuid", "kind"],
                name="access_link_once",
                violation_error_message="There is one address of a kind for each owner.",
            ),
            models.CheckConstraint(
                condition=Q(expires_at__isnull=True) | Q(expires_at__gt=F("made_at")),
                name="access_link_ends_later",
                violation_error_message="A link ends after it was made.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.counter}"


class LinkPress(Row):
    """One try to press a sign-in link; used to limit tries. `key` is the link's owner or a digest of what was typed."""

    key = models.CharField(max_length=128, db_index=True)
    pressed_at = models.DateTimeField(db_index=True)
    worked = models.BooleanField(default=False)

    class Meta:
        ordering = ["pressed_at", "uuid"]

    def __str__(self) -> str:
        return f"press {self.pressed_at:%Y-%m-%d %H:%M}"


class Device(Row):
    """A signed-in device of a participant, so that it can be named and signed out from elsewhere."""

    participant = models.ForeignKey(Participant, on_delete=models.CASCADE, related_name="devices")
    session_key = models.CharField(max_length=40, unique=True)
    name = models.CharField(max_length=200, blank=True)
    signed_in_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["signed_in_at", "uuid"]

    def __str__(self) -> str:
        return self.name or "device"


class Submission(Row):
    """A form that was filled without network; its client uuid makes sure that it is taken once."""

    participant = models.ForeignKey(Participant, on_delete=models.CASCADE, related_name="submissions", null=True)
    client_uuid = models.UUIDField(unique=True)
    kind = models.CharField(max_length=40)
    taken_at = models.DateTimeField()

    class Meta:
        ordering = ["taken_at", "uuid"]

    def __str__(self) -> str:
        return f"{self.kind} {self.client_uuid}"
