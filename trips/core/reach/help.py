"""What would help: the smallest addition that turns a fault or a crop into a good frame."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace

from participants.core.gear import Converter, Gear, Tube
from trips.core.reach.verdict import Reach, reach
from trips.core.values import ReachSettings, Subject, View

COMMON_CONVERTERS = (1.4, 2.0)  # common practice, no source
COMMON_TUBES_MM = (12.0, 20.0, 25.0, 36.0)  # common practice, no source


@dataclass(frozen=True, slots=True)
class Offer:
    """What else there is: the group's own spare gear and the other views of the hide.

    `losses`: by key of a spare piece how many views get worse for its owner without it; the least loss comes first.
    """

    spare: Gear = field(default_factory=Gear)
    views: tuple[View, ...] = ()
    losses: Mapping[str, int] = field(default_factory=dict)


NOTHING_ELSE = Offer()


@dataclass(frozen=True, slots=True)
class Addition:
    """One addition and the reach it gives.

    `kind`: view, converter, tube, lens, body; `item`: its name (a view's, or a spare piece's; empty for gear nobody on
    the trip has); `size`: factor, length in mm or longest focal length in mm; `key`: the spare piece's or the view's.
    """

    kind: str
    item: str
    size: float | None
    reach: Reach
    spare: bool = False
    key: str = ""


@dataclass(frozen=True, slots=True)
class _Addition:
    """One thing to try: what it is, and the gear and view it leads to."""

    kind: str
    item: str
    size: float | None
    spare: bool
    key: str
    gear: Gear
    view: View


def _additions(gear: Gear, view: View, offer: Offer) -> Iterator[_Addition]:
    """Everything to try, the smallest first within each kind, the group's spare gear before what nobody has."""
    for other in offer.views:
        if other.key != view.key:
            yield _Addition("view", other.name, None, False, other.key, gear, other)
    losses = offer.losses
    spare_converters = sorted(offer.spare.converters, key=lambda one: (losses.get(one.key, 0), one.factor))
    for one in (*spare_converters, *(Converter("", factor) for factor in COMMON_CONVERTERS)):
        added = replace(gear, converters=(*gear.converters, one))
        yield _Addition("converter", one.name, one.factor, bool(one.name), one.key, added, view)
    spare_tubes = sorted(offer.spare.tubes, key=lambda one: (losses.get(one.key, 0), one.length_mm))
    for tube in (*spare_tubes, *(Tube("", length) for length in COMMON_TUBES_MM)):
        added = replace(gear, tubes=(*gear.tubes, tube))
        yield _Addition("tube", tube.name, tube.length_mm, bool(tube.name), tube.key, added, view)
    light_first = sorted(offer.spare.lenses, key=lambda one: (one.weight_g or 1e9, one.focal_max_mm, one.name))
    for lens in sorted(light_first, key=lambda one: losses.get(one.key, 0)):
        added = replace(gear, lenses=(*gear.lenses, lens))
        yield _Addition("lens", lens.name, lens.focal_max_mm, True, lens.key, added, view)
    spare_bodies = sorted(offer.spare.bodies, key=lambda one: losses.get(one.key, 0))
    for body in spare_bodies if gear.lacks == "body" else ():
        yield _Addition("body", body.name, None, True, body.key, replace(gear, bodies=(body,)), view)


def what_would_help(
    gear: Gear, view: View, subject: Subject | None, output: str, settings: ReachSettings, offer: Offer = NOTHING_ELSE
) -> tuple[Addition, ...]:
    """The smallest addition of each kind that makes the reach good; if none does, the one that improves it most.

    Of the group's spare pieces all that make it good, the lender who loses least first. Empty when the reach is good
    already or when nothing improves it. In the order: another view, converter, tube, lens, body.
    """
    now = reach(gear, view, subject, output, settings)
    if now.rank == 0:
        return ()
    good: list[Addition] = []
    better: list[Addition] = []
    for one in _additions(gear, view, offer):
        if not one.spare and any(found.kind == one.kind for found in good):
            continue
        then = reach(one.gear, one.view, subject, output, settings)
        found = Addition(one.kind, one.item, one.size, then, one.spare, one.key)
        if then.rank == 0 and (then.best is None or then.best.autofocus):
            good.append(found)
        elif then.rank < now.rank:
            better.append(found)
    if good:
        return tuple(good)
    return tuple(sorted(better, key=lambda found: found.reach.rank)[:1])
