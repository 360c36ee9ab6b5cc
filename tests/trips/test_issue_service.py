"""Issues: what they reveal, what they never alter, and what is refused."""

from datetime import timedelta

import pytest
from django.contrib import admin
from django.db.models import ProtectedError
from django.test import RequestFactory

from participants.versions import Stale
from tests.trips.rota_trips import LONG_BEFORE, estate, planned, seats_of
from trips.assemble.rota import rota_inputs
from trips.assemble.rota_result import stored_rota
from trips.assemble.trip import trip_values
from trips.documents.wording.rota_refusals import rota_refusal
from trips.models import Absence, Issue, Notice, Place, Rota
from trips.services.rota import RotaNotDraft, RotaNotIssued, RotaRejected, rota_follow, rota_issue, rota_retire
from trips.services.session import SessionsOverlap
from trips.services.turn import Edit, edit_save

pytestmark = pytest.mark.django_db


def test_an_issue_reveals_the_rota_to_all_and_retires_the_one_before() -> None:
    trip = estate()
    first, second = planned(trip, seed=1), planned(trip, seed=2)
    issue = rota_issue(rota=first, by=trip.leader, now=LONG_BEFORE)
    assert set(issue.notices.values_list("mail", flat=True)) == {""}  # nobody has an address
    assert set(issue.pages["people"]) == {str(place.uuid) for place in trip.places.all()}
    assert Notice.objects.filter(issue=issue, place__isnull=False).count() == 4
    rota_issue(rota=second, by=trip.leader, now=LONG_BEFORE + timedelta(days=1))
    assert [rota.state for rota in trip.rotas.order_by("number")] == ["retired", "issued"]
    moved = {name for (name, _), hide in seats_of(second).items() if name} - {
        name for name in ("P1", "P2", "P3", "P4") if _same_days(first, second, name)
    }
    told = Notice.objects.filter(issue__rota=second).values_list("place__participant__name", flat=True)
    assert moved <= set(told)


def _same_days(first: Rota, second: Rota, name: str) -> bool:
    one, other = seats_of(first), seats_of(second)
    return all(one[key] == other[key] for key in one if key[0] == name)


def test_an_issued_rota_is_never_altered_only_followed() -> None:
    trip = estate()
    rota = planned(trip)
    rota_issue(rota=rota, by=trip.leader, now=LONG_BEFORE)
    rota.refresh_from_db()
    with pytest.raises(RotaNotDraft):
        rota_issue(rota=rota, by=trip.leader, now=LONG_BEFORE)
    draft = rota_follow(rota=rota, by=trip.leader, now=LONG_BEFORE)
    assert (draft.state, draft.number, draft.follows) == ("draft", 2, rota)
    assert seats_of(draft) == seats_of(rota)
    assert draft.result["counts"]["changes"] == 0
    with pytest.raises(RotaNotIssued):
        rota_follow(rota=draft, by=trip.leader, now=LONG_BEFORE)


def test_a_draft_that_no_longer_keeps_the_rules_is_not_issued() -> None:
    trip = estate()
    rota = planned(trip)
    absent = trip.places.first()
    Absence.objects.create(place=absent, session=trip.sessions.first())
    with pytest.raises(RotaRejected) as refused:
        rota_issue(rota=rota, by=trip.leader, now=LONG_BEFORE)
    assert "absent" in {fault.rule for fault in refused.value.faults}
    assert not Issue.objects.exists()
    assert Rota.objects.get().state == "draft"


def test_nobody_is_issued_a_seat_in_two_sessions_at_once() -> None:
    trip = estate()
    early, late = trip.sessions.all()[:2]
    late.starts_at = early.ends_at - timedelta(minutes=1)
    late.save()
    rota = planned(trip)
    with pytest.raises(SessionsOverlap) as refused:
        rota_issue(rota=rota, by=trip.leader, now=LONG_BEFORE)
    assert "P1, P2, P3, P4 would sit in both" in rota_refusal(refused.value)
    assert not Issue.objects.exists()
    for turn in rota.turns.filter(session=late, place__isnull=False):
        Absence.objects.create(place=turn.place, session=late)
    rota.turns.filter(session=late).delete()
    rota_issue(rota=rota, by=trip.leader, now=LONG_BEFORE)


