"""What gear can do in a view: the verdict, the set that gives it, and why."""

import math
from dataclasses import dataclass

from participants.core.gear import Gear
from trips.core.reach.sets import ROUNDING, Bench, GearSet, Stand, close_focus_assumed, focus_range_m, stand_in
from trips.core.values import ReachSettings, Subject, View

VERDICTS = ("good", "tight", "needs_crop", "portrait_only", "small_file", "out_of_reach", "fault")  # best first


@dataclass(frozen=True, slots=True)
class Remark:
    """A reason or a warning as data; what `value` and `limit` mean depends on `kind`.

    inside_near_limit: perch at `value` m, nearest focus `limit` m with `item`; beyond_tube: farthest focus `limit` m;
    water_edge_inside_limit: the same for the near water edge; near_part_inside_limit, far_part_beyond_tube: the cut end
    of the perch and the limit; fills_frame, fills_little, fills_much, fills_beyond: `value` part of the frame;
    few_pixels: `value` of `limit` needed; distance_only: no subject known; manual_focus: widest f-number `value`
    against the body's `limit`; near_limit_unknown, focus_uncertain: `item` only; no_gear: none typed in; no_lens,
    no_body: typed in, but none with the person, `item`: what is away.
    """

    kind: str
    item: str = ""
    value: float | None = None
    limit: float | None = None


@dataclass(frozen=True, slots=True)
class Reach:
    """What gear does in a view for a subject.

    `best`: the set that gives the verdict, None for a fault or without gear; `fill`: part of the frame's long side;
    `pixels`: along the smallest adult; `field_mm`: what the long side sees; `judged_at_m`: the distance meant;
    `assumed`: facts nobody measured that went in.
    """

    verdict: str
    factor: float
    reason: Remark
    best: GearSet | None = None
    fill: float | None = None
    pixels: int | None = None
    field_mm: float | None = None
    judged_at_m: float | None = None
    focus_m: tuple[float, float] | None = None
    warnings: tuple[Remark, ...] = ()
    assumed: tuple[str, ...] = ()

    @property
    def rank(self) -> int:
        """0 for the best verdict, 6 for a fault."""
        return VERDICTS.index(self.verdict)


def pixels_needed(output: str, settings: ReachSettings) -> int:
    """Pixels along the subject that an output asks for."""
    named = {"web": settings.pixels_web, "30x20": settings.pixels_30x20, "a3": settings.pixels_a3}
    return named.get(output, settings.least_pixels)


def fill_of_frame(gear: GearSet, subject: Subject, scale: float) -> float:
    """Mean length against the long side; where a standing height is known and asks for more, it against the short."""
    mean_mm = 5.0 * (subject.length_min_cm + subject.length_max_cm)
    fill = mean_mm * scale / gear.long_side_mm
    if subject.standing_height_cm:
        fill = max(fill, subject.standing_height_cm * 10.0 * scale / gear.short_side_mm)
    return fill


def verdict_of(fill: float, pixels: int, output: str, settings: ReachSettings) -> tuple[str, Remark]:
    """The verdict of a fill and a number of pixels along the smallest adult, with its reason."""
    needed = pixels_needed(output, settings)
    if pixels < settings.least_pixels:
        return "out_of_reach", Remark("few_pixels", "", pixels, settings.least_pixels)
    if pixels < needed:
        return "small_file", Remark("few_pixels", output, pixels, needed)
    if fill < settings.crop_below:
        return "needs_crop", Remark("fills_little", "", fill, settings.crop_below)
    if fill <= settings.tight_above:
        return "good", Remark("fills_frame", "", fill)
    if fill <= settings.portrait_above:
        return "tight", Remark("fills_much", "", fill, settings.tight_above)
    return "portrait_only", Remark("fills_beyond", "", fill, settings.portrait_above)


