"""All sets that somebody's gear makes up, and what one set does in a view."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from participants.core.gear import Body, Converter, Gear, Lens, Tube
from participants.core.optics import (
    aperture_at,
    autofocus_works,
    close_focus,
    effective_focal_mm,
    focus_range_mm,
    thin_lens_magnification,
    zoom_magnification,
)
from trips.core.values import View

ROUNDING = 1e-9  # relative


@dataclass(frozen=True, slots=True)
class GearSet:
    """A body with a lens at one focal length, perhaps a converter, perhaps a tube."""

    body: Body
    lens: Lens
    focal_mm: float
    converter: Converter | None = None
    tube: Tube | None = None

    @property
    def converter_factor(self) -> float:
        """The converter's factor, 1 without."""
        return 1.0 if self.converter is None else self.converter.factor

    @property
    def tube_mm(self) -> float:
        """The tube's length, 0 without."""
        return 0.0 if self.tube is None else self.tube.length_mm

    @property
    def accessories(self) -> int:
        """How many pieces sit between body and lens."""
        return (self.converter is not None) + (self.tube is not None)

    @property
    def widest_f_number(self) -> float:
        """The widest f-number at this focal length, converter included."""
        ends = (self.lens.aperture_wide, self.lens.aperture_long)
        lens_f = aperture_at(self.focal_mm, self.lens.focal_min_mm, self.lens.focal_max_mm, ends)
        return lens_f * self.converter_factor

    @property
    def autofocus(self) -> bool:
        """Whether the body focuses by itself with this set."""
        return autofocus_works(self.widest_f_number, self.body.af_limit_f)

    @property
    def pitch_mm(self) -> float:
        """Distance of two pixels."""
        return self.body.sensor_width_mm / self.body.pixels_wide

    @property
    def long_side_mm(self) -> float:
        """The longer side of the sensor."""
        return max(self.body.sensor_width_mm, self.body.sensor_height_mm)

    @property
    def short_side_mm(self) -> float:
        """The shorter side of the sensor."""
        return min(self.body.sensor_width_mm, self.body.sensor_height_mm)


def near_limit_mm(lens: Lens) -> float | None:
    """The lens's near limit in millimetres, None when not known."""
    return None if lens.near_limit_m is None else lens.near_limit_m * 1000.0


def magnification_at(gear: GearSet) -> float | None:
    """The maximum magnification that holds at the set's focal length; None when it has to be assumed."""
    limit, lens = near_limit_mm(gear.lens), gear.lens
    if lens.max_magnification is None or limit is None:
        return None
    if gear.focal_mm == lens.focal_max_mm:
        return lens.max_magnification
    return zoom_magnification(gear.focal_mm, lens.focal_max_mm, limit, lens.max_magnification)


def focus_range_m(gear: GearSet) -> tuple[float, float]:
    """Nearest and farthest distance from the sensor the set focuses, in metres (inf without a tube)."""
    nearest, farthest = focus_range_mm(
        gear.focal_mm,
        near_limit_mm(gear.lens),
        max_magnification=magnification_at(gear),
        converter=gear.converter_factor,
        tube_mm=gear.tube_mm,
    )
    return nearest / 1000.0, farthest / 1000.0


def effective_focal_at_mm(gear: GearSet, distance_m: float) -> float:
    """The focal length the lens has when focused at that distance, without the converter."""
    return effective_focal_mm(gear.focal_mm, distance_m * 1000.0, near_limit_mm(gear.lens), magnification_at(gear))


def image_scale(gear: GearSet, distance_m: float) -> float:
    """Magnification at `distance_m`, whether or not the set can focus there (4 f at the nearest)."""
    focal = effective_focal_at_mm(gear, distance_m)
    return gear.converter_factor * thin_lens_magnification(focal, max(distance_m * 1000.0, 4.0 * focal))


def close_focus_assumed(lens: Lens) -> bool:
    """Whether the lens's magnification close in is assumed."""
    limit = near_limit_mm(lens)
    return limit is not None and close_focus(lens.focal_max_mm, limit, lens.max_magnification).assumed


def focusable_part_m(gear: GearSet, near_m: float, far_m: float) -> tuple[float, float] | None:
    """The part of near..far that the set focuses; None when there is none."""
    nearest, farthest = focus_range_m(gear)
    slack = 1.0 + ROUNDING
    low, high = max(near_m, nearest / slack), min(far_m, farthest * slack)
    return None if low > high or math.isinf(low) else (low, high)


@dataclass(frozen=True, slots=True)
class Stand:
    """A set in a view: what it focuses, the part of the perch it is judged on (its middle), the image there.

    `uncertain`: the perch lies outside what it focuses, but only by a value nobody measured.
    """

    gear: GearSet
    nearest_m: float
    farthest_m: float
    distance_m: float
    scale: float
    uncertain: bool = False


def stand_in(gear: GearSet, view: View) -> Stand | None:
    """A set in a view; None when it cannot focus anywhere on the perch and that rests on measured values."""
    nearest, farthest = focus_range_m(gear)
    low, high = max(view.near_m, nearest / (1.0 + ROUNDING)), min(view.far_m, farthest * (1.0 + ROUNDING))
    uncertain = low > high
    if uncertain:
        guessed_view = bool({"near_m", "far_m"} & set(view.assumed))
        too_near = view.far_m < nearest
        if not (guessed_view and (too_near or gear.tube is None)) and not (too_near and gear.lens.near_limit_m is None):
            return None
        low = high = nearest if too_near else farthest
    distance_m = (low + high) / 2.0
    return Stand(gear, nearest, farthest, distance_m, image_scale(gear, distance_m), uncertain)


class Bench:
    """All sets of gear in one view, each worked out once."""

    def __init__(self, gear: Gear, view: View) -> None:
        self.view = view
        self.levels = tuple(_levels(gear, view))
        self._stands: dict[tuple[int, float], Stand | None] = {}

    def stand(self, gear: GearSet, focal_mm: float) -> Stand | None:
        """A set of `levels` at a focal length of its lens."""
        key = (id(gear), focal_mm)
        if key not in self._stands:
            at = gear if focal_mm == gear.focal_mm else replace(gear, focal_mm=focal_mm)
            self._stands[key] = stand_in(at, self.view)
        return self._stands[key]


def _levels(gear: Gear, view: View) -> Iterator[tuple[GearSet, ...]]:
    """All sets by the number of accessories: none, one, two; each at the long end of its lens.

    A tube goes only on a lens that cannot focus the whole perch without one.
    """
    levels: dict[int, list[GearSet]] = {0: [], 1: [], 2: []}
    for body in gear.bodies:
        for lens in gear.lenses:
            whole = lens.near_limit_m is None or lens.near_limit_m <= view.near_m
            for converter in (None, *(gear.converters if lens.takes_converter else ())):
                for tube in (None, *(() if whole else gear.tubes)):
                    one = GearSet(body, lens, lens.focal_max_mm, converter, tube)
                    levels[one.accessories].append(one)
    for level in sorted(levels):
        yield tuple(levels[level])
