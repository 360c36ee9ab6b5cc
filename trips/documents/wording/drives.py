"""What cannot be driven and what would help, as leaders read it."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from participants.core.isolation import isolated
from trips.core.drives import DriveFault, Remedy
from trips.documents.quantities import clock_text, count_text
from trips.documents.wording.rota_names import listed

LATER_HELPS = ("car_out", "rider_out")


@dataclass(frozen=True, slots=True)
class DriveNames:
    """Names of people, cars and hides by key, and of sessions by index."""

    people: Mapping[str, str] = field(default_factory=dict)
    cars: Mapping[str, str] = field(default_factory=dict)
    hides: Mapping[str, str] = field(default_factory=dict)
    sessions: tuple[str, ...] = ()

    def car(self, key: str, number: int = 1) -> str:
        """ "the grey van", "the grey van, run 2"; "the car" where none is named."""
        name = f"the {isolated(self.cars[key])}" if key in self.cars else "the car"
        return f"{name}, run {number}" if number > 1 else name

    def who(self, keys: tuple[str, ...]) -> str:
        """ "Ana and Ben"."""
        return listed([isolated(self.people.get(key, "somebody")) for key in keys], "and")

    def where(self, keys: tuple[str, ...]) -> str:
        """ "Alder and Birch"."""
        return listed([isolated(self.hides.get(key, "a hide")) for key in keys], "and")


def driver_phrase(car: str, sessions: str, hides: str) -> str:
    """Why a driver cannot sit in a hide, and which `hides` they can sit in then, "" where that differs."""
    return f"drives {car} in {sessions}" + (f", where {hides} would do" if hides else "")


def fault_sentence(fault: DriveFault, names: DriveNames) -> str:
    """One fault: who or which car, when, and why not."""
    drive, other, run = fault.drive, fault.other, fault.drive.run
    car, hours = names.car(run.car, run.number), f"{clock_text(drive.leaves_at)} to {clock_text(drive.back_at)}"
    leaves, who, hide = clock_text(drive.leaves_at), names.who(fault.people), names.where((fault.hide,))
    back = clock_text(other.back_at) if other else ""
    before = isolated(names.sessions[other.run.session]) if other else ""
    other_car = names.car(other.run.car, other.run.number) if other else ""
    many = len(fault.people) > 1
    said = {
        "car_out": f"{car} leaves at {leaves} but is back only at {back} ({before})",
        "car_waits": f"{car} leaves the lodge at {leaves} but waits at {hide} for its driver",
        "driver_sits": f"{who} drives {car} from {hours} and sits in {hide} at that time",
        "driver_rides": f"{who} drives {car} from {hours} and is on the way to or from {hide} in another car then",
        "driver_twice": f"{who} drives {car} and {other_car} at the same time, from {hours}",
        "driver_absent": f"{who}, who drives {car} at {leaves}, is not there then",
        "rider_out": f"{who} {'leave' if many else 'leaves'} at {leaves} with {car} but {'are' if many else 'is'} back "
        f"from {hide} only at {back}",
        "too_many": f"{count_text(round(fault.minutes), 'person has', 'people have')} no seat in {car}",
        "late": f"{hide} is fetched {fault.minutes:.0f} min after its pick-up window, by {car}",
    }[fault.kind]
    return f"{said[0].upper()}{said[1:]}."


def remedy_sentence(fault: DriveFault, remedy: Remedy | None, names: DriveNames) -> str:
    """What would help, verb first."""
    if remedy is None:
        if fault.kind in LATER_HELPS:
            return f"Start this session at least {fault.minutes:.0f} min later, or seat other people there."
        return "Give another car a run, or change who drives."
    car, hides = names.car(remedy.run.car, remedy.run.number), names.where(remedy.hides)
    return {
        "order": f"Change the order of the drops of {car}: {', '.join(names.where((hide,)) for hide in remedy.hides)}.",
        "second_run": f"Give {car} another run for {hides}.",
        "other_car": f"Let {names.car(remedy.car)} take {hides}.",
        "other_driver": f"Let {names.who((remedy.driver,))} drive {car}."
        if remedy.driver
        else f"Let somebody who sits nowhere then drive {car}.",
    }[remedy.kind]
