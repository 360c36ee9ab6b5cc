"""Files of people and of gear: every row through the same form as on the pages, wrong rows by their number."""

import base64
import binascii
from dataclasses import dataclass, field, replace
from typing import Any

from django import forms
from django.forms.models import model_to_dict
from django.utils.translation import override

from participants.core.errors import BadShape
from participants.core.gear import LIST_OF
from participants.core.table_text import (
    BYTES_AT_MOST,
    DELIMITERS,
    ENCODINGS,
    ROWS_AT_MOST,
    Table,
    heading_key,
    table_read,
)
from participants.form_fields import NumberField, PhonesChecked
from participants.mail import leader_name
from participants.models import Participant
from trips.documents.gear_columns import (
    GEAR_COLUMNS,
    GEAR_FIELDS,
    KNOWN,
    PEOPLE,
    PEOPLE_COLUMNS,
    PEOPLE_LABELS,
    yes_or_no,
)
from trips.forms.gear import FORMS
from trips.models import PlaceState
from trips.selectors.gear import KINDS

ANY = ""
with override("en"):  # leaders' pages are English, and so are the headings of their tables
    LABELS = PEOPLE_LABELS | {
        heading_key(str(form.base_fields[name].label)): name
        for kind, form in FORMS.items()
        for name in GEAR_FIELDS[kind]
        if name in form.base_fields and heading_key(str(form.base_fields[name].label)) not in KNOWN
    }
STATES = {"": ""} | {word.casefold(): state for state in PlaceState for word in (state.value, str(state.label))}
REFUSALS = {
    "too_large": f"The file is larger than {BYTES_AT_MOST // 1024} kB, the most that is read.",
    "too_many_rows": f"The file has more than {ROWS_AT_MOST} rows, the most that is read.",
    "empty": "The file is empty.",
    "not_text": "This file is no text. Save the table as CSV.",
    "not_a_table": "This file is no table. Save it as CSV.",
    "wrong_encoding": "The file cannot be read with that encoding: choose another, or let it be found.",
    "unknown_encoding": "That encoding is not offered.",
    "unknown_delimiter": "That separator is not offered.",
}


class ImportForm(forms.Form):
    """The file, or what came of it before; encoding and separator as found or as chosen."""

    file = forms.FileField(required=False, allow_empty_file=True, label="CSV file of people or of gear")
    content = forms.CharField(required=False, widget=forms.HiddenInput)
    encoding = forms.ChoiceField(
        required=False, choices=[(ANY, "find it"), *((name, name) for name in ENCODINGS)], label="Encoding"
    )
    delimiter = forms.ChoiceField(required=False, choices=[(ANY, "find it"), *DELIMITERS.items()], label="Separator")

    def clean(self) -> dict[str, Any]:
        """The bytes of the file, and the table they hold."""
        data = super().clean() or self.cleaned_data
        upload = data.get("file")
        try:
            whole = upload.read() if upload else base64.b64decode(data.get("content") or "", validate=True)
        except (binascii.Error, ValueError):
            whole = b""
        if not whole:
            self.add_error("file", "Choose a file first." if upload is None else REFUSALS["empty"])
            return data
        try:
            chosen = {"encoding": data.get("encoding") or "", "delimiter": data.get("delimiter") or ""}
            table = table_read(whole, KNOWN | LABELS.keys(), **chosen)
            data["table"] = replace(table, heading=tuple(LABELS.get(name, name) for name in table.heading))
        except BadShape as wrong:
            self.add_error("file", REFUSALS[wrong.reason])
        data["kept"] = base64.b64encode(whole).decode("ascii")
        return data


@dataclass(frozen=True)
class RowFault:
    """What is wrong in one cell or row."""

    row: int
    column: str
    text: str
    sentence: str


@dataclass
class ImportPlan:
    """What a file would do: `people` and `pieces` (person, kind, piece), unsaved; faults keep all of it out.

    `states`: how each of `people` comes on the trip, empty where their row does not say.
    """

    kind: str
    table: Table
    asker: Any
    ignored: tuple[str, ...] = ()
    people: list[Participant] = field(default_factory=list)
    states: list[str] = field(default_factory=list)
    pieces: list[tuple[Participant, str, Any]] = field(default_factory=list)
    faults: list[RowFault] = field(default_factory=list)
    known: int = 0

    @property
    def rows(self) -> int:
        """How many rows the file has."""
        return len(self.table.rows)

    @property
    def shown(self) -> list[tuple[int, list[tuple[str, str]]]]:
        """The rows by their number, each cell with its heading."""
        return [(number, list(zip(self.table.heading, cells, strict=False))) for number, cells in self.table.rows]

    @property
    def delimiter_name(self) -> str:
        """The separator in words."""
        return DELIMITERS[self.table.delimiter]


class PersonRow(PhonesChecked, forms.ModelForm):
    """A row of the file of people; empty language and units keep what is there."""

    class Meta:
        model = Participant
        fields = list(PEOPLE)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in ("language", "units"):
            self.fields[name].required = False


