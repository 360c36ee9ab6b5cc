"""The card for one person, view and session."""

from participants.core.errors import BadShape
from participants.core.gear import Gear
from participants.core.optics import circle_mm, close_up_loss_stops, depth_of_field_mm, stopped_down
from trips.core.advice.clock import rows_of, steps_of
from trips.core.advice.dial import marked_f_number
from trips.core.advice.lines import Frame, line, pixel_of_output_mm
from trips.core.advice.values import Advice, Carry, Depth, Situation
from trips.core.reach import GearSet, Reach
from trips.core.reach.sets import effective_focal_at_mm, focusable_part_m, image_scale
from trips.core.values import AdviceSettings, Hide, View

LONG_WALK_M = 200.0  # beyond it weight counts; common practice, no source


def _depths(gear_set: GearSet, view: View, f_number: float, circle: float) -> tuple[Depth, ...]:
    """Depth of field at the near and the far end of the perch that the set focuses."""
    part = focusable_part_m(gear_set, view.near_m, view.far_m)
    if part is None:
        return ()
    found = []
    for distance_m in dict.fromkeys(part):
        focal = effective_focal_at_mm(gear_set, distance_m)
        lens_f, lens_circle = f_number / gear_set.converter_factor, circle / gear_set.converter_factor
        near, far = depth_of_field_mm(focal, lens_f, max(distance_m * 1000.0, 4.0 * focal), lens_circle)
        found.append(Depth(distance_m, near / 1000.0, far / 1000.0, f_number))
    return tuple(found)


def _carry(gear: Gear, gear_set: GearSet, hide: Hide) -> Carry:
    """The set's pieces on the support the hide takes; on a long walk the lenses that stay behind are named."""
    pieces = [gear_set.body.name, gear_set.lens.name]
    pieces += [one.name for one in (gear_set.converter, gear_set.tube) if one is not None]
    support = next((one.name for one in gear.supports if one.kind == hide.support), "")
    long_walk = hide.walk_m > LONG_WALK_M
    left = tuple(one.name for one in gear.lenses if one != gear_set.lens) if long_walk else ()
    return Carry(tuple(pieces), hide.support, support, gear_set.lens.weight_g, hide.walk_m, long_walk, left)


def advise(gear: Gear, reach: Reach, situation: Situation, settings: AdviceSettings) -> Advice:
    """The card for the best set of `reach` in a situation; BadShape when there is no set (a fault or no gear).

    Settings by clock time for a still and for a moving subject: aperture 2/3 stop down from wide open, a full stop with
    a converter; 1/2000 s as the working speed (both common practice, no source). Depth of field is that aperture's.
    """
    gear_set = reach.best
    if gear_set is None or reach.judged_at_m is None:
        raise BadShape(path="reach.best", value=reach.verdict, reason="no_gear_to_advise_on")
    scale = image_scale(gear_set, reach.judged_at_m)
    top = gear_set.body.top_iso or settings.iso_top_default
    subject, light = situation.subject, situation.light
    has_support = any(one.kind == situation.hide.support for one in gear.supports)
    frame = Frame(
        gear_set,
        scale,
        close_up_loss_stops(scale / gear_set.converter_factor),
        top,
        situation.hide.support if has_support else "",
        pixel_of_output_mm(gear_set, reach.fill, situation.output_pixels),
        settings,
    )
    moving_speed = subject.speed if subject and subject.speed != "still" else "feeding"
    still, moving = line("still", frame, "still"), line("moving", frame, moving_speed)
    steps = steps_of(frame, still, moving, light)
    circle = circle_mm(gear_set.body.sensor_width_mm, gear_set.body.sensor_height_mm)
    working = marked_f_number(stopped_down(gear_set.widest_f_number, frame.stops_down))
    return Advice(
        gear=gear_set,
        still=still,
        moving=moving,
        depths=_depths(gear_set, situation.view, working, circle),
        circle_mm=circle,
        carry=_carry(gear, gear_set, situation.hide),
        top_iso=top,
        assumed=(*reach.assumed, *(("top_iso",) if gear_set.body.top_iso is None else ())),
        rows=rows_of(frame, still, moving, subject.tone if subject else "middle", light, steps),
        steps=steps,
    )
