"""The form of the scoring: the score of light, the verdicts of reach, starting settings."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django import forms

from participants.form_fields import NumberField, keep_stored, number_read
from trips.documents.wording.reach import VERDICTS
from trips.documents.wording.scoring import (
    GROUPS,
    REACH_CHANGES,
    VISIT_WORDS,
    WISH_ANGLES_DEG,
    WISH_WORDS,
    Number,
)
from trips.form_fields import fill_cells
from trips.models import TripRules

SPARE_HEIGHTS = 2  # empty lines for points to add
PART = re.compile(r"1\s*/\s*(.+)")


class ShutterField(NumberField):
    """A shutter: "1/2000", or seconds."""

    def shown(self, value: Any) -> str:
        if isinstance(value, int | float) and 0 < value < 0.5:
            return f"1/{1 / value:g}"
        return super().shown(value)

    def read(self, text: str) -> float:
        part = PART.fullmatch(text)
        if part is None:
            return number_read(text)
        below = number_read(part[1])
        if below <= 0:
            raise forms.ValidationError("A shutter is such as 1/2000.", code="invalid")
        return 1.0 / below


@dataclass(frozen=True)
class ScoringLine:
    """A number as a line of its table: its box, its default as the box would show it, and what it changes."""

    box: forms.BoundField
    default: str
    changes: str


class ScoringForm(forms.ModelForm):
    """Every number with its default; what is wrong stands at its box, and the plot follows what is right."""

    class Meta:
        model = TripRules
        fields: list[str] = []

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.defaults = TripRules()
        for number in (number for group in GROUPS for number in group.numbers):
            field = ShutterField if number.field == "shutter_s" else NumberField
            self._add(
                number.field,
                field(label=number.label, whole=number.whole, minus=number.low < 0),
                getattr(self.instance, number.field),
            )
        self._add_heights()
        for wish, usual in self.defaults.wish_scoring.items():
            stored = self.instance.wish_scoring.get(wish, usual)
            for angle, factor in zip(WISH_ANGLES_DEG, stored, strict=True):
                self._add(f"wish_{wish}_{angle}", NumberField(label=f"{WISH_WORDS[wish]}, {angle}°"), factor)
        for verdict, factor in (self.defaults.reach_factors | self.instance.reach_factors).items():
            self._add(f"reach_{verdict}", NumberField(label=VERDICTS[verdict].capitalize()), factor)
        for visit, loss in enumerate(self._losses()):
            self._add(f"visit_{visit}", NumberField(label=f"{VISIT_WORDS[visit]} visit".capitalize()), loss)
        keep_stored(self)
        fill_cells(self, "")

    def _add(self, name: str, field: NumberField, value: Any) -> None:
        self.fields[name] = field
        self.initial[name] = value

    def _add_heights(self) -> None:
        stored = self.instance.height_scoring
        lines = len(stored) + SPARE_HEIGHTS
        if self.is_bound:
            posted = [int(name[7:-4]) for name in self.data if re.fullmatch(r"height_\d{1,2}_sun", name)]
            lines = max([lines, *(number + 1 for number in posted)])
        for number in range(lines):
            sun, factor = stored[number] if number < len(stored) else (None, None)
            self._add(
                f"height_{number}_sun", NumberField(required=False, minus=True, label=f"Height {number + 1} (°)"), sun
            )
            self._add(f"height_{number}_factor", NumberField(required=False, label=f"Factor {number + 1}"), factor)
        self.height_lines = lines

    def _losses(self) -> list[float]:
        """The losses from the second visit on; a list that is too short goes on with its last."""
        losses = [float(loss) for loss in self.instance.visit_loss]
        return (losses + losses[-1:] * len(VISIT_WORDS))[1 : len(VISIT_WORDS) + 1]

    def clean(self) -> dict[str, Any]:
        """Every number in its range, heights rising, limits in order; what is right goes to the row."""
        cleaned = super().clean() or self.cleaned_data
        for number in (number for group in GROUPS for number in group.numbers):
            self._hold(number)
        for name in [name for name in cleaned if name.startswith(("wish_", "reach_", "visit_"))]:
            self._between(name, 0, 1)
        self._hold_order("front_deg", "side_deg", "The limit of side light is not below that of front light.")
        self._hold_order("crop_below", "tight_above", "“Tight” does not begin below “needs a crop”.")
        self._hold_order("tight_above", "portrait_above", "“Portrait only” does not begin below “tight”.")
        heights = self._heights()
        self._take(heights)
        return cleaned

    def _hold(self, number: Number) -> None:
        if self._between(number.field, number.low, number.high):
            setattr(self.instance, number.field, self.cleaned_data[number.field])

    def _between(self, name: str, low: float, high: float) -> bool:
        value = self.cleaned_data.get(name)
        if value is not None and not low <= value <= high:
            self.add_error(name, f"This is from {low:g} to {high:g}.")
            return False
        return value is not None

    def _hold_order(self, lower: str, higher: str, sentence: str) -> None:
        low, high = self.cleaned_data.get(lower), self.cleaned_data.get(higher)
        if low is not None and high is not None and high < low:
            self.add_error(higher, sentence)

    def _heights(self) -> list[list[float]]:
        """The factors of the sun's height as typed, without empty lines."""
        found: list[list[float]] = []
        for number in range(self.height_lines):
            sun_name, factor_name = f"height_{number}_sun", f"height_{number}_factor"
            sun, factor = self.cleaned_data.get(sun_name), self.cleaned_data.get(factor_name)
            if {sun_name, factor_name} & set(self.errors) or (sun is None and factor is None):
                continue
            if sun is None or factor is None:
                self.add_error(sun_name if sun is None else factor_name, "Give both, or leave both empty.")
            elif self._between(sun_name, -90, 90) and self._between(factor_name, 0, 1):
                if found and sun <= found[-1][0]:
                    self.add_error(sun_name, f"Heights rise: this one is not above {found[-1][0]:g}°.")
                else:
                    found.append([sun, factor])
        if len(found) < 2 and not any(name.startswith("height_") for name in self.errors):
            self.add_error("height_0_sun", "At least two heights are needed.")
        return found

    def _take(self, heights: list[list[float]]) -> None:
        """Put the lists that are wholly right on the row, so that the plot can follow."""
        right, row = self.cleaned_data, self.instance
        if not any(name.startswith("height_") for name in self.errors):
            row.height_scoring = heights
        for wish in WISH_WORDS:
            names = [f"wish_{wish}_{angle}" for angle in WISH_ANGLES_DEG]
            if all(name in right for name in names):
                row.wish_scoring = row.wish_scoring | {wish: [right[name] for name in names]}
        for verdict in self.defaults.reach_factors:
            if f"reach_{verdict}" in right:
                row.reach_factors = row.reach_factors | {verdict: right[f"reach_{verdict}"]}
        names = [f"visit_{number}" for number in range(len(VISIT_WORDS))]
        if all(name in right for name in names):
            row.visit_loss = [0.0, *(right[name] for name in names)]

    def _default(self, name: str, value: Any) -> str:
        field: Any = self.fields[name]
        return field.shown(value)

    def groups(self) -> Iterator[tuple[Any, list[ScoringLine]]]:
        """The plain numbers by group."""
        for group in GROUPS:
            yield (
                group,
                [
                    ScoringLine(
                        self[number.field],
                        self._default(number.field, getattr(self.defaults, number.field)),
                        number.changes,
                    )
                    for number in group.numbers
                ],
            )

    def heights(self) -> list[tuple[forms.BoundField, forms.BoundField, str]]:
        """Box of the height, box of its factor, and the default of that line."""
        known = [f"{factor:g} at {sun:g}°" for sun, factor in self.defaults.height_scoring]
        known += [""] * self.height_lines
        return [
            (self[f"height_{number}_sun"], self[f"height_{number}_factor"], known[number])
            for number in range(self.height_lines)
        ]

    def wishes(self) -> list[tuple[str, list[tuple[forms.BoundField, float]]]]:
        """For each wished light its boxes by angle with their defaults."""
        return [
            (
                WISH_WORDS[wish],
                [
                    (self[f"wish_{wish}_{angle}"], factor)
                    for angle, factor in zip(WISH_ANGLES_DEG, self.defaults.wish_scoring[wish], strict=True)
                ],
            )
            for wish in WISH_WORDS
        ]

    def factors(self) -> list[ScoringLine]:
        """The factor of each verdict of reach."""
        defaults = self.defaults.reach_factors
        return [ScoringLine(self[f"reach_{verdict}"], f"{defaults[verdict]:g}", REACH_CHANGES) for verdict in defaults]

    def losses(self) -> list[ScoringLine]:
        """What a visit after the first loses."""
        lost = self.defaults.visit_loss[1:]
        return [ScoringLine(self[f"visit_{number}"], f"{loss:g}", "") for number, loss in enumerate(lost)]
