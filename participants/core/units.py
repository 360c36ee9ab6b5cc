"""Units a person types and reads. Quantities are stored once, in SI."""

import math

from participants.core.errors import BadValue

METRES_PER_FOOT = 0.3048  # exact, international foot (1959)
MILLIMETRES_PER_INCH = 25.4  # exact
KILOGRAMS_PER_POUND = 0.45359237  # exact, international pound (1959)
LITRES_PER_US_QUART = 0.946352946  # exact: a quarter of 231 cubic inches


def feet_from_metres(length_m: float) -> float:
    """Length in international feet of `length_m` metres (exact factor)."""
    return length_m / METRES_PER_FOOT


def quarts_from_litres(volume_l: float) -> float:
    """Volume in US liquid quarts of `volume_l` litres (exact factor)."""
    return volume_l / LITRES_PER_US_QUART


def pounds_from_kilograms(mass_kg: float) -> float:
    """Mass in pounds of `mass_kg` kilograms (exact factor)."""
    return mass_kg / KILOGRAMS_PER_POUND


def fahrenheit_from_celsius(temperature_c: float) -> float:
    """Temperature in degrees Fahrenheit of `temperature_c` degrees Celsius (exact)."""
    return temperature_c * 9.0 / 5.0 + 32.0


def celsius_from_fahrenheit(temperature_f: float) -> float:
    """Temperature in degrees Celsius of `temperature_f` degrees Fahrenheit (exact)."""
    return (temperature_f - 32.0) * 5.0 / 9.0


def need(field: str, value: float, low: float, high: float, unit: str = "") -> float:
    """`value` when it is a finite number within low..high; BadValue otherwise."""
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not math.isfinite(value):
        raise BadValue(field=field, value=value, low=low, high=high, unit=unit)
    if not low <= value <= high:
        raise BadValue(field=field, value=value, low=low, high=high, unit=unit)
    return float(value)
