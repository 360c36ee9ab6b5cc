"""A participant's gear as plain values. Lengths of lenses in millimetres, distances in metres."""

from dataclasses import dataclass


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
class Kit:
    """All gear of one person."""

    bodies: tuple[Body, ...] = ()
    lenses: tuple[Lens, ...] = ()
    converters: tuple[Converter, ...] = ()
    tubes: tuple[Tube, ...] = ()
    supports: tuple[Support, ...] = ()
    batteries: tuple[Battery, ...] = ()
