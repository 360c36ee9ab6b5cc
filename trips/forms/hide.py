"""The form of a hide with its views and seats. Only name, seats, bearing and distance are required."""

from datetime import date
from typing import Any

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Layout
from django import forms
from django.forms import inlineformset_factory

from participants.form_fields import LengthField, NumberField, keep_stored, number_field
from trips.assemble import point_value
from trips.core.values import Point
from trips.form_fields import LocalMomentField, NamedLines, OwnedForm, form_problems
from trips.forms.position import PlacedForm, PositionField
from trips.forms.view import ViewForm
from trips.models import Hide, Seat, Site, View

FIRST = ["name", "position", "position_sure", "gpx"]
SHAPE = ["sunken", "roof_height_m", "width_m", "support", "entry", "steps", "seat_height_m", "standing_room", "toilet"]
WAY = ["drive_min", "walk_m", "walk_min", "drop_off_at_door", "in_place_min_before_sunrise", "doors", "minimum_people"]
COMFORT = ["sought_after", "scent_matters", "lamp_lit", "excess_c", "fan"]
TEXTS = ["rescue_point", "nearest_road", "gates", "owner_tasks", "etiquette", "cautions"]
GROUPS = {
    "first": FIRST,
    "shape": SHAPE,
    "way": WAY,
    "comfort": COMFORT,
    "texts": TEXTS,
}
LABELS = {
    "drop_off_at_door": "The car stops at the door",
    "sought_after": "Everybody wants this hide",
    "scent_matters": "The animals wind people",
    "lamp_lit": "Lit by lamps at night",
    "minimum_people": "Opens for at least (people)",
    "standing_room": "You can stand up",
    "support": "What the camera rests on",
}
HELP = {
    "sunken": "Without a fan it keeps the heat. Fairhide then proposes a later start.",
    "entry": "Compared with what each person can do.",
    "steps": "One way. Compared with each person's limit.",
    "standing_room": "A note for you only.",
    "toilet": "Told to people with their turn.",
    "support": "Goes into what people are told to carry.",
    "drop_off_at_door": "A note for you only. The walk counts.",
    "doors": "Closed all day: the same people sit there in all sessions of a day.",
    "minimum_people": "With fewer people it stays closed.",
    "sought_after": "Its turns are shared out first.",
    "scent_matters": "Warns when the wind blows from behind the seat to the subject.",
    "lamp_lit": "At night the light counts with the factor for lamps.",
    "fan": "Then the hide does not keep the heat.",
    "rescue_point": "On the door card and in the safety facts; empty: the site's.",
    "nearest_road": "On the door card, for those who come to help.",
    "gates": "Which to close, a code, who has the key: for drivers and for those who come to help.",
    "owner_tasks": "Baiting, water, perches: on the owner's sheet each day.",
    "etiquette": "Added to the usual manners in the briefing.",
    "cautions": "Snakes, ticks, a low beam: in the briefing and on the door card.",
}


class HideForm(OwnedForm, PlacedForm):
    """A hide itself; an empty position is the site's."""

    owner = "site"
    position = PositionField(required=False, label="Own position", help_text="Empty: the site's.")
    roof_height_m = LengthField(
        required=False, label="Roof above the ground", help_text="Empty: no shadow of its own, assumed."
    )
    width_m = LengthField(required=False, label="Width", help_text="Empty: 3 m, assumed.")
    seat_height_m = LengthField(required=False, label="Height of the seats", help_text="A note for you.")
    walk_m = LengthField(required=False, label="Walk, one way", help_text="A long walk is a hardship.")
    walk_min = NumberField(required=False, label="Walk (min)", help_text="Taken off when the car must leave.")
    drive_min = NumberField(
        required=False,
        label="Drive from the lodge (min)",
        help_text="Sets when the car must leave, and the order of drops.",
    )
    excess_c = NumberField(
        required=False,
        label="Warmer than the air by (°C)",
        help_text="Measured inside while people sit there. Empty: as the air, assumed.",
    )
    in_place_min_before_sunrise = NumberField(
        required=False, label="In place … min before sunrise", help_text="Empty: no such rule."
    )

    class Meta:
        model = Hide
        formfield_callback = number_field
        fields = ["name", *SHAPE, *WAY, *COMFORT, *TEXTS]
        labels = LABELS
        help_texts = HELP
        widgets = {name: forms.Textarea({"rows": 3}) for name in ("owner_tasks", "etiquette", "cautions")}

    field_order = [*FIRST, *SHAPE, *WAY, *COMFORT, *TEXTS]

    def __init__(self, *args: Any, site: Site, today: date, units: str, **kwargs: Any) -> None:
        super().__init__(*args, today=today, **kwargs)
        self.instance.site = self.site = site
        keep_stored(self, units)
        for name, fields in GROUPS.items():
            helper = FormHelper()
            helper.form_tag = False
            helper.disable_csrf = True
            helper.layout = Layout(*fields)
            setattr(self, f"{name}_helper", helper)

    def clean(self) -> dict[str, Any]:
        """Empty walks and drives are 0; the position goes to the row, doubted against the site."""
        cleaned = super().clean() or self.cleaned_data
        for name in ("walk_m", "walk_min", "drive_min"):
            if name not in self.errors:
                cleaned[name] = cleaned.get(name) or 0.0
        if "position" in cleaned:
            place = cleaned["position"]
            self.place_row(place)
            if place is not None:
                lodge = point_value(self.site)
                here = Point(place.latitude_deg, place.longitude_deg, 0.0, self.site.time_zone)
                self.ask_back(here, lodge, cleaned.get("drive_min") or 0.0)
        return cleaned


