"""The gear table: who brings what, for lending, charging and carrying."""

from collections.abc import Mapping
from dataclasses import dataclass

from participants.core.gear import Battery, Body, Gear
from participants.core.isolation import isolated
from participants.core.language import list_text
from trips.documents.briefing import PaperHead
from trips.documents.quantities import length_text, to_follow
from trips.documents.wording.advice import SUPPORTS


@dataclass(frozen=True, slots=True)
class GearLine:
    """One person's gear in words, a text for each column. `missing`: a support that hides take and they have not."""

    person: str
    bodies: tuple[str, ...]
    lenses: tuple[str, ...]
    extras: tuple[str, ...]
    supports: tuple[str, ...]
    batteries: tuple[str, ...]
    note: str = ""
    missing: tuple[str, ...] = ()

    @property
    def cells(self) -> tuple[tuple[str, ...], ...]:
        """The columns after the person's name."""
        return (self.bodies, self.lenses, self.extras, (*self.supports, *self.missing), self.batteries)


@dataclass(frozen=True, slots=True)
class GearTable:
    """The gear of everybody on the trip. `loans`: what could be lent, and to whom a support would be of use.

    `away`: what is lost, lent or shared, and from when to when: a piece that is lent is told with both people.
    """

    head: PaperHead
    lines: tuple[GearLine, ...] = ()
    loans: tuple[str, ...] = ()
    away: tuple[str, ...] = ()


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
        tuple(map(_body_text, gear.bodies)) or unknown,
        lenses or unknown,
        extras or rest,
        tuple(support.name for support in gear.supports) or rest,
        tuple(_battery_text(battery) for battery in gear.batteries) or rest,
        _away_text(gear.away) if photographs else "comes without a camera",
    )


def missing_supports(gear: Gear, wanted: Mapping[str, tuple[str, ...]]) -> dict[str, tuple[str, ...]]:
    """The kinds of support that somebody has not, each with the hides that take it. `wanted`: all kinds with hides."""
    has = {support.kind for support in gear.supports}
    return {kind: hides for kind, hides in wanted.items() if kind not in has}


def missing_texts(missing: Mapping[str, tuple[str, ...]]) -> tuple[str, ...]:
    """ "no tripod: Cork Oak, High Table"."""
    return tuple(f"no {SUPPORTS[kind]}: {', '.join(map(isolated, hides))}" for kind, hides in missing.items())


def loan_text(owner: str, piece: str, useful_to: tuple[str, ...]) -> str:
    """ "Bruno: tripod, for Zofia and Marta"."""
    text = f"{isolated(owner)}: {isolated(piece)}"
    return f"{text}, for {list_text(map(isolated, useful_to))}" if useful_to else text


def _body_text(body: Body) -> str:
    return f"{body.name}, ISO up to {body.top_iso}" if body.top_iso else body.name


def _away_text(away: tuple[str, ...]) -> str:
    return f"lost or lent: {', '.join(map(isolated, away))}" if away else ""


def _battery_text(battery: Battery) -> str:
    watt_hours = battery.volts * battery.ampere_hours
    return f"{battery.count} × {battery.volts:g} V {battery.ampere_hours:g} Ah ({watt_hours:.0f} Wh)"
