"""Changes by hand of stored drafts: shown before, refused where a rule stands against them, kept, and undone."""

from datetime import timedelta

import pytest

from participants.versions import Stale
from tests.trips.rota_trips import LONG_BEFORE, estate, planned, seats_of
from trips.assemble.rota_result import stored_rota
from trips.core.rota.check.checker import check
from trips.core.rota.edit.hand_edits import NothingToChange
from trips.models import Absence, Change, Place, Rota, SessionHide, Trip
from trips.services.papers import rota_for_papers
from trips.services.rota import RotaNotDraft, RotaRejected, rota_follow, rota_issue, rota_retire
from trips.services.turn import ChangeOverwritten, Edit, change_undo, edit_preview, edit_save

pytestmark = pytest.mark.django_db
LATER = LONG_BEFORE + timedelta(hours=1)


@pytest.fixture
def trip() -> Trip:
    """Four people and six seats: there is always a free one."""
    return estate(people=4, seats=(2, 2, 2), sessions=2, leader_policy="never")


def a_free_move(rota: Rota) -> Edit:
    """Somebody's move to a hide with a free seat."""
    session = rota.trip.sessions.first()
    turns = list(rota.turns.filter(session=session).select_related("place", "hide"))
    for hide in rota.trip.sites.get().hides.all():
        there = [turn for turn in turns if turn.hide_id == hide.pk]
        if len(there) < 2:
            turn = next(turn for turn in turns if turn.hide_id != hide.pk)
            return Edit("move", session, turn.place, hide)
    raise AssertionError("no free seat")


def test_an_effect_is_shown_before_anything_is_written(rota: Rota) -> None:
    before = seats_of(rota)
    preview = edit_preview(rota=rota, edit=a_free_move(rota))
    assert preview.effect.is_sound
    assert preview.effect.after is not None
    assert preview.effect.after.points != preview.effect.before.points
    assert seats_of(Rota.objects.get(pk=rota.pk)) == before
    assert not Change.objects.exists()


def test_a_move_is_saved_with_who_when_why_old_and_new(rota: Rota) -> None:
    edit = a_free_move(rota)
    change = edit_save(rota=rota, edit=edit, by=rota.trip.leader, now=LATER, why="asked for it")
    assert (change.who, change.when, change.why) == (rota.trip.leader, LATER, "asked for it")
    changed = [one for one in change.new if one not in change.old]
    assert [one["place"] for one in changed] == [str(edit.place.uuid)]
    stored = stored_rota(Rota.objects.get(pk=rota.pk))
    assert check(stored.inputs.problem, stored.plan, stored.stated).is_sound
    assert stored.rota.result["changed_by_hand"]
    assert stored.rota.result["bound"] is None
    assert stored.rota.result["stages"]
    assert not any("no rota" in sentence for sentence in stored.rota.result["told"]["guarantee"])


def test_only_the_planners_own_draft_calls_turns_short() -> None:
    """Two seats in a hide that all four want: after a change by hand nothing is proved of it any more."""
    trip = estate(people=4, seats=(1, 2, 2), sessions=2, leader_policy="never")
    trip.sites.get().hides.filter(name="Alder").update(sought_after=True)
    rota = planned(trip)
    assert rota.result["told"]["guarantee"][0].startswith("In Alder there are not enough turns for everybody: ")
    edit_save(rota=rota, edit=a_move_out_of(rota, "Alder"), by=trip.leader, now=LATER, why="asked for it")
    told = Rota.objects.get(pk=rota.pk).result["told"]["guarantee"][0]
    assert told.endswith(" have no turn in Alder in this rota and come first next time.")


def a_move_out_of(rota: Rota, name: str) -> Edit:
    """Somebody's move from that hide to one with a free seat."""
    turn = rota.turns.select_related("session", "place", "hide").filter(hide__name=name).first()
    taken = rota.turns.filter(session=turn.session)
    hides = rota.trip.sites.get().hides.exclude(name=name)
    return Edit("move", turn.session, turn.place, next(h for h in hides if taken.filter(hide=h).count() < 2))


