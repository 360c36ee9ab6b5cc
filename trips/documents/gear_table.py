"""The gear table: who brings what, for lending, charging and carrying."""

from dataclasses import dataclass

from participants.core.kit import Battery, Kit
from trips.documents.briefing import PaperHead


@dataclass(frozen=True, slots=True)
class GearLine:
    """One person's gear in words, a text for each column."""

    person: str
    bodies: tuple[str, ...]
    lenses: tuple[str, ...]
    extras: tuple[str, ...]
    supports: tuple[str, ...]
    batteries: tuple[str, ...]
    note: str = ""

    @property
    def cells(self) -> tuple[tuple[str, ...], ...]:
        """The columns after the person's name."""
        return (self.bodies, self.lenses, self.extras, self.supports, self.batteries)


@dataclass(frozen=True, slots=True)
class GearTable:
    """The gear of everybody on the trip."""

    head: PaperHead
    lines: tuple[GearLine, ...] = ()


def gear_line(person: str, kit: Kit, note: str = "") -> GearLine:
    """The gear of one person; unknown near limits are said to be unknown."""
    lenses = tuple(
        f"{lens.name}, near limit {lens.near_limit_m:g} m"
        if lens.near_limit_m
        else f"{lens.name}, near limit to follow"
        for lens in kit.lenses
    )
    batteries = tuple(_battery_text(battery) for battery in kit.batteries)
    return GearLine(
        person,
        tuple(body.name for body in kit.bodies),
        lenses,
        tuple(one.name for one in kit.converters) + tuple(one.name for one in kit.tubes),
        tuple(support.name for support in kit.supports),
        batteries,
        note,
    )


def _battery_text(battery: Battery) -> str:
    watt_hours = battery.volts * battery.ampere_hours
    return f"{battery.count} × {battery.volts:g} V {battery.ampere_hours:g} Ah ({watt_hours:.0f} Wh)"
