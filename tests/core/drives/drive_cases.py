"""Small cases of cars and people, drawn at random, and what is true of them minute by minute."""

from datetime import UTC, datetime, timedelta
from itertools import permutations, product
from random import Random

from trips.core.drives import DriveRules, Driving, PickUp, Run, Sit, Stop

START = datetime(2027, 5, 8, 6, 0, tzinfo=UTC)
RULES = DriveRules(set_up_min=2, stop_min=1)
DRIVES = {"near": 1, "mid": 2, "far": 3}


def at(minute):
    return START + timedelta(minutes=minute)


def minute(moment):
    return round((moment - START).total_seconds() / 60)


def stop(hide, in_place=60, ends=120, *, window=3, closed=False, **more):
    """A hide of a session; its window leads to the end, or follows it where the doors are closed until then."""
    opens, closes = (ends, ends + window) if closed else (ends - window, ends)
    more = {"drive_min": DRIVES.get(hide, 2), "walk_min": 1} | more
    return Stop(hide, at(in_place), PickUp(at(opens), at(closes)), at(ends), **more)


def drawn_driving(seed, *, sessions=1, cars=2, far_apart=True):
    """People a to d in hides, in one or two runs a car, with drivers from among them, from outside, or nobody."""
    draw = Random(seed)
    runs, sits = [], []
    for session in range(sessions):
        starts = 60 + session * (draw.choice((70, 66, 63)) if not far_apart else 400)
        hides = draw.sample(sorted(DRIVES), draw.randint(2, 3))
        people = {hide: [] for hide in hides}
        for person in draw.sample("abcd", draw.randint(1, 4)):
            people[draw.choice(hides)].append(person)
        sits += [Sit(who, hide, session, session) for hide, own in people.items() for who in own]
        numbers = [("one", 1), ("one", 2), ("two", 1)][: 1 + cars]
        own = {number: [] for number in numbers}
        for hide in hides:
            there = tuple(people[hide])
            own[draw.choice(numbers)].append(
                stop(hide, starts + draw.randint(0, 2), starts + 60 + draw.randint(0, 2), out=there, home=there)
            )
        drivers = {number: draw.choice(("a", "b", "x", "y", "")) for number in numbers}
        runs += [
            Run(session, car, tuple(stops), drivers[car, number], number)
            for (car, number), stops in own.items()
            if stops
        ]
    return Driving(tuple(runs), tuple(sits), RULES)


def way(run, stops, *, stays=False, starts_in=""):
    """(arrivals after leaving, length) of a round by hand: hides on one road, a minute at each."""
    clock, here, arrivals = 0, DRIVES[starts_in] if starts_in else 0, []
    for one in stops:
        clock += abs(one.drive_min - here)
        arrivals.append(clock)
        clock, here = clock + 1, one.drive_min
    return arrivals, arrivals[-1] if stays else clock + here


def out_truth(driving):
    """The largest sum of leaving minutes at which cars and drivers are back in time; None where there is none."""
    runs = [run for run in driving.runs if any(one.out for one in run.stops)]
    shapes = []
    for run in runs:
        stops = [one for one in run.stops if one.out]
        last_of_car = not any(other.car == run.car and other.number > run.number for other in runs)
        stays = bool(run.driver) and run.driver in stops[-1].out and last_of_car
        if any(run.driver and run.driver in one.out for one in stops) and not stays:
            return None
        arrivals, length = way(run, stops, stays=stays)
        latest = min(
            minute(one.in_place_at) - 2 - one.walk_min - gone for one, gone in zip(stops, arrivals, strict=True)
        )
        shapes.append((run, {who for one in stops for who in one.out}, int(latest), length))
    room = sum(length for *_, length in shapes) + 3
    best = None
    for leaves in product(*(range(latest - room, latest + 1) for *_, latest, _ in shapes)):
        if (best is None or sum(leaves) > best) and _holds(shapes, leaves):
            best = sum(leaves)
    return best


