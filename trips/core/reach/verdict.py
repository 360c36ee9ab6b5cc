"""What a kit can do in a view: the verdict, the set that gives it, and why."""

import math
from dataclasses import dataclass, replace

from participants.core.kit import Kit
from trips.core.reach.sets import GearSet, close_focus_assumed, focus_range_m, focusable_part_m, gear_sets, image_scale
from trips.core.values import Hide, ReachSettings, Subject, View, Wishes

VERDICTS = ("good", "tight", "needs_crop", "portrait_only", "small_file", "out_of_reach", "fault")  # best first


@dataclass(frozen=True, slots=True)
class Remark:
    """A reason or a warning as data; what `value` and `limit` mean depends on `kind`.

    inside_near_limit: perch at `value` m, nearest focus `limit` m with `item`; water_edge_inside_limit: the same for
    the near water edge; near_part_inside_limit, far_part_beyond_tube: the cut end of the perch and the limit;
    fills_frame, fills_little, fills_much, fills_beyond: `value` part of the frame; few_pixels: `value` of `limit`
    needed; distance_only: no subject known; manual_focus: widest f-number `value` against the body's `limit`;
    near_limit_unknown, focus_uncertain, no_gear: `item` only.
    """

    kind: str
    item: str = ""
    value: float | None = None
    limit: float | None = None


