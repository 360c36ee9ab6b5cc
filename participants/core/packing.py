"""The packing list: from a person's own gear and what the trip asks of it.

A list of plain items; sentences are made in `participants.wording`. Amounts are generous starting points.
"""

import math
from dataclasses import dataclass

from participants.core.gear import Battery, Body, Gear
from participants.core.units import need

WATER_L_PER_HOUR = 0.75  # where no forecast says less; in small amounts, below OSHA's ceiling of about 1.4 l/h
BOTTLE_L = 1.0  # the usual size
FREE_WH = 100.0  # ICAO/IATA passenger rules for lithium batteries, from memory: up to 100 Wh without asking ...
CARRIER_WH = 160.0  # ... 100 to 160 Wh, at most two spares, only if the carrier agrees; none above
TRIGGER_PART = 0.01  # of the time in a hide with the trigger held down; common practice, no source
MEGABYTES_PER_MEGAPIXEL = 1.2  # a raw file; from memory, cameras differ
FRAMES_PER_CHARGE = 2000  # bursts on one battery; common practice, no source
HOURS_PER_CHARGE = 4.0  # switched on in a hide; common practice, no source
FRAMES_PER_S_ASSUMED = 10.0  # where nobody typed it in; common practice, no source
COLD_C = 15.0  # sitting still for hours; common practice, no source
WARM_C = 30.0  # sun hat and salt from here on; common practice, no source


@dataclass(frozen=True, slots=True)
class HideVisit:
    """A hide the person may sit in: what its seat takes and how far the walk is."""

    name: str
    support: str = "tripod"
    walk_m: float = 0.0
    sunken: bool = False


@dataclass(frozen=True, slots=True)
class TripNeeds:
    """What the trip asks of a person's bag.

    `session_hours`: hours of each session they sit in, of the fullest day; `sessions`: of the whole trip; `water_l`:
    for the day that asks for most, None where nobody worked it out from the heat;
    `lowest_c` / `highest_c`: of the forecast, None without one; `dark`: whether anybody walks before dawn or after
    dusk; `flies`: whether they come by air; `cabin_bag_kg`: the carrier's limit as the person entered it.
    """

    session_hours: tuple[float, ...] = ()
    sessions: int = 0
    water_l: float | None = None
    hides: tuple[HideVisit, ...] = ()
    lowest_c: float | None = None
    highest_c: float | None = None
    dark: bool = True
    flies: bool = True
    cabin_bag_kg: float | None = None
    cabin_bag_note: str = ""
    photographs: bool = True


@dataclass(frozen=True, slots=True)
class Item:
    """One line of the list: `group` (camera, power, support, water, clothing, manners, air), what, how many, why.

    `names`: gear or hides it speaks of; `amount` with `unit`; `rule` a key for the wording; `assumed`: whether it
    rests on a guess.
    """

    group: str
    kind: str
    amount: float | None = None
    unit: str = ""
    names: tuple[str, ...] = ()
    rule: str = ""
    assumed: bool = False


def watt_hours(battery: Battery) -> float:
    """Energy of one battery: volts x ampere-hours."""
    return need("volts", battery.volts, 0.0, 1000.0, "V") * need("ampere_hours", battery.ampere_hours, 0.0, 1e4, "Ah")


def air_rule(battery: Battery) -> str:
    """free (to 100 Wh), ask_carrier (to 160 Wh, at most two) or not_allowed; spares always in the cabin."""
    energy = watt_hours(battery)
    if energy <= FREE_WH + 1e-9:
        return "free"
    return "ask_carrier" if energy <= CARRIER_WH + 1e-9 else "not_allowed"


def bottles(hours: float, litres_per_hour: float = WATER_L_PER_HOUR, bottle_l: float = BOTTLE_L) -> tuple[float, int]:
    """Water for that many hours: litres, and whole bottles rounded up."""
    litres = need("hours", hours, 0.0, 48.0, "h") * need("litres_per_hour", litres_per_hour, 0.0, 5.0, "l/h")
    return litres, math.ceil(litres / need("bottle_l", bottle_l, 0.1, 20.0, "l") - 1e-9)


def frames_expected(body: Body, hours: float) -> int:
    """Frames a body takes in that many hours: its frame rate while the trigger is down, a hundredth of the time."""
    rate = FRAMES_PER_S_ASSUMED if body.frames_per_s is None else body.frames_per_s
    return round(rate * TRIGGER_PART * 3600.0 * hours)


def card_gigabytes(body: Body, hours: float) -> int:
    """Card space for those hours, rounded up to whole gigabytes."""
    megapixels = body.pixels_wide * body.pixels_high / 1e6
    return math.ceil(frames_expected(body, hours) * megapixels * MEGABYTES_PER_MEGAPIXEL / 1000.0)