def test_a_move_that_breaks_a_rule_is_refused_and_changes_nothing(rota: Rota) -> None:
    before = seats_of(rota)
    session = rota.trip.sessions.first()
    full = next(
        hide for hide in rota.trip.sites.get().hides.all() if rota.turns.filter(session=session, hide=hide).count() == 2
    )
    other = rota.turns.filter(session=session).exclude(hide=full).first()
    with pytest.raises(RotaRejected) as refused:
        edit_save(rota=rota, edit=Edit("move", session, other.place, full), by=None, now=LATER)
    assert "too_many" in {fault.rule for fault in refused.value.faults}
    assert seats_of(rota) == before
    assert not Change.objects.exists()


def test_a_swap_and_its_undoing(rota: Rota) -> None:
    before = seats_of(rota)
    session = rota.trip.sessions.first()
    one, other = [
        rota.turns.filter(session=session, hide=hide).first().place
        for hide in {turn.hide_id: turn.hide for turn in rota.turns.filter(session=session)}.values()
    ][:2]
    change = edit_save(rota=rota, edit=Edit("swap", session, one, other=other), by=None, now=LATER)
    swapped = seats_of(Rota.objects.get(pk=rota.pk))
    assert swapped != before
    undone = change_undo(change=change, by=rota.trip.leader, now=LATER)
    assert seats_of(Rota.objects.get(pk=rota.pk)) == before
    assert undone.new == change.old
    change.refresh_from_db()
    assert change.undone_at == LATER
    with pytest.raises(ChangeOverwritten):
        change_undo(change=change, by=None, now=LATER)


def test_a_change_that_was_changed_again_is_not_undone(rota: Rota) -> None:
    first = edit_save(rota=rota, edit=a_free_move(rota), by=None, now=LATER)
    edit_save(rota=Rota.objects.get(pk=rota.pk), edit=a_free_move(rota), by=None, now=LATER)
    with pytest.raises(ChangeOverwritten):
        change_undo(change=first, by=None, now=LATER)


def test_a_stale_form_changes_nothing(rota: Rota) -> None:
    edit = a_free_move(rota)
    seen = rota.version
    edit_save(rota=rota, edit=edit, by=None, now=LATER, seen_version=seen)
    with pytest.raises(Stale):
        edit_save(rota=rota, edit=a_free_move(rota), by=None, now=LATER, seen_version=seen)
    assert Change.objects.count() == 1


def test_a_move_to_the_same_seat_is_nothing(rota: Rota) -> None:
    turn = rota.turns.select_related("session", "place", "hide", "seat").first()
    with pytest.raises(NothingToChange):
        edit_preview(rota=rota, edit=Edit("move", turn.session, turn.place, turn.hide, turn.seat))


def test_an_issued_rota_is_changed_only_in_a_draft_that_follows_it(rota: Rota) -> None:
    rota_issue(rota=rota, by=None, now=LONG_BEFORE)
    issued = Rota.objects.get(pk=rota.pk)
    before = seats_of(issued)
    with pytest.raises(RotaNotDraft):
        edit_save(rota=issued, edit=a_free_move(issued), by=None, now=LATER)
    draft = rota_follow(rota=issued, by=None, now=LATER)
    edit = a_free_move(draft)
    edit_save(rota=draft, edit=edit, by=None, now=LATER, why="twenty minutes before leaving")
    draft.refresh_from_db()
    assert draft.result["counts"]["changes"] == 1
    issue = rota_issue(rota=draft, by=None, now=LATER)
    told = {notice.place: {change["kind"] for change in notice.summary["changes"]} for notice in issue.notices.all()}
    assert "hide" in told.pop(edit.place)
    assert set().union(*told.values()) <= {"leaves_at", "car"}  # one car drops all: another stop moves the others
    assert seats_of(issued) == before