def _holds(shapes, leaves):
    for (run, _, _, length), leave in zip(shapes, leaves, strict=True):
        for (other, riders, _, its), its_leave in zip(shapes, leaves, strict=True):
            if run is other:
                continue
            together = run.car == other.car or (run.driver and run.driver == other.driver)
            if together and leave < its_leave + its and its_leave < leave + length:
                return False
            if run.car == other.car and run.number < other.number and leave > its_leave:
                return False
            if run.driver in riders and run.driver != other.driver and leave + length > its_leave:
                return False
            if run.driver in riders and run.driver == other.driver and leave > its_leave:
                return False
    return True


def pick_up_truth(stops, *, back_by=10_000, not_before=-10_000):
    """The least minutes that people wait beyond their windows or the car is back too late, over orders and minutes."""
    least = None
    for order in permutations(stops):
        arrivals, length = way(None, order)
        opens = max(minute(one.pick_up.opens_at) - gone for one, gone in zip(order, arrivals, strict=True))
        for leave in range(max(opens, not_before), max(opens, not_before) + 60):
            late = sum(
                max(0, leave + g - minute(one.pick_up.closes_at)) for one, g in zip(order, arrivals, strict=True)
            )
            wrong = late + max(0, leave + length - back_by)
            least = wrong if least is None else min(least, wrong)
    return least


def conflicts_truth(driving, drives):
    """What collides, looked up minute by minute: {(kind, drive kind, run, person or "")}."""
    found = set()
    ends = max(minute(drive.back_at) for drive in drives) + 1
    begins = min(minute(drive.leaves_at) for drive in drives)
    stays = [_stay(sit, drives) for sit in driving.sits]
    for now in range(begins, ends):
        on_road = [drive for drive in drives if minute(drive.leaves_at) <= now < minute(drive.back_at)]
        for one, other in permutations(on_road, 2):
            first = (one.leaves_at, one.run.key) < (other.leaves_at, other.run.key)
            if one.run.car == other.run.car and first:
                found.add(("car_out", other.kind, other.run.key, ""))
            elif one.run.driver and one.run.driver == other.run.driver and first:
                found.add(("driver_twice", other.kind, other.run.key, one.run.driver))
        for drive in on_road:
            for stay in stays:
                if stay and stay["who"] == drive.run.driver and stay["state"](now):
                    found.add((stay["state"](now), drive.kind, drive.run.key, drive.run.driver))
        for one, other in permutations([stay for stay in stays if stay], 2):
            both = one["who"] == other["who"] and one["first"] < other["first"]
            if both and one["from"] <= now < one["to"] and other["from"] <= now < other["to"]:
                found.add(("rider_out", "out", other["out"].run.key, one["who"]))
    sits = {one[1:] for one in found if one[0] == "driver_sits"}
    return {one for one in found if one[0] != "driver_rides" or one[1:] not in sits}


def _stay(sit, drives):
    """Where somebody is: in a car that another drives, or in the hide; None where no drive brings or fetches them."""

    def of(kind, session):
        own = [drive for drive in drives if drive.kind == kind and drive.run.session == session]
        return next((drive for drive in own if (v := drive.visit(sit.hide)) and sit.person in v.people), None)

    out, home = of("out", sit.first), of("fetch", sit.last)
    if out is None or home is None:
        return None
    there, gone = minute(out.visit(sit.hide).at), minute(home.visit(sit.hide).at)
    rides_from = there if out.run.driver == sit.person else minute(out.leaves_at)
    rides_to = gone if home.run.driver == sit.person else minute(home.back_at)

    def state(now):
        if there <= now < gone:
            return "driver_sits"
        return "driver_rides" if rides_from <= now < there or gone <= now < rides_to else ""

    reach = {"from": minute(out.leaves_at), "to": minute(home.back_at), "out": out}
    return {"who": sit.person, "first": sit.first, "state": state} | reach
