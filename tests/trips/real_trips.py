"""Trips as leaders make them, row by row; their problems are the files in tests/core/rota/trips.

`python tests/trips/real_trips.py [NAME ...]` makes the files anew in a database of its own. Everybody and everything
is invented; lengths of animals are from memory.
"""

import os
import sys
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

ROOT = Path(__file__).resolve().parents[2]
FOLDER = ROOT / "tests" / "core" / "rota" / "trips"
if __name__ == "__main__":
    sys.path.insert(0, str(ROOT))
    os.environ |= {"DJANGO_SETTINGS_MODULE": "config.settings", "DATABASE_URL": "sqlite://:memory:", "DEBUG": "1"}
    import django

    django.setup()

from tests import factories  # noqa: E402
from tests.trips.rota_trips import LONG_BEFORE, planned  # noqa: E402
from trips.core.rota.files.problem_text import anonymous, problem_text  # noqa: E402
from trips.models import HideState, Making, Pairing, RotaState, Trip, View, Wish  # noqa: E402
from trips.models import SessionHide as Availability  # noqa: E402
from trips.services.demo import demo_load  # noqa: E402
from trips.services.making_run import making_inputs  # noqa: E402

ZONE = ZoneInfo("Europe/Madrid")
SUBJECTS = {  # length in cm
    "Azure-winged magpie": (31, 35),
    "Bee-eater": (25, 29),
    "Griffon vulture": (93, 110),
    "Hoopoe": (25, 29),
    "Kingfisher": (16, 18),
    "Little owl": (21, 23),
    "Purple heron": (78, 90),
    "Roller": (29, 32),
    "Rock sparrow": (14, 16),
}
FULL, LARGE_FULL = (36, 24, 6000, 4000, 12800), (36, 24, 8256, 5504, 6400)  # mm, mm, pixels, pixels, highest ISO
SMALL, SMALLEST = (23.5, 15.6, 6240, 4160, 3200), (17.3, 13, 5776, 4336, 1600)
# Name, body, lens (mm, mm, f, f, nearest focus in m), wished light, output, votes by the first letters of a subject.
PEOPLE: list[tuple[str, tuple[float, ...], tuple[float, ...], str, str, dict[str, int]]] = [
    ("Abel", LARGE_FULL, (600, 600, 4, 4, 4.5), "front", "a3", {"Bee": 3, "Roller": 2, "Hoopoe": 1}),
    ("Brit", FULL, (500, 500, 5.6, 5.6, 3), "back", "web", {"Kingfisher": 4, "Purple": 2}),
    ("Carmo", SMALL, (100, 400, 4.5, 5.6, 1.1), "side", "web", {"Little": 3, "Azure": 3}),
    ("Dilys", SMALLEST, (300, 300, 4, 4, 1.4), "any", "web", {"Griffon": 2, "Roller": 2, "Bee": 2}),
    ("Einar", LARGE_FULL, (400, 400, 2.8, 2.8, 2.5), "back", "30x20", {"Griffon": 6}),
    ("Fenna", FULL, (200, 600, 5.6, 6.3, 2.4), "front", "web", {"Kingfisher": 2, "Hoopoe": 2, "Little": 2}),
    ("Gilles", SMALL, (150, 600, 5, 6.3, 2.7), "front", "30x20", {"Roller": 4, "Rock": 1, "Azure": 1}),
    ("Hanne", LARGE_FULL, (300, 300, 2.8, 2.8, 2), "side", "web", {"Purple": 3, "Griffon": 3}),
    ("Imre", FULL, (100, 500, 4.5, 7.1, 0.9), "any", "web", {}),
    ("Jorun", SMALL, (500, 500, 4, 4, 4.8), "back", "a3", {"Bee": 4, "Kingfisher": 2}),
    ("Kasper", SMALLEST, (100, 400, 5, 6.3, 1.3), "front", "web", {"Hoopoe": 5, "Rock": 1}),
    ("Ludo", LARGE_FULL, (600, 600, 4, 4, 4.5), "side", "30x20", {"Little": 6}),
]
Chances = dict[str, tuple[str, str]]  # early and late, by the first letters of a subject
# Name: seats, bearing, nearest and farthest subject in metres, who comes, what else the form holds.
POND_HIDES: dict[str, tuple[int, float, float, float, Chances, dict[str, Any]]] = {
    "Pond": (2, 250, 4.2, 7, {"Azure": ("often", "often"), "Hoopoe": ("sometimes", "often")}, {"sunken": True}),
    "Reeds": (3, 110, 6, 14, {"Kingfisher": ("often", "rarely"), "Purple": ("sometimes", "sometimes")}, {}),
    "Table": (3, 340, 18, 30, {"Griffon": ("sometimes", "nearly_always")}, {"walk_m": 260}),
    "Bank": (2, 70, 8, 12, {"Bee": ("nearly_always", "often"), "Roller": ("often", "rarely")}, {"entry": "stoop"}),
    "Barn": (2, 190, 10, 16, {"Little": ("rarely", "often"), "Rock": ("often", "often")}, {}),
    "Oak": (3, 295, 5, 9, {"Hoopoe": ("often", "sometimes"), "Azure": ("often", "often")}, {}),
}
RESERVOIR_HIDES: dict[str, tuple[int, float, float, float, Chances, dict[str, Any]]] = {
    "Dam": (2, 15, 6, 20, {"Kingfisher": ("often", "often")}, {"walk_m": 90}),
    "Heronry": (2, 85, 20, 40, {"Purple": ("nearly_always", "often")}, {"walk_m": 320}),
    "Inlet": (2, 140, 4, 9, {"Kingfisher": ("sometimes", "often"), "Hoopoe": ("often", "")}, {"sunken": True}),
    "Spit": (3, 205, 7, 18, {"Purple": ("sometimes", "sometimes"), "Bee": ("often", "sometimes")}, {}),
    "Tower": (2, 275, 15, 35, {"Griffon": ("sometimes", "often"), "Roller": ("often", "often")}, {"entry": "ladder"}),
    "Wall": (2, 330, 5, 10, {"Little": ("sometimes", "nearly_always"), "Rock": ("often", "often")}, {}),
}
SEASONS = {3: (7.5, 15.25), 5: (6.75, 17.5), 9: (7.75, 16.75), 11: (8.25, 14.0)}  # first hour early and late, by month
RESERVOIR_STEPS = 14  # of the tower


