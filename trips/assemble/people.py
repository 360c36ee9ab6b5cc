"""People's rows into values: gear, wishes, limits."""

from participants.core import gear
from participants.models import Participant
from trips.core.values import Limit, Wishes
from trips.models import Place


def place_key(place: Place) -> str:
    """The key that stands for a place in all values."""
    return str(place.uuid)


def gear_value(participant: Participant) -> gear.Gear:
    """All gear of a person. Prefetch the gear's relations where several people are read."""
    return gear.Gear(
        bodies=tuple(
            gear.Body(
                name=row.name,
                sensor_width_mm=row.sensor_width_mm,
                sensor_height_mm=row.sensor_height_mm,
                pixels_wide=row.pixels_wide,
                pixels_high=row.pixels_high,
                frames_per_s=row.frames_per_s,
                af_limit_f=row.af_limit_f,
                top_iso=row.top_iso,
                key=str(row.uuid),
            )
            for row in participant.bodies.all()
        ),
        lenses=tuple(
            gear.Lens(
                name=row.name,
                focal_min_mm=row.focal_min_mm,
                focal_max_mm=row.focal_max_mm,
                aperture_wide=row.aperture_wide,
                aperture_long=row.aperture_long,
                near_limit_m=row.near_limit_m,
                max_magnification=row.max_magnification,
                takes_converter=row.takes_converter,
                weight_g=row.weight_g,
                key=str(row.uuid),
            )
            for row in participant.lenses.all()
        ),
        converters=tuple(gear.Converter(row.name, row.factor, str(row.uuid)) for row in participant.converters.all()),
        tubes=tuple(gear.Tube(row.name, row.length_mm, str(row.uuid)) for row in participant.tubes.all()),
        supports=tuple(gear.Support(row.name, row.kind, str(row.uuid)) for row in participant.supports.all()),
        batteries=tuple(
            gear.Battery(row.name, row.volts, row.ampere_hours, row.count, str(row.uuid))
            for row in participant.batteries.all()
        ),
    )


def wishes_value(place: Place) -> Wishes:
    """What a person wishes on the trip; a blank light wish is front."""
    return Wishes(
        light=place.light_wish or "front",
        output=place.output,
        votes=tuple(sorted((str(wish.subject.uuid), wish.votes) for wish in place.wishes.all())),
        again=tuple(sorted(str(again.hide.uuid) for again in place.agains.all())),
        photographs=place.photographs,
    )


def limit_values(place: Place) -> tuple[Limit, ...]:
    """What a person cannot or would rather not do."""
    limits: list[Limit] = []
    if place.steps_limit is not None:
        limits.append(Limit("steps", float(place.steps_limit), place.steps_firm))
    if place.walk_limit_m is not None:
        limits.append(Limit("walk_m", place.walk_limit_m, place.walk_firm))
    if place.entry_limit:
        limits.append(Limit("entry", place.entry_limit, place.entry_firm))
    if place.hours_limit is not None:
        limits.append(Limit("hours", place.hours_limit, place.hours_firm))
    return tuple(limits)
