"""Fields, lines of unique names and cells of tables that several forms share."""

from datetime import date, datetime, time
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.core.exceptions import ValidationError
from django.forms import BaseInlineFormSet

from participants.core.errors import BadValue
from trips.core.local_time import ClockTimeMissing, ClockTimeTwice, moment_from_local
from trips.documents.wording.clock import clock_time_missing, clock_time_twice, moment_words


class LocalMomentWidget(forms.MultiWidget):
    """A day, a clock time and, only while it is asked, which of two equal clock times is meant."""

    time_zone = "UTC"

    def __init__(self, attrs: dict[str, Any] | None = None) -> None:
        super().__init__(
            {
                "day": forms.DateInput({"type": "date", "aria-label": "day"}, format="%Y-%m-%d"),
                "clock": forms.TimeInput({"type": "time", "aria-label": "clock time"}, format="%H:%M"),
                "which": forms.HiddenInput(),
            },
            attrs,
        )

    def decompress(self, value: Any) -> list[Any]:
        """The stored moment as the place's own day and clock time."""
        if not isinstance(value, datetime):
            return [None, None, ""]
        local = value.astimezone(ZoneInfo(self.time_zone))
        other = local.replace(fold=1 - local.fold)
        clock = f"{local:%H:%M:%S}" if local.second else f"{local:%H:%M}"
        if local.utcoffset() == other.utcoffset():
            return [local.date(), clock, ""]
        self.ask(local.replace(fold=0), local.replace(fold=1))
        return [local.date(), clock, str(local.fold)]

    def ask(self, first: datetime, second: datetime) -> None:
        """Show the question which of the two moments is meant."""
        choices = [("", "which of the two?"), ("0", moment_words(first)), ("1", moment_words(second))]
        which = forms.Select({"aria-label": "which of the two", "class": "form-select"}, choices=choices)
        self.widgets = [*self.widgets[:2], which]


class LocalMomentField(forms.MultiValueField):
    """A moment typed as the clock of a place shows it. Set `time_zone` in the form's `__init__`.

    A clock time that does not exist there that day is refused; one that comes twice is asked back.
    """

    widget: LocalMomentWidget

    def __init__(self, *, time_zone: str = "UTC", required: bool = True, **kwargs: Any) -> None:
        parts = (
            forms.DateField(required=required, error_messages={"invalid": "Give the day as a date."}),
            forms.TimeField(required=required, error_messages={"invalid": "Give the time as hours and minutes."}),
            forms.CharField(required=False),
        )
        super().__init__(parts, require_all_fields=False, required=required, widget=LocalMomentWidget(), **kwargs)
        self.time_zone = time_zone

    @property
    def time_zone(self) -> str:
        """The IANA name of the place's zone."""
        return self._time_zone

    @time_zone.setter
    def time_zone(self, name: str) -> None:
        self._time_zone = name
        self.widget.time_zone = name

    def compress(self, data_list: list[Any]) -> datetime | None:
        """Day, clock time and which of two, as an aware moment."""
        day, clock, which = [*data_list, None, None, None][:3]
        if not day and not clock:
            return None
        if not day or not clock:
            raise ValidationError("Give both the day and the time.", code="incomplete")
        return self._moment(day, clock, {"0": 0, "1": 1}.get(which or ""))

    def _moment(self, day: date, clock: time, fold: int | None) -> datetime:
        try:
            moment = moment_from_local(day, clock, self.time_zone, fold=fold)
        except ClockTimeMissing as missing:
            raise ValidationError(clock_time_missing(missing), code="clock_time_missing") from missing
        except ClockTimeTwice as twice:
            self.widget.ask(twice.first, twice.second)
            raise ValidationError(clock_time_twice(twice), code="clock_time_twice") from twice
        except BadValue as wrong:
            raise ValidationError("There is no such day or time zone.", code="invalid") from wrong
        if fold is not None:
            local = moment.astimezone(ZoneInfo(self.time_zone))
            if local.replace(fold=1 - local.fold).utcoffset() != local.utcoffset():
                self.widget.ask(local.replace(fold=0), local.replace(fold=1))
        return moment

    def has_changed(self, initial: Any, data: Any) -> bool:
        """Whether another moment is meant; an unreadable one counts as changed."""
        try:
            return bool(self.clean(data) != initial)
        except ValidationError:
            return True


class RowsField(forms.ModelMultipleChoiceField):
    """Several rows by their keys; a key too large for the database is one that does not exist."""

    def clean(self, value: Any) -> Any:
        """The rows chosen."""
        try:
            return super().clean(value)
        except OverflowError as too_large:
            message = self.error_messages["invalid_choice"]
            raise ValidationError(message, code="invalid_choice", params={"value": "that"}) from too_large


def hold_between(field: forms.Field, low: float, high: float) -> None:
    """Refuse numbers outside a range at the field itself, which also tells the browser."""

    def within(value: float) -> None:
        if not low <= value <= high:
            raise ValidationError(f"This is from {low:g} to {high:g}.", code="out_of_range")

    field.validators.append(within)
    field.widget.attrs |= {"min": f"{low:g}", "max": f"{high:g}"}


SAME_NAME = "Another line has this name: give each its own."


class NamedLines(BaseInlineFormSet):
    """Says at the name itself that two lines have the same."""

    def validate_unique(self) -> None:
        """No name twice among the lines that stay; against stored rows each line is asked by itself."""
        taken: set[Any] = set()
        for form in self.forms:
            name = getattr(form, "cleaned_data", {}).get("name")
            if not name or form in self.deleted_forms:
                continue
            if name in taken:
                form.add_error("name", SAME_NAME)
            taken.add(name)


BOX_CLASSES: dict[type[forms.Widget], str] = {
    forms.Select: "form-select",
    forms.CheckboxInput: "form-check-input",
}


def fill_cells(form: forms.BaseForm, about: str) -> None:
    """Give every visible box of the form its looks and a name for those who do not see the table: "Quality, left"."""
    for field in form.fields.values():
        for widget in getattr(field.widget, "widgets", None) or [field.widget]:
            own = widget.attrs.get("aria-label")
            widget.attrs["aria-label"] = ", ".join(filter(None, [str(field.label or ""), own, about]))
            widget.attrs["class"] = BOX_CLASSES.get(type(widget), "form-control")


class OwnedForm(forms.ModelForm):
    """A form of a row that belongs to another, which the form sets; constraints with that owner are checked too."""

    owner = ""

    def _get_validation_exclusions(self) -> set[str]:
        return super()._get_validation_exclusions() - {self.owner}  # type: ignore[misc]


def form_problems(form: forms.BaseForm, about: str = "") -> list[tuple[str, str, str]]:
    """(id of the box, what it is about, what is wrong) for the summary; `about` goes before each label."""
    if not form.is_bound:
        return []
    found = [("", about, str(error)) for error in form.non_field_errors()]
    labels = {field.name: ", ".join(filter(None, [about, str(field.label)])) for field in form}
    return found + [(field.id_for_label, labels[field.name], str(error)) for field in form for error in field.errors]