def test_what_has_begun_cannot_be_changed_by_hand(rota: Rota) -> None:
    rota_issue(rota=rota, by=None, now=LONG_BEFORE)
    issued = Rota.objects.get(pk=rota.pk)
    during = issued.trip.sessions.first().starts_at + timedelta(minutes=30)
    draft = rota_follow(rota=issued, by=None, now=during)
    with pytest.raises(RotaRejected) as refused:
        edit_save(rota=draft, edit=a_free_move(draft), by=None, now=during)
    assert "past" in {fault.rule for fault in refused.value.faults}


def test_whoever_sits_in_a_car_that_has_left_stays_there(rota: Rota) -> None:
    rota_issue(rota=rota, by=None, now=LONG_BEFORE)
    issued = Rota.objects.get(pk=rota.pk)
    a_minute_before = issued.trip.sessions.first().starts_at - timedelta(minutes=1)
    draft = rota_follow(rota=issued, by=None, now=a_minute_before)
    with pytest.raises(RotaRejected) as refused:
        edit_save(rota=draft, edit=a_free_move(draft), by=None, now=a_minute_before)
    assert "left" in {fault.rule for fault in refused.value.faults}


def close_on_people(rota: Rota) -> tuple[SessionHide, list[Place]]:
    """Close a hide in which two people sit in the first session."""
    session = rota.trip.sessions.first()
    hide = next(
        hide for hide in rota.trip.sites.get().hides.all() if rota.turns.filter(session=session, hide=hide).count() == 2
    )
    turns = rota.turns.filter(session=session, hide=hide).select_related("place")
    closed = SessionHide.objects.create(session=session, hide=hide, state="unavailable", reason="hunting")
    return closed, [turn.place for turn in turns]


def somewhere_free(rota: Rota, closed: SessionHide, place: Place) -> Edit:
    """The move of a person from the closed hide to one that has a seat left."""
    others = rota.trip.sites.get().hides.exclude(pk=closed.hide.pk)
    free = next(hide for hide in others if rota.turns.filter(session=closed.session, hide=hide).count() < 2)
    return Edit("move", closed.session, place, free)


def test_people_leave_a_hide_that_was_closed_after_the_issue_step_by_step(rota: Rota) -> None:
    rota_issue(rota=rota, by=None, now=LONG_BEFORE)
    closed, (one, other) = close_on_people(rota)
    draft = rota_follow(rota=Rota.objects.get(pk=rota.pk), by=None, now=LATER)
    told = draft.result["told"]["guarantee"]
    assert told[0].startswith("This draft breaks rules")
    assert any(f"{closed.hide.name} is not available" in sentence for sentence in told)
    third = draft.turns.filter(session=closed.session).exclude(hide=closed.hide).first().place
    with pytest.raises(RotaRejected):
        edit_save(rota=draft, edit=Edit("swap", closed.session, one, other=third), by=None, now=LATER)
    first = edit_save(rota=draft, edit=somewhere_free(draft, closed, one), by=None, now=LATER)
    with pytest.raises(RotaRejected) as refused:
        rota_issue(rota=draft, by=None, now=LATER)
    assert {fault.rule for fault in refused.value.faults} == {"closed"}
    change_undo(change=first, by=None, now=LATER)
    for place in (one, other):
        edit_save(rota=draft, edit=somewhere_free(draft, closed, place), by=None, now=LATER)
    draft.refresh_from_db()
    assert not draft.result["told"]["guarantee"][0].startswith("This draft breaks rules")
    rota_issue(rota=draft, by=None, now=LATER)


def test_a_draft_that_a_closed_hide_caught_is_mended_by_hand(rota: Rota) -> None:
    closed, (one, other) = close_on_people(rota)
    preview = edit_preview(rota=rota, edit=somewhere_free(rota, closed, one))
    assert preview.effect.is_sound
    assert {fault.rule for fault in preview.effect.left} == {"closed"}
    for place in (one, other):
        edit_save(rota=rota, edit=somewhere_free(rota, closed, place), by=None, now=LATER)
    rota_issue(rota=Rota.objects.get(pk=rota.pk), by=None, now=LATER)


