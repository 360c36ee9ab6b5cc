"""All seats of a trip's hides in one table, posted together."""

from typing import Any

from django.forms import inlineformset_factory
from django.http import QueryDict

from trips.form_fields import fill_cells, form_problems
from trips.forms.hide import Lines, SeatForm
from trips.forms.stale import SeenVersion
from trips.models import Hide, Seat


class SeatLines(Lines):
    """The seats of one hide, which were read together with those of all others."""

    def get_queryset(self) -> Any:
        return list(self.instance.seats.all())


SeatLineSet = inlineformset_factory(
    Hide,
    Seat,
    form=SeatForm,
    formset=SeatLines,
    extra=1,
    min_num=1,
    validate_min=True,
    max_num=24,
    absolute_max=25,
    validate_max=True,
)


class HideSeats:
    """The seats of one hide with a line for one more; only a hide whose lines were changed is looked at and saved."""

    def __init__(self, data: QueryDict | None, *, hide: Hide) -> None:
        self.hide, self.seen, self.stale = hide, hide.version, ""
        self.prefix = f"hide{hide.pk}"
        self.version = SeenVersion(data, prefix=self.prefix)
        zone = {"time_zone": hide.site.time_zone}
        self.seats = SeatLineSet(data, instance=hide, prefix=self.prefix, form_kwargs=zone)
        for form in self.seats.forms:
            name = form.instance.name if form.instance.pk else "new seat"
            form.fields["DELETE"].label = "Remove"
            fill_cells(form, f"{name}, {hide.name}")

    @property
    def changed(self) -> bool:
        """Whether anything was typed in these lines."""
        return self.seats.is_bound and self.seats.has_changed()

    @property
    def seen_version(self) -> int:
        """The version of the hide that the lines were opened on; 0 where the form names none."""
        return int(self.version.cleaned_data["seen_version"]) if self.version.is_valid() else 0

    def is_valid(self) -> bool:
        """Whether what was typed can be saved; lines that nobody touched always can."""
        return not self.changed or self.seats.is_valid()

    @property
    def problems(self) -> list[tuple[str, str, str]]:
        """(id of the box, what it is about, what is wrong), for the summary."""
        found = [("", self.hide.name, self.stale)] if self.stale else []
        if not self.changed:
            return found
        for form in self.seats.forms:
            found += form_problems(form, f"{self.hide.name}, {form.instance.name or 'new seat'}")
        return found + [("", self.hide.name, str(error)) for error in self.seats.non_form_errors()]


def seat_tables(data: QueryDict | None, hides: list[Hide]) -> list[HideSeats]:
    """One table for each hide."""
    return [HideSeats(data, hide=hide) for hide in hides]


def all_valid(tables: list[HideSeats]) -> bool:
    """Whether all are; each is looked at, so that all errors show at once."""
    return all([table.is_valid() for table in tables])  # noqa: C419


def problems_of(tables: list[HideSeats]) -> list[Any]:
    """What is wrong in any of them."""
    return [problem for table in tables for problem in table.problems]
