"""The state of the day folded from its happenings, the same whatever the order in which they came in.

Happenings are taken in order of their moment, of their kind, then of their key; one that came twice counts once. Where
two cannot both be true, the person counts as being out: a needless look is cheaper than a missed one. Common practice,
no source.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta

from trips.core.day.values import (
    BACK,
    HIDE_CLOSED,
    HIDE_OPEN,
    LATE,
    LEFT_EARLY,
    MOVED,
    NOT_COMING,
    ORDER,
    OUT,
    OVERDUE_MIN,
    OVERDUE_NOTED,
    REACHED,
    Contradiction,
    DaySession,
    DayState,
    Happening,
    PersonNow,
    PlannedSeat,
    SessionNow,
)


def in_force(log: Iterable[Happening], until: datetime | None = None) -> tuple[Happening, ...]:
    """What holds of a log at a moment (None: of all of it): no doubles, nothing undone, in order of moment and key.

    An undo can be undone. One whose happening has not come in yet waits for it.
    """
    known = {one.key: one for one in log if until is None or one.at <= until}
    undone_by: dict[str, list[str]] = defaultdict(list)
    for one in known.values():
        if one.undoes:
            undone_by[one.undoes].append(one.key)
    undone: dict[str, bool] = {}

    def is_undone(key: str) -> bool:
        if key not in undone:
            undone[key] = False  # two that undo each other: the one asked first stands
            undone[key] = any(not is_undone(other) for other in sorted(undone_by[key]))
        return undone[key]

    return tuple(one for one in sorted(known.values(), key=in_order) if not one.undoes and not is_undone(one.key))


def in_order(one: Happening) -> tuple[datetime, int, str]:
    """What happenings are ordered by: the moment; of one moment nobody is back before they are out; then the key."""
    return one.at, ORDER.index(one.kind), one.key


def fold_day(
    sessions: Sequence[DaySession],
    seats: Iterable[PlannedSeat],
    log: Iterable[Happening],
    *,
    now: datetime,
    overdue_min: float = OVERDUE_MIN,
) -> DayState:
    """Who is where at `now`, who is out, expected and overdue, and what was said that does not agree.

    `seats`: of the issued rota. `log`: any happenings, in any order, doubles among them; those after `now` do not count
    yet. Overdue: `overdue_min` minutes after the pick-up at the latest, not back, and ticked out, or expected while
    anybody of the session was ticked; a person reached since is due anew.
    """
    own_seats: dict[str, dict[str, PlannedSeat]] = defaultdict(dict)
    for seat in seats:
        own_seats[seat.session][seat.person] = seat
    own_log: dict[str, list[Happening]] = defaultdict(list)
    for one in in_force(log, now):
        own_log[one.session].append(one)
    wait = timedelta(minutes=overdue_min)
    return DayState(now, tuple(_session(one, own_seats[one.key], own_log[one.key], (now, wait)) for one in sessions))


def _session(
    session: DaySession, seats: Mapping[str, PlannedSeat], log: Sequence[Happening], when: tuple[datetime, timedelta]
) -> SessionNow:
    now, wait = when
    closed: dict[str, Happening] = {}
    for one in log:
        if one.kind == HIDE_CLOSED and (one.until_at is None or one.until_at > now):
            closed.setdefault(one.hide, one)
        elif one.kind == HIDE_OPEN:
            closed.pop(one.hide, None)
    is_ticked = any(one.kind in (OUT, BACK) for one in log)
    people: list[PersonNow] = []
    found: list[Contradiction] = []
    for key in sorted({*seats, *(one.person for one in log if one.person)}):
        history = _History(session, seats.get(key), [one for one in log if one.person == key])
        person = history.person(key)
        expected = person.not_coming is None and person.is_planned and is_ticked
        late = person.due_at is not None and now > person.due_at + wait
        is_home = person.back_at is not None and not person.doubted
        people.append(replace(person, is_overdue=late and not is_home and (person.is_out or expected)))
        found += history.contradictions(key, closed)
    both = SessionNow(session, tuple(people), closed)
    return replace(both, contradictions=(*found, *_seats_twice(both, log)))


@dataclass
class _History:
    """What one person did in a session, read in order."""

    session: DaySession
    seat: PlannedSeat | None
    own: list[Happening]
    out: Happening | None = None
    back: Happening | None = None
    against_back: Happening | None = None
    placed: Happening | None = None
    word: Happening | None = None
    left: Happening | None = None
    reached: Happening | None = None
    outs: list[Happening] = field(default_factory=list)
    refused: Happening | None = None

    def __post_init__(self) -> None:
        for one in self.own:
            if one.kind in (OUT, BACK, OVERDUE_NOTED):
                self._tick(one)
            if one.kind in (OUT, MOVED) and one.hide:
                self.placed = one
            if one.kind in (OUT, MOVED):
                self.left = None
            if one.kind in (NOT_COMING, LATE, MOVED):
                self.word = one
            elif one.kind == LEFT_EARLY:
                self.left = one
            elif one.kind == REACHED:
                self.reached = one
        self.outs = [one for one in self.own if one.kind == OUT]
        self.refused = self.word if self.word is not None and self.word.kind == NOT_COMING else None

    def _tick(self, one: Happening) -> None:
        """Out and back again, perhaps more than once; the first of several equal ticks holds."""
        if one.kind == BACK:
            if self.back is None or self.against_back is None:
                self.back = self.back or one
            else:
                self.back, self.against_back = one, None
        elif self.back is None:
            self.out = self.out or (one if one.kind == OUT else None)
        elif one.kind == OUT and one.at < self.session.ends_at:
            self.out, self.back, self.against_back = one, None, None
        elif one.kind == OUT or one.by:
            self.against_back = self.against_back or one

    def person(self, key: str) -> PersonNow:
        hide, seat, part = (self.seat.hide, self.seat.seat, self.seat.part) if self.seat else ("", "", 0)
        if self.placed is not None and (self.placed.hide != hide or self.placed.seat not in ("", seat)):
            hide, seat, part = self.placed.hide, self.placed.seat, 0
        due_at = None if self.seat and self.seat.stays and hide == self.seat.hide else self.session.due.get(hide)
        if self.reached is not None and due_at is not None:
            due_at = max(due_at, self.reached.until_at or self.reached.at)
        noted = [one for one in self.own if one.kind != OVERDUE_NOTED]
        last = noted[-1:]
        while last and len(last) < len(noted) and noted[-len(last) - 1].kind == last[0].kind:
            last = noted[-len(last) - 1 :]
        return PersonNow(
            person=key,
            hide=hide,
            seat=seat,
            part=part,
            is_planned=self.seat is not None or self.placed is not None,
            out_at=self.out.at if self.out else None,
            back_at=self.back.at if self.back else None,
            not_coming=None if self.outs else self.refused,
            late=self.word if self.word is not None and self.word.kind == LATE else None,
            left_at=self.left.at if self.left else None,
            due_at=due_at,
            doubted=self.against_back is not None,
            last=tuple(last),
        )

    def contradictions(self, key: str, closed: Mapping[str, Happening]) -> list[Contradiction]:
        pairs = []
        if self.back is not None and self.against_back is not None:
            pairs.append(("back_and_out", (self.back, self.against_back)))
        if self.refused is not None and self.outs:
            pairs.append(("not_coming_and_out", (self.refused, self.outs[0])))
        shut = closed.get(self.placed.hide) if self.placed is not None and self.back is None else None
        if shut is not None and self.placed is not None and self.placed.at >= shut.at:
            pairs.append(("closed_and_moved", (shut, self.placed)))
        return [Contradiction(kind, (key,), tuple(sorted(said, key=in_order))) for kind, said in pairs]


def _seats_twice(state: SessionNow, log: Sequence[Happening]) -> list[Contradiction]:
    """Seats that somebody was moved to while somebody else has them."""
    holders: dict[tuple[str, str], list[PersonNow]] = defaultdict(list)
    for hide in sorted({one.hide for one in state.people if one.hide}):
        for one in state.seated(hide):
            if one.seat and not one.part:
                holders[hide, one.seat].append(one)
    found = []
    for (hide, seat), people in holders.items():
        keys = tuple(one.person for one in people)
        moves = [
            one for one in log if one.kind == MOVED and one.person in keys and (one.hide, one.seat) == (hide, seat)
        ]
        if len(people) > 1 and moves:
            found.append(Contradiction("seat_twice", keys, tuple(moves)))
    return found
