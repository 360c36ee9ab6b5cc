"""What people bring: bodies, lenses, converters, tubes, batteries, supports."""

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from participants.models.person import Participant
from participants.models.row import Row, holds

SUPPORT_KINDS = [
    ("tripod", _("tripod")),
    ("bean_bag", _("bean bag")),
    ("clamp", _("clamp")),
    ("monopod", _("monopod")),
]


class Piece(Row):
    """What all pieces of gear share: whose it is, and a name by numbers ("600 mm f/4")."""

    participant = models.ForeignKey(Participant, on_delete=models.CASCADE, related_name="%(class)ss")
    name = models.CharField(max_length=120)
    spare = models.BooleanField(_("can be lent to others"), default=False)

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
            holds(
                "body_sensor_size",
                _("A sensor is more than 0 and at most 120 mm wide and high."),
                Q(sensor_width_mm__gt=0, sensor_width_mm__lte=120)
                & Q(sensor_height_mm__gt=0, sensor_height_mm__lte=120),
            ),
            holds(
                "body_pixels", _("A sensor has at least one pixel each way."), Q(pixels_wide__gt=0, pixels_high__gt=0)
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
            holds(
                "lens_focal_range",
                _("Focal lengths are above 0 mm, the long end not shorter than the short one."),
                Q(focal_min_mm__gt=0) & Q(focal_max_mm__gte=F("focal_min_mm")),
            ),
            holds("lens_aperture", _("An f-number is above 0."), Q(aperture_wide__gt=0, aperture_long__gt=0)),
            holds(
                "lens_near_limit",
                _("A near limit is more than 0 m."),
                Q(near_limit_m__isnull=True) | Q(near_limit_m__gt=0),
            ),
            holds(
                "lens_magnification",
                _("A maximum magnification is above 0."),
                Q(max_magnification__isnull=True) | Q(max_magnification__gt=0),
            ),
        ]


class Converter(Piece):
    """A teleconverter."""

    participant = models.ForeignKey(Participant, on_delete=models.CASCADE, related_name="converters")
    factor = models.FloatField()

    class Meta(Piece.Meta):
        constraints = [
            holds(
                "converter_factor",
                _("A teleconverter's factor is above 1 and at most 4 (1.4 or 2.0 are usual)."),
                Q(factor__gt=1, factor__lte=4),
            )
        ]


class Tube(Piece):
    """An extension tube."""

    participant = models.ForeignKey(Participant, on_delete=models.CASCADE, related_name="tubes")
    length_mm = models.FloatField()

    class Meta(Piece.Meta):
        constraints = [
            holds(
                "tube_length",
                _("An extension tube is more than 0 and at most 300 mm long."),
                Q(length_mm__gt=0, length_mm__lte=300),
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
            holds(
                "battery_values",
                _("Volts, ampere-hours and the number of batteries are above 0."),
                Q(volts__gt=0, ampere_hours__gt=0, count__gte=1),
            )
        ]


class Support(Piece):
    """What the camera rests on."""

    participant = models.ForeignKey(Participant, on_delete=models.CASCADE, related_name="supports")
    kind = models.CharField(max_length=12, choices=SUPPORT_KINDS, default="tripod")
