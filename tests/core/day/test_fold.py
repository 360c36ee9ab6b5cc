"""The day folded from what was noted: who is out, back, expected and overdue, whatever the order of arrival."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from trips.core.day import DaySession, Happening, PlannedSeat, fold_day, in_force, sat_in
from trips.core.day.values import ORDER

START = datetime(2027, 5, 8, 4, 45, tzinfo=UTC)
END = START + timedelta(hours=4)
MORNING = DaySession("morning", START, END, {"alder": END, "birch": END})
SEATS = (
    PlannedSeat("morning", "ana", "alder", "left"),
    PlannedSeat("morning", "ben", "alder", "right"),
    PlannedSeat("morning", "cleo", "birch", "left"),
)


def noted(kind, minutes, person="", **more):
    """A happening so many minutes after the session's start; its key says what it is."""
    key = more.pop("key", f"{kind} {person or more.get('hide')} {minutes}")
    return Happening(key, kind, START + timedelta(minutes=minutes), "morning", person, **more)


def at(minutes, *log, seats=SEATS):
    (session,) = fold_day((MORNING,), seats, log, now=START + timedelta(minutes=minutes)).sessions
    return session


def states(minutes, *log):
    return {one.person: one.standing for one in at(minutes, *log).people}


OUT = tuple(noted("out", -20, who) for who in ("ana", "ben"))
LATE_MIN = 4 * 60 + 16  # after the pick-up and the wait


def test_who_is_out_back_and_overdue():
    log = (*OUT, noted("back", 235, "ana"))
    assert states(-30, *log) == {"ana": "not_out", "ben": "not_out", "cleo": "not_out"}
    assert states(100, *log) == {"ana": "out", "ben": "out", "cleo": "not_out"}
    assert states(255, *log) == {"ana": "back", "ben": "out", "cleo": "not_out"}
    assert states(LATE_MIN, *log) == {"ana": "back", "ben": "overdue", "cleo": "overdue"}


def test_nobody_is_overdue_where_nobody_was_ticked_nor_who_does_not_come():
    assert set(states(LATE_MIN).values()) == {"not_out"}
    assert states(LATE_MIN, *OUT, noted("not_coming", -55, "cleo"))["cleo"] == "not_coming"


def test_who_stays_for_the_next_session_is_not_due():
    seats = (replace(SEATS[0], stays=True),)
    assert at(LATE_MIN, *OUT, seats=seats).person("ana").standing == "out"


def test_somebody_reached_is_due_anew():
    log = (*OUT, noted("reached", 260, "ben"))
    assert states(270, *log)["ben"] == "out"
    assert states(276, *log)["ben"] == "overdue"
    later = noted("reached", 260, "ben", until_at=END + timedelta(minutes=60))
    assert states(290, *OUT, later)["ben"] == "out"


def test_who_is_back_and_said_to_be_out_later_counts_as_out_and_both_are_named():
    back, seen = noted("back", 245, "ana", by="Nuria"), noted("out", 260, "ana", by="Rui")
    session = at(LATE_MIN + 10, *OUT, back, seen)
    assert session.person("ana").standing == "overdue"
    assert [(one.kind, one.said) for one in session.contradictions] == [("back_and_out", (back, seen))]
    settled = at(LATE_MIN + 30, *OUT, back, seen, noted("back", 270, "ana"))
    assert (settled.person("ana").standing, settled.contradictions) == ("back", ())


def test_a_note_that_nobody_made_in_person_says_nothing_against_back():
    back = noted("back", 245, "ana")
    assert not at(300, *OUT, back, noted("overdue_noted", 256, "ana")).contradictions
    assert at(300, *OUT, back, noted("overdue_noted", 256, "ana", by="Rui")).contradictions


def test_somebody_who_goes_out_again_while_the_session_runs_is_out():
    session = at(120, *OUT, noted("back", 60, "ana"), noted("out", 90, "ana"))
    assert (session.person("ana").standing, session.person("ana").out_at) == ("out", START + timedelta(minutes=90))
    assert session.contradictions == ()


