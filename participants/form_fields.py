"""Form fields for numbers and lengths: they ask back what they cannot be sure of, and change only what was changed."""

import re
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db import models
from django.utils.html import format_html
from django.utils.safestring import SafeString

from participants.core.units import METRES_PER_FOOT

PLAIN = re.compile(r"[+-]?(?:[0-9]+[.,]?[0-9]*|[.,][0-9]+)")
THOUSANDS = re.compile(r"([+-]?[1-9][0-9]{0,2})[.,]([0-9]{3})")
SPACES = " \u00a0\u202f"  # the two that do not break are what spreadsheets put between thousands
GROUPED = re.compile(rf"([+-]?[1-9][0-9]{{0,2}}(?:([.,{SPACES}])[0-9]{{3}})(?:\2[0-9]{{3}})*)(?:(?!\2)[.,]([0-9]+))?")
WITH_UNIT = re.compile(r"(.*?)\s*(mm|cm|m|ft|feet|foot|in|′|'|″|\")?", re.IGNORECASE | re.DOTALL)
UNIT_M = {"mm": 0.001, "cm": 0.01, "m": 1.0, "in": METRES_PER_FOOT / 12, "ft": METRES_PER_FOOT}
UNIT_NAMES = {"feet": "ft", "foot": "ft", "'": "ft", "′": "ft", '"': "in", "″": "in"}
RATIO = re.compile(r"1\s*[:/]\s*(.+)")
LONGEST_TEXT = 24  # no number anybody types is longer; a longer one is a paste that went wrong
PHONE_SIGNS = "+()-/." + SPACES


def number_read(text: str, *, whole: bool = False) -> float:
    """The number a person typed, with a point or a comma for decimals, thousands grouped or not.

    ValidationError asking back where a point or comma could mean two things; in a `whole` number it cannot.
    """
    text = text.strip().replace("\u2212", "-")
    if len(text) > LONGEST_TEXT:
        raise ValidationError("This is too long for a number.", code="invalid")
    both = THOUSANDS.fullmatch(text)
    if both and not whole:
        parts, joined = f"{both[1]}.{both[2]}", f"{both[1]}{both[2]}"
        shorter = parts.rstrip("0").rstrip(".") if parts.endswith("0") else f"{parts}0"
        raise ValidationError(
            f"“{text}” can be read in two ways: type {shorter} or {joined}.", code="ambiguous", params={"text": text}
        )
    grouped = GROUPED.fullmatch(text)
    if grouped:
        return float(f"{re.sub('[^0-9+-]', '', grouped[1])}.{grouped[3] or 0}")
    if not PLAIN.fullmatch(text):
        raise ValidationError(f"“{text}” is not a number: type digits, such as 12 or 5.6.", code="invalid")
    return float(text.replace(",", "."))


def number_shown(value: float, decimals: int) -> str:
    """A number rounded for show, without trailing zeros, always with a point."""
    text = f"{value:.{decimals}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


class NumberField(forms.Field):
    """A number as any keyboard gives it. Shows a rounded value and keeps the stored one unless that is changed.

    `stored` is what the row has; forms set it with `keep_stored`. `min_value`, `max_value`: see `hold_between`;
    `minus`: see `offer_minus`.
    """

    def __init__(
        self,
        *,
        decimals: int = 3,
        whole: bool = False,
        min_value: float | None = None,
        max_value: float | None = None,
        minus: bool = False,
        **kwargs: Any,
    ) -> None:
        mode = "numeric" if whole else "decimal"
        kwargs.setdefault("widget", forms.TextInput({"inputmode": mode, "autocomplete": "off"}))
        super().__init__(**kwargs)
        self.decimals, self.whole = 0 if whole else decimals, whole
        self.stored: int | float | None = None
        if minus:
            offer_minus(self)
        if min_value is not None or max_value is not None:
            hold_between(self, min_value, max_value)

    def shown(self, value: Any) -> str:
        """The stored value as the field shows it."""
        if not isinstance(value, int | float):
            return "" if value is None else str(value)
        return number_shown(value, self.decimals)

    def prepare_value(self, value: Any) -> Any:
        return self.shown(value)

    def to_python(self, value: Any) -> Any:
        text = str(value or "").strip()
        if not text:
            return None
        if self.stored is not None and text == self.shown(self.stored):
            return self.stored
        found = self.read(text)
        if self.whole and found != int(found):
            raise ValidationError("Type a whole number.", code="invalid")
        return int(found) if self.whole else found

    def read(self, text: str) -> float:
        """The text as a number."""
        return number_read(text, whole=self.whole)

    def has_changed(self, initial: Any, data: Any) -> bool:
        return self.shown(initial) != str(data or "").strip()


class RatioField(NumberField):
    """A magnification: a number, or "1:6.2"."""

    def read(self, text: str) -> float:
        ratio = RATIO.fullmatch(text)
        if ratio is None:
            return number_read(text)
        part = number_read(ratio[1])
        if part <= 0:
            raise ValidationError("A magnification is above 0, such as 0.16 or 1:6.2.", code="invalid")
        return 1.0 / part


