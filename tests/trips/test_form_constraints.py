"""What the database refuses is refused by the forms first: no constraint is left out for a field that a form lacks."""

from importlib import import_module
from inspect import getmembers, isclass
from pkgutil import iter_modules

import pytest
from django.db.models import F, Q
from django.db.models.constraints import BaseConstraint, CheckConstraint
from django.forms import ModelForm

import participants.forms
import trips.forms
from trips.forms.cars import CarForm
from trips.forms.hide import SeatForm
from trips.forms.trip import RULE_BOUNDS, RulesForm
from trips.forms.view import ViewForm

# Lines of one form: their names are compared with each other, and all lines of the row are in the form.
LINES = (CarForm, SeatForm, ViewForm)


def model_forms() -> list[type[ModelForm]]:
    """Every form of ours that writes a row."""
    modules = [import_module(f"trips.forms.{found.name}") for found in iter_modules(trips.forms.__path__)]
    found = {
        form
        for module in [*modules, participants.forms]
        for _, form in getmembers(module, isclass)
        if issubclass(form, ModelForm) and form is not ModelForm and getattr(form, "_meta", None) and form._meta.model
    }
    return sorted(found, key=lambda form: f"{form.__module__}.{form.__name__}")


def asked_of(condition: Q) -> set[str]:
    """The fields that a condition speaks of."""
    found: set[str] = set()
    for part in condition.children:
        if isinstance(part, Q):
            found |= asked_of(part)
        else:
            name, value = part
            found |= {name.split("__")[0]} | ({value.name} if isinstance(value, F) else set())
    return found


def fields_of(constraint: BaseConstraint) -> set[str]:
    """The fields that break a constraint together."""
    condition = getattr(constraint, "condition", None)
    named = set(getattr(constraint, "fields", ()))
    return named | (asked_of(condition) if condition is not None else set())


@pytest.mark.parametrize("form", model_forms(), ids=lambda form: form.__name__)
def test_a_form_asks_every_constraint_that_its_fields_can_break(form: type[ModelForm]) -> None:
    if form in LINES:
        return
    ours = [base for base in form.__mro__ if base.__module__.startswith(("trips.", "participants."))]
    lacks_asked = any("_get_validation_exclusions" in vars(base) for base in ours)
    for constraint in form._meta.model._meta.constraints:
        asked, here = fields_of(constraint), set(form.base_fields)
        if form is RulesForm and isinstance(constraint, CheckConstraint):
            assert asked & here <= set(RULE_BOUNDS), constraint.name
        elif asked & here and not asked <= here:
            assert lacks_asked, f"{form.__name__} never asks {constraint.name}: it lacks {asked - here}"
