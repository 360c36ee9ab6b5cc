"""The rota's problem as frozen numbers: people, hides and sessions are indices everywhere but in `names`.

The solver and the checker both read this module and nothing of each other. What every plan keeps to:

- Everyone present has one turn or one allowed rest; guests alone may go without either (they are not in `rests`).
  A guest sits nowhere where somebody who rests in that session may sit; a guest who helps counts as a participant.
- People in an open hide: `minimum_people` at least, and `capacity` at most with the leader. The leader opens no hide.
- `together` and helper pairs who are both present sit in one hide or both rest; `apart` pairs never share a hide;
  `half_together` pairs share one in at least half (rounded down) of the sessions in which both are present. A repair
  asks for no more than half of those left, besides what is fixed.
- A piece of gear is at one hide at a time: `sharers` (two people and a session in which one piece serves both) who both
  have a turn then sit in one hide. It binds nobody whose turn is fixed.
- A visit is one turn, or all of one person's turns in a group of `joined` sessions or linked by a stay. The limit, the
  losses, hides in demand and "twice running" count visits. Who sits in one session of a joined group sits in all.
- Sessions in a row count turns of one person without a rest or an absence between. What is fixed counts, but only a row
  that goes on after it breaks the limit.
- Spare seats: the leader takes none in (session, hide) while somebody who may sit there rests, or sits elsewhere in
  that session with fewer points than the seat would give. A pin of the leader overrides the policy.
- In sessions before `past` and in `frozen` (session, hide) turns and rests are those of `issued`; no other rule counts.
  What was sat otherwise than issued stands in `issued` and `points` as it was sat (`assemble/day`).
- Seats are in use and taken once. A hand-over: two people with parts 1 and 2 of one seat, in a `shared` hide only,
  one such seat a hide and session, half the points each; the leader takes no part.

Counted, not demanded. Able for a sought-after hide: not a guest, and in some session that person and everyone present
who must be together with them may sit there, are not pinned elsewhere and fit its capacity (in all sessions of a joined
group). Excess of a hide: sum over people of visits beyond one more than the fewest of those who have any. Able for
burdens: may sit in some burden; excess: sum of burdens beyond one more than the least loaded able person. Rests: a
second or later rest while somebody able to rest has none counts as one. Changes in a repair: person-sessions (not past)
with another hide or a rest instead of a turn, or the reverse; then those with another seat of the same hide. Guests
count in no share and in no change: they get the seats that are spare once everybody else is settled.
"""

from dataclasses import dataclass, field, fields

Triple = tuple[int, int, int]  # person, session, hide
NO_SEAT = -1
LEADER = -1  # the "person" of a leader's pin


@dataclass(frozen=True, slots=True)
class ProblemSeat:
    """A named seat; `quality` 1-5; `out_from`: index of the first session it is out of use in, None never."""

    name: str
    quality: int = 3
    out_from: int | None = None


@dataclass(frozen=True, slots=True)
class ProblemHide:
    """A hide with its seats; `minimum_people` counts participants."""

    name: str
    seats: tuple[ProblemSeat, ...]
    minimum_people: int = 1


@dataclass(frozen=True, slots=True)
class Pin:
    """A turn the leader fixed: `person` (LEADER for the leader), `session`, `hide`, `seat` or NO_SEAT."""

    person: int
    session: int
    hide: int
    seat: int = NO_SEAT


@dataclass(frozen=True, slots=True)
class Turn:
    """One person (LEADER for the leader) in one seat in one session.

    `stays`: the person stays in the hide through the break before the next session.
    `part`: 0 whole, 1, 2 ... order in a hand-over of one seat.
    """

    person: int
    session: int
    hide: int
    seat: int = NO_SEAT
    stays: bool = False
    part: int = 0


