"""The packing list of a person for a trip, in words by group."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from zoneinfo import ZoneInfo

from participants.core.language import gettext as _
from participants.core.language import gettext_noop as noted
from participants.core.packing import HideVisit, TripNeeds, packing_list
from participants.models import Participant
from participants.wording import AIR_NOTE, item_sentence
from trips.assemble.presence_and_states import gear_packed, is_present
from trips.assemble.trip import TripValues, trip_values
from trips.documents.turn_facts import HideSession, heat_page
from trips.models import Place, RotaState, Trip

TITLES = {
    "camera": noted("Camera"),
    "power": noted("Power"),
    "support": noted("Supports, by hide"),
    "air": noted("On the aircraft"),
    "water": noted("Water"),
    "clothing": noted("Clothing"),
    "manners": noted("In the hide"),
}


@dataclass(frozen=True)
class PackingGroup:
    """One group of the list."""

    title: str
    lines: tuple[str, ...]
    note: str = ""


@dataclass(frozen=True)
class PackingPage:
    """The list of one person for one trip."""

    trip: Trip
    place: Place
    groups: tuple[PackingGroup, ...]


def trip_needs(values: TripValues, place: Place, seated_in: set[str] | None = None) -> TripNeeds:
    """What the trip asks of a person's bag: their fullest day, the forecast, the hides.

    `seated_in`: the keys of the hides where a rota seats them; None: there is no rota, any hide may be theirs.
    """
    hides = [hide for hide in values.hides if seated_in is None or hide.key in seated_in]
    by_day: dict[date, list[float]] = defaultdict(list)
    water: dict[date, float] = defaultdict(float)
    air: list[float] = []
    count = 0
    for row, session in zip(values.session_rows, values.sessions, strict=True):
        if not is_present(place, row):
            continue
        count += 1
        day = row.starts_at.astimezone(ZoneInfo(row.site.time_zone)).date()
        by_day[day].append((row.ends_at - row.starts_at).total_seconds() / 3600.0)
        water[day] += max(
            (heat_page(HideSession(hide, session, (), values.rules)).water_l for hide in hides), default=0.0
        )
        air += [forecast.air_c for forecast in row.forecasts.all()]
    fullest = max(by_day.values(), key=sum, default=[])
    return TripNeeds(
        session_hours=tuple(fullest),
        sessions=count,
        water_l=max(water.values()) if water and hides else None,
        hides=tuple(HideVisit(hide.name, hide.support, hide.walk_m, hide.sunken) for hide in hides),
        lowest_c=min(air, default=None),
        highest_c=max(air, default=None),
        cabin_bag_kg=place.participant.cabin_bag_kg,
        cabin_bag_note=place.participant.cabin_bag_note,
        photographs=place.photographs,
    )


def _seated_in(place: Place) -> set[str] | None:
    """The keys of the hides that the issued rota seats a person in; None where nothing was issued."""
    rota = place.trip.rotas.filter(state=RotaState.ISSUED).first()
    if rota is None:
        return None
    return {str(uuid) for uuid in rota.turns.filter(place=place).values_list("hide__uuid", flat=True)}


def packing_groups(person: Participant, place: Place | None) -> PackingPage | None:
    """The list for the trip of a person's place; None without one."""
    if place is None:
        return None
    values = trip_values(place.trip)
    row = next((one for one in values.place_rows if one.pk == place.pk), None)
    if row is None:
        return PackingPage(place.trip, place, ())
    items = packing_list(gear_packed(values, row), trip_needs(values, row, _seated_in(row)))
    groups = []
    for key, title in TITLES.items():
        lines = tuple(item_sentence(item, person.units) for item in items if item.group == key)
        if lines:
            groups.append(PackingGroup(_(title), lines, _(AIR_NOTE) if key == "air" else ""))
    return PackingPage(place.trip, place, tuple(groups))
