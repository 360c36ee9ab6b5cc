"""The settings card as plain values."""

from dataclasses import dataclass
from datetime import datetime

from trips.core.light import Glance
from trips.core.reach import GearSet
from trips.core.values import Hide, Subject, View


@dataclass(frozen=True, slots=True)
class Why:
    """The reason of a value as data: `kind` and up to two numbers whose meaning the wording knows."""

    kind: str
    value: float | None = None
    limit: float | None = None


@dataclass(frozen=True, slots=True)
class Setting:
    """Aperture (marked), shutter (one over, marked) and the ISO they need, at most the body's top; None not known."""

    f_number: float
    shutter_part: int
    iso: int | None


@dataclass(frozen=True, slots=True)
class Row:
    """What to set from a moment on; None: too dark for it then, with all that the body, the lens and the seat give.

    `light`: the light's name as in `ViewLight.on_perch`; `compensation`: stops to dial in.
    """

    at: datetime
    light: str
    still: Setting | None
    moving: Setting | None
    compensation: float = 0.0

    @property
    def dial(self) -> float:
        """The compensation where there is a setting that it goes with."""
        return self.compensation if self.still or self.moving else 0.0


@dataclass(frozen=True, slots=True)
class ShutterStep:
    """A shutter (one over, marked) and the stretches of the session in which it can be had, wide open at the top ISO.

    `kind`: rest (the longest that the seat's support and a subject at rest allow), hand (without one), still, moving.
    """

    kind: str
    shutter_part: int
    spans: tuple[tuple[datetime, datetime], ...]


@dataclass(frozen=True, slots=True)
class Line:
    """What holds all session for a still or a moving subject.

    `shutter_part`: one over the shutter wanted, `slowest_part`: over the longest that is still of use; `computed_part`:
    over the shutter at which the subject smears over the pixels of the output that the settings allow, which are
    `blur_pixels` of the file.
    """

    kind: str
    computed_part: int | None
    blur_pixels: float | None
    focus: str
    drive: str
    reasons: tuple[Why, ...]
    shutter_part: int = 0
    slowest_part: int = 0


@dataclass(frozen=True, slots=True)
class Depth:
    """Depth of field at one distance: near and far end in metres (far may be infinite)."""

    distance_m: float
    near_m: float
    far_m: float
    f_number: float


@dataclass(frozen=True, slots=True)
class Carry:
    """What to carry: the set's pieces, the support the hide takes and whether the person has it, and the weight."""

    pieces: tuple[str, ...]
    support: str
    support_name: str
    weight_g: float | None
    walk_m: float
    long_walk: bool
    left_behind: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Advice:
    """The card for one person, view and session. `rows`: by clock time, the first at the start, the last at the end.

    `steps`: what dawn and dusk allow, the longest shutter first; empty where all is possible throughout.
    """

    gear: GearSet
    still: Line
    moving: Line
    depths: tuple[Depth, ...]
    circle_mm: float
    carry: Carry
    top_iso: int
    assumed: tuple[str, ...]
    rows: tuple[Row, ...] = ()
    steps: tuple[ShutterStep, ...] = ()


@dataclass(frozen=True, slots=True)
class Situation:
    """Where, on what, for what: `light`: minute by minute, the session's end last; `output_pixels`: the pixels along
    the subject that the person's output asks for (see `ReachSettings`)."""

    hide: Hide
    view: View
    subject: Subject | None
    light: tuple[Glance, ...] = ()
    output_pixels: int = 960
