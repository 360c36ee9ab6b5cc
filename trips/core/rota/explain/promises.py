"""What people are told of a rota, as data: counts first, then the guarantee. True by construction."""

from collections import Counter
from dataclasses import dataclass
from math import ceil, floor

from trips.core.rota.check.tallies import DemandTally, Tallies, tallies
from trips.core.rota.problem.shares import counts_for_shares, turns_by_person
from trips.core.rota.problem.values import LEADER, Plan, Problem, Turn

KINDS = ("early", "midday", "late", "night")
DIGITS = 100  # shares are told in hundredths: the guarantee rounded down, the bound up
EXACT = 1e-6  # what adding floats may leave: so near a hundredth, or a bound, a share counts as having reached it


def told_share(share: float) -> float:
    """A share (0-1) as it is told everywhere: in hundredths, rounded down, so that no table tops a guarantee."""
    return floor(share * DIGITS + EXACT) / DIGITS


@dataclass(frozen=True, slots=True)
class PersonCounts:
    """What one person gets: turns, (sought-after hide, visits), (kind of session, good turns), rests and burdens."""

    person: int
    turns: int
    demand: tuple[tuple[int, int], ...]
    good: tuple[tuple[str, int], ...]
    rests: int
    burdens: int
    share: float


@dataclass(frozen=True, slots=True)
class DemandPromise:
    """A sought-after hide: every able person sits there from `fewest` to `most` times.

    `unable`: people who cannot, guests among them; `without`: able people who go without.
    """

    hide: int
    fewest: int
    most: int
    without: tuple[int, ...]
    unable: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Promises:
    """The guarantee: every statement holds for everybody it names.

    `good`: (kind of session, fewest good turns of anybody, most); `rests`: (fewest, most); `least_share`: rounded
    down; `bound`: rounded up, None when nothing is known; `is_best`: no rota with the same counts has a better worst
    share. `compared`: the people whose shares are compared. `leader_seats`, and how many of them are good ones.
    Guests are in none of these.
    `is_repair`: the bound holds among rotas with as few changes only; `counts_first`: among those with the same counts
    only. `turns_short`: a sought-after hide cannot give everybody a turn, whatever the rota.
    """

    counts: tuple[PersonCounts, ...]
    demand: tuple[DemandPromise, ...]
    good: tuple[tuple[str, int, int], ...]
    rests: tuple[int, int]
    least_share: float
    bound: float | None
    is_best: bool
    compared: tuple[int, ...]
    leader_seats: int
    leader_good_seats: int
    guests: int = 0
    is_repair: bool = False
    counts_first: bool = False
    turns_short: bool = False


def promises(problem: Problem, plan: Plan, bound: float | None = None, *, fewest_without: bool = False) -> Promises:
    """Count a sound plan for people.

    `bound`: no rota with the same counts has a better worst share. `fewest_without`: it is proved that no rota lets
    fewer people go without a turn in the sought-after hides.
    """
    counted = tallies(problem, plan)
    turns = turns_by_person(problem, plan)
    counts = tuple(_counts_of(problem, counted, person, own) for person, own in enumerate(turns))
    people = [count for count in counts if count.person not in problem.guests]
    rests = [count.rests for count in people]
    counts_before_turns = any(problem.rests_allowed) or problem.leader == "coaching" or problem.issued is not None
    return Promises(
        counts=counts,
        demand=tuple(_demand(problem, hide) for hide in counted.demand),
        good=_good(people),
        rests=(min(rests, default=0), max(rests, default=0)),
        least_share=told_share(counted.worst_share),
        bound=ceil(bound * DIGITS - EXACT) / DIGITS if bound is not None else None,
        is_best=bound is not None and bound <= counted.worst_share + EXACT,
        compared=counts_for_shares(problem),
        leader_seats=counted.leader_seats,
        leader_good_seats=leader_good_seats(problem, plan),
        guests=len(problem.guests),
        is_repair=problem.repair in ("fewest", "few"),
        counts_first=bool(problem.in_demand) or any(problem.rests_allowed) or problem.leader == "coaching",
        turns_short=fewest_without and len(problem.in_demand) == 1 and not counts_before_turns,
    )


def leader_good_seats(problem: Problem, plan: Plan) -> int:
    """Seats of the leader that would be a good turn for somebody present who sits elsewhere in that session."""
    seated = {(turn.person, turn.session): turn.hide for turn in plan.turns}
    return sum(
        1
        for turn in plan.turns
        if turn.person == LEADER
        and any(
            (person, turn.session, turn.hide) in problem.good
            and problem.may_sit(person, turn.session, turn.hide)
            and seated.get((person, turn.session)) != turn.hide
            for person in problem.present(turn.session)
        )
    )


def _counts_of(problem: Problem, counted: Tallies, person: int, turns: tuple[Turn, ...]) -> PersonCounts:
    kinds = problem.kinds
    good = Counter(kinds[t.session] for t in turns if kinds and (person, t.session, t.hide) in problem.good)
    return PersonCounts(
        person,
        turns=len(turns),
        demand=tuple((hide.hide, hide.visits[person]) for hide in counted.demand),
        good=tuple((kind, good[kind]) for kind in KINDS if kind in kinds),
        rests=counted.rests[person],
        burdens=counted.burdens[person],
        share=counted.shares[person],
    )


def _demand(problem: Problem, hide: DemandTally) -> DemandPromise:
    visits = [hide.visits[person] for person in hide.able]
    unable = tuple(person for person in range(len(problem.people)) if person not in hide.able)
    return DemandPromise(hide.hide, min(visits, default=0), max(visits, default=0), hide.without, unable)


def _good(people: list[PersonCounts]) -> tuple[tuple[str, int, int], ...]:
    kinds = [kind for kind, _ in people[0].good] if people else []
    found = []
    for place, kind in enumerate(kinds):
        numbers = [count.good[place][1] for count in people]
        found.append((kind, min(numbers), max(numbers)))
    return tuple(found)
