"""Numbers and lengths typed by people: asked back when unclear, kept when unchanged."""

import pytest
from django import forms
from django.core.exceptions import ValidationError
from hypothesis import given
from hypothesis import strategies as st

from participants.form_fields import LengthField, NumberField, RatioField, keep_stored, number_read


class PerchForm(forms.Form):
    """A form with one of each."""

    distance = LengthField(required=False)
    width = NumberField(required=False, decimals=1)
    count = NumberField(required=False, whole=True)

    def __init__(self, *args, units="metric", **kwargs):
        super().__init__(*args, **kwargs)
        keep_stored(self, units)


def test_twenty_feet_are_still_twenty_feet_after_ten_saves():
    stored = None
    for _ in range(10):
        form = PerchForm({"distance": "20", "distance_unit": "ft"}, initial={"distance": stored}, units="feet")
        assert form.is_valid()
        stored = form.cleaned_data["distance"]
    assert stored == 6.096
    assert PerchForm(initial={"distance": stored}, units="feet")["distance"].value() == "20"
    in_metres = PerchForm(initial={"distance": stored})
    assert in_metres["distance"].value() == "6.1"
    again = PerchForm({"distance": "6.1", "distance_unit": "m"}, initial={"distance": stored})
    assert again.is_valid()
    assert again.cleaned_data["distance"] == 6.096  # not 6.1: nobody changed it
    assert not again.has_changed()


def test_a_form_opened_in_feet_and_sent_after_the_switch_to_metres_is_read_in_feet():
    form = PerchForm({"distance": "20", "distance_unit": "ft"}, units="metric")
    assert form.is_valid()
    assert form.cleaned_data["distance"] == 6.096


@pytest.mark.parametrize(
    ("text", "metres"),
    [("6 m", 6.0), ("600cm", 6.0), ("20 ft", 6.096), ("20'", 6.096), ("240 in", 6.096), ("5200 mm", 5.2), ("6.5", 6.5)],
)
def test_a_length_may_name_its_own_unit(text, metres):
    form = PerchForm({"distance": text, "distance_unit": "m"}, units="metric")
    assert form.is_valid(), form.errors
    assert form.cleaned_data["distance"] == pytest.approx(metres)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("1.500", "type 1.5 or 1500"),
        ("1,500", "type 1.5 or 1500"),
        ("5.182", "type 5.1820 or 5182"),
        ("-1,500", "type -1.5 or -1500"),
        ("1 50", "not a number"),
        ("1.234.5", "not a number"),
        ("1,234,567.8.9", "not a number"),
        (".", "not a number"),
        ("six", "not a number"),
        ("nan", "not a number"),
        ("1e400", "not a number"),
        ("٣", "not a number"),
        ("9" * 40, "too long"),
    ],
)
def test_what_can_be_read_in_two_ways_is_asked_back(text, says):
    with pytest.raises(ValidationError) as refusal:
        number_read(text)
    assert says in refusal.value.messages[0]
    form = PerchForm({"distance": text, "distance_unit": "m"})
    assert not form.is_valid()
    assert form["distance"].value() == text  # what was typed stays


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("0.154", 0.154),
        ("600", 600.0),
        ("5.18", 5.18),
        ("-3", -3.0),
        ("+2.5", 2.5),
        ("5,6", 5.6),
        ("12,75", 12.75),
        ("0,154", 0.154),
        ("-0,833", -0.833),
        ("\u22122,5", -2.5),
        (",5", 0.5),
        ("5,", 5.0),
        ("1 500", 1500.0),
        ("1\u202f500,25", 1500.25),
        ("1.234,5", 1234.5),
        ("1,234.5", 1234.5),
        ("1.234.567", 1234567.0),
    ],
)
def test_what_can_be_read_in_one_way_is_read(text, number):
    assert number_read(text) == number


@given(st.floats(0.05, 200), st.sampled_from(["metric", "feet"]))
def test_a_shown_length_sent_back_changes_nothing(stored, units):
    form = PerchForm(initial={"distance": stored, "width": stored}, units=units)
    data = {"distance": form["distance"].value(), "width": form["width"].value()}
    data["distance_unit"] = "ft" if units == "feet" else "m"
    again = PerchForm(data, initial={"distance": stored, "width": stored}, units=units)
    assert again.is_valid()
    assert again.cleaned_data["distance"] == stored
    assert again.cleaned_data["width"] == stored


def test_a_comma_is_read_beside_a_unit_in_a_ratio_and_in_feet():
    form = PerchForm({"distance": "5,6 m", "width": "5,6"}, units="feet")
    assert form.is_valid(), form.errors
    assert (form.cleaned_data["distance"], form.cleaned_data["width"]) == (5.6, 5.6)
    assert RatioField().clean("1:6,2") == pytest.approx(1 / 6.2)


@pytest.mark.parametrize("text", ["8256", "8.256", "8,256", "8 256"])
def test_in_a_whole_number_a_group_of_three_is_thousands(text):
    assert NumberField(whole=True).clean(text) == 8256


def test_a_range_is_told_and_a_number_below_zero_gets_all_keys():
    field = NumberField(min_value=-20, max_value=60)
    assert field.widget.attrs["inputmode"] == "text"
    with pytest.raises(ValidationError, match="This is from -20 to 60"):
        field.clean("61")
    with pytest.raises(ValidationError, match="This is 1 or more"):
        NumberField(min_value=1).clean("0")


def test_whole_numbers_refuse_parts():
    assert PerchForm({"count": "3"}).is_valid()
    assert not PerchForm({"count": "3.5"}).is_valid()


def test_a_magnification_may_be_a_ratio():
    field = RatioField()
    assert field.clean("1:6.2") == pytest.approx(1 / 6.2)
    assert field.clean("0.16") == 0.16
    with pytest.raises(ValidationError):
        field.clean("1:0")


def test_the_box_names_its_unit_for_everybody():
    html = str(PerchForm(units="feet")["distance"])
    assert '<span class="unit-name">ft</span>' in html
    assert 'name="distance_unit" value="ft"' in html


@pytest.mark.parametrize("text", ["a\r\nb", "20\n30 m", "\x00", "٣ m\n", "\U0001f985" * 30])
def test_what_no_keyboard_types_is_refused_in_words(text):
    form = PerchForm({"distance": text, "width": text, "count": text})
    assert not form.is_valid()
    assert set(form.errors) == {"distance", "width", "count"}
