"""What a set of gear gives for a still and for a moving subject: shutters, and the setting at a light."""

import math
from dataclasses import dataclass

from participants.core.optics import blur_pixels, exposure_value, stopped_down
from trips.core.advice.dial import (
    BASE_ISO,
    SHUTTERS,
    iso_needed,
    longest_shutter_s,
    marked_f_number,
    marked_iso,
    marked_shutter,
)
from trips.core.advice.values import Line, Setting, Why
from trips.core.reach import GearSet
from trips.core.values import AdviceSettings

SPEED_M_S = {"still": 0.1, "feeding": 0.3, "head_turn": 0.7, "hop": 1.5, "flight": 8.0}  # from memory but head_turn
# stops by which a support lengthens the shutter that a free hand holds, one over the focal length as on 36 x 24 mm;
# common practice, no source
SUPPORT_STOPS = {"tripod": 3.0, "bean_bag": 7 / 3, "clamp": 2.0, "monopod": 1.0}
FULL_FRAME_DIAGONAL_MM = 43.267  # of 36 x 24 mm
SUBJECT_SHARE = 0.4  # of the long side, in the pictures whose pixels along the subject `ReachSettings` asks for
DARKEST_EV100 = -10.0  # about starlight; a deeper night is too dark all the same
THIRD_STOPS = 3  # in a stop: what dials click by
SIXTH = 2.0 ** (1 / 6)  # half a click: nearer than that two settings are the same
STOP = 2.0  # the light is told to a stop either way: so far a setting may be off beyond the ISOs of the body


@dataclass(frozen=True, slots=True)
class Frame:
    """What both lines share: the set, its scale and light loss, the body's top ISO.

    `support`: what the seat takes, empty where the person has none; `pixel_mm`: a pixel of the person's output, on the
    sensor.
    """

    gear: GearSet
    scale: float
    loss_stops: float
    top_iso: int
    support: str
    pixel_mm: float
    settings: AdviceSettings

    @property
    def good_iso(self) -> int:
        """The ISO up to which shorter shutters are bought: the settings' own, never above what the body gives well."""
        return min(self.settings.iso_good, self.top_iso)

    @property
    def stops_down(self) -> float:
        """Stops down from wide open: two thirds, a full stop with a converter (common practice, no source)."""
        return 1.0 if self.gear.converter else 2.0 / 3.0

    def iso(self, f_number: float, part: int, ev: float) -> float:
        """The exact ISO that a setting needs."""
        return iso_needed(f_number, 1.0 / part, max(ev, DARKEST_EV100), self.loss_stops)

    def least_ev(self, part: int) -> float:
        """The EV100 from which wide open at the top ISO gives that shutter: `iso` of it is the top ISO, a sixth over.

        A night as dark as `DARKEST_EV100` is taken as it, so a shutter that it allows has no least light.
        """
        wanted = exposure_value(self.gear.widest_f_number, 1.0 / part) + self.loss_stops
        least = wanted - math.log2(self.top_iso * SIXTH / 100.0)
        return least if least > DARKEST_EV100 else -math.inf

    def can(self, part: int, ev: float | None) -> bool:
        """Whether the light is enough for that shutter; a light that is not known counts as enough."""
        return ev is None or ev >= self.least_ev(part)

    def holds(self, setting: Setting | None, ev: float | None) -> bool:
        """Whether automatic ISO still exposes that light with aperture and shutter of a setting, to a stop."""
        if setting is None or ev is None:
            return True
        return BASE_ISO / STOP <= self.iso(setting.f_number, setting.shutter_part, ev) <= self.top_iso * STOP

    def computed_s(self, speed: str) -> float:
        """Longest shutter at which a subject of that speed smears over no more than the settings' pixels of output.

        A flight is followed with the lens: only a part of its speed is left across the frame.
        """
        left = self.settings.panning_left if speed == "flight" else 1.0
        return longest_shutter_s(SPEED_M_S[speed] * left, self.scale, self.pixel_mm, self.settings.blur_pixels)

    def rest_part(self) -> int:
        """One over the longest shutter of use: a subject at rest, on the seat's support."""
        diagonal = math.hypot(self.gear.long_side_mm, self.gear.short_side_mm)
        focal = self.gear.focal_mm * self.gear.converter_factor * FULL_FRAME_DIAGONAL_MM / diagonal
        held_s = 2.0 ** SUPPORT_STOPS.get(self.support, 0.0) / focal
        return marked_shutter(min(held_s, self.computed_s("still")))

    def setting(self, line: Line, ev: float | None) -> Setting | None:
        """The setting for a line at a light; None where even the slowest of use, wide open, passes the top ISO.

        Stopped down; where light is short, open up, then slow down; where light is left over, stop down further, then
        shorten the shutter. The moving line takes a shorter shutter, up to the computed one, while the ISO stays good.
        """
        wide, third = self.gear.widest_f_number, 1.0 / THIRD_STOPS
        f_number, part = stopped_down(wide, self.stops_down), line.shutter_part
        if ev is None:
            return Setting(marked_f_number(f_number), part, None)
        if line.kind == "moving":
            part = max([one for one in self._shorter(line) if self.iso(f_number, one, ev) <= self.good_iso] + [part])
        for number in range(round(self.stops_down * THIRD_STOPS), -1, -1):
            f_number = stopped_down(wide, number * third)
            if self.iso(f_number, part, ev) <= self.top_iso * SIXTH:
                break
        while not self.can(part, ev):
            if part <= line.slowest_part:
                return None
            part = SHUTTERS[SHUTTERS.index(part) + 1]
        while self.iso(f_number, part, ev) < BASE_ISO / SIXTH:
            if stopped_down(f_number, third) <= self.settings.narrowest_f * SIXTH:
                f_number = stopped_down(f_number, third)
            elif part < SHUTTERS[0]:
                part = SHUTTERS[SHUTTERS.index(part) - 1]
            else:
                break
        return Setting(marked_f_number(f_number), part, min(marked_iso(self.iso(f_number, part, ev)), self.top_iso))

    @staticmethod
    def _shorter(line: Line) -> list[int]:
        return [part for part in SHUTTERS if line.shutter_part <= part <= (line.computed_part or 0)]


