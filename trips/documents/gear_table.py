"""The gear table: who brings what, for lending, charging and carrying."""

from dataclasses import dataclass

from participants.core.gear import Battery, Gear
from participants.core.isolation import isolated
from trips.documents.briefing import PaperHead
from trips.documents.quantities import length_text, to_follow


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


def gear_line(person: str, gear: Gear, *, units: str = "metric", photographs: bool = True) -> GearLine:
    """The gear of one person; what is not known of somebody who photographs is to follow, a guest brings none.

    Of pieces that are away only the names are told.
    """
    lenses = tuple(f"{lens.name}, near limit {length_text(lens.near_limit_m, units)}" for lens in gear.lenses)
    extras = tuple(one.name for one in gear.converters) + tuple(one.name for one in gear.tubes)
    unknown = (to_follow(),) if photographs and not gear.away else ()
    rest = unknown if gear == Gear() else ()
    return GearLine(
        person,
        tuple(body.name for body in gear.bodies) or unknown,
        lenses or unknown,
        extras or rest,
        tuple(support.name for support in gear.supports) or rest,
        tuple(_battery_text(battery) for battery in gear.batteries) or rest,
        _away_text(gear.away) if photographs else "comes without a camera",
    )


def _away_text(away: tuple[str, ...]) -> str:
    return f"lost or lent: {', '.join(map(isolated, away))}" if away else ""


def _battery_text(battery: Battery) -> str:
    watt_hours = battery.volts * battery.ampere_hours
    return f"{battery.count} × {battery.volts:g} V {battery.ampere_hours:g} Ah ({watt_hours:.0f} Wh)"
