"""Whether a person can get to a hide and sit there: limits of steps, walk, entry and hours."""

from dataclasses import dataclass

from trips.core.values import Hide, Limit

ENTRIES = ("walk", "stoop", "ladder", "crawl")  # easiest first


@dataclass(frozen=True, slots=True)
class Breach:
    """One limit a hide goes beyond: what the hide asks for and what the person can do; `firm`: cannot."""

    what: str
    asked: float | str
    limit: float | str
    firm: bool = True

    @property
    def share(self) -> float:
        """How far beyond, as a part of the limit; entries by their place in the order."""
        if isinstance(self.asked, str) or isinstance(self.limit, str):
            return float(ENTRIES.index(str(self.asked)) - ENTRIES.index(str(self.limit)))
        return (float(self.asked) - float(self.limit)) / max(1.0, float(self.limit))


@dataclass(frozen=True, slots=True)
class Access:
    """What stands against a person in a hide.

    `cannot`: firm limits broken by what was measured; `rather_not`: soft ones; `unsure`: firm limits broken only by a
    value nobody measured, which is never a fault by itself.
    """

    hide: str
    cannot: tuple[Breach, ...] = ()
    rather_not: tuple[Breach, ...] = ()
    unsure: tuple[Breach, ...] = ()

    @property
    def open(self) -> bool:
        """Whether no firm limit stands against it."""
        return not self.cannot


def _asked(what: str, hide: Hide, hours: float | None) -> float | str | None:
    """What a hide asks for of one kind of limit; None when that is not known."""
    if what == "hours":
        return hours
    known: dict[str, float | str] = {"steps": hide.steps, "walk_m": hide.walk_m, "entry": hide.entry}
    return known.get(what)


def _beyond(asked: float | str, limit: float | str) -> bool:
    if isinstance(asked, str) or isinstance(limit, str):
        return asked in ENTRIES and limit in ENTRIES and ENTRIES.index(str(asked)) > ENTRIES.index(str(limit))
    return asked > limit


def access(limits: tuple[Limit, ...], hide: Hide, hours: float | None = None) -> Access:
    """The limits a hide breaks; `hours`: how long one has to sit there at a stretch, None when not asked."""
    cannot, rather_not, unsure = [], [], []
    for limit in limits:
        asked = _asked(limit.what, hide, hours)
        if asked is None or not _beyond(asked, limit.value):
            continue
        breach = Breach(limit.what, asked, limit.value, limit.firm)
        if not limit.firm:
            rather_not.append(breach)
        elif limit.what in hide.assumed:
            unsure.append(breach)
        else:
            cannot.append(breach)
    return Access(hide.key, tuple(cannot), tuple(rather_not), tuple(unsure))


def smallest_change(found: tuple[Access, ...]) -> Access | None:
    """The closed hide that asks for the smallest change: fewest limits broken, then the least beyond them."""
    closed = [one for one in found if not one.open]
    if not closed:
        return None
    return min(closed, key=lambda one: (len(one.cannot), sum(breach.share for breach in one.cannot)))
