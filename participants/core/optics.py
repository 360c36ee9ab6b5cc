"""Thin-lens optics of a long lens close in: magnification, focus range, depth of field, exposure.

All lengths in millimetres; a distance is from the subject to the sensor unless a name says otherwise.
Relations of the thin lens: Smith, Modern Optical Engineering, eq. 9.9 and the conjugate relations beside it.
"""

import math
from dataclasses import dataclass

from participants.core.errors import CannotFocus
from participants.core.units import need

ASSUMED_SHORTENING = 0.8  # a long lens with internal focusing keeps about 0.8 of its focal length close in; from memory
CIRCLE_FRACTION = 1500.0  # circle of confusion = diagonal / 1500
AUTOFOCUS_MARGIN_STOPS = 1.0 / 6.0  # half of the third of a stop to which f-numbers are engraved
ROUNDING = 1e-9  # relative; a limit typed as 5.2 m must focus at 5.2 m


@dataclass(frozen=True, slots=True)
class CloseFocus:
    """A lens at its near limit: what its focal length has become, its magnification, and whether that is assumed."""

    focal_mm: float
    magnification: float
    assumed: bool


def thin_lens_magnification(focal_mm: float, distance_mm: float) -> float:
    """Magnification (0-1) of a thin lens focused at `distance_mm`, subject to sensor.

    The smaller root of D = f (2 + m + 1/m), written without the difference of two large numbers. Valid for D >= 4 f;
    CannotFocus below. Source: Smith eq. 9.9.
    """
    focal = need("focal_mm", focal_mm, 1e-3, 1e5, "mm")
    distance = need("distance_mm", distance_mm, 1e-3, 1e10, "mm")
    if distance < 4.0 * focal * (1.0 - ROUNDING):
        raise CannotFocus(distance_mm=distance, nearest_mm=4.0 * focal, farthest_mm=math.inf)
    root = math.sqrt(max(0.0, distance * (distance - 4.0 * focal)))
    return 2.0 * focal / ((distance - 2.0 * focal) + root)


def sensor_distance_mm(focal_mm: float, magnification_ratio: float) -> float:
    """Subject to sensor of a thin lens that draws at that magnification: f (2 + m + 1/m)."""
    focal = need("focal_mm", focal_mm, 1e-3, 1e5, "mm")
    ratio = need("magnification", magnification_ratio, 1e-9, 1e3)
    return focal * (2.0 + ratio + 1.0 / ratio)


def close_focus(focal_mm: float, near_limit_mm: float, max_magnification: float | None = None) -> CloseFocus:
    """The lens at its near limit R: f_near = R M / (1 + M)^2 with a stated M (above life size counts as life size).

    Without a stated M: f_near = 0.8 f, assumed, and never more than R / 4, beyond which no thin lens focuses at R.
    """
    focal = need("focal_mm", focal_mm, 1.0, 5000.0, "mm")
    limit = need("near_limit_mm", near_limit_mm, 1.0, 1e6, "mm")
    if max_magnification is not None:
        stated = min(1.0, need("max_magnification", max_magnification, 1e-4, 10.0))
        return CloseFocus(limit * stated / (1.0 + stated) ** 2, stated, False)
    shortened = min(ASSUMED_SHORTENING * focal, limit / 4.0)
    return CloseFocus(shortened, thin_lens_magnification(shortened, limit), True)


def effective_focal_mm(
    focal_mm: float, distance_mm: float, near_limit_mm: float | None = None, max_magnification: float | None = None
) -> float:
    """Focal length a lens has when focused at `distance_mm`: f + (f_near - f) min(1, R / D); f without a near limit."""
    focal = need("focal_mm", focal_mm, 1.0, 5000.0, "mm")
    distance = need("distance_mm", distance_mm, 1e-3, 1e10, "mm")
    if near_limit_mm is None:
        return focal
    near = close_focus(focal, near_limit_mm, max_magnification)
    return focal + (near.focal_mm - focal) * min(1.0, near_limit_mm / distance)


def focus_range_mm(
    focal_mm: float,
    near_limit_mm: float | None,
    *,
    max_magnification: float | None = None,
    converter: float = 1.0,
    tube_mm: float = 0.0,
) -> tuple[float, float]:
    """Nearest and farthest distance (inf without a tube) from the sensor that can be focused.

    A converter leaves the near limit as it is. With a tube t: nearest = f_near (2 + m + 1/m), m the value between M
    and M + t / f_near that is nearest to 1; farthest = f (2 + t/f + f/t). Without a near limit: 4 f, a thin lens.
    """
    focal = need("focal_mm", focal_mm, 1.0, 5000.0, "mm")
    need("converter", converter, 1.0, 4.0)
    tube = need("tube_mm", tube_mm, 0.0, 1000.0, "mm")
    farthest = math.inf if tube == 0.0 else focal * (2.0 + tube / focal + focal / tube)
    if near_limit_mm is None:
        return 4.0 * focal, farthest
    near = close_focus(focal, near_limit_mm, max_magnification)
    if tube == 0.0:
        return float(near_limit_mm), farthest
    ratio = max(near.magnification, min(1.0, near.magnification + tube / near.focal_mm))
    return min(float(near_limit_mm), sensor_distance_mm(near.focal_mm, ratio)), farthest