def charges_needed(body: Body, hours: float) -> int:
    """Full batteries for those hours: by frames or by time, whichever asks for more."""
    return max(1, math.ceil(max(frames_expected(body, hours) / FRAMES_PER_CHARGE, hours / HOURS_PER_CHARGE)))


def _camera(gear: Gear, needs: TripNeeds) -> list[Item]:
    """Bodies, lenses and what goes between them, cards and batteries for the fullest day."""
    hours = sum(needs.session_hours)
    names = [body.name for body in gear.bodies] + [lens.name for lens in gear.lenses]
    names += [one.name for one in gear.converters] + [one.name for one in gear.tubes]
    items = [Item("camera", "gear", names=(name,)) for name in names]
    if not (gear.bodies and gear.lenses) and not gear.away:  # what is away is known, not to follow
        items.append(Item("camera", "gear_to_follow"))
    for body in gear.bodies:
        guessed = body.frames_per_s is None
        space = card_gigabytes(body, hours)
        items.append(Item("camera", "cards", space, "GB", (body.name,), "a_day", guessed))
        items.append(
            Item("power", "charged_batteries", charges_needed(body, hours), "", (body.name,), "a_day", guessed)
        )
    return items


def _supports(gear: Gear, needs: TripNeeds) -> list[Item]:
    """What each kind of seat takes; a kind the person does not own is named."""
    owned = {support.kind: support.name for support in gear.supports}
    items = []
    for kind in sorted({visit.support for visit in needs.hides}):
        places = tuple(visit.name for visit in needs.hides if visit.support == kind)
        items.append(Item("support", kind, names=places, rule="own" if kind in owned else "missing"))
    return items


def _air(gear: Gear, needs: TripNeeds) -> list[Item]:
    """Spare batteries against the air rules, and the cabin bag as the person's carrier has it."""
    if not needs.flies:
        return []
    items = [
        Item("air", "spare_battery", round(watt_hours(one), 1), "Wh", (one.name,), air_rule(one))
        for one in gear.batteries
    ]
    asked = sum(one.count for one in gear.batteries if air_rule(one) == "ask_carrier")
    if asked > 2:
        items.append(Item("air", "too_many_large", asked, rule="two_at_most"))
    weights = [lens.weight_g for lens in gear.lenses]
    known = sum(weight for weight in weights if weight is not None) / 1000.0
    if needs.cabin_bag_kg is not None or needs.cabin_bag_note:
        over = needs.cabin_bag_kg is not None and known > needs.cabin_bag_kg
        limit = () if needs.cabin_bag_kg is None else (f"{needs.cabin_bag_kg:g} kg",)
        note = (needs.cabin_bag_note,) if needs.cabin_bag_note else ()
        rule = "over" if over else ("some_unknown" if None in weights else "within")
        items.append(Item("air", "cabin_bag", round(known, 2), "kg", limit + note, rule, None in weights))
    return items


def _body_and_soul(needs: TripNeeds) -> list[Item]:
    """Water, clothing and manners."""
    items = []
    if needs.session_hours:
        litres, count = bottles(sum(needs.session_hours))
        if needs.water_l is not None:
            litres, count = needs.water_l, math.ceil(needs.water_l / BOTTLE_L - 1e-9)
        items.append(Item("water", "bottles", count, "l", (f"{litres:g}",), "fullest_day"))
    items += [Item("clothing", "quiet_soles"), Item("clothing", "muted_colours")]
    if needs.dark:
        items.append(Item("clothing", "red_light"))
    if needs.lowest_c is None or needs.highest_c is None:
        items.append(Item("clothing", "forecast_to_follow"))
    if needs.lowest_c is not None and needs.lowest_c <= COLD_C:
        items.append(Item("clothing", "warm_layers", needs.lowest_c, "C"))
    if needs.highest_c is not None and needs.highest_c >= WARM_C:
        items.append(Item("clothing", "sun_and_salt", needs.highest_c, "C"))
    if any(visit.sunken for visit in needs.hides):
        items.append(Item("clothing", "knee_pad", names=tuple(v.name for v in needs.hides if v.sunken)))
    if needs.photographs:
        items.append(Item("manners", "silent_shutter"))
    items.append(Item("manners", "one_bag"))
    return items


def packing_list(gear: Gear, needs: TripNeeds) -> tuple[Item, ...]:
    """Everything to bring, by group; a guest who does not photograph gets no camera lines."""
    camera = [*_camera(gear, needs), *_supports(gear, needs), *_air(gear, needs)] if needs.photographs else []
    return tuple(camera + _body_and_soul(needs))
