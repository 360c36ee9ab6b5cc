"""The settings card as plain values."""

from dataclasses import dataclass

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
    """Aperture (marked), shutter (one over, marked) and the ISO they need; `too_low`: more than the body gives well."""

    f_number: float
    shutter_part: int
    iso: int | None
    too_low: bool = False


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the card: for a still or a moving subject.

    `start`, `middle`, `end`: the settings at those moments, equal unless the light asks otherwise; `blur_pixels`: what
    the subject smears at the line's shutter; `computed_part`: one over the shutter for `blur_pixels` of the settings.
    """

    kind: str
    start: Setting
    middle: Setting
    end: Setting
    computed_part: int | None
    blur_pixels: float | None
    focus: str
    drive: str
    reasons: tuple[Why, ...]

    @property
    def moments(self) -> tuple[Setting, Setting, Setting]:
        """The settings at start, middle and end."""
        return self.start, self.middle, self.end


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
    """The card for one person, view and session."""

    gear: GearSet
    still: Line
    moving: Line
    depths: tuple[Depth, ...]
    circle_mm: float
    carry: Carry
    top_iso: int
    assumed: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Situation:
    """Where and on what: `evs`: the EV100 expected at start, middle and end of the session, None not known."""

    hide: Hide
    view: View
    subject: Subject | None
    evs: tuple[float | None, float | None, float | None]