class SeatForm(forms.ModelForm):
    """A seat: its name, how good it is, what is wrong with it."""

    out_of_use_from = LocalMomentField(
        required=False, label="Out of use from", help_text="Nobody gets it from then on."
    )

    class Meta:
        model = Seat
        fields = ["name", "quality", "defects", "out_of_use_from"]
        help_texts = {
            "name": "As people see it on plan and briefing: left, by the door.",
            "quality": "The planner shares out good and poor seats.",
            "defects": "What is wrong with it: a post in the way, a low stool.",
        }

    def __init__(self, *args: Any, time_zone: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field: Any = self.fields["out_of_use_from"]
        field.time_zone = time_zone


class Lines(NamedLines):
    """The views or seats of a hide; at least one."""

    default_error_messages = {"too_few_forms": "Give at least one."}


_COUNTS: dict[str, Any] = {"min_num": 1, "validate_min": True, "max_num": 24, "absolute_max": 25, "validate_max": True}
ViewFormSet = inlineformset_factory(Hide, View, form=ViewForm, formset=Lines, extra=0, **_COUNTS)
SeatFormSet = inlineformset_factory(Hide, Seat, form=SeatForm, formset=Lines, extra=1, **_COUNTS)


class HideForms:
    """The hide, its views and its seats, posted together."""

    def __init__(self, data: Any, files: Any, *, hide: Hide, today: date, units: str) -> None:
        site = hide.site
        self.hide = HideForm(data, files, instance=hide, site=site, today=today, units=units)
        view_kwargs = {"point": point_value(site, hide), "today": today, "units": units}
        self.views = ViewFormSet(data, instance=hide, prefix="view", form_kwargs=view_kwargs)
        self.seats = SeatFormSet(data, instance=hide, prefix="seat", form_kwargs={"time_zone": site.time_zone})
        if hide.pk and data is None:
            self.views.extra = 1
        for lines in (self.views, self.seats):
            for form in lines.forms[1:]:  # helped once, where the first line is
                for field in form.fields.values():
                    field.help_text = ""

    def is_valid(self) -> bool:
        """Whether all three are; each is looked at, so that all errors show at once."""
        return all([self.hide.is_valid(), self.views.is_valid(), self.seats.is_valid()])

    def drawable(self) -> list[View]:
        """The views as typed that can be drawn, for a form that need not be whole."""
        self.hide.is_valid()
        self.views.is_valid()
        return [
            form.instance
            for form in self.views.forms
            if form.is_bound and form.has_changed_or_stored and not form.errors and not form.cleaned_data.get("DELETE")
        ]

    @property
    def problems(self) -> list[tuple[str, str, str]]:
        """(id of the field, its label, what is wrong) of all three, for the summary."""
        found = [one for form in (self.hide, *self.views.forms, *self.seats.forms) for one in form_problems(form)]
        for name, formset in (("Views", self.views), ("Seats", self.seats)):
            found += [("", name, str(error)) for error in formset.non_form_errors()]
        return found
