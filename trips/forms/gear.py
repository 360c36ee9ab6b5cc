"""One form for each kind of gear, by its numbers; names follow from the numbers where nobody gives one."""

from dataclasses import fields
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from participants.core import gear
from participants.core.errors import BadValue
from participants.core.exif import KNOWN_FORMATS
from participants.core.language import gettext, gettext_noop
from participants.form_fields import LengthField, NumberField, RatioField, keep_stored, number_shown
from participants.models import Battery, Body, Converter, Lens, Support, Tube
from participants.wording import bad_value_sentence

OWN_FORMAT = ""
FORMAT_CHOICES = [
    *((f"{wide:g}x{high:g}", f"{name} mm") for name, wide, high in KNOWN_FORMATS),
    (OWN_FORMAT, _("another size: type it")),
]
SIDES = ("sensor_width_mm", "sensor_height_mm")
_SIDE_GIVEN = gettext_noop("The sensor chosen above has {size:g} mm here: choose “another size” or empty this.")
NAME_HELP = _("By its numbers. Empty: made from what you type below.")


class PieceForm(forms.ModelForm):
    """What all forms of gear share: units, what is stored, and the check of the numbers by the core."""

    piece: type[Any]  # what it is to the core
    waits_as: Any = ""  # what a form is called while it waits for a network, with the names of its fields
    name = forms.CharField(label=_("Name"), required=False, max_length=120, help_text=NAME_HELP)

    def __init__(self, *args: Any, units: str = "metric", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        keep_stored(self, units)

    def own_name(self) -> str:
        """The name by numbers."""
        raise NotImplementedError

    def value(self) -> Any:
        """The piece as the core sees it."""
        data = self.cleaned_data
        numbers = {one.name: data[one.name] for one in fields(self.piece) if one.name in data}
        return self.piece(**numbers | {"name": data.get("name") or self.own_name()})

    def clean(self) -> dict[str, Any]:
        """The numbers together; what cannot be is said beside its field."""
        data = super().clean() or self.cleaned_data
        if self.errors:
            return data
        try:
            gear.check_piece(self.value())
        except BadValue as bad:
            self.add_error(bad.field if bad.field in self.fields else None, bad_value_sentence(bad))
            return data
        if not data.get("name"):
            data["name"] = self.own_name()
        return data


class BodyForm(PieceForm):
    """A camera body."""

    piece = gear.Body
    waits_as = _("Body, {pixels_wide} × {pixels_high} pixels")
    sensor = forms.ChoiceField(choices=FORMAT_CHOICES, required=False, label=_("Sensor"), initial="36x24")
    sensor_width_mm = NumberField(required=False, label=_("Sensor width (mm)"), decimals=2)
    sensor_height_mm = NumberField(required=False, label=_("Sensor height (mm)"), decimals=2)
    pixels_wide = NumberField(whole=True, label=_("Pixels across"), help_text=_("The longer side, such as 8256."))
    pixels_high = NumberField(whole=True, label=_("Pixels down"))
    frames_per_s = NumberField(required=False, label=_("Frames a second"), decimals=2)
    af_limit_f = NumberField(
        required=False,
        label=_("Autofocus works to f/"),
        decimals=1,
        help_text=_("The largest f-number at which it focuses by itself, such as 8 or 11. Empty: not known."),
    )
    top_iso = NumberField(
        required=False,
        whole=True,
        label=_("Highest good ISO"),
        help_text=_("The most you would still show. Empty: 6400."),
    )

    class Meta:
        model = Body
        fields = ["name", "sensor_width_mm", "sensor_height_mm", "pixels_wide", "pixels_high", "frames_per_s"]
        fields += ["af_limit_f", "top_iso", "spare"]

    field_order = ["name", "sensor"]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        width, height = (self.get_initial_for_field(self.fields[name], name) for name in SIDES)
        if width and height:
            size = f"{width:g}x{height:g}"
            self.initial["sensor"] = size if size in dict(FORMAT_CHOICES) else OWN_FORMAT
        if self.initial.get("sensor", OWN_FORMAT) != OWN_FORMAT:
            for name in SIDES:  # the choice says it; empty boxes cannot contradict it
                self.initial[name] = self.fields[name].stored = None  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        """A chosen format fills the two sides; otherwise both are typed; never one against the other."""
        chosen = self.cleaned_data.get("sensor")
        sizes = [float(part) for part in chosen.split("x")] if chosen else [None, None]
        for name, size in zip(SIDES, sizes, strict=True):
            typed = self.cleaned_data.get(name)
            if name in self.errors:
                continue
            if size is None and typed is None:
                at = name if any(self.cleaned_data.get(side) for side in SIDES) else "sensor"
                if at not in self.errors:
                    self.add_error(at, _("Choose a sensor, or type both of its sides."))
            elif size is not None and typed is not None and typed != size:
                self.add_error(name, gettext(_SIDE_GIVEN, size=size))
            else:
                self.cleaned_data[name] = typed if size is None else size
        return super().clean()

    def own_name(self) -> str:
        data = self.cleaned_data
        megapixels = data["pixels_wide"] * data["pixels_high"] / 1e6
        return f"{megapixels:.0f} MP, {data['sensor_width_mm']:g} × {data['sensor_height_mm']:g} mm"


class LensForm(PieceForm):
    """A lens."""

    piece = gear.Lens
    waits_as = _("Lens, {focal_min_mm} mm f/{aperture_wide}")
    focal_min_mm = NumberField(label=_("Shortest focal length (mm)"), help_text=_("As engraved, not an equivalent."))
    focal_max_mm = NumberField(
        required=False, label=_("Longest focal length (mm)"), help_text=_("Empty: the same, the lens is no zoom.")
    )
    aperture_wide = NumberField(label=_("Widest aperture, f/"), decimals=2)
    aperture_long = NumberField(
        required=False, label=_("… at the long end, f/"), decimals=2, help_text=_("Empty: the same at both ends.")
    )
    near_limit_m = LengthField(
        required=False, label=_("Near limit"), help_text=_("The closest it focuses, measured from the sensor.")
    )
    max_magnification = RatioField(
        required=False,
        label=_("Maximum magnification"),
        decimals=4,
        help_text=_("From the lens's sheet, such as 0.16 or 1:6.2. Empty: assumed, and said so."),
    )
    weight_g = NumberField(required=False, label=_("Weight (g)"), decimals=0)

    class Meta:
        model = Lens
        fields = ["name", "focal_min_mm", "focal_max_mm", "aperture_wide", "aperture_long", "near_limit_m"]
        fields += ["max_magnification", "takes_converter", "weight_g", "spare"]
        labels = {"takes_converter": _("takes a teleconverter")}

    def clean(self) -> dict[str, Any]:
        """What is left empty at the long end is as at the short one."""
        for short, long in (("focal_min_mm", "focal_max_mm"), ("aperture_wide", "aperture_long")):
            if self.cleaned_data.get(long) is None and long not in self.errors:
                self.cleaned_data[long] = self.cleaned_data.get(short)
        return super().clean()

    def own_name(self) -> str:
        data = self.cleaned_data
        focal, number = (
            "-".join(dict.fromkeys(number_shown(data[name], 1) for name in pair))
            for pair in (("focal_min_mm", "focal_max_mm"), ("aperture_wide", "aperture_long"))
        )
        return f"{focal} mm f/{number}"


class ConverterForm(PieceForm):
    """A teleconverter."""

    piece = gear.Converter
    waits_as = _("Teleconverter, {factor}×")
    factor = NumberField(label=_("Factor"), decimals=2, help_text=_("1.4 or 2, for example."))

    class Meta:
        model = Converter
        fields = ["name", "factor", "spare"]

    def own_name(self) -> str:
        return gettext("{factor}× converter", factor=number_shown(self.cleaned_data["factor"], 2))


class TubeForm(PieceForm):
    """An extension tube."""

    piece = gear.Tube
    waits_as = _("Extension tube, {length_mm} mm")
    length_mm = NumberField(label=_("Length (mm)"), decimals=1, help_text=_("12, 20, 25 or 36, for example."))

    class Meta:
        model = Tube
        fields = ["name", "length_mm", "spare"]

    def own_name(self) -> str:
        return gettext("{length} mm tube", length=number_shown(self.cleaned_data["length_mm"], 1))


class SupportForm(PieceForm):
    """What the camera rests on."""

    piece = gear.Support
    waits_as = _("Support, {kind}")

    class Meta:
        model = Support
        fields = ["kind", "name", "spare"]
        labels = {"kind": _("Kind")}

    field_order = ["kind", "name"]

    def own_name(self) -> str:
        return str(dict(self.fields["kind"].choices)[self.cleaned_data["kind"]])  # type: ignore[attr-defined]


class BatteryForm(PieceForm):
    """Spare batteries of one kind."""

    piece = gear.Battery
    waits_as = _("{count} spare batteries, {volts} V {ampere_hours} Ah")
    volts = NumberField(label=_("Volts"), decimals=2)
    ampere_hours = NumberField(
        label=_("Ampere-hours"), decimals=3, help_text=_("Printed on it; 2280 mAh are 2.28 Ah. Type 2.28.")
    )
    count = NumberField(whole=True, label=_("How many"), initial=1)

    class Meta:
        model = Battery
        fields = ["name", "volts", "ampere_hours", "count", "spare"]

    def own_name(self) -> str:
        data = self.cleaned_data
        return gettext("{energy} Wh battery", energy=number_shown(data["volts"] * data["ampere_hours"], 1))


FORMS: dict[str, type[PieceForm]] = {
    "body": BodyForm,
    "lens": LensForm,
    "converter": ConverterForm,
    "tube": TubeForm,
    "support": SupportForm,
    "battery": BatteryForm,
}