def test_not_coming_and_out_do_not_agree_and_out_counts():
    session = at(100, *OUT, noted("not_coming", 5, "ana"))
    assert (session.person("ana").standing, session.contradictions[0].kind) == ("out", "not_coming_and_out")


def test_a_move_into_a_closed_hide_or_a_taken_seat_is_named():
    closed = noted("hide_closed", 75, hide="birch")
    assert at(100, closed, noted("moved", 80, "ana", hide="birch", seat="right")).contradictions[0].kind == (
        "closed_and_moved"
    )
    assert at(100, noted("moved", 80, "ana", hide="birch", seat="left")).contradictions[0].people == ("ana", "cleo")
    assert not at(100, closed, noted("hide_open", 78, hide="birch")).closed


def test_an_undo_takes_one_back_and_can_be_undone():
    undo = noted("out", 5, "ana", key="undo", undoes=OUT[0].key)
    assert states(10, *OUT, undo)["ana"] == "not_out"
    assert states(10, *OUT, undo, noted("out", 6, "ana", key="redo", undoes="undo"))["ana"] == "out"


@pytest.mark.parametrize("first", ["a", "b"])
def test_two_that_undo_each_other_leave_one_standing_whoever_is_asked_first(first):
    pair = [noted("out", 0, "ana", key="a", undoes="b"), noted("out", 0, "ana", key="b", undoes="a")]
    assert in_force(pair if first == "a" else pair[::-1]) == ()


KEYS = [f"k{number}" for number in range(9)]
FACTS = st.tuples(
    st.sampled_from(ORDER),
    st.integers(-60, 300),
    st.sampled_from(["ana", "ben", "cleo", "dora"]),
    st.sampled_from([("alder", "left"), ("birch", "right"), ("birch", "")]),
    st.none() | st.integers(0, 300),
    st.sampled_from(["", "", *KEYS]),
)


def log_of(facts):
    """A log with keys of its own; some undo others, whether those came in or not."""
    log = []
    for key, (kind, minutes, person, (hide, seat), late, undoes) in zip(KEYS, facts, strict=False):
        until_at = None if late is None else START + timedelta(minutes=late)
        where = {"hide": hide, "seat": seat, "until_at": until_at}
        log.append(noted(kind, minutes, person, key=key, undoes=undoes, by="Nuria" if minutes % 2 else "", **where))
    return log


logs = st.lists(FACTS, max_size=9).map(log_of)
some = settings(max_examples=60, suppress_health_check=[HealthCheck.too_slow])


@some
@given(logs, st.randoms(use_true_random=False), st.integers(-60, 400))
def test_any_order_doubles_and_what_comes_late_give_one_state(log, chance, minutes):
    """Phones send in any order, twice, and some only when the others are long in: at the end the state is the same."""
    now = START + timedelta(minutes=minutes)
    whole = fold_day((MORNING,), SEATS, log, now=now)
    doubled = chance.sample([*log, *log], 2 * len(log))
    assert fold_day((MORNING,), SEATS[::-1], doubled, now=now) == whole
    assert sat_in(MORNING, SEATS, doubled) == sat_in(MORNING, SEATS, log)
    first = chance.sample(log, len(log) // 2)
    fold_day((MORNING,), SEATS, first, now=now)  # what was lost so far makes no state that cannot be told
    rest = [one for one in log if one not in first]
    assert fold_day((MORNING,), SEATS, [*rest, *first], now=now) == whole


@some
@given(logs)
def test_nobody_sits_longer_than_the_session_and_nobody_is_sat_in_two_places_at_once(log):
    sat = sat_in(MORNING, SEATS, log)
    for person in {one.person for one in sat}:
        assert 0 < sum(one.minutes for one in sat if one.person == person) <= 240 + 1e-9
        assert sum(one.share for one in sat if one.person == person) <= 1 + 1e-9