def test_an_issue_does_not_change_what_has_begun() -> None:
    trip = estate()
    rota_issue(rota=planned(trip, seed=1), by=trip.leader, now=LONG_BEFORE)
    other = planned(trip, seed=2)
    one, two = _in_different_hides(other)
    swap = Edit("swap", trip.sessions.first(), one, other=two)
    if _same_first(other, trip.rotas.first()):
        edit_save(rota=other, edit=swap, by=trip.leader, now=LONG_BEFORE)
        other.refresh_from_db()
    during = trip.sessions.all()[0].starts_at + timedelta(hours=1)
    with pytest.raises(RotaRejected) as refused:
        rota_issue(rota=other, by=trip.leader, now=during)
    assert {fault.rule for fault in refused.value.faults} == {"past"}
    rota_issue(rota=other, by=trip.leader, now=LONG_BEFORE)


def _in_different_hides(rota: Rota) -> tuple[Place, Place]:
    """Two people who sit in different hides in the first session."""
    turns = list(rota.turns.filter(session=rota.trip.sessions.first(), place__isnull=False).select_related("place"))
    return next((one.place, two.place) for one in turns for two in turns if one.hide_id != two.hide_id)


def _same_first(one: Rota, other: Rota) -> bool:
    def first(rota: Rota) -> dict[object, object]:
        session = rota.trip.sessions.first()
        return {turn.place_id: turn.seat_id for turn in rota.turns.filter(session=session)}

    return first(one) == first(other)


def test_a_stale_press_does_not_issue() -> None:
    rota = planned(estate())
    with pytest.raises(Stale):
        rota_issue(rota=rota, by=None, now=LONG_BEFORE, seen_version=rota.version + 5)


def test_an_issued_rota_can_be_retired_and_a_draft_cannot() -> None:
    trip = estate()
    rota = planned(trip)
    with pytest.raises(RotaNotIssued):
        rota_retire(rota=rota)
    rota_issue(rota=rota, by=trip.leader, now=LONG_BEFORE)
    rota.refresh_from_db()
    assert rota_retire(rota=rota).state == "retired"


def test_rotas_cannot_be_deleted_by_anybody(rf: RequestFactory, admin_user: object) -> None:
    trip = estate()
    rota = planned(trip)
    request = rf.get("/")
    request.user = admin_user
    assert not admin.site._registry[Rota].has_delete_permission(request, rota)
    with pytest.raises(ProtectedError):
        trip.delete()


def test_an_issue_leaves_the_rota_current_though_it_says_who_is_owed_a_turn() -> None:
    """Who goes without in the rota itself, or in one issued later, was not known when it was made."""
    trip = estate(people=4, seats=(1, 2, 2), sessions=2, leader_policy="never")
    trip.sites.get().hides.filter(name="Alder").update(sought_after=True)
    first = planned(trip)
    rota_issue(rota=first, by=trip.leader, now=LONG_BEFORE)
    first.refresh_from_db()
    assert first.result["counts"]["without_turn"] == 2
    assert stored_rota(first).is_current
    second = planned(trip, seed=1)
    owed = stored_rota(second).inputs.problem.owed
    assert len(owed) == 2
    rota_issue(rota=second, by=trip.leader, now=LONG_BEFORE + timedelta(hours=1))
    for rota, before in ((first, frozenset()), (second, owed)):
        rota.refresh_from_db()
        stored = stored_rota(rota)
        assert stored.inputs.problem.owed == before
        assert stored.is_current
    assert rota_inputs(trip_values(trip)).problem.owed != owed