def pixel_of_output_mm(gear: GearSet, fill: float | None, output_pixels: int) -> float:
    """A pixel of the person's output, on the sensor, in millimetres.

    The output is a picture in which `output_pixels` lie along a subject that takes 0.4 of its long side: 1417 in one
    of 30 cm at 300 dots an inch. A smaller subject is cropped to that, a larger one fills the whole frame.
    """
    shown = 1.0 if fill is None else min(1.0, fill / SUBJECT_SHARE)
    return gear.long_side_mm * shown * SUBJECT_SHARE / output_pixels


def _reasons(kind: str, frame: Frame, speed: str) -> tuple[Why, ...]:
    """Why the values of a line are what they are."""
    settings = frame.settings
    reasons = [Why("manual_with_auto_iso")]
    if kind == "moving":
        reasons.append(Why("working_shutter", 1.0 / settings.shutter_s, 1.0 / settings.slow_shutter_s))
    else:
        reasons.append(Why("still_shutter", 1.0 / settings.slow_shutter_s))
    reasons.append(Why(f"speed_{speed}", SPEED_M_S[speed], settings.blur_pixels))
    if speed == "flight":
        reasons.append(Why("panning", settings.panning_left, 1.0 / settings.shortest_s))
    stop = "stop_down_converter" if frame.gear.converter else "stop_down"
    reasons.append(Why(stop, frame.stops_down, frame.gear.widest_f_number))
    if frame.top_iso > frame.good_iso:
        reasons.append(Why("iso_acceptable", frame.good_iso, frame.top_iso))
    return tuple(reasons)


def line(kind: str, frame: Frame, speed: str) -> Line:
    """The still line may slow to what a subject at rest allows; the moving one keeps the working shutter at least."""
    settings = frame.settings
    computed_s = max(frame.computed_s(speed), settings.shortest_s)
    computed = marked_shutter(computed_s)
    if kind == "moving":
        part = slowest = marked_shutter(settings.shutter_s)
    else:
        part = marked_shutter(settings.slow_shutter_s)
        slowest = min(part, frame.rest_part())
    return Line(
        kind,
        computed_part=computed,
        blur_pixels=blur_pixels(SPEED_M_S[speed], computed_s, frame.scale, frame.gear.pitch_mm),
        focus="group" if speed == "flight" else "single_point",
        drive="short_bursts" if kind == "still" else "high",
        reasons=_reasons(kind, frame, speed),
        shutter_part=part,
        slowest_part=slowest,
    )