def _warnings(stand: Stand, view: View) -> tuple[Remark, ...]:
    gear, nearest, farthest = stand.gear, stand.nearest_m, stand.farthest_m
    unknown = gear.lens.near_limit_m is None
    found = []
    if stand.uncertain:
        found.append(Remark("focus_uncertain", gear.lens.name, view.far_m, nearest))
    elif not unknown and view.near_m < nearest * (1.0 - ROUNDING):
        found.append(Remark("near_part_inside_limit", gear.lens.name, view.near_m, nearest))
    if view.far_m > farthest * (1.0 + ROUNDING):
        found.append(Remark("far_part_beyond_tube", gear.tube.name if gear.tube else "", view.far_m, farthest))
    edge = view.water_edge_m
    if not unknown and edge is not None and edge < nearest * (1.0 - ROUNDING) and edge < view.near_m:
        found.append(Remark("water_edge_inside_limit", gear.lens.name, edge, nearest))
    if unknown:
        found.append(Remark("near_limit_unknown", gear.lens.name))
    if not gear.autofocus:
        found.append(Remark("manual_focus", gear.body.name, gear.widest_f_number, gear.body.af_limit_f))
    return tuple(found)


def _assumed(gear: GearSet, view: View) -> tuple[str, ...]:
    names: list[str] = [name for name in ("near_m", "far_m", "water_edge_m") if name in view.assumed]
    if gear.lens.near_limit_m is None:
        names.append("near_limit_m")
    elif close_focus_assumed(gear.lens):
        names.append("max_magnification")
    return tuple(names)


@dataclass(frozen=True, slots=True)
class _Question:
    """What a stand is judged for."""

    subject: Subject | None
    output: str
    settings: ReachSettings


@dataclass(frozen=True, slots=True)
class _Trial:
    """A stand judged for a subject."""

    stand: Stand
    verdict: str
    reason: Remark
    fill: float | None = None
    pixels: int | None = None

    @property
    def key(self) -> tuple[bool, int, bool, float, int]:
        """Sorting key: sets that focus by themselves first, then the verdict, what is certain, pixels.

        Where the subject is larger than the frame, the set that shows most of it comes before more pixels.
        """
        manual = not self.stand.gear.autofocus
        beyond = (self.fill or 0.0) if self.verdict == "portrait_only" else 0.0
        return manual, VERDICTS.index(self.verdict), self.stand.uncertain, beyond, -(self.pixels or 0)

    def answer(self, view: View, settings: ReachSettings) -> Reach:
        """All that people are told of it."""
        stand = self.stand
        return Reach(
            verdict=self.verdict,
            factor=settings.factor(self.verdict),
            reason=self.reason,
            best=stand.gear,
            fill=self.fill,
            pixels=self.pixels,
            field_mm=stand.gear.long_side_mm / stand.scale,
            judged_at_m=stand.distance_m,
            focus_m=(stand.nearest_m, stand.farthest_m),
            warnings=_warnings(stand, view),
            assumed=_assumed(stand.gear, view),
        )


def _trial(stand: Stand, asked: _Question) -> _Trial:
    """One set at its own focal length."""
    subject = asked.subject
    if subject is None:
        return _Trial(stand, "good", Remark("distance_only", "", stand.distance_m))
    fill = fill_of_frame(stand.gear, subject, stand.scale)
    pixels = int(subject.length_min_cm * 10.0 * stand.scale / stand.gear.pitch_mm)
    verdict, reason = verdict_of(fill, pixels, asked.output, asked.settings)
    return _Trial(stand, verdict, reason, fill, pixels)


def _zoomed(bench: Bench, gear: GearSet, longest: _Trial, asked: _Question) -> _Trial:
    """A zoom that fills too much at its long end, drawn in: short of tight, or of the whole frame for more pixels."""
    limits = (asked.settings.tight_above, asked.settings.portrait_above)
    shorter = [_longest_within(bench, gear, limit, asked) for limit in limits]
    return min((longest, *(one for one in shorter if one is not None)), key=lambda one: one.key)


