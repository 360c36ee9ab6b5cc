"""The checker rejects every kind of planted fault and accepts sound plans."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from tests.core.rota.rota_cases import camp, hide, plan_of
from trips.core.rota.check.checker import Bound, Stated, check
from trips.core.rota.problem.values import LEADER, Pin, Plan, Problem, ProblemHide, ProblemSeat, Turn

SOUND = ["AABB", "BBAA", "CABA", "ABCB"]


def rules(problem: Problem, plan: Plan, stated: Stated | None = None) -> set[str]:
    """The keys of the rules that are broken."""
    return {fault.rule for fault in check(problem, plan, stated).faults}


def swap(plan: Plan, index: int, **changes: object) -> Plan:
    """The plan with one turn changed."""
    turns = list(plan.turns)
    turns[index] = replace(turns[index], **changes)  # type: ignore[arg-type]
    return replace(plan, turns=tuple(turns))


def test_a_sound_plan_has_no_fault() -> None:
    verdict = check(camp(), plan_of(SOUND))
    assert verdict.is_sound
    assert verdict.tallies is not None


def test_a_sound_plan_with_the_leader_and_every_rule_on_has_no_fault() -> None:
    problem = camp(
        open_hides_at_once=2,
        visits_at_most=3,
        leader="coaching",
        together=((0, 1),),
        apart=((0, 3),),
        pins=(Pin(0, 0, 0, 0), Pin(LEADER, 2, 0)),
        cannot=frozenset({(3, 2)}),
    )
    # Ada and Ben are together, Ada and Dov apart; the leader needs a third seat
    roomy = replace(problem, hides=(hide("Alder", 3), hide("Birch", 3), hide("Cedar", 1)))
    assert rules(roomy, plan_of(["AABB", "BBAA", "AABBA", "BBAA"])) == set()


PLANTED: list[tuple[str, dict[str, object], Callable[[Plan], Plan]]] = [
    ("unknown", {}, lambda plan: swap(plan, 0, hide=9)),
    ("unknown", {}, lambda plan: swap(plan, 0, person=7)),
    ("unknown", {}, lambda plan: swap(plan, 0, session=-1)),
    ("unknown", {"rests_allowed": (1,)}, lambda plan: replace(plan, rests=((9, 0),))),
    ("two_turns", {}, lambda plan: replace(plan, turns=(*plan.turns, Turn(0, 0, 2, 0)))),
    ("two_turns", {}, lambda plan: replace(plan, turns=(*plan.turns, Turn(LEADER, 0, 2, 0), Turn(LEADER, 0, 1, 1)))),
    ("no_turn", {}, lambda plan: replace(plan, turns=plan.turns[1:])),
    ("turn_and_rest", {"rests_allowed": (1, 1, 1, 1)}, lambda plan: replace(plan, rests=((0, 0),))),
    ("two_rests", {"rests_allowed": (2,)}, lambda plan: Plan(plan.turns[1:], ((0, 0), (0, 0)))),
    ("rests_not_allowed", {}, lambda plan: Plan(plan.turns[1:], ((0, 0),))),
    ("guest_rests", {"guests": frozenset({0}), "rests_allowed": (1,)}, lambda plan: Plan(plan.turns[1:], ((0, 0),))),
    ("absent", {"absent": frozenset({(0, 0)})}, lambda plan: plan),
    (
        "absent_rests",
        {"absent": frozenset({(0, 0)}), "rests_allowed": (1,)},
        lambda plan: Plan(plan.turns[1:], ((0, 0),)),
    ),
    ("closed", {"closed": frozenset({(0, 0)})}, lambda plan: plan),
    ("cannot", {"cannot": frozenset({(2, 1)})}, lambda plan: plan),
    ("cannot", {"cannot_then": frozenset({(2, 0, 1)})}, lambda plan: plan),
    ("cannot", {"cannot_then": frozenset({(LEADER, 0, 1)})}, lambda plan: plan_of(["AABCB", *SOUND[1:]])),
    ("too_many", {}, lambda plan: swap(plan, 2, hide=0, seat=-1)),
    ("too_many", {}, lambda plan: replace(plan, turns=(*plan.turns, Turn(LEADER, 0, 0)))),
    ("too_few", {"hides": (hide("Alder", 2), hide("Birch", 2), hide("Cedar", 1, 2))}, lambda plan: plan),
    ("too_few", {}, lambda plan: replace(plan, turns=(*plan.turns, Turn(LEADER, 0, 2, 0)))),
    ("open_at_once", {"open_hides_at_once": 2}, lambda plan: plan),
    ("visits_at_most", {"visits_at_most": 1}, lambda plan: plan),
    ("twice_running", {"never_twice_running": True}, lambda plan: plan_of(["AABB", "AABB", "CABA", "ABCB"])),
    ("consecutive_turns", {"consecutive_turns_at_most": 3}, lambda plan: plan),
    ("joined", {"joined": ((0, (0, 1)),)}, lambda plan: plan),
    ("together", {"together": ((0, 2),)}, lambda plan: plan),
    ("together", {"together": ((0, 1),), "rests_allowed": (1,)}, lambda plan: Plan(plan.turns[1:], ((0, 0),))),
    ("helper", {"helpers": ((0, 2),)}, lambda plan: plan),
    ("half_together", {"half_together": ((0, 3),)}, lambda plan: plan),
    ("apart", {"apart": ((0, 1),)}, lambda plan: plan),
    ("one_piece", {"sharers": frozenset({(0, 2, 0)})}, lambda plan: plan),
    ("pin", {"pins": (Pin(0, 0, 2),)}, lambda plan: plan),
    ("pin_seat", {"pins": (Pin(0, 0, 0, 1),)}, lambda plan: plan),
    ("pin", {"pins": (Pin(LEADER, 0, 0),)}, lambda plan: plan),
    ("seat_unknown", {}, lambda plan: swap(plan, 0, seat=5)),
    (
        "seat_out",
        {
            "hides": (
                ProblemHide("Alder", (ProblemSeat("a"), ProblemSeat("b"), ProblemSeat("c", out_from=0))),
                hide("Birch", 2),
                hide("Cedar", 1),
            )
        },
        lambda plan: swap(plan, 0, seat=2),
    ),
    ("seat_twice", {}, lambda plan: swap(plan, 0, seat=1)),
    ("part_not_allowed", {}, lambda plan: swap(swap(plan, 0, seat=1, part=1), 1, part=2)),
    ("parts", {"shared": frozenset({(0, 0)})}, lambda plan: swap(plan, 0, part=1)),
    ("parts", {"shared": frozenset({(0, 0)})}, lambda plan: swap(swap(plan, 0, part=1), 1, part=2)),
    ("seat_twice", {"shared": frozenset({(0, 0)})}, lambda plan: swap(plan, 0, seat=1, part=1)),
    (
        "leader_part",
        {"shared": frozenset({(0, 0)})},
        lambda plan: replace(
            swap(plan, 1, part=1), turns=(*swap(plan, 1, part=1).turns, Turn(LEADER, 0, 0, 1, part=2))
        ),
    ),
    ("hand_over_missing", {"shared": frozenset({(0, 0)})}, lambda plan: swap(plan, 2, hide=0, seat=-1)),
    ("leader_never", {"leader": "never"}, lambda plan: plan_of(["AABCB", *SOUND[1:]])),
    (
        "leader_before_rest",
        {"leader": "spare_seats", "rests_allowed": (1,)},
        lambda plan: plan_of(["-ABBA", *SOUND[1:]], rests=((0, 0),)),
    ),
    ("leader_better_seat", {"leader": "spare_seats"}, lambda plan: plan_of(["ABBCA", *SOUND[1:]])),
    (
        "guest_first",
        {"guests": frozenset({1}), "rests_allowed": (1,)},
        lambda plan: plan_of(["-ABB", *SOUND[1:]], rests=((0, 0),)),
    ),
    ("stay_missing", {"stays": frozenset({(0, 0, 0)})}, lambda plan: plan),
    ("stay_broken", {}, lambda plan: swap(plan, 0, stays=True)),
    ("past", {"issued": plan_of(["BBAA", *SOUND[1:]]), "past": 1}, lambda plan: plan),
    ("past", {"issued": plan_of(["-ABB", *SOUND[1:]], rests=((0, 0),)), "past": 1}, lambda plan: plan),
    ("left", {"issued": plan_of(["ACBB", *SOUND[1:]]), "frozen": frozenset({(0, 0)})}, lambda plan: plan),
]


@pytest.mark.parametrize(("rule", "changes", "plant"), PLANTED, ids=[f"{i}-{row[0]}" for i, row in enumerate(PLANTED)])
def test_the_checker_rejects_a_planted_fault(
    rule: str, changes: dict[str, object], plant: Callable[[Plan], Plan]
) -> None:
    assert rules(camp(), plan_of(SOUND)) == set()
    assert rule in rules(camp(**changes), plant(plan_of(SOUND)))


def test_over_thirty_kinds_of_fault_are_planted() -> None:
    assert len({rule for rule, _, _ in PLANTED}) > 30


def honest(problem: Problem, plan: Plan) -> Stated:
    """What a truthful rota says of itself."""
    counted = check(problem, plan).tallies
    assert counted is not None
    return Stated(
        points=counted.points,
        shares=counted.shares,
        worst_share=counted.worst_share,
        total_of_shares=counted.total_of_shares,
        counts=(("pairs_met", counted.pairs_met), ("rests", 0), ("changes", 0), ("without_turn", 0)),
        bounds=(Bound("worst_share", counted.worst_share, counted.worst_share + 0.02),),
    )


def test_true_statements_are_accepted() -> None:
    problem = camp(in_demand=(0,), burdens=frozenset({(0, 0)}))
    assert rules(problem, plan_of(SOUND), honest(problem, plan_of(SOUND))) == set()


@pytest.mark.parametrize(
    ("rule", "lie"),
    [
        ("stated_points", lambda true: replace(true, points=(true.points[0] + 0.01, *true.points[1:]))),
        ("stated_points", lambda true: replace(true, points=true.points[:-1])),
        ("stated_points", lambda true: replace(true, points=(float("nan"), *true.points[1:]))),
        ("stated_shares", lambda true: replace(true, shares=(true.shares[0] - 0.001, *true.shares[1:]))),
        ("stated_worst_share", lambda true: replace(true, worst_share=true.worst_share + 0.001)),
        ("stated_total_of_shares", lambda true: replace(true, total_of_shares=true.total_of_shares + 0.001)),
        ("stated_pairs_met", lambda true: replace(true, counts=(("pairs_met", 5000),))),
        ("stated_rests", lambda true: replace(true, counts=(("rests", 1),))),
        ("stated_changes", lambda true: replace(true, counts=(("changes", 1),))),
        ("stated_without_turn", lambda true: replace(true, counts=(("without_turn", 1),))),
        ("stated_demand_excess", lambda true: replace(true, counts=(("demand_excess", 7),))),
        ("stated_burden_excess", lambda true: replace(true, counts=(("burden_excess", 7),))),
        ("stated_leader_seats", lambda true: replace(true, counts=(("leader_seats", 7),))),
        ("stated_nonsense", lambda true: replace(true, counts=(("nonsense", 7),))),
        (
            "bound",
            lambda true: replace(true, bounds=(Bound("worst_share", true.worst_share, true.worst_share - 0.01),)),
        ),
        ("bound", lambda true: replace(true, bounds=(Bound("worst_share", true.worst_share, float("nan")),))),
        ("bound", lambda true: replace(true, bounds=(Bound("rests", 0, 1, upwards=False),))),
        ("bound", lambda true: replace(true, bounds=(Bound("own stage", 0.5, 0.4),))),
        ("stated_worst_share", lambda true: replace(true, bounds=(Bound("worst_share", 0.99, 1.0),))),
    ],
)
def test_a_false_statement_is_a_fault(rule: str, lie: Callable[[Stated], Stated]) -> None:
    problem = camp(in_demand=(0,), burdens=frozenset({(0, 0)}))
    assert rule in rules(problem, plan_of(SOUND), lie(honest(problem, plan_of(SOUND))))


def test_rules_do_not_judge_what_is_over_or_has_left() -> None:
    broken = plan_of(["AAAB", *SOUND[1:]], seats=False)
    late = camp(issued=broken, past=1, visits_at_most=3)
    assert rules(late, broken) == set()
    assert "too_many" in rules(replace(late, past=0), broken)
    left = camp(issued=broken, frozen=frozenset({(0, 0)}), closed=frozenset({(0, 0)}))
    assert rules(left, broken) == set()
    assert rules(replace(left, frozen=frozenset()), broken) == {"closed"}


def test_visits_of_the_past_count_but_do_not_blame_it() -> None:
    plan = plan_of(["AABB", "AABB", "BBAA", "ABCB"])
    problem = camp(issued=plan, past=2, visits_at_most=2)
    assert rules(problem, plan) == {"visits_at_most"}
    over = camp(issued=plan, past=4, visits_at_most=1)
    assert rules(over, plan) == set()


def test_a_row_of_turns_ends_at_a_rest_or_an_absence_and_is_no_fault_while_it_is_fixed() -> None:
    plan = plan_of(SOUND)
    problem = camp(consecutive_turns_at_most=2, rests_allowed=(4, 4, 4, 4))
    long = [fault for fault in check(problem, plan).faults if fault.rule == "consecutive_turns"]
    assert [(fault.people, fault.sessions) for fault in long] == [((person,), (0, 1, 2, 3)) for person in range(4)]
    rests = tuple((person, 2) for person in range(4))
    rested = Plan(tuple(turn for turn in plan.turns if turn.session != 2), rests)
    assert rules(problem, rested) == set()
    away = camp(consecutive_turns_at_most=2, absent=frozenset(rests))
    assert rules(away, replace(rested, rests=())) == set()
    assert rules(replace(problem, issued=plan, past=4), plan) == set()
    assert rules(replace(problem, issued=plan, past=3), plan) == {"consecutive_turns"}


def test_the_leaders_seats_make_no_row() -> None:
    plan = plan_of(["----A"] * 4)
    absent = frozenset((person, session) for person in range(4) for session in range(4))
    assert "consecutive_turns" not in rules(camp(absent=absent, consecutive_turns_at_most=1), plan)


def test_a_visit_that_has_begun_is_not_blamed_for_going_on() -> None:
    plan = plan_of(["AABB", "BBAA", "BBAA"])
    problem = camp(sessions=("S1", "S2", "S3"), issued=plan, past=2, visits_at_most=0, joined=((1, (1, 2)),))
    assert [fault.people for fault in check(problem, plan).faults if fault.hides == (1,)] == []
    assert "visits_at_most" in rules(replace(problem, joined=()), plan)


def test_once_an_all_day_hide_has_begun_nobody_joins_and_who_can_goes_on() -> None:
    plan = plan_of(["AABB", "CABB", "AABB", "BBAC"])
    problem = camp(issued=plan, past=2, joined=((0, (0, 1, 2)),))
    (joined,) = (fault for fault in check(problem, plan).faults if fault.rule == "joined")
    assert (joined.people, joined.sessions) == ((0,), (0, 2))
    left = plan_of(["AABB", "CABB", "CCBB", "BBAC"])
    assert (1,) in [fault.people for fault in check(problem, left).faults if fault.rule == "joined"]
    cannot = replace(problem, cannot_then=frozenset({(1, 2, 0)}))
    assert "joined" not in rules(cannot, left)


def test_half_together_asks_for_half_of_what_is_left_at_most() -> None:
    plan = plan_of(["AABB", "BBAA", "AABB", "BBAA"])
    for past, is_broken in ((0, True), (1, True), (2, True), (3, False)):
        broken = "half_together" in rules(camp(issued=plan, past=past, half_together=((0, 3),)), plan)
        assert broken == is_broken
    met = plan_of(["ABBA", "ABBA", "AABB", "BBAA"])
    assert "half_together" not in rules(camp(issued=met, past=2, half_together=((0, 3),)), met)
    left = camp(issued=plan, past=2, frozen=frozenset({(2, 1)}), half_together=((0, 3),))
    assert "half_together" not in rules(left, plan)


def test_a_stay_is_one_visit_and_no_repetition() -> None:
    stays = frozenset({(0, 0, 0), (1, 0, 0)})
    problem = camp(never_twice_running=True, visits_at_most=2, stays=stays)
    turns = tuple(
        replace(turn, stays=turn.session == 0 and turn.person < 2)
        for turn in plan_of(["AABB", "AACB", "BBAC", "CABA"]).turns
    )
    assert rules(problem, Plan(turns)) == {"twice_running"}  # Dov sits in Birch twice running; Ada and Ben stay
    assert {fault.people for fault in check(problem, Plan(turns)).faults} == {(3,)}


def test_people_may_share_a_handed_over_seat_where_it_is_allowed() -> None:
    problem = camp(shared=frozenset({(0, 2)}))
    turns = list(plan_of(["CCAB", *SOUND[1:]]).turns)
    turns[0] = replace(turns[0], seat=0, part=1)
    turns[1] = replace(turns[1], seat=0, part=2)
    assert rules(problem, Plan(tuple(turns))) == set()


def test_a_single_fault_names_exactly_the_people_who_matter() -> None:
    (fault,) = check(camp(apart=((1, 2),)), plan_of(["ABBC", "BBAA", "CABA", "ABCB"])).faults
    assert (fault.rule, fault.people, fault.sessions, fault.hides) == ("apart", (1, 2), (0,), (1,))


def test_a_shared_piece_binds_nobody_who_rests_or_whose_car_has_left() -> None:
    problem = camp(sharers=frozenset({(0, 2, 0)}), rests_allowed=(1,))
    resting = Plan(tuple(turn for turn in plan_of(SOUND).turns if (turn.person, turn.session) != (2, 0)), ((2, 0),))
    assert "one_piece" not in rules(problem, resting)
    left = replace(problem, issued=plan_of(SOUND), frozen=frozenset({(0, 1)}))
    assert "one_piece" not in rules(left, plan_of(SOUND))
