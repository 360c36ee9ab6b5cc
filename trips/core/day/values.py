"""The running day as plain values. People, sessions, hides, seats and cars are named by keys; "" stands for none."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

OUT, BACK, NOT_COMING, LATE, MOVED, LEFT_EARLY = "out", "back", "not_coming", "late", "moved", "left_early"
HIDE_CLOSED, HIDE_OPEN, OVERDUE_NOTED, REACHED = "hide_closed", "hide_open", "overdue_noted", "reached"
KINDS_OF_PEOPLE = (OUT, BACK, NOT_COMING, LATE, MOVED, LEFT_EARLY, OVERDUE_NOTED, REACHED)
KINDS_OF_HIDES = (MOVED, HIDE_CLOSED, HIDE_OPEN)
# Of one moment the first comes first: somebody ticked out and back at once is back.
ORDER = ("hide_open", "hide_closed", "car_down", "light_changed", *KINDS_OF_PEOPLE)
OVERDUE_MIN = 15.0


@dataclass(frozen=True, slots=True)
class Happening:
    """Something noted on the day. Nothing that was noted is ever altered; a mistake is undone by another happening.

    `at`: when it happened (aware), not when it was sent. `until_at`: when somebody late sits, a hide opens again or
    somebody reached wants to be back. `by`: who says so, "" for no person. `undoes`: the key of what it takes back.
    """

    key: str
    kind: str
    at: datetime
    session: str = ""
    person: str = ""
    hide: str = ""
    seat: str = ""
    car: str = ""
    until_at: datetime | None = None
    by: str = ""
    note: str = ""
    undoes: str = ""


@dataclass(frozen=True, slots=True)
class PlannedSeat:
    """A turn of the issued rota. `part`: 0 the whole session; 1, 2 ... in a hand-over. `stays`: nobody fetches them."""

    session: str
    person: str
    hide: str
    seat: str
    part: int = 0
    stays: bool = False


@dataclass(frozen=True, slots=True)
class DaySession:
    """A session; `due`: when the people of each hide are fetched at the latest, by hide."""

    key: str
    starts_at: datetime
    ends_at: datetime
    due: Mapping[str, datetime] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Contradiction:
    """Happenings that cannot all be true, kept side by side until somebody undoes one or says something new.

    `kind`: back_and_out, not_coming_and_out, closed_and_moved or seat_twice. `said`: the happenings, by moment.
    """

    kind: str
    people: tuple[str, ...]
    said: tuple[Happening, ...]


@dataclass(frozen=True, slots=True)
class PersonNow:
    """A person of a session at a moment.

    `out_at`, `back_at`: of the last time out. `not_coming`, `late`: the word that holds. `left_at`: when they left the
    seat early. `due_at`: when they should be fetched, None where they stay. `doubted`: back, but later said to be out.
    `last`: what an undo takes back, the last thing noted and its doubles.
    """

    person: str
    hide: str
    seat: str
    part: int = 0
    is_planned: bool = True
    out_at: datetime | None = None
    back_at: datetime | None = None
    not_coming: Happening | None = None
    late: Happening | None = None
    left_at: datetime | None = None
    due_at: datetime | None = None
    is_overdue: bool = False
    doubted: bool = False
    last: tuple[Happening, ...] = ()

    @property
    def is_out(self) -> bool:
        """Whether they have to be counted as being out; in doubt they are."""
        return self.doubted or (self.out_at is not None and self.back_at is None)

    @property
    def standing(self) -> str:
        """overdue, out, back, not_coming, late or not_out."""
        if self.is_overdue:
            return "overdue"
        if self.is_out:
            return "out"
        if self.back_at is not None:
            return "back"
        if self.not_coming is not None:
            return "not_coming"
        return "late" if self.late is not None else "not_out"


@dataclass(frozen=True, slots=True)
class SessionNow:
    """A session at a moment: its people by key, the hides that are closed with who said so, what does not agree."""

    session: DaySession
    people: tuple[PersonNow, ...]
    closed: Mapping[str, Happening] = field(default_factory=dict)
    contradictions: tuple[Contradiction, ...] = ()

    def person(self, key: str) -> PersonNow | None:
        """The person of that key, None where they have nothing to do with the session."""
        return next((one for one in self.people if one.person == key), None)

    def seated(self, hide: str) -> tuple[PersonNow, ...]:
        """Whoever has a seat in a hide now: on the way, there, or expected; not who is back, left or does not come."""
        gone = ("back", "not_coming")
        return tuple(
            one for one in self.people if one.hide == hide and one.standing not in gone and one.left_at is None
        )


@dataclass(frozen=True, slots=True)
class DayState:
    """All sessions asked for at a moment."""

    at: datetime
    sessions: tuple[SessionNow, ...]

    def session(self, key: str) -> SessionNow:
        """The session of that key."""
        return next(one for one in self.sessions if one.session.key == key)

    @property
    def overdue(self) -> tuple[tuple[SessionNow, PersonNow], ...]:
        """Everybody who is overdue, by session."""
        return tuple((session, one) for session in self.sessions for one in session.people if one.is_overdue)


@dataclass(frozen=True, slots=True)
class Sat:
    """What a person sat in a session: where, and how many minutes. `share`: of the session's length, 0-1.

    A seat handed over gives each of the two half its minutes; whoever had it alone after all has all of them.
    """

    session: str
    person: str
    hide: str
    seat: str
    minutes: float
    share: float
    part: int = 0