def _longest_within(bench: Bench, gear: GearSet, limit: float, asked: _Question) -> _Trial | None:
    """A zoom at the longest whole millimetre that fills no more than the limit, else at its short end."""
    low, high = math.ceil(gear.lens.focal_min_mm), math.floor(gear.lens.focal_max_mm)
    wide = bench.stand(gear, gear.lens.focal_min_mm)
    if wide is None or low > high:
        return None
    best = _trial(wide, asked)
    while low <= high:
        middle = (low + high) // 2
        stand = bench.stand(gear, float(middle))
        found = None if stand is None else _trial(stand, asked)
        if found is not None and (found.fill or 0.0) <= limit:
            low, best = middle + 1, found
        else:
            high = middle - 1
    return best


def _best_of(bench: Bench, level: tuple[GearSet, ...], asked: _Question) -> _Trial | None:
    """The best trial of the sets with one number of accessories."""
    found = []
    for gear in level:
        stand = bench.stand(gear, gear.focal_mm) or bench.stand(gear, gear.lens.focal_min_mm)
        if stand is None:
            continue
        trial = _trial(stand, asked)
        if (trial.fill or 0.0) > asked.settings.tight_above and gear.lens.focal_min_mm < gear.lens.focal_max_mm:
            trial = _zoomed(bench, gear, trial, asked)
        found.append(trial)
    return min(found, key=lambda one: one.key, default=None)


def _fault(bench: Bench, view: View, settings: ReachSettings) -> Reach:
    """The fault of gear none of whose sets focuses on the perch; names the lens that comes nearest."""
    return _out_of_focus(min(bench.levels[0], key=lambda gear: focus_range_m(gear)[0]), view, settings)


def _out_of_focus(gear: GearSet, view: View, settings: ReachSettings) -> Reach:
    nearest, farthest = focus_range_m(gear)
    reason = Remark("inside_near_limit", gear.lens.name, view.far_m, nearest)
    if view.near_m > farthest:
        reason = Remark("beyond_tube", gear.tube.name if gear.tube else "", view.near_m, farthest)
    return Reach("fault", settings.factor("fault"), reason, focus_m=(nearest, farthest))


def _answer(bench: Bench, view: View, asked: _Question) -> Reach:
    best: _Trial | None = None
    for level in bench.levels:
        found = _best_of(bench, level, asked)
        if found is not None and (best is None or found.key[:2] < best.key[:2]):
            best = found
        if best is not None and best.key[:2] == (False, 0):
            break
    return _fault(bench, view, asked.settings) if best is None else best.answer(view, asked.settings)


def reach_each(
    gear: Gear, view: View, subjects: tuple[Subject | None, ...], output: str, settings: ReachSettings
) -> tuple[Reach, ...]:
    """`reach` for several subjects in one view; the sets are worked out once."""
    if not gear.is_entered:
        nothing = Reach("good", settings.factor("good"), Remark("no_gear"), assumed=("gear",))
        return (nothing,) * len(subjects)
    if gear.lacks:
        unusable = Reach("fault", settings.factor("fault"), Remark(f"no_{gear.lacks}", ", ".join(gear.away)))
        return (unusable,) * len(subjects)
    bench = Bench(gear, view)
    return tuple(_answer(bench, view, _Question(subject, output, settings)) for subject in subjects)


def reach(gear: Gear, view: View, subject: Subject | None, output: str, settings: ReachSettings) -> Reach:
    """The best gear can do in a view for a subject (None: the distance alone, good or fault).

    Every body x lens x (no, one) converter x (no, one) tube; the best verdict wins, ties to the simpler set, then to
    more pixels (to more of the subject, where it is larger than the frame). A tube is tried only where its lens cannot
    focus the whole perch without one. Sets that the body focuses by itself come first. No gear typed in: good, assumed;
    typed in, but no lens or no body left: a fault.
    """
    return reach_each(gear, view, (subject,), output, settings)[0]


def reach_with(gear_set: GearSet, view: View, subject: Subject | None, output: str, settings: ReachSettings) -> Reach:
    """What one set does in a view for a subject, at the focal length it is set to and nothing else tried."""
    stand = stand_in(gear_set, view)
    if stand is None:
        return _out_of_focus(gear_set, view, settings)
    return _trial(stand, _Question(subject, output, settings)).answer(view, settings)