class LengthInput(forms.TextInput):
    """A box with its unit beside it; the unit it was shown in travels with the form."""

    unit = "m"

    def render(self, name: str, value: Any, attrs: Any = None, renderer: Any = None) -> SafeString:
        box = super().render(name, value, attrs, renderer)
        return format_html(
            '<span class="unit-box">{}<span class="unit-name">{}</span></span>'
            '<input type="hidden" name="{}_unit" value="{}">',
            box,
            self.unit,
            name,
            self.unit,
        )

    def value_from_datadict(self, data: Any, files: Any, name: str) -> Any:
        """The text with the unit it was typed in, unless it names one itself."""
        text = str(data.get(name) or "").strip()
        unit = str(data.get(f"{name}_unit") or self.unit)
        return f"{text} {unit}" if text and unit in UNIT_M and not _own_unit(text) else text


class LengthField(NumberField):
    """A length kept in metres, shown and typed in metres or feet ("20 ft", "6 m" and "240 in" are read in either).

    Forms set `units` (metric or feet) and `stored` with `keep_stored`.
    """

    def __init__(self, *, units: str = "metric", **kwargs: Any) -> None:
        kwargs.setdefault("widget", LengthInput({"inputmode": "decimal", "autocomplete": "off"}))
        super().__init__(decimals=2, **kwargs)
        self.units = units

    @property
    def units(self) -> str:
        """metric or feet."""
        return self._units

    @units.setter
    def units(self, units: str) -> None:
        self._units = units
        self.widget.unit = "ft" if units == "feet" else "m"

    def shown(self, value: Any, unit: str | None = None) -> str:
        if not isinstance(value, int | float):
            return _without_unit(str(value), self.widget.unit) if value else ""
        unit = unit or self.widget.unit
        return number_shown(value / UNIT_M[unit], self.decimals)

    def to_python(self, value: Any) -> Any:
        text = str(value or "").strip()
        if not text:
            return None
        parts = WITH_UNIT.fullmatch(text)
        assert parts is not None  # every text matches
        unit = _unit_of(parts[2]) or self.widget.unit
        if self.stored is not None and parts[1].strip() == self.shown(self.stored, unit):
            return self.stored
        return number_read(parts[1]) * UNIT_M[unit]

    def has_changed(self, initial: Any, data: Any) -> bool:
        parts = WITH_UNIT.fullmatch(str(data or "").strip())
        unit = _unit_of(parts[2]) if parts else None
        return self.shown(initial, unit) != (parts[1].strip() if parts else "")


def _unit_of(name: str | None) -> str | None:
    return UNIT_NAMES.get(name.lower(), name.lower()) if name else None


def _own_unit(text: str) -> bool:
    parts = WITH_UNIT.fullmatch(text)
    return bool(parts and parts[2])


def _without_unit(text: str, unit: str) -> str:
    """What to put back into the box: the text as typed, less the unit that stands beside it anyway."""
    parts = WITH_UNIT.fullmatch(text)
    return parts[1].strip() if parts and _unit_of(parts[2]) == unit else text


class PhonesChecked:
    """For forms with telephones: refuses one that nobody can dial, but for one that was stored before and is kept."""

    changed_data: list[str]
    cleaned_data: dict[str, Any]

    def clean_phone(self) -> str:
        """A number alone, also with its country's code and an extension."""
        wrong = "This is no telephone number: digits, spaces and + ( ) - / . only, such as +44 1632 960113."
        return self._dialled("phone", 5, wrong, alone=True)

    def clean_emergency_contact(self) -> str:
        """A name and a number."""
        return self._dialled("emergency_contact", 5, "Add the telephone number: it is what your leader dials.")

    def clean_emergency_number(self) -> str:
        """A number, however short, and words if need be."""
        return self._dialled("emergency_number", 2, "Type the number to dial, such as 112.")

    def _dialled(self, name: str, least: int, wrong: str, *, alone: bool = False) -> str:
        text = str(self.cleaned_data[name])
        digits = sum(sign.isdecimal() for sign in text)
        is_number = digits >= least and (not alone or all(sign.isdecimal() or sign in PHONE_SIGNS for sign in text))
        if text and name in self.changed_data and not is_number:
            raise ValidationError(wrong, code="invalid")
        return text


def number_field(row_field: models.Field, **kwargs: Any) -> forms.Field | None:
    """The form field of a row's field, with our own for numbers; for the `formfield_callback` of a form's Meta."""
    if isinstance(row_field, models.FloatField | models.IntegerField) and not row_field.choices:
        kwargs |= {"form_class": NumberField, "whole": isinstance(row_field, models.IntegerField)}
    return row_field.formfield(**kwargs)


def hold_between(field: forms.Field, low: float | None, high: float | None) -> None:
    """Refuse numbers outside a range at the field itself; None for a side without a limit."""
    words = f"from {low:g} to {high:g}" if low is not None and high is not None else ""
    words = words or (f"{low:g} or more" if low is not None else f"{high:g} at most")

    def within(value: float) -> None:
        if (low is not None and value < low) or (high is not None and value > high):
            raise ValidationError(f"This is {words}.", code="out_of_range")

    field.validators.append(within)
    if low is not None and low < 0:
        offer_minus(field)


def offer_minus(field: forms.Field) -> None:
    """Let phones show all keys: the number pad of some has no minus."""
    field.widget.attrs["inputmode"] = "text"


def keep_stored(form: forms.BaseForm, units: str = "metric") -> None:
    """Give the form's number and length fields what is stored and the units to show; call it in `__init__`."""
    for name, field in form.fields.items():
        if isinstance(field, LengthField):
            field.units = units
        if isinstance(field, NumberField):
            stored = form.get_initial_for_field(field, name)
            field.stored = stored if isinstance(stored, int | float) else None
