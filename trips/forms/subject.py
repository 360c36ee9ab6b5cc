"""Forms of a subject, and of how subjects come to a hide."""

import json
import re
from typing import Any

from django import forms
from django.forms import BaseModelFormSet, modelformset_factory
from django.utils.html import format_html, format_html_join

from participants.form_fields import NumberField, keep_stored
from participants.models import LANGUAGES
from trips.documents.wording.light import MONTHS_SHORT
from trips.form_fields import OwnedForm, RowsField, fill_cells, form_problems
from trips.models import Hide, HideSubject, Subject
from trips.models.subject import CHANCES
from trips.selectors.species import Species, species_called, starter_list
from trips.selectors.subject import chances_at, subjects_not_at

MONTH_NUMBERS = {name.lower(): number for number, name in enumerate(MONTHS_SHORT, start=1)}
SPAN = re.compile(r"(\w+)\s*(?:[-–—]|to)\s*(\w+)")
KINDS = ["early", "midday", "late", "night"]
NAMED_IN = {language: f"name_{language}" for language, _name in LANGUAGES if language != "en"}
AS_LISTED = "Empty: as the list has it."
LISTED = ["scientific_name", "length_min_cm", "length_max_cm", "standing_height_cm"]


def _fills(species: Species) -> str:
    """What a chosen species puts into the fields of its form, as JSON by the name of the field."""
    names = {NAMED_IN[language]: name for language, name in species.names}
    listed = {name: getattr(species, name) for name in (*LISTED, "speed", "tone")}
    return json.dumps({name: value for name, value in (listed | names).items() if value is not None})


class SpeciesInput(forms.TextInput):
    """A name to type, or to choose from the starter list, which is found by its names in all languages."""

    def render(self, name: str, value: Any, attrs: Any = None, renderer: Any = None) -> Any:
        attrs = (attrs or {}) | {"list": "species", "data-species": "", "autocomplete": "off"}
        lines = ((one.name, _fills(one), ", ".join(name for _language, name in one.names)) for one in starter_list())
        options = format_html_join("", '<option value="{}" data-fills="{}">{}</option>', lines)
        box = super().render(name, value, attrs, renderer)
        return format_html('{}<datalist id="species">{}</datalist>', box, options)


class MonthsField(forms.CharField):
    """Months as people write them: "4-6, 9", "Apr to Jun"; a stretch may run over the turn of the year."""

    def prepare_value(self, value: Any) -> Any:
        return months_shown(value) if isinstance(value, list) else value

    def has_changed(self, initial: Any, data: Any) -> bool:
        return self.prepare_value(initial or []) != (data or "").strip()

    def to_python(self, value: Any) -> Any:
        text = super().to_python(value) or ""
        found: set[int] = set()
        for part in filter(None, (piece.strip() for piece in text.split(","))):
            ends = SPAN.fullmatch(part)
            first, last = (self._month(ends[1]), self._month(ends[2])) if ends else (self._month(part),) * 2
            found |= {(first + step - 1) % 12 + 1 for step in range((last - first) % 12 + 1)}
        return sorted(found)

    @staticmethod
    def _month(text: str) -> int:
        number = int(text) if text.isascii() and text.isdigit() else MONTH_NUMBERS.get(text[:3].lower(), 0)
        if not 1 <= number <= 12:
            raise forms.ValidationError(f"“{text}” is not a month: 1 to 12, or Jan to Dec.", code="month")
        return number


def months_shown(months: list[int]) -> str:
    """Months to type back: "4-6, 9"."""
    runs: list[list[int]] = []
    for month in sorted(months):
        if runs and runs[-1][-1] == month - 1:
            runs[-1].append(month)
        else:
            runs.append([month])
    return ", ".join(f"{run[0]}-{run[-1]}" if len(run) > 1 else f"{run[0]}" for run in runs)


