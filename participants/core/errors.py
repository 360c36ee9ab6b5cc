"""What the core refuses, as data. Sentences for people are made in the wording modules."""

from typing import Any


class CoreError(Exception):
    """A refusal that carries data instead of a sentence.

    Every kind is raised with keyword arguments only; they are kept in `data` and can be read as attributes.
    """

    def __init__(self, **data: Any) -> None:
        self.data = data
        super().__init__(", ".join(f"{key}={value!r}" for key, value in sorted(data.items())))

    def __getattr__(self, name: str) -> Any:
        if name == "data" or name.startswith("__"):
            raise AttributeError(name)
        try:
            return self.data[name]
        except KeyError as missing:
            raise AttributeError(name) from missing


class BadValue(CoreError):
    """A value outside what it may be: `field`, `value`, `low` and `high` (either may be None), `unit`."""


class BadShape(CoreError):
    """A structure that does not fit: `path`, `value`, `reason` (a short key, not a sentence)."""


class NeverHappens(CoreError):
    """An event that does not take place: `event`, `day`."""


class OutsideValidity(CoreError):
    """A model asked outside the dates or places it was made for: `model`, `value`, `low`, `high`."""


class CannotFocus(CoreError):
    """A distance outside what a lens focuses: `distance_mm`, `nearest_mm`, `farthest_mm` (may be infinite)."""


class PictureRefused(CoreError):
    """A file no gear can be read from: `reason` (not_a_picture, not_jpeg, too_many_pixels, no_header, broken)."""
