"""The form field for a moment as a place's clock shows it."""

from datetime import UTC, datetime
from importlib import import_module
from pkgutil import iter_modules

import pytest
from django import forms

import trips.forms
from participants.form_fields import NumberField, PhonesChecked
from trips.form_fields import LocalMomentField


class MomentForm(forms.Form):
    at = LocalMomentField(time_zone="Europe/Madrid", required=True)


class MaybeForm(forms.Form):
    at = LocalMomentField(required=False)

    def __init__(self, *args, time_zone, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["at"].time_zone = time_zone


def posted(day, clock, which=""):
    return MomentForm({"at_day": day, "at_clock": clock, "at_which": which})


def test_a_typed_time_is_read_in_the_places_zone():
    form = posted("2027-05-08", "06:45")
    assert form.is_valid(), form.errors
    assert form.cleaned_data["at"] == datetime(2027, 5, 8, 4, 45, tzinfo=UTC)


def test_a_time_that_does_not_exist_is_refused_with_the_reason_and_kept():
    form = posted("2027-03-28", "02:30")
    assert not form.is_valid()
    assert form.errors["at"] == [
        "02:30 does not exist on 28 March 2027 (Europe/Madrid): clocks go from 02:00 to 03:00."
    ]
    assert 'value="02:30"' in str(form["at"])


def test_a_time_that_comes_twice_is_asked_back_and_then_taken():
    form = posted("2027-10-31", "02:30")
    assert "<select" not in str(MomentForm()["at"])
    assert not form.is_valid()
    assert "comes twice on 31 October 2027" in form.errors["at"][0]
    shown = str(form["at"])
    assert "02:30 CEST (+02:00)" in shown
    assert "02:30 CET (+01:00)" in shown
    for which, hour in (("0", 0), ("1", 1)):
        answered = posted("2027-10-31", "02:30", which)
        assert answered.is_valid()
        assert answered.cleaned_data["at"] == datetime(2027, 10, 31, hour, 30, tzinfo=UTC)
        assert "selected" in str(answered["at"])


def test_one_form_that_asks_does_not_make_the_next_one_ask():
    assert not posted("2027-10-31", "02:30").is_valid()
    assert "<select" not in str(MomentForm()["at"])


def test_a_stored_moment_comes_back_as_the_same_moment():
    for stored in (
        datetime(2027, 5, 8, 4, 45, tzinfo=UTC),
        datetime(2027, 10, 31, 0, 30, tzinfo=UTC),
        datetime(2027, 10, 31, 1, 30, tzinfo=UTC),
        datetime(2027, 5, 8, 4, 45, 30, tzinfo=UTC),
    ):
        day, clock, which = MomentForm().fields["at"].widget.decompress(stored)
        form = MomentForm({"at_day": str(day), "at_clock": clock, "at_which": which}, initial={"at": stored})
        assert form.is_valid(), form.errors
        assert form.cleaned_data["at"] == stored
        assert not form.has_changed()


def test_half_a_moment_and_none_are_told_apart():
    assert MaybeForm({"at_day": "", "at_clock": ""}, time_zone="Europe/Madrid").is_valid()
    half = MaybeForm({"at_day": "2027-05-08", "at_clock": ""}, time_zone="Europe/Madrid")
    assert half.errors["at"] == ["Give both the day and the time."]
    assert not posted("", "").is_valid()


def test_what_is_no_date_or_time_is_refused_at_its_field():
    assert posted("8th", "06:45").errors["at"] == ["Give the day as a date."]
    assert posted("2027-05-08", "a quarter to seven").errors["at"] == ["Give the time as hours and minutes."]


def test_a_change_is_seen():
    stored = datetime(2027, 5, 8, 4, 45, tzinfo=UTC)
    assert MomentForm({"at_day": "2027-05-08", "at_clock": "06:50"}, initial={"at": stored}).has_changed()
    assert MomentForm({"at_day": "2027-03-28", "at_clock": "02:30"}, initial={"at": stored}).has_changed()


def test_every_number_that_people_type_is_read_as_their_keyboard_gives_it():
    shown, plain = 0, []
    for module in (import_module(f"trips.forms.{one.name}") for one in iter_modules(trips.forms.__path__)):
        for form in vars(module).values():
            if isinstance(form, type) and issubclass(form, forms.BaseForm):
                boxes = [box for box in form.base_fields.values() if not box.widget.is_hidden]
                shown += sum(isinstance(box, NumberField) for box in boxes)
                plain += [f"{form.__name__}: {box.label}" for box in boxes if isinstance(box, forms.IntegerField)]
    assert plain == []
    assert shown > 60


class PhonesForm(PhonesChecked, forms.Form):
    phone = forms.CharField(required=False)
    emergency_contact = forms.CharField(required=False)
    emergency_number = forms.CharField(required=False)


@pytest.mark.parametrize(
    ("typed", "refused"),
    [
        ({"phone": "hello", "emergency_contact": "my sister", "emergency_number": "hello"}, 3),
        ({"phone": "12 34", "emergency_contact": "my sister, 12 34", "emergency_number": "1"}, 3),
        ({"phone": "+34 (0)600/123-456", "emergency_contact": "Ana, 600 123 456", "emergency_number": "112 (EU)"}, 0),
        ({"phone": "", "emergency_contact": "", "emergency_number": ""}, 0),
    ],
)
def test_telephones_are_refused_where_nobody_can_dial_them_and_kept_where_nobody_changed_them(typed, refused):
    assert len(PhonesForm(typed).errors) == refused
    assert PhonesForm(typed, initial=typed).is_valid()


def test_every_form_with_a_telephone_checks_it():
    kinds = [
        one
        for module in iter_modules(trips.forms.__path__, "trips.forms.")
        for one in vars(import_module(module.name)).values()
        if isinstance(one, type) and issubclass(one, forms.ModelForm) and getattr(one, "base_fields", None)
    ]
    named = {"phone", "emergency_contact", "emergency_number"}
    asked = {one for one in kinds if named & one.base_fields.keys()}
    assert len(asked) >= 5
    assert [one for one in asked if not issubclass(one, PhonesChecked)] == []


def test_no_set_of_forms_is_as_long_as_somebody_sends_it():
    """A thousand forms that nobody filled kept a page busy for half a minute."""
    modules = [import_module(f"trips.forms.{one.name}") for one in iter_modules(trips.forms.__path__)]
    found = {name: one for module in modules for name, one in vars(module).items() if hasattr(one, "absolute_max")}
    assert len(found) >= 5
    assert {name for name, one in found.items() if one.absolute_max > 250} == set()
