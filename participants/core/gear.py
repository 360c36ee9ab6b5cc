"""A participant's gear as plain values. Lengths of lenses in millimetres, distances in metres."""

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from typing import Any, Self

from participants.core.errors import BadValue
from participants.core.units import need

LIST_OF = {  # a kind of piece and the list of the gear that holds it
    "body": "bodies",
    "lens": "lenses",
    "converter": "converters",
    "tube": "tubes",
    "support": "supports",
    "battery": "batteries",
}
SUPPORT_KINDS = ("tripod", "bean_bag", "clamp", "monopod")


@dataclass(frozen=True, slots=True)
class Body:
    """A camera body. `af_limit_f`: the smallest aperture (largest f-number) at which autofocus works, None unknown."""

    name: str
    sensor_width_mm: float
    sensor_height_mm: float
    pixels_wide: int
    pixels_high: int
    frames_per_s: float | None = None
    af_limit_f: float | None = None
    top_iso: int | None = None
    key: str = ""


@dataclass(frozen=True, slots=True)
class Lens:
    """A lens. Focal lengths as engraved; f-numbers at the two ends; near limit from the sensor.

    `near_limit_m` None: not known. `max_magnification` None: not known (assumed by `optics`, and said so).
    """

    name: str
    focal_min_mm: float
    focal_max_mm: float
    aperture_wide: float
    aperture_long: float
    near_limit_m: float | None = None
    max_magnification: float | None = None
    takes_converter: bool = True
    weight_g: float | None = None
    key: str = ""


@dataclass(frozen=True, slots=True)
class Converter:
    """A teleconverter; `factor` above 1 (1.4, 2.0)."""

    name: str
    factor: float
    key: str = ""


@dataclass(frozen=True, slots=True)
class Tube:
    """An extension tube (or a stack of them used as one)."""

    name: str
    length_mm: float
    key: str = ""


@dataclass(frozen=True, slots=True)
class Battery:
    """A kind of spare battery and how many of it are carried."""

    name: str
    volts: float
    ampere_hours: float
    count: int = 1
    key: str = ""


@dataclass(frozen=True, slots=True)
class Support:
    """What the camera rests on; `kind` is tripod, bean_bag, clamp or monopod."""

    name: str
    kind: str
    key: str = ""


@dataclass(frozen=True, slots=True)
class Gear:
    """All gear of one person; `away`: names of pieces that are theirs, but lost or lent and so not among the others."""

    bodies: tuple[Body, ...] = ()
    lenses: tuple[Lens, ...] = ()
    converters: tuple[Converter, ...] = ()
    tubes: tuple[Tube, ...] = ()
    supports: tuple[Support, ...] = ()
    batteries: tuple[Battery, ...] = ()
    away: tuple[str, ...] = ()

    @property
    def is_entered(self) -> bool:
        """Whether a body or a lens was ever typed in, be it with the person now or not."""
        return bool(self.bodies or self.lenses or self.away)

    @property
    def lacks(self) -> str:
        """ "lens" or "body": gear was typed in, but none of these is with the person; "" otherwise."""
        if not self.is_entered or (self.bodies and self.lenses):
            return ""
        return "body" if self.lenses else "lens"

    def piece(self, kind: str, key: str) -> Any:
        """The piece of that key; None where there is none."""
        return next((one for one in getattr(self, LIST_OF[kind]) if one.key == key), None)

    def with_piece(self, kind: str, piece: Any, replaced: str = "") -> Self:
        """The gear with one more piece, in place of the one whose key is `replaced`, if any."""
        name = LIST_OF[kind]
        kept = tuple(one for one in getattr(self, name) if not replaced or one.key != replaced)
        changes: dict[str, Any] = {name: (*kept, piece)}
        return replace(self, **changes)

    def without(self, kind: str, piece: Any) -> Self:
        """The gear while one of its pieces is away."""
        name = LIST_OF[kind]
        kept: dict[str, Any] = {name: tuple(one for one in getattr(self, name) if one.key != piece.key)}
        return replace(self, **kept, away=(*self.away, piece.name))


def gear_together(several: Sequence[Gear]) -> Gear:
    """All pieces of a person's gear at several times, each once; away is what is away at all of them."""
    lists: dict[str, Any] = {
        name: tuple({piece.key: piece for one in several for piece in getattr(one, name)}.values())
        for name in LIST_OF.values()
    }
    here = {piece.name for pieces in lists.values() for piece in pieces}
    away = dict.fromkeys(name for one in several for name in one.away if name not in here)
    return Gear(**lists, away=tuple(away))


Span = tuple[float, float, str]  # the least and the most that can be true, and the unit
CAN_BE: dict[type[Any], dict[str, Span]] = {
    Body: {
        "sensor_width_mm": (3.0, 120.0, "mm"),
        "sensor_height_mm": (2.0, 120.0, "mm"),
        "pixels_wide": (320, 60_000, ""),
        "pixels_high": (240, 60_000, ""),
        "frames_per_s": (0.1, 1000.0, ""),
        "af_limit_f": (0.1, 64.0, ""),
        "top_iso": (0.1, 10_000_000.0, ""),
    },
    Lens: {
        "focal_min_mm": (1.0, 5000.0, "mm"),
        "focal_max_mm": (1.0, 5000.0, "mm"),
        "aperture_wide": (0.5, 64.0, ""),
        "aperture_long": (0.5, 64.0, ""),
        "near_limit_m": (0.02, 100.0, "m"),
        "max_magnification": (0.001, 10.0, ""),
        "weight_g": (1.0, 30_000.0, "g"),
    },
    Converter: {"factor": (1.01, 4.0, "")},
    Tube: {"length_mm": (1.0, 300.0, "mm")},
    Battery: {"volts": (0.5, 100.0, "V"), "ampere_hours": (0.05, 200.0, "Ah"), "count": (1, 99, "")},
    Support: {},
}


def check_piece(piece: Any) -> None:
    """BadValue naming the first number that cannot be true; one that may be unknown may be missing."""
    optional = {one.name for one in fields(piece) if one.default is None}
    for name, (low, high, unit) in CAN_BE[type(piece)].items():
        value = getattr(piece, name)
        if value is None and name in optional:
            continue
        need(name, value, low, high, unit)
        if name == "focal_max_mm" and value < piece.focal_min_mm:
            raise BadValue(field=name, value=value, low=piece.focal_min_mm, high=high, unit=unit)
