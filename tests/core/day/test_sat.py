"""Who sat where how long: as planned, but for what was noted otherwise."""

from datetime import timedelta

from tests.core.day.test_fold import MORNING, OUT, SEATS, START, noted
from trips.core.day import PlannedSeat, sat_in


def sat(*log, seats=SEATS):
    return {(one.person, one.hide): one.minutes for one in sat_in(MORNING, seats, log)}


PLANNED = {("ana", "alder"): 240, ("ben", "alder"): 240, ("cleo", "birch"): 240}


def test_without_a_note_everybody_sat_as_planned_also_where_ticks_were_made_late():
    assert sat() == PLANNED
    assert sat(noted("out", 45, "ana"), noted("back", 200, "ana")) == PLANNED


def test_who_does_not_come_sat_nowhere_unless_they_were_seen_out():
    gone = noted("not_coming", -60, "ana")
    assert ("ana", "alder") not in sat(gone)
    assert sat(gone, *OUT) == PLANNED
    assert sat(gone, noted("late", -10, "ana", until_at=START + timedelta(minutes=60)))["ana", "alder"] == 180


def test_late_counts_from_when_they_got_out_and_left_early_until_then():
    late = noted("late", -10, "ana", until_at=START + timedelta(minutes=60))
    assert sat(late, noted("out", 100, "ana"))["ana", "alder"] == 140
    assert sat(noted("left_early", 90, "ana"))["ana", "alder"] == 90


def test_a_move_gives_each_hide_its_minutes():
    moved = noted("moved", 60, "ana", hide="birch", seat="right")
    assert (sat(moved)["ana", "alder"], sat(moved)["ana", "birch"]) == (60, 180)
    before = noted("moved", -30, "ana", hide="birch", seat="right")
    assert "alder" not in {hide for (who, hide) in sat(before) if who == "ana"}


def test_a_closed_hide_is_not_sat_in_until_it_opens_or_people_move():
    closed = noted("hide_closed", 75, hide="alder")
    moved = noted("moved", 90, "ana", hide="birch", seat="right")
    found = sat(closed, moved)
    assert (found["ana", "alder"], found["ana", "birch"], found["ben", "alder"]) == (75, 150, 75)
    assert sat(closed, noted("hide_open", 135, hide="alder"))["ben", "alder"] == 180


def test_a_seat_handed_over_is_half_each_and_whole_for_whoever_had_it_alone():
    seats = tuple(
        PlannedSeat("morning", who, "alder", "left", part) for part, who in enumerate(("ana", "ben"), start=1)
    )
    assert set(sat(seats=seats).values()) == {120}
    (alone,) = sat_in(MORNING, seats, [noted("not_coming", -60, "ben")])
    assert (alone.person, alone.minutes, alone.part) == ("ana", 240, 0)
