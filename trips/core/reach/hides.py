"""Reach in all views of a hide, and what one set alone does for all subjects of a view."""

from dataclasses import dataclass

from participants.core.gear import Gear
from trips.core.reach.sets import GearSet
from trips.core.reach.verdict import Reach, reach_each, reach_with
from trips.core.values import Hide, ReachSettings, Subject, View, Wishes


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


def hide_reach(
    gear: Gear, hide: Hide, subjects: tuple[Subject, ...], wishes: Wishes, settings: ReachSettings
) -> HideReach:
    """Reach in every view of a hide for those of `subjects` that may come there; the distance alone without any."""
    likely = {chance.subject for chance in hide.chances if max(chance.early, chance.midday, chance.late, chance.night)}
    wanted: tuple[Subject | None, ...] = tuple(subject for subject in subjects if subject.key in likely) or (None,)
    rows = []
    for view in hide.views:
        for subject, found in zip(wanted, reach_each(gear, view, wanted, wishes.output, settings), strict=True):
            rows.append(ViewReach(view.key, None if subject is None else subject.key, found))
    return HideReach(hide.key, tuple(rows))


@dataclass(frozen=True, slots=True)
class OneSetReach:
    """A subject with the set that a card names; `other`: the person's reach with another set that serves it better."""

    subject: str | None
    reach: Reach
    other: Reach | None = None


def with_one_set(
    gear_set: GearSet,
    view: View,
    rows: tuple[ViewReach, ...],
    subjects: tuple[Subject, ...],
    asked: tuple[str, ReachSettings],
) -> tuple[OneSetReach, ...]:
    """Judge every subject of a view's rows with one and the same set; `asked`: the output and the settings.

    Another set is named only where its verdict is better: more pixels alone are no reason to change in a hide.
    """
    known = {subject.key: subject for subject in subjects}
    found = []
    for row in rows:
        own = reach_with(gear_set, view, known.get(row.subject or ""), *asked)
        found.append(OneSetReach(row.subject, own, row.reach if row.reach.rank < own.rank else None))
    return tuple(found)
