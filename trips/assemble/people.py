"""People's rows into values: kit, wishes, limits."""

from typing import Any

from participants.core import kit
from participants.models import Participant
from trips.assemble.from_row import from_row
from trips.core.values import Limit, Wishes
from trips.models import Place

GEAR: dict[str, type[Any]] = {
    "bodies": kit.Body,
    "lenses": kit.Lens,
    "converters": kit.Converter,
    "tubes": kit.Tube,
    "supports": kit.Support,
    "batteries": kit.Battery,
}  # the relation of a person, and what each of its rows is


def place_key(place: Place) -> str:
    """The key that stands for a place in all values."""
    return str(place.uuid)


def kit_value(participant: Participant) -> kit.Kit:
    """All gear of a person. Prefetch the gear's relations where several people are read."""
    gear = {name: tuple(from_row(kind, row) for row in getattr(participant, name).all()) for name, kind in GEAR.items()}
    return kit.Kit(**gear)


def wishes_value(place: Place) -> Wishes:
    """What a person wishes on the trip; a blank light wish is front."""
    return Wishes(
        light=place.light_wish or "front",
        output=place.output,
        marks=tuple(sorted((str(wish.subject.uuid), wish.marks) for wish in place.wishes.all())),
        again=tuple(sorted(str(again.hide.uuid) for again in place.agains.all())),
        photographs=place.photographs,
    )


def limit_values(place: Place) -> tuple[Limit, ...]:
    """What a person cannot or would rather not do."""
    said = (
        ("steps", place.steps_limit, place.steps_firm),
        ("walk_m", place.walk_limit_m, place.walk_firm),
        ("entry", place.entry_limit or None, place.entry_firm),
        ("hours", place.hours_limit, place.hours_firm),
    )
    return tuple(Limit(what, most, firm) for what, most, firm in said if most is not None)