@dataclass(frozen=True, slots=True)
class Plan:
    """A rota: all turns (the leader's among them) and the allowed rests (person, session), both sorted."""

    turns: tuple[Turn, ...] = ()
    rests: tuple[tuple[int, int], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """The limits of a trip, None for none: files, digests, rows, forms and remedies take their names from here.

    `visits_at_most`: of one person to one hide; `consecutive_turns_at_most`: sessions in a row with a turn of one
    person. `raised_by`: the change that an explanation offers where the limit is in the way.
    """

    open_hides_at_once: int | None = field(default=None, metadata={"raised_by": "more_hides"})
    visits_at_most: int | None = field(default=None, metadata={"raised_by": "more_visits"})
    consecutive_turns_at_most: int | None = field(default=None, metadata={"raised_by": "more_in_a_row"})


LIMITS = tuple(limit.name for limit in fields(Limits))
RAISED_BY: dict[str, str] = {limit.metadata["raised_by"]: limit.name for limit in fields(Limits)}


@dataclass(frozen=True, slots=True)
class Problem(Limits):
    """Everything a rota has to keep to. Lists of pairs and triples hold indices.

    `cannot`: (person, hide) by reach or limits, in every session; `cannot_then`: (person, session, hide), as well as
    what a driver, LEADER among them, cannot drive from there.
    `points[person][session][hide]`: 0-100. `joined`: (hide, (sessions ...)) with the same people throughout.
    `sharers`: (person, person, session) with one piece of gear between them, the lower person first.
    `rests_allowed[session]`: how many may rest. `shared`: (session, hide) in which one seat is handed over, so that
    one more person fits. `burdens`: (session, hide) that count as a burden. `past`: number of leading sessions that
    are over; `frozen`: (session, hide) whose car has left; turns there stay as in `issued`. `helpers`: (helper,
    person). `stays`: (person, session, hide) pinned there in this session and the next, in one seat, through
    the break.
    `good`: (person, session, hide) that would be a good turn; `kinds[session]`: early, midday, late or night.
    `possible`: (session, hide) that is closed now but could still be made ready in time.
    `best_alone`: as issued, in a repair; None otherwise. `repair`: "" | "fewest" | "few" | "free".
    """

    name: str
    people: tuple[str, ...]
    sessions: tuple[str, ...]
    hides: tuple[ProblemHide, ...]
    points: tuple[tuple[tuple[float, ...], ...], ...]
    never_twice_running: bool = False
    leader: str = "spare_seats"
    tolerance: float = 0.01
    closed: frozenset[tuple[int, int]] = frozenset()
    absent: frozenset[tuple[int, int]] = frozenset()
    cannot: frozenset[tuple[int, int]] = frozenset()
    cannot_then: frozenset[Triple] = frozenset()
    together: tuple[tuple[int, int], ...] = ()
    half_together: tuple[tuple[int, int], ...] = ()
    apart: tuple[tuple[int, int], ...] = ()
    sharers: frozenset[tuple[int, int, int]] = frozenset()
    pins: tuple[Pin, ...] = ()
    joined: tuple[tuple[int, tuple[int, ...]], ...] = ()
    in_demand: tuple[int, ...] = ()
    rests_allowed: tuple[int, ...] = ()
    no_loss: frozenset[tuple[int, int]] = frozenset()
    owed: frozenset[tuple[int, int]] = frozenset()
    want_mixing: bool = False
    visit_loss: tuple[float, ...] = (0.0, 0.4, 0.65, 0.8, 0.9, 0.95)
    guests: frozenset[int] = frozenset()
    helpers: tuple[tuple[int, int], ...] = ()
    shared: frozenset[tuple[int, int]] = frozenset()
    burdens: frozenset[tuple[int, int]] = frozenset()
    past: int = 0
    frozen: frozenset[tuple[int, int]] = frozenset()
    issued: Plan | None = None
    best_alone: tuple[float, ...] | None = None
    repair: str = ""
    stays: frozenset[Triple] = frozenset()
    good: frozenset[Triple] = frozenset()
    kinds: tuple[str, ...] = ()
    possible: frozenset[tuple[int, int]] = frozenset()
    notes: dict[str, str] = field(default_factory=dict, compare=False)

    def capacity(self, session: int, hide: int) -> int:
        """Seats in use in that session; one more where a seat is handed over; 0 when closed."""
        if (session, hide) in self.closed:
            return 0
        seats = sum(1 for seat in self.hides[hide].seats if seat.out_from is None or session < seat.out_from)
        return seats + (1 if seats and (session, hide) in self.shared else 0)

    def present(self, session: int) -> tuple[int, ...]:
        """The people who are there in that session."""
        return tuple(person for person in range(len(self.people)) if (person, session) not in self.absent)

    def may_sit(self, person: int, session: int, hide: int) -> bool:
        """Whether presence, states, reach and limits let that person sit there then."""
        return (
            (person, session) not in self.absent
            and (session, hide) not in self.closed
            and (person, hide) not in self.cannot
            and (person, session, hide) not in self.cannot_then
        )

    def rests(self, session: int) -> int:
        """How many people may rest in that session."""
        return self.rests_allowed[session] if session < len(self.rests_allowed) else 0
