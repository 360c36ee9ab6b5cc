"""Quantities on pages: units and decimal signs for people, plain numbers for machines."""

from datetime import UTC, datetime
from decimal import Decimal

import pytest
from django.template import Context, Template
from django.utils import translation

SESSION = {
    "starts_at": datetime(2027, 5, 8, 4, 45, tzinfo=UTC),
    "ends_at": datetime(2027, 5, 8, 8, 45, tzinfo=UTC),
    "night_end": datetime(2027, 5, 9, 0, 30, tzinfo=UTC),
    "zone": "Europe/Madrid",
}


def drawn(source: str, language: str = "en-gb", **values: object) -> str:
    with translation.override(language):
        return Template("{% load quantities %}" + source).render(Context(SESSION | values))


@pytest.mark.parametrize(
    ("source", "value", "expected"),
    [
        ("{{ value|as_length:'metric' }}", 6.0, "6 m"),
        ("{{ value|as_length:'metric' }}", 5.25, "5.2 m"),
        ("{{ value|as_length:'feet' }}", 6.096, "20 ft"),
        ("{{ value|as_length:'feet' }}", 300.0, "984 ft"),
        ("{{ value|as_length:'feet' }}", None, "to follow"),
        ("{{ value|as_temperature:'metric' }}", 37.4, "37 °C"),
        ("{{ value|as_temperature:'feet' }}", 37.0, "99 °F"),
        ("{{ value|as_temperature:'metric' }}", None, "to follow"),
    ],
)
def test_a_quantity_is_shown_in_the_readers_units(source: str, value: float | None, expected: str) -> None:
    assert drawn(source, value=value) == expected


def test_clock_times_are_the_sites_and_say_so_where_it_matters() -> None:
    assert drawn("{{ starts_at|as_clock:zone }}") == "06:45"
    assert drawn("{{ starts_at|as_moment:zone }}") == "06:45 on Saturday 8 May (Europe/Madrid, UTC+02:00)"
    assert drawn("{{ nothing|as_clock:zone }}{{ nothing|as_moment:zone }}", nothing=None) == "to followto follow"


def test_people_see_their_decimal_sign_and_machines_a_point() -> None:
    source = '<path d="{{ x|machine }}"/>{{ near_m|as_length:"metric" }} {% position 39.5 x %}'
    german = drawn(source, "de", x=-6.2, near_m=4.5)
    assert german == '<path d="-6.2"/>4,5 m 39,50000° N, 6,20000° W'
    assert drawn(source, x=-6.2, near_m=4.5) == '<path d="-6.2"/>4.5 m 39.50000° N, 6.20000° W'


@pytest.mark.parametrize(
    ("value", "expected"),
    [(1234567.5, "1234567.5"), (1e-7, "0.0000001"), (2.0, "2"), (100, "100"), (Decimal("1.50"), "1.5"), (None, "")],
)
def test_a_machine_number_has_no_groups_and_no_exponent(value: float, expected: str) -> None:
    assert drawn("{{ value|machine }}", "de", value=value) == expected


def test_a_machine_moment_is_in_universal_time() -> None:
    assert drawn("{{ starts_at|machine_moment }}") == "2027-05-08T04:45:00Z"