@dataclass(frozen=True, slots=True)
class Reach:
    """What a kit does in a view for a subject.

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


@dataclass(frozen=True, slots=True)
class ViewReach:
    """Reach in one view for one subject (None: the distance alone)."""

    view: str
    subject: str | None
    reach: Reach


@dataclass(frozen=True, slots=True)
class HideReach:
    """Reach in all views of a hide for the subjects that may come there."""

    hide: str
    rows: tuple[ViewReach, ...]

    @property
    def fault(self) -> bool:
        """Whether no view of the hide can be focused at all."""
        return bool(self.rows) and all(row.reach.verdict == "fault" for row in self.rows)

    @property
    def best(self) -> ViewReach:
        """The row with the best verdict; the first of equals."""
        return min(self.rows, key=lambda row: row.reach.rank)

    def in_view(self, view: str) -> tuple[ViewReach, ...]:
        """The rows of one view."""
        return tuple(row for row in self.rows if row.view == view)


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


def _judging_part(gear: GearSet, view: View) -> tuple[tuple[float, float] | None, bool]:
    """The part of the perch the set focuses and whether it rests on a guess that may not make a fault."""
    part = focusable_part_m(gear, view.near_m, view.far_m)
    if part is not None:
        return part, False
    nearest, farthest = focus_range_m(gear)
    too_near = view.far_m < nearest
    guessed = (
        gear.lens.near_limit_m is None or {"near_m", "far_m"} & set(view.assumed)
        if too_near
        else bool({"near_m", "far_m"} & set(view.assumed)) and gear.tube is None
    )
    edge = nearest if too_near else farthest
    return ((edge, edge), True) if guessed else (None, False)


def _warnings(gear: GearSet, view: View, uncertain: bool) -> tuple[Remark, ...]:
    nearest, farthest = focus_range_m(gear)
    unknown = gear.lens.near_limit_m is None
    found = []
    if uncertain:
        found.append(Remark("focus_uncertain", gear.lens.name, view.far_m, nearest))
    elif not unknown and view.near_m < nearest * (1.0 - 1e-9):
        found.append(Remark("near_part_inside_limit", gear.lens.name, view.near_m, nearest))
    if view.far_m > farthest * (1.0 + 1e-9):
        found.append(Remark("far_part_beyond_tube", gear.tube.name if gear.tube else "", view.far_m, farthest))
    edge = view.water_edge_m
    if not unknown and edge is not None and edge < nearest * (1.0 - 1e-9) and edge < view.near_m:
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


def judge_set(gear: GearSet, view: View, subject: Subject | None, output: str, settings: ReachSettings) -> Reach | None:
    """The verdict of one set at its own focal length; None when it cannot focus anywhere on the perch."""
    part, uncertain = _judging_part(gear, view)
    if part is None:
        return None
    distance_m = (part[0] + part[1]) / 2.0
    scale = image_scale(gear, distance_m)
    base = Reach(
        "good",
        settings.factor("good"),
        Remark("distance_only", "", distance_m),
        best=gear,
        field_mm=gear.long_side_mm / scale,
        judged_at_m=distance_m,
        focus_m=focus_range_m(gear),
        warnings=_warnings(gear, view, uncertain),
        assumed=_assumed(gear, view),
    )
    if subject is None:
        return base
    fill = fill_of_frame(gear, subject, scale)
    pixels = int(subject.length_min_cm * 10.0 * scale / gear.pitch_mm)
    verdict, reason = verdict_of(fill, pixels, output, settings)
    return replace(base, verdict=verdict, factor=settings.factor(verdict), reason=reason, fill=fill, pixels=pixels)


def judge_zoom(
    gear: GearSet, view: View, subject: Subject | None, output: str, settings: ReachSettings
) -> Reach | None:
    """The verdict at the best focal length of the lens: the longest that does not fill more than a good frame."""
    lens = gear.lens
    longest = judge_set(gear, view, subject, output, settings)
    if lens.focal_min_mm >= lens.focal_max_mm or (subject is None and longest is not None):
        return longest
    widest = judge_set(replace(gear, focal_mm=lens.focal_min_mm), view, subject, output, settings)
    if longest is None or widest is None or (longest.fill or 0.0) <= settings.tight_above:
        return longest or widest
    low, high, best = math.ceil(lens.focal_min_mm), math.floor(lens.focal_max_mm), widest
    while low <= high:
        middle = (low + high) // 2
        found = judge_set(replace(gear, focal_mm=float(middle)), view, subject, output, settings)
        if found is not None and (found.fill or 0.0) <= settings.tight_above:
            low, best = middle + 1, found
        else:
            high = middle - 1
    return min((longest, best), key=lambda found: found.rank)


def _better(found: Reach) -> tuple[bool, int, int]:
    """Sorting key: sets that focus by themselves first, then the verdict, then pixels."""
    autofocus = found.best is None or found.best.autofocus
    return not autofocus, found.rank, -(found.pixels or 0)


def _fault(kit: Kit, view: View, settings: ReachSettings) -> Reach:
    """The fault of a kit none of whose sets focuses on the perch; names the lens that comes nearest."""
    bare = min(next(gear_sets(kit)), key=lambda gear: focus_range_m(gear)[0])
    nearest, farthest = focus_range_m(bare)
    reason = Remark("inside_near_limit", bare.lens.name, view.far_m, nearest)
    return Reach("fault", settings.factor("fault"), reason, focus_m=(nearest, farthest))


def reach(kit: Kit, view: View, subject: Subject | None, output: str, settings: ReachSettings) -> Reach:
    """The best a kit can do in a view for a subject (None: the distance alone, good or fault).

    Every body x lens x (no, one) converter x (no, one) tube; the best verdict wins, ties to the simpler set, then to
    more pixels. Sets that the body focuses by itself come first. Without gear: good, assumed.
    """
    if not kit.bodies or not kit.lenses:
        return Reach("good", settings.factor("good"), Remark("no_gear"), assumed=("kit",))
    best: Reach | None = None
    for level in gear_sets(kit):
        judged = [judge_zoom(gear, view, subject, output, settings) for gear in level]
        found = [one for one in judged if one is not None]
        if found:
            candidate = min(found, key=_better)
            if best is None or _better(candidate)[:2] < _better(best)[:2]:
                best = candidate
        if best is not None and _better(best)[:2] == (False, 0):
            break
    return best if best is not None else _fault(kit, view, settings)


def hide_reach(
    kit: Kit, hide: Hide, subjects: tuple[Subject, ...], wishes: Wishes, settings: ReachSettings
) -> HideReach:
    """Reach in every view of a hide for those of `subjects` that may come there; the distance alone without any."""
    likely = {chance.subject for chance in hide.chances if max(chance.early, chance.midday, chance.late, chance.night)}
    wanted: tuple[Subject | None, ...] = tuple(subject for subject in subjects if subject.key in likely) or (None,)
    rows = [
        ViewReach(
            view.key, None if subject is None else subject.key, reach(kit, view, subject, wishes.output, settings)
        )
        for view in hide.views
        for subject in wanted
    ]
    return HideReach(hide.key, tuple(rows))