def test_whoever_left_since_the_issue_has_no_turn_in_the_draft_that_follows(rota: Rota) -> None:
    rota_issue(rota=rota, by=None, now=LONG_BEFORE)
    session, place = rota.trip.sessions.first(), rota.trip.places.first()
    Absence.objects.create(place=place, session=session)
    draft = rota_follow(rota=Rota.objects.get(pk=rota.pk), by=None, now=LATER)
    assert not draft.turns.filter(session=session, place=place).exists()
    rota_issue(rota=draft, by=None, now=LATER)


def test_papers_are_never_made_of_a_draft_that_is_not_sound_yet(rota: Rota) -> None:
    assert rota_for_papers(rota.trip) == rota
    rota_issue(rota=rota, by=None, now=LONG_BEFORE)
    issued = Rota.objects.get(pk=rota.pk)
    closed, (one, other) = close_on_people(issued)
    draft = rota_follow(rota=issued, by=None, now=LATER)
    rota_retire(rota=issued)
    assert rota_for_papers(rota.trip) is None
    for place in (one, other):
        edit_save(rota=draft, edit=somewhere_free(draft, closed, place), by=None, now=LATER)
    assert rota_for_papers(rota.trip) == draft


def test_a_person_stays_through_midday_in_one_seat_that_nobody_else_gets() -> None:
    trip = estate(people=4, seats=(2, 2, 2), sessions=2, leader_policy="never")
    rota = planned(trip)
    early, late = trip.sessions.all()
    place = rota.turns.filter(session=early).first().place
    hide, seat = (lambda t: (t.hide, t.seat))(rota.turns.get(session=early, place=place))
    sitting = rota.turns.get(session=late, place=place)
    if sitting.hide != hide:
        taken = rota.turns.filter(session=late, hide=hide)
        if taken.count() == 2:
            edit_save(rota=rota, edit=Edit("swap", late, place, other=taken.first().place), by=None, now=LATER)
        else:
            edit_save(rota=rota, edit=Edit("move", late, place, hide), by=None, now=LATER)
    edit_save(rota=Rota.objects.get(pk=rota.pk), edit=Edit("stay", early, place), by=None, now=LATER)
    first = rota.turns.get(session=early, place=place)
    second = rota.turns.get(session=late, place=place)
    assert first.stays
    assert first.seat == second.seat
    stored = stored_rota(Rota.objects.get(pk=rota.pk))
    assert sum(1 for turn in stored.plan.turns if stored.inputs.people[turn.person] == place) == 2
    assert stored.rota.turns.filter(session=late, seat=first.seat).count() == 1
    assert seat is not None
    rota_issue(rota=stored.rota, by=None, now=LONG_BEFORE)
    repaired = planned(trip, repair="fewest")
    kept = repaired.turns.get(session=early, place=place)
    assert kept.stays
    assert kept.seat == repaired.turns.get(session=late, place=place).seat


def test_two_people_share_a_seat_by_hand_where_the_owner_allows_it(trip: Trip, rota: Rota) -> None:
    session = trip.sessions.first()
    full = next(
        hide for hide in trip.sites.get().hides.all() if rota.turns.filter(session=session, hide=hide).count() == 2
    )
    other = rota.turns.filter(session=session).exclude(hide=full).first()
    SessionHide.objects.create(session=session, hide=full, shares_seat=True)
    edit_save(rota=rota, edit=Edit("move", session, other.place, full), by=None, now=LATER)
    parts = rota.turns.filter(session=session, hide=full, part__gt=0).order_by("part")
    assert [turn.part for turn in parts] == [1, 2]
    assert parts[1].place == other.place
    assert parts[0].seat == parts[1].seat
