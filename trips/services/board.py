"""What the sheets of the day board write: each a fact noted at once, and what the rota then needs."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from django.db import transaction

from participants.core.errors import CoreError
from participants.versions import row_save
from trips.assemble.repairs import repair_at
from trips.assemble.rota import rota_inputs
from trips.assemble.trip import trip_values
from trips.core.rota.check.checker import check
from trips.core.rota.search.outcome import SearchTime
from trips.models import Car, GearAway, HappeningKind, Hide, Making, Rota, RotaState, Run, Seat, Session, Trip
from trips.models.rota import ACTIVE_MAKING_STATES
from trips.selectors.board_sheets import last_issues
from trips.selectors.day_state import DayPerson, session_day
from trips.services.day import drops_hand_over
from trips.services.day_told import has_left
from trips.services.gear import gear_away_delete, gear_away_save
from trips.services.happenings import NotNoted, Said, happening_note, places_swap
from trips.services.making import Wanted, making_cancel, making_start, makings_give_up
from trips.services.rota import rota_follow
from trips.services.turn import Edit, edit_save

BOARD, MOVE, REPAIR, DRAFT = "board", "move", "repair", "draft"
BACK = "back"  # beside the kinds of repairs


class NothingBefore(CoreError):
    """No rota was issued before the one in force."""


class NobodyDrives(CoreError):
    """A car is down and no other takes its drops: `name`."""


@dataclass(frozen=True)
class BoardChange:
    """One press of a sheet: `what` (a key of CHANGES), by whom, at which moment, about what."""

    what: str
    at: datetime
    by: Any
    sessions: tuple[Session, ...] = ()
    who: DayPerson | None = None
    other: DayPerson | None = None
    hide: Hide | None = None
    seat: Seat | None = None
    car: Car | None = None
    other_car: Car | None = None
    until_at: datetime | None = None
    sky: str = ""
    away: GearAway | None = None


@dataclass(frozen=True)
class Done:
    """What comes after a change: the board, a MOVE of people in `hide`, a REPAIR of that kind, or a DRAFT to issue.

    `touched`: whom a move in a session that goes on changes something for.
    """

    then: str = BOARD
    kind: str = "fewest"
    hide: Hide | None = None
    draft: Rota | None = None
    touched: tuple[DayPerson, ...] = ()


@transaction.atomic
def board_change(*, trip: Trip, change: BoardChange) -> Done:
    """Write a change. Raises NotNoted, NothingToChange, RotaRejected, Stale; then nothing is written."""
    done = CHANGES[change.what](trip, change)
    if done.then == BOARD and change.what in ASKS_FOR_REPAIR and not issued_holds(trip=trip, now=change.at):
        return replace(done, then=REPAIR)
    return done


def issued_holds(*, trip: Trip, now: datetime) -> bool:
    """Whether what is left of the issued rota keeps all rules as things stand; also where none is issued."""
    issued = trip.rotas.filter(state=RotaState.ISSUED).first()
    if issued is None:
        return True
    values = trip_values(trip)
    problem = rota_inputs(values, repair=repair_at(issued, values, now=now)).problem
    return problem.issued is None or check(problem, problem.issued).is_sound


def repair_start(*, trip: Trip, kind: str, by: Any, now: datetime) -> Making | None:
    """Start a quick repair, or (`kind` BACK) one that puts the rota issued before back as far as it holds.

    A search that goes on without what was noted since is told to stop: None until it has. Raises NothingIssued,
    NothingToPlan, NothingBefore.
    """
    _, former = last_issues(trip)
    if kind == BACK and former is None:
        raise NothingBefore()
    makings_give_up(trip=trip, now=now)
    active = trip.makings.filter(state__in=ACTIVE_MAKING_STATES).first()
    if active is not None and making_cancel(making=active, now=now).state in ACTIVE_MAKING_STATES:
        return None
    issued = trip.rotas.filter(state=RotaState.ISSUED).first()
    wanted = Wanted(seed=issued.seed if issued else 0, search_time=SearchTime.QUICK, repair=kind)
    if kind == BACK and former is not None:
        wanted = replace(wanted, repair="fewest", towards=former.rota)
    return making_start(trip=trip, wanted=wanted, by=by, now=now)


def _said(change: BoardChange, kind: str, session: Session, **more: Any) -> Said:
    return Said(kind, change.at, change.by, session, **more)


def _noted(trip: Trip, change: BoardChange, said: list[Said]) -> None:
    """All that can be noted of it; the first refusal where nothing can."""
    refused: NotNoted | None = None
    noted = 0
    for one in said:
        try:
            with transaction.atomic():
                happening_note(trip=trip, said=one, now=change.at)
            noted += 1
        except NotNoted as why:
            refused = refused or why
    if refused is not None and not noted:
        raise refused


def _close(trip: Trip, change: BoardChange) -> Done:
    """A hide closed; people who sit there now are moved, not planned anew."""
    assert change.hide is not None
    _noted(trip, change, [_said(change, HappeningKind.HIDE_CLOSED, one, hide=change.hide) for one in change.sessions])
    for session in change.sessions[:1]:
        seated = session_day(session, now=change.at).state.sessions[0].seated(str(change.hide.uuid))
        if seated and has_left(trip, session, {change.hide.pk}, change.at):
            return Done(MOVE, hide=change.hide)
    return Done()


def _open(trip: Trip, change: BoardChange) -> Done:
    _noted(trip, change, [_said(change, HappeningKind.HIDE_OPEN, one, hide=change.hide) for one in change.sessions])
    return Done()


def _away(trip: Trip, change: BoardChange) -> Done:
    """Somebody not there; whoever is out already left early, and is still awaited."""
    assert change.who is not None
    said = []
    for session in change.sessions:
        person = session_day(session, now=change.at).state.sessions[0].person(change.who.key)
        kind = HappeningKind.LEFT_EARLY if person is not None and person.is_out else HappeningKind.NOT_COMING
        said.append(_said(change, kind, session, who=change.who))
    _noted(trip, change, said)
    return Done()


def _late(trip: Trip, change: BoardChange) -> Done:
    said = _said(change, HappeningKind.LATE, change.sessions[0], who=change.who, until_at=change.until_at)
    if change.until_at is not None and change.until_at >= change.sessions[0].ends_at:
        raise NotNoted(why="late_beyond", name=change.who.name if change.who else "", at=change.sessions[0].ends_at)
    happening_note(trip=trip, said=said, now=change.at)
    return Done()


def _swap(trip: Trip, change: BoardChange) -> Done:
    """Two people change seats: by a new number, or in a session whose cars have left by two moves."""
    session = change.sessions[0]
    assert change.who is not None
    assert change.other is not None
    state = session_day(session, now=change.at)
    seated = [state.state.sessions[0].person(one.key) for one in (change.who, change.other)]
    hides = {state.hides[one.hide].pk for one in seated if one is not None and one.hide in state.hides}
    if has_left(trip, session, hides, change.at):
        said = _said(change, HappeningKind.MOVED, session)
        places_swap(trip=trip, said=said, people=(change.who, change.other), now=change.at)
        return Done(touched=(change.who, change.other))
    return _edited(trip, change, Edit("swap", session, change.who.place, other=change.other.place))


def _seat_given(trip: Trip, change: BoardChange) -> Done:
    """A free seat to somebody: by a new number, or where the car has left by a move."""
    session, hide = change.sessions[0], change.hide
    assert change.who is not None
    assert hide is not None
    day = session_day(session, now=change.at)
    state = day.state.sessions[0]
    person = state.person(change.who.key)
    left = day.hides.get(person.hide) if person else None
    if has_left(trip, session, {hide.pk, *([left.pk] if left else [])}, change.at):
        said = _said(change, HappeningKind.MOVED, session, who=change.who, hide=hide, seat=change.seat)
        happening_note(trip=trip, said=said, now=change.at)
        touched = (change.who, *(day.people[one.person] for one in state.seated(str(hide.uuid))))
        stranded = [one for one in state.seated(str(left.uuid)) if one.person != change.who.key] if left else []
        is_shut = left is not None and str(left.uuid) in state.closed
        return Done(MOVE if is_shut and stranded else BOARD, hide=left, touched=touched)
    return _edited(trip, change, Edit("move", session, change.who.place, hide=hide, seat=change.seat))


def _edited(trip: Trip, change: BoardChange, edit: Edit) -> Done:
    """The issued rota with one change by hand, as a draft to issue."""
    issued = trip.rotas.filter(state=RotaState.ISSUED).first()
    if issued is None:
        raise NotNoted(why="not_issued")
    draft = rota_follow(rota=issued, by=change.by, now=change.at)
    edit_save(rota=draft, edit=edit, by=change.by, now=change.at, why="on the day")
    return Done(DRAFT, draft=draft)


def _seat_broken(trip: Trip, change: BoardChange) -> Done:
    """A seat out of use from now on; whoever sits on it in a session that goes on is moved."""
    assert change.seat is not None
    change.seat.out_of_use_from = change.at
    row_save(row=change.seat)
    for session in change.sessions[:1]:
        people = session_day(session, now=change.at).state.sessions[0].seated(str(change.seat.hide.uuid))
        on_it = [one for one in people if one.seat == str(change.seat.uuid)]
        if on_it and has_left(trip, session, {change.seat.hide_id}, change.at):
            return Done(MOVE, hide=change.seat.hide)
    return Done()


def _seat_mended(trip: Trip, change: BoardChange) -> Done:
    assert change.seat is not None
    change.seat.out_of_use_from = None
    row_save(row=change.seat)
    return Done()


def _sky(trip: Trip, change: BoardChange) -> Done:
    """Another sky forces nobody to move; a repair with a few more changes says who would gain."""
    for session in change.sessions:
        happening_note(
            trip=trip, said=_said(change, HappeningKind.LIGHT_CHANGED, session, note=change.sky), now=change.at
        )
        session.sky = change.sky
        row_save(row=session)
    is_ahead = any(session.starts_at > change.at for session in change.sessions)
    is_issued = trip.rotas.filter(state=RotaState.ISSUED).exists()
    return Done(REPAIR, kind="few") if is_ahead and is_issued else Done()


def _car_down(trip: Trip, change: BoardChange) -> Done:
    """A car that drives no more: another takes its drops as a further run."""
    assert change.car is not None
    happening_note(trip=trip, said=Said(HappeningKind.CAR_DOWN, change.at, change.by, car=change.car), now=change.at)
    runs = Run.objects.filter(session__in=change.sessions, car=change.car)
    if runs.exists() and change.other_car is None:
        raise NobodyDrives(name=change.car.name)
    issued, other = trip.rotas.filter(state=RotaState.ISSUED).first(), change.other_car
    moved = [
        drops_hand_over(session=session, car=change.car, other=other, issued=issued)
        for session in change.sessions
        if other is not None
    ]
    if not any(moved) or issued is None or not issued_holds(trip=trip, now=change.at):
        return Done()
    return Done(DRAFT, draft=rota_follow(rota=issued, by=change.by, now=change.at))


def _gear_away(trip: Trip, change: BoardChange) -> Done:
    assert change.away is not None
    gear_away_save(row=change.away)
    return Done()


def _gear_back(trip: Trip, change: BoardChange) -> Done:
    assert change.away is not None
    gear_away_delete(row=change.away)
    return Done()


CHANGES: dict[str, Callable[[Trip, BoardChange], Done]] = {
    "close": _close,
    "open": _open,
    "away": _away,
    "late": _late,
    "swap": _swap,
    "give": _seat_given,
    "seat_broken": _seat_broken,
    "seat_mended": _seat_mended,
    "sky": _sky,
    "car_down": _car_down,
    "gear_away": _gear_away,
    "gear_back": _gear_back,
}
ASKS_FOR_REPAIR = ("close", "away", "give", "seat_broken", "car_down", "gear_away")