class SubjectForm(OwnedForm):
    """A species: its name and how long grown animals are."""

    owner = "leader"
    field_order = ("name", "scientific_name", "name_de", "name_es")
    length_min_cm = NumberField(
        required=False,
        label="Length from (cm)",
        help_text="Bill to tail, or nose to root of the tail. Empty: as the list has it.",
    )
    name_de = forms.CharField(required=False, max_length=120, label="German name", help_text=AS_LISTED)
    name_es = forms.CharField(required=False, max_length=120, label="Spanish name", help_text=AS_LISTED)
    length_max_cm = NumberField(required=False, label="Length to (cm)", help_text="Empty: the same.")
    standing_height_cm = NumberField(
        required=False,
        label="Standing height (cm)",
        help_text="Only for animals taller than long. It is compared with the frame's short side.",
    )

    class Meta:
        model = Subject
        fields = ["name", "scientific_name", "length_min_cm", "length_max_cm", "standing_height_cm", "speed"]
        fields += ["tone", "sensitive"]
        widgets = {"name": SpeciesInput}
        labels = {"speed": "How it moves", "tone": "Its tone", "sensitive": "Sensitive: its place is not named"}
        help_texts = {
            "name": "In English, typed or from the list.",
            "speed": "Sets the shutter for a moving one: “in flight” for kingfisher, swallow or bee-eater.",
            "tone": "Sets the exposure compensation: white takes more, black less.",
            "sensitive": "A reminder for you and the briefing. It does not hide anything.",
        }

    def __init__(self, *args: Any, leader: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.instance.leader = leader
        self.fields["tone"].required = False
        for language, field in NAMED_IN.items():
            self.initial.setdefault(field, self.instance.other_names.get(language, ""))
        keep_stored(self)

    def clean(self) -> dict[str, Any]:
        """No length: the list's. One length given: both. Without a tone it stays as it is."""
        cleaned = super().clean() or self.cleaned_data
        cleaned["tone"] = cleaned.get("tone") or self.instance.tone
        if not {"length_min_cm", "length_max_cm"} <= cleaned.keys():
            return cleaned
        listed = species_called(cleaned.get("scientific_name") or "", cleaned.get("name") or "")
        if cleaned["length_min_cm"] is None and cleaned["length_max_cm"] is None and listed:
            cleaned |= {name: cleaned.get(name) or getattr(listed, name) for name in LISTED}
        if cleaned["length_min_cm"] is None:
            self.add_error("length_min_cm", "The list does not know this subject. Type its length.")
        cleaned["length_max_cm"] = cleaned["length_max_cm"] or cleaned.get("length_min_cm")
        return cleaned

    def _post_clean(self) -> None:
        """The names in other languages stand in one column; what was not asked stays as it is."""
        names = dict(self.instance.other_names)
        for language, field in NAMED_IN.items():
            if self.add_prefix(field) in self.data:
                names[language] = self.cleaned_data.get(field, "")
        self.instance.other_names = {language: name for language, name in names.items() if name}
        super()._post_clean()  # type: ignore[misc]


class ChanceForm(forms.ModelForm):
    """How likely one subject comes to a hide, by kind of session, and in which months."""

    months = MonthsField(required=False, label="Months")

    class Meta:
        model = HideSubject
        fields = [*KINDS, "months"]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in KINDS:
            field: Any = self.fields[name]
            field.choices = [("", "not known"), *CHANCES]
        self.fields["months"].widget.attrs["placeholder"] = "all"

    @property
    def about(self) -> str:
        """The subject's name."""
        return self.instance.subject.name


class Chances(BaseModelFormSet):
    """The subjects of a hide, a line each; a tick takes one out."""

    def add_fields(self, form: Any, index: int | None) -> None:
        super().add_fields(form, index)
        form.fields["DELETE"].label = "Does not come"
        if form.instance.pk:
            fill_cells(form, form.about)


ChanceFormSet = modelformset_factory(
    HideSubject, form=ChanceForm, formset=Chances, extra=0, max_num=200, absolute_max=250, can_delete=True
)


class AlsoForm(forms.Form):
    """Subjects that come to the hide too, by a tick each."""

    also = RowsField(Subject.objects.none(), required=False, label="", widget=forms.CheckboxSelectMultiple)

    def __init__(self, data: Any, *, hide: Hide) -> None:
        super().__init__(data)
        field: Any = self.fields["also"]
        field.queryset = subjects_not_at(hide)


class ChanceForms:
    """All of a hide's page of subjects, posted together."""

    def __init__(self, data: Any, *, hide: Hide) -> None:
        self.chances = ChanceFormSet(data, queryset=chances_at(hide), prefix="chance")
        self.also = AlsoForm(data, hide=hide)
        asked = data is not None and any(data.get(f"new-{name}") for name in ("name", "length_min_cm"))
        self.new = SubjectForm(data if asked else None, prefix="new", leader=hide.site.leader)
        self.others_known = subjects_not_at(hide).exists()

    def is_valid(self) -> bool:
        """Whether all are; each is looked at, so that all errors show at once."""
        return all([self.chances.is_valid(), self.also.is_valid(), not self.new.is_bound or self.new.is_valid()])

    @property
    def problems(self) -> list[tuple[str, str, str]]:
        """(id of the field, what it is about, what is wrong), for the summary."""
        found = [one for form in self.chances.forms for one in form_problems(form, form.about)]
        found += [("", "", str(error)) for error in self.chances.non_form_errors()]
        return found + form_problems(self.also) + form_problems(self.new)