@dataclass(frozen=True)
class Camp:
    """A trip to make: how many people sit in which hides, in how many sessions, in which month.

    `turned_deg`: all views look that much further to the right, so that camps differ in their light.
    """

    people: int
    hides: tuple[str, ...]
    sessions: int
    month: int = 5
    turned_deg: float = 0
    of: dict[str, Any] = field(default_factory=lambda: POND_HIDES)
    rules: dict[str, Any] = field(default_factory=dict)
    first_person: int = 0


def made(camp: Camp) -> Trip:
    """The rows of a camp."""
    first_day = date(2027, camp.month, 8)
    trip = factories.trip(starts_on=first_day, ends_on=first_day + timedelta(days=6))
    for name, value in camp.rules.items():
        setattr(trip.rules, name, value)
    trip.rules.save()
    subjects = {
        name.split(" ")[0].split("-")[0]: factories.subject(
            leader=trip.leader, name=name, length_min_cm=low, length_max_cm=high
        )
        for name, (low, high) in SUBJECTS.items()
    }
    for name in camp.hides:
        seats, bearing, near, far, chances, more = camp.of[name]
        hide = factories.hide(site=trip.sites.get(), name=name, seats=seats, views=0, **more)
        bearing_deg = (bearing + camp.turned_deg) % 360
        factories.view(hide=hide, name="view", bearing_deg=bearing_deg, near_m=near, far_m=far, water_edge_m=None)
        for subject, (early, late) in chances.items():
            factories.hide_subject(hide=hide, subject=subjects[subject], early=early, late=late)
    for index in range(1, camp.sessions + 1):  # people come for the first evening
        hours = SEASONS[camp.month][index % 2]
        start = datetime.combine(first_day, datetime.min.time(), ZONE) + timedelta(days=index // 2, hours=hours)
        start = start.astimezone(UTC)
        kind = "late" if index % 2 else "early"
        factories.session(trip=trip, starts_at=start, ends_at=start + timedelta(hours=4), kind=kind)
    for name, body, lens, light, output, votes in PEOPLE[camp.first_person :][: camp.people]:
        person = factories.participant(leader=trip.leader, name=name)
        place = factories.place(trip=trip, participant=person, light_wish=light, output=output)
        of_body = ("sensor_width_mm", "sensor_height_mm", "pixels_wide", "pixels_high", "top_iso")
        factories.body(participant=person, **dict(zip(of_body, body, strict=True)))
        of_lens = ("focal_min_mm", "focal_max_mm", "aperture_wide", "aperture_long", "near_limit_m")
        factories.lens(participant=person, **dict(zip(of_lens, lens, strict=True)))
        Wish.objects.bulk_create(Wish(place=place, subject=subjects[of], votes=given) for of, given in votes.items())
    return trip


def places(trip: Trip) -> list[Any]:
    """The places in the order of their people's names."""
    return list(trip.places.order_by("participant__name"))


def close(trip: Trip, *cells: tuple[int, str]) -> None:
    """Hides that the owner does not open, as (number of the session from 0, hide)."""
    sessions, hides = list(trip.sessions.all()), {hide.name: hide for hide in trip.sites.get().hides.all()}
    for session, name in cells:
        Availability.objects.update_or_create(
            session=sessions[session], hide=hides[name], defaults={"state": HideState.UNAVAILABLE}
        )


def reservoir() -> Trip:
    """Six hides of unlike bearings, a tower, a late arrival, somebody who does not climb, closures."""
    trip = made(Camp(8, tuple(RESERVOIR_HIDES), 8, of=RESERVOIR_HIDES))
    trip.sites.get().hides.filter(name="Tower").update(steps=RESERVOIR_STEPS)
    one, late, *_ = places(trip)
    one.entry_limit, one.steps_limit = "stoop", 6
    one.save()
    late.arrives_at = trip.sessions.all()[1].starts_at + timedelta(hours=1)
    late.save()
    close(trip, (2, "Heronry"), (3, "Heronry"), (5, "Spit"), (6, "Dam"))
    return trip


def with_guest() -> Trip:
    """A coaching leader with a co-leader; one guest who helps somebody, and a pair that wants to sit together."""
    trip = made(Camp(6, ("Pond", "Reeds", "Bank", "Oak"), 8, rules={"leader_policy": "coaching"}))
    trip.co_leaders.add(factories.leader())
    people = places(trip)
    people[5].photographs, people[5].helps = False, people[0]
    people[5].save()
    first, second = people[1], people[2]
    Pairing.objects.create(trip=trip, first=first, second=second, kind="half")
    return trip


def joined_day() -> Trip:
    """One hide is closed all day: who sits there in the morning sits there in the evening."""
    trip = made(Camp(7, ("Pond", "Reeds", "Table", "Bank", "Barn"), 8, turned_deg=35))
    trip.sites.get().hides.filter(name="Table").update(doors="all_day")
    return trip


def learnt_chances() -> Trip:
    """Every animal's chance is known in every kind of session, as after some years of logs; limits on visits."""
    rules = {"visits_at_most": 3, "never_twice_running": True}
    trip = made(Camp(8, ("Pond", "Reeds", "Table", "Bank", "Barn"), 8, turned_deg=-50, first_person=2, rules=rules))
    words = ["nearly_always", "often", "sometimes", "rarely", "none"]
    for number, row in enumerate(sorted(_chances(trip), key=lambda row: (row.hide.name, row.subject.name))):
        row.early, row.midday = words[number * 2 % 5], words[(number + 1) % 5]
        row.late, row.night = words[(number * 3 + 1) % 5], "none"
        row.save()
    return trip


def _chances(trip: Trip) -> list[Any]:
    return [row for hide in trip.sites.get().hides.all() for row in hide.hide_subjects.select_related("subject")]


def sought_after() -> Trip:
    """Ten people; the bank is sought after and has two seats; two people are kept apart; one session has a rest."""
    trip = made(Camp(10, tuple(POND_HIDES), 9, turned_deg=15))
    trip.sites.get().hides.filter(name="Bank").update(sought_after=True)
    first, second, *_ = places(trip)
    Pairing.objects.create(trip=trip, first=first, second=second, kind="apart")
    trip.sessions.filter(pk=trip.sessions.all()[4].pk).update(rests_allowed=1)
    return trip


def demo() -> Trip:
    """The trip that `load_demo` brings."""
    return demo_load(beside=True).trip


def demo_turned() -> Trip:
    """The demo with all views a quarter further round."""
    trip = demo()
    for view in View.objects.filter(hide__site__trips=trip):
        view.bearing_deg = (view.bearing_deg + 90) % 360
        view.save()
    return trip


def demo_voted() -> Trip:
    """The demo with everybody's votes and light wish given to the person who comes next by name."""
    trip = demo()
    people = places(trip)
    votes = [(place.light_wish, list(place.wishes.all())) for place in people]
    Wish.objects.filter(place__in=people).delete()
    for place, (light, wishes) in zip(people[1:] + people[:1], votes, strict=True):
        place.light_wish = light
        place.save()
        Wish.objects.bulk_create(Wish(place=place, subject=wish.subject, votes=wish.votes) for wish in wishes)
    return trip


def repair() -> Trip:
    """The demo, issued; then a hide is shut on the third day and somebody misses an evening."""
    trip = demo()
    rota = planned(trip)
    rota.state = RotaState.ISSUED
    rota.save()
    close(trip, (5, "Alder"), (6, "Far Spring"))
    factories.models.Absence.objects.create(place=places(trip)[3], session=trip.sessions.all()[5])
    return trip


REAL_TRIPS: dict[str, Callable[[], Trip]] = {
    "demo": demo,
    "demo_turned": demo_turned,
    "demo_voted": demo_voted,
    "reservoir": reservoir,
    "four": lambda: made(Camp(4, ("Pond", "Bank", "Barn"), 6, month=3)),
    "five": lambda: made(Camp(5, ("Pond", "Reeds", "Barn"), 8, month=9, first_person=4)),
    "six": lambda: made(Camp(6, ("Reeds", "Table", "Bank", "Oak"), 8, turned_deg=60, first_person=3)),
    "seven": lambda: made(Camp(7, ("Pond", "Reeds", "Barn", "Bank"), 8, month=11)),
    "nine": lambda: made(Camp(9, ("Pond", "Reeds", "Table", "Bank", "Barn"), 9, turned_deg=100, first_person=2)),
    "ten": sought_after,
    "twelve": lambda: made(Camp(12, tuple(POND_HIDES), 10, month=9, turned_deg=-30)),
    "with_guest": with_guest,
    "joined_day": joined_day,
    "learnt_chances": learnt_chances,
    "repair": repair,
}
REPAIRED_FROM = 4  # the first session (from 0) that a repair may change


def problem_file(name: str) -> str:
    """The problem of a real trip as a file, without names."""
    trip = REAL_TRIPS[name]()
    sessions = list(trip.sessions.all())
    wanted = Making(trip=trip)
    if name == "repair":
        wanted = Making(trip=trip, repair="fewest", from_session=sessions[REPAIRED_FROM])
    inputs, _ = making_inputs(wanted, LONG_BEFORE)
    return problem_text(replace(anonymous(inputs.problem), name=name))


def main(names: list[str]) -> None:
    """Write the files of these trips, or of all."""
    from django.core.management import call_command
    from django.db import transaction

    call_command("migrate", verbosity=0)
    for name in names or REAL_TRIPS:
        with transaction.atomic():
            (FOLDER / f"{name}.json").write_text(problem_file(name))
            transaction.set_rollback(True)
        print(f"{name}: {(FOLDER / f'{name}.json').stat().st_size} bytes")


if __name__ == "__main__":
    main(sys.argv[1:])
