"""What people bring: bodies, lenses, converters, tubes, batteries, supports."""

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import F, Q

from participants.models.person import Participant
from participants.models.row import Row

SUPPORT_KINDS = [("tripod", "tripod"), ("bean_bag", "bean bag"), ("clamp", "clamp"), ("monopod", "monopod")]


class Piece(Row):
    """What all pieces of gear share: whose it is, and a name by numbers ("600 mm f/4")."""

    participant = models.ForeignKey(Participant, on_delete=models.CASCADE, related_name="%(class)ss")
    name = models.CharField(max_length=120)
    spare = models.BooleanField("can be lent to others", default=False)

    class Meta:
        abstract = True
        ordering = ["name", "uuid"]

    def __str__(self) -> str:
        return self.name


class Body(Piece):
    """A camera body."""

    participant = models.ForeignKey(Participant, on_delete=models.CASCADE, related_name="bodies")
    sensor_width_mm = models.FloatField()
    sensor_height_mm = models.FloatField()
    pixels_wide = models.PositiveIntegerField()
    pixels_high = models.PositiveIntegerField()
    frames_per_s = models.FloatField(null=True, blank=True)
    af_limit_f = models.FloatField("smallest aperture with autofocus (f-number)", null=True, blank=True)
    top_iso = models.PositiveIntegerField("highest ISO still good enough", null=True, blank=True)

    class Meta(Piece.Meta):
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


class Lens(Piece):
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

    class Meta(Piece.Meta):
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


class Converter(Piece):
    """A teleconverter."""

    participant = models.ForeignKey(Participant, on_delete=models.CASCADE, related_name="converters")
    factor = models.FloatField()

    class Meta(Piece.Meta):
        constraints = [
            models.CheckConstraint(
                condition=Q(factor__gt=1, factor__lte=4),
                name="converter_factor",
                violation_error_message="A teleconverter's factor is above 1 and at most 4 (1.4 or 2.0 are usual).",
            )
        ]


class Tube(Piece):
    """An extension tube."""

    participant = models.ForeignKey(Participant, on_delete=models.CASCADE, related_name="tubes")
    length_mm = models.FloatField()

    class Meta(Piece.Meta):
        constraints = [
            models.CheckConstraint(
                condition=Q(length_mm__gt=0, length_mm__lte=300),
                name="tube_length",
                violation_error_message="An extension tube is more than 0 and at most 300 mm long.",
            )
        ]


class Battery(Piece):
    """Spare batteries of one kind."""

    participant = models.ForeignKey(Participant, on_delete=models.CASCADE, related_name="batteries")
    volts = models.FloatField()
    ampere_hours = models.FloatField()
    count = models.PositiveSmallIntegerField(default=1, validators=[MinValueValidator(1)])

    class Meta(Piece.Meta):
        verbose_name_plural = "batteries"
        constraints = [
            models.CheckConstraint(
                condition=Q(volts__gt=0, ampere_hours__gt=0, count__gte=1),
                name="battery_values",
                violation_error_message="Volts, ampere-hours and the number of batteries are above 0.",
            )
        ]


class Support(Piece):
    """What the camera rests on."""

    participant = models.ForeignKey(Participant, on_delete=models.CASCADE, related_name="supports")
    kind = models.CharField(max_length=12, choices=SUPPORT_KINDS, default="tripod")