def import_plan(table: Table, people: list[Participant], asker: Any) -> ImportPlan:
    """What a table would do; `people`: whom its rows may mean, their gear prefetched for a table of gear."""
    gear = "kind" in table.heading and "person" in table.heading
    columns = GEAR_COLUMNS if gear else PEOPLE_COLUMNS
    ignored = tuple(name for name in table.heading if name and name not in columns)
    plan = ImportPlan("gear" if gear else "people", table, asker, ignored)
    if not gear and "name" not in table.heading:
        plan.faults.append(
            RowFault(1, "name", "", f"There is no column “name”. Columns are {', '.join(PEOPLE_COLUMNS)}.")
        )
        return plan
    twice = sorted({name for name in table.heading if name in columns and table.heading.count(name) > 1})
    if twice:
        plan.faults.append(RowFault(1, twice[0], "", "This column comes twice."))
        return plan
    seen: dict[Any, int] = {}
    for number, cells in table.rows:
        if len(cells) > len(table.heading):
            plan.faults.append(RowFault(number, "", "", f"{len(cells)} cells, but {len(table.heading)} headings."))
            continue
        row = dict(zip(table.heading, cells, strict=True))
        (_gear_row if gear else _person_row)(plan, number, row, people, seen)
    return plan


def _form_faults(plan: ImportPlan, number: int, form: forms.BaseForm, row: dict[str, str]) -> None:
    for name, errors in form.errors.items():
        column = "" if name == "__all__" else "support" if name == "kind" and plan.kind == "gear" else name
        text = row.get(column, "")
        plan.faults += [RowFault(number, column, text, str(error)) for error in errors]


def _twice(plan: ImportPlan, number: int, key: Any, seen: dict[Any, int]) -> bool:
    if key in seen:
        plan.faults.append(RowFault(number, "", "", f"This stands in row {seen[key]} already."))
        return True
    seen[key] = number
    return False


def _person_row(
    plan: ImportPlan, number: int, row: dict[str, str], people: list[Participant], seen: dict[Any, int]
) -> None:
    name, email = row.get("name", "").strip().casefold(), row.get("email", "").strip().casefold()
    if _twice(plan, number, (name, email), seen):
        return
    same = [one for one in people if one.name.casefold() == name]
    same = [one for one in same if not email or not one.email or one.email.casefold() == email]
    if len(same) > 1:
        plan.faults.append(RowFault(number, "name", row["name"], "Several people have this name: give the e-mail."))
        return
    person = same[0] if same else Participant(language="en", units="metric")
    if same and person.leader != plan.asker and email not in ("", person.email.casefold()):
        keeper = leader_name(person)
        told = f"Only {keeper} changes this person's e-mail: sign-in links go there. Leave the cell empty."
        plan.faults.append(RowFault(number, "email", row["email"], told))
        return
    state = STATES.get(row.get("place", "").strip().casefold())
    if state is None:
        told = f"Write one of {', '.join(word for word in STATES if word)}."
        plan.faults.append(RowFault(number, "place", row["place"], told))
        return
    typed = {column: row[column] for column in PEOPLE if row.get(column, "").strip()}
    form = PersonRow(model_to_dict(person, PEOPLE) | typed, instance=person)
    if not form.is_valid():
        _form_faults(plan, number, form, row)
        return
    plan.known += bool(same)
    plan.people.append(form.save(commit=False))
    plan.states.append(state)


def _gear_row(
    plan: ImportPlan, number: int, row: dict[str, str], people: list[Participant], seen: dict[Any, int]
) -> None:
    named, kind = row["person"].strip(), row["kind"].strip().lower()
    owners = [one for one in people if one.name.casefold() == named.casefold()]
    if len(owners) != 1:
        told = "Several people have this name." if owners else "Nobody on this trip has this name."
        plan.faults.append(RowFault(number, "person", named, told))
        return
    if kind not in KINDS:
        plan.faults.append(RowFault(number, "kind", kind, f"A kind is one of {', '.join(KINDS)}."))
        return
    data, wrong = _gear_data(kind, row)
    if wrong:
        plan.faults += [RowFault(number, column, row[column], "Write yes or no.") for column in wrong]
        return
    owned = getattr(owners[0], LIST_OF[kind]).all()
    same = next((one for one in owned if one.name.casefold() == row.get("name", "").strip().casefold()), None)
    form = FORMS[kind](data, instance=same)
    for box in form.fields.values():
        if isinstance(box, NumberField):
            box.stored = None  # a file says what it means; nothing was shown rounded before
    if not form.is_valid():
        _form_faults(plan, number, form, row)
        return
    piece = form.save(commit=False)
    if not _twice(plan, number, (owners[0].pk, kind, piece.name.casefold()), seen):
        plan.known += same is not None
        plan.pieces.append((owners[0], kind, piece))


def _gear_data(kind: str, row: dict[str, str]) -> tuple[dict[str, Any], list[str]]:
    """A row as its form's data, and the columns that say neither yes nor no."""
    data: dict[str, Any] = {"name": row.get("name", "")}
    wrong = []
    for name in GEAR_FIELDS[kind]:
        cell = row.get(name, "")
        if name in ("spare", "takes_converter"):
            said = yes_or_no(cell) if cell.strip() else name == "takes_converter"
            if said is None:
                wrong.append(name)
            elif said:
                data[name] = "on"
        else:
            data["kind" if name == "support" else name] = cell.strip()
    return data, wrong
