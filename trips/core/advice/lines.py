"""One line of settings: shutter, aperture and ISO through the session, with the reason of each."""

from dataclasses import dataclass

from participants.core.optics import blur_pixels, stopped_down
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
SHORTEST_S = 1 / 8000  # assumed
THIRD_STOPS = 3


@dataclass(frozen=True, slots=True)
class Frame:
    """What both lines share: the set, its scale and light loss, the body's top ISO."""

    gear: GearSet
    scale: float
    loss_stops: float
    top_iso: int
    settings: AdviceSettings

    def setting(self, f_number: float, part: int, ev: float | None) -> Setting:
        """A setting with the ISO it needs; the shutter shortens where the light is more than the base ISO takes."""
        if ev is None:
            return Setting(marked_f_number(f_number), part, None)
        needed = iso_needed(f_number, 1.0 / part, ev, self.loss_stops)
        while needed < BASE_ISO * 2.0 ** (-1 / 6) and part < SHUTTERS[0]:
            part = SHUTTERS[SHUTTERS.index(part) - 1]
            needed = iso_needed(f_number, 1.0 / part, ev, self.loss_stops)
        return Setting(marked_f_number(f_number), part, marked_iso(needed), needed > self.top_iso * 2.0 ** (1 / 6))

    def quicker(self, working: int, computed: int, ev: float | None) -> int:
        """A shutter between the working one and the computed one: the shortest whose ISO is still good."""
        if ev is None:
            return working
        stopped = stopped_down(self.gear.widest_f_number, 1.0 if self.gear.converter else 2.0 / 3.0)
        good = [
            part
            for part in SHUTTERS
            if working <= part <= computed
            and iso_needed(stopped, 1.0 / part, ev, self.loss_stops) <= self.settings.iso_good
        ]
        return max(good, default=working)

    def settle(self, part: int, slowest: int, ev: float | None) -> Setting:
        """The setting at a moment: stopped down; if the ISO would pass the top, open up, then slow down."""
        wide = self.gear.widest_f_number
        stops = 1.0 if self.gear.converter else 2.0 / 3.0
        found = self.setting(stopped_down(wide, stops), part, ev)
        for third in range(2 if self.gear.converter else 1, -1, -1):
            if not found.too_low:
                return found
            found = self.setting(stopped_down(wide, third / THIRD_STOPS), part, ev)
        while found.too_low and part > slowest:
            part = SHUTTERS[min(SHUTTERS.index(part) + 1, len(SHUTTERS) - 1)]
            found = self.setting(wide, part, ev)
        return found


def _reasons(kind: str, frame: Frame, settings: tuple[Setting, ...], speed: str) -> tuple[Why, ...]:
    """Why each value of a line is what it is."""
    reasons = [Why("manual_with_auto_iso")]
    if kind == "moving":
        reasons.append(Why("working_shutter", 1.0 / frame.settings.shutter_s, 1.0 / frame.settings.slow_shutter_s))
    else:
        reasons.append(Why("still_shutter", 1.0 / frame.settings.slow_shutter_s))
    reasons.append(Why(f"speed_{speed}", SPEED_M_S[speed], frame.settings.blur_pixels))
    stop = Why("stop_down_converter", 1.0) if frame.gear.converter else Why("stop_down", 2.0 / 3.0)
    reasons.append(Why(stop.kind, stop.value, frame.gear.widest_f_number))
    if len({one.f_number for one in settings}) > 1:
        reasons.append(Why("open_up_first", min(one.f_number for one in settings)))
    if len({one.shutter_part for one in settings}) > 1:
        reasons.append(Why("shutter_follows_light", min(one.shutter_part for one in settings)))
    if any(one.too_low for one in settings):
        reasons.append(Why("light_too_low", max(one.iso or 0 for one in settings if one.too_low), frame.top_iso))
    if any(one.iso is not None and one.iso > frame.settings.iso_good for one in settings):
        reasons.append(Why("iso_acceptable", frame.settings.iso_good, frame.settings.iso_top_default))
    return tuple(reasons)


def line(kind: str, frame: Frame, speed: str, evs: tuple[float | None, ...]) -> Line:
    """The still line may slow to the computed shutter; the moving one keeps the working shutter or a shorter one."""
    pitch = frame.gear.pitch_mm
    computed_s = longest_shutter_s(SPEED_M_S[speed], frame.scale, pitch, frame.settings.blur_pixels)
    computed = marked_shutter(max(computed_s, SHORTEST_S))
    if kind == "moving":
        slowest = marked_shutter(frame.settings.shutter_s)
        part = frame.quicker(slowest, computed, evs[1])
    else:
        part = marked_shutter(frame.settings.slow_shutter_s)
        slowest = min(part, computed)
    start, middle, end = (frame.settle(part, slowest, ev) for ev in evs)
    blur = blur_pixels(SPEED_M_S[speed], 1.0 / middle.shutter_part, frame.scale, pitch)
    return Line(
        kind,
        start,
        middle,
        end,
        computed_part=round(1.0 / computed_s),
        blur_pixels=blur,
        focus="single_point" if kind == "still" else "group",
        drive="short_bursts" if kind == "still" else "high",
        reasons=_reasons(kind, frame, (start, middle, end), speed),
    )