def magnification(
    focal_mm: float,
    distance_mm: float,
    *,
    near_limit_mm: float | None = None,
    max_magnification: float | None = None,
    converter: float = 1.0,
    tube_mm: float = 0.0,
) -> float:
    """Size on the sensor / size of the subject at `distance_mm`, converter included.

    A tube moves the focus range, not the image at a given distance. CannotFocus with the range when out of it.
    Good to a few per cent where the lens states its maximum magnification; the assumed shortening close in may be
    off by a fifth.
    """
    need("distance_mm", distance_mm, 1e-3, 1e10, "mm")
    nearest, farthest = focus_range_mm(
        focal_mm, near_limit_mm, max_magnification=max_magnification, converter=converter, tube_mm=tube_mm
    )
    if not nearest * (1.0 - ROUNDING) <= distance_mm <= farthest * (1.0 + ROUNDING):
        raise CannotFocus(distance_mm=distance_mm, nearest_mm=nearest, farthest_mm=farthest)
    effective = effective_focal_mm(focal_mm, distance_mm, near_limit_mm, max_magnification)
    return converter * thin_lens_magnification(effective, max(distance_mm, 4.0 * effective))


def zoom_magnification(
    focal_mm: float, focal_max_mm: float, near_limit_mm: float, max_magnification: float | None = None
) -> float:
    """The maximum magnification of a zoom at `focal_mm`; the stated one holds at its long end.

    There f_near is focal / long end of the long end's; the magnification follows from the same near limit.
    """
    near = close_focus(focal_max_mm, near_limit_mm, max_magnification)
    return thin_lens_magnification(near.focal_mm * focal_mm / focal_max_mm, near_limit_mm)


def circle_mm(width_mm: float, height_mm: float) -> float:
    """Circle of confusion of a sensor: its diagonal / 1500."""
    width = need("sensor_width_mm", width_mm, 0.1, 1000.0, "mm")
    height = need("sensor_height_mm", height_mm, 0.1, 1000.0, "mm")
    return math.hypot(width, height) / CIRCLE_FRACTION


def hyperfocal_mm(focal_mm: float, f_number: float, circle_mm: float) -> float:
    """Hyperfocal distance from the lens: f^2 / (N c) + f."""
    focal = need("focal_mm", focal_mm, 1e-3, 1e5, "mm")
    return focal * focal / (need("f_number", f_number, 0.1, 1000.0) * need("circle_mm", circle_mm, 1e-6, 10.0)) + focal


def depth_of_field_mm(focal_mm: float, f_number: float, distance_mm: float, circle_mm: float) -> tuple[float, float]:
    """Near and far end (inf beyond the hyperfocal) of what is sharp, from the sensor, focused at `distance_mm`.

    Exact for the thin lens: the lens equation is used with the distance from the lens, u = D - f (1 + m).
    """
    ratio = thin_lens_magnification(focal_mm, distance_mm)
    number, circle = need("f_number", f_number, 0.1, 1000.0), need("circle_mm", circle_mm, 1e-6, 10.0)
    image_mm = focal_mm * (1.0 + ratio)
    object_mm = focal_mm * (1.0 + 1.0 / ratio)
    square, spread = focal_mm * focal_mm, number * circle * (object_mm - focal_mm)
    near = object_mm * square / (square + spread) + image_mm
    far = math.inf if spread >= square else object_mm * square / (square - spread) + image_mm
    return near, far


def exposure_value(f_number: float, seconds: float) -> float:
    """Exposure value log2(N^2 / t) (ISO 2720); exact, not the nominal numbers engraved on dials."""
    number = need("f_number", f_number, 0.1, 1000.0)
    return math.log2(number * number / need("seconds", seconds, 1e-6, 1e5, "s"))


def stopped_down(f_number: float, stops: float) -> float:
    """The f-number `stops` stops down from `f_number`: N 2^(stops / 2)."""
    return need("f_number", f_number, 0.1, 1000.0) * 2.0 ** (need("stops", stops, -20.0, 20.0) / 2.0)


def close_up_loss_stops(magnification_ratio: float) -> float:
    """Light lost close in, in stops: 2 log2(1 + m), the bellows factor of a thin lens."""
    return 2.0 * math.log2(1.0 + need("magnification", magnification_ratio, 0.0, 1e3))


def blur_pixels(speed_m_s: float, seconds: float, magnification_ratio: float, pitch_mm: float) -> float:
    """Pixels a subject moving across the frame smears over during the exposure: v t m / pitch."""
    travel_mm = need("speed_m_s", speed_m_s, 0.0, 1e3, "m/s") * 1000.0 * need("seconds", seconds, 1e-6, 1e5, "s")
    return travel_mm * magnification_ratio / need("pitch_mm", pitch_mm, 1e-5, 1.0, "mm")


def aperture_at(focal_mm: float, focal_min_mm: float, focal_max_mm: float, ends: tuple[float, float]) -> float:
    """Widest f-number of a zoom at `focal_mm`: between the f-numbers of its two ends, linear in the logarithm."""
    wide, long = ends
    if focal_max_mm <= focal_min_mm or wide == long:
        return long if focal_mm >= focal_max_mm else wide
    part = math.log(focal_mm / focal_min_mm) / math.log(focal_max_mm / focal_min_mm)
    return wide * (long / wide) ** min(1.0, max(0.0, part))


def autofocus_works(f_number: float, limit_f: float | None) -> bool:
    """Whether a body focuses by itself with the widest f-number (converter included); unknown limits pass."""
    if limit_f is None:
        return True
    return f_number <= stopped_down(limit_f, AUTOFOCUS_MARGIN_STOPS)
