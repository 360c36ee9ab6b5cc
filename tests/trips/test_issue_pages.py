"""A rota is issued, withdrawn and compared: who is told what."""

from datetime import timedelta

import pytest
from django.db.models import F

from tests import factories
from tests.trips.issued_trips import issue
from tests.trips.rota_page_steps import a_turn, free_seat, text, turn_url, url
from tests.trips.rota_trips import estate, planned
from trips.core.rota.explain.promises import told_share
from trips.models import Rota, SessionHide
from trips.selectors.rota_compare import beside, differences

pytestmark = pytest.mark.django_db


@pytest.fixture
def trip():
    return estate(people=4, seats=(2, 2, 2), sessions=2, leader_policy="never")


def test_issue_shows_who_is_told_what_and_reveals_to_all_at_once(as_leader, trip, rota):
    page = text(as_leader.get(url("rota-issue", trip, number=rota.number)))
    assert "P1" in page
    assert "All their days." in page
    answer = as_leader.post(url("rota-issue", trip, number=rota.number), {"seen_version": rota.version})
    assert answer.status_code == 302
    rota.refresh_from_db()
    assert rota.state == "issued"
    assert rota.issue.notices.count() == 4


def test_an_issue_tells_the_leader_truly_who_is_reached_and_whom_they_must_tell(as_leader, trip, rota):
    people = [place.participant for place in trip.places.order_by("participant__name")]
    ways = [
        {"email": "p1@example.org"},
        {"email": "", "phone": "600 100 200"},
        {"email": "p3@example.org", "on_paper": True},
    ]
    for person, way in zip(people, ways, strict=False):
        type(person).objects.filter(pk=person.pk).update(**way, version=F("version") + 1)
    where = url("rota-issue", trip, number=rota.number)
    page = text(as_leader.get(where))
    answer = text(as_leader.post(where, {"seen_version": rota.version}, follow=True))
    told = text(as_leader.get(url("told-list", trip)))
    for way in ("by e-mail to p1@example.org", "no e-mail: tell them, phone 600 100 200", "reads on paper: tell them"):
        assert way in page
        assert way in told
    assert "on their page" not in page
    assert "Rota 1 is issued; 3 people are to be told by you" in answer
    assert f'href="{url("told-list", trip)}"' in answer


def test_an_issue_that_mails_everybody_leaves_nobody_to_be_told(as_leader, trip, rota):
    for place in trip.places.all():
        place.participant.email = f"p{place.pk}@example.org"
        place.participant.save()
    answer = as_leader.post(url("rota-issue", trip, number=rota.number), {"seen_version": rota.version}, follow=True)
    assert "Rota 1 is issued; everyone affected gets an e-mail." in text(answer)


def test_an_issue_that_the_checker_rejects_leaves_the_draft(as_leader, trip, rota):
    turn = a_turn(rota)
    SessionHide.objects.create(session=turn.session, hide=turn.hide, state="unavailable")
    answer = as_leader.post(url("rota-issue", trip, number=rota.number), {"seen_version": rota.version})
    assert "Not issued" in text(answer)
    assert turn.hide.name in text(answer)
    rota.refresh_from_db()
    assert rota.state == "draft"


def test_a_draft_that_breaks_a_rule_says_so_with_the_reason_before_it_is_issued(as_leader, trip, rota):
    place = trip.places.first()
    lens = place.participant.lenses.first() or factories.lens(participant=place.participant)
    first = trip.sessions.first()
    trip.gear_away.create(lens=lens, from_at=first.starts_at)
    page = text(as_leader.get(url("rota-issue", trip, number=rota.number)))
    assert "It cannot be issued yet" in page
    assert f"{place.participant.name} cannot sit in" in page
    assert "No usable lens (" in page
    assert "Issue it to everybody" not in page
    answer = as_leader.post(url("rota-issue", trip, number=rota.number), {"seen_version": rota.version})
    assert "No usable lens (" in text(answer)
    assert rota.__class__.objects.get(pk=rota.pk).state == "draft"


def test_an_issued_rota_that_is_stale_says_how_people_are_told(as_leader, trip, rota):
    as_leader.post(url("rota-issue", trip, number=rota.number), {"seen_version": rota.version})
    where = url("rota-number", trip, number=rota.number)
    says = "begins a draft with what is known now"
    assert says not in text(as_leader.get(where))
    session = trip.sessions.first()
    session.sky = "overcast"
    session.save()
    page = text(as_leader.get(where))
    assert says in page
    assert page.count("Issue it again") == 1
    answer = as_leader.post(url("rota-change", trip, number=rota.number), {"then": "issue"})
    draft = trip.rotas.get(state="draft")
    assert answer.url == url("rota-issue", trip, number=draft.number)
    assert "the sky is to be overcast" in text(as_leader.get(answer.url))


def test_an_issued_rota_is_followed_never_altered(as_leader, trip, rota):
    as_leader.post(url("rota-issue", trip, number=rota.number), {"seen_version": rota.version})
    turn = a_turn(rota)
    answer = as_leader.post(turn_url(rota, turn), {"kind": "rest", "step": "save", "seen_version": "99"})
    assert "Only a draft can be changed" in text(answer)
    as_leader.post(url("rota-change", trip, number=rota.number))
    draft = Rota.objects.get(number=2)
    assert draft.follows == rota
    assert draft.state == "draft"


def test_a_session_to_begin_with_goes_with_a_repair_alone(as_leader, trip, rota):
    as_leader.post(url("rota-issue", trip, number=rota.number), {"seen_version": rota.version})
    data = {"search_time": "normal", "seed": "0", "from_session": trip.sessions.last().pk}
    answer = as_leader.post(url("rota-make", trip), data | {"repair": ""})
    assert list(answer.context["form"].errors) == ["from_session"]
    assert "Only for repairs" in text(answer)
    assert not trip.makings.filter(state="waiting").exists()
    assert as_leader.post(url("rota-make", trip), data | {"repair": "free"}).status_code == 302


def test_withdrawing_takes_a_rota_out_of_force(as_leader, trip, rota):
    as_leader.post(url("rota-issue", trip, number=rota.number), {"seen_version": rota.version})
    rota.refresh_from_db()
    as_leader.post(url("rota-withdraw", trip, number=rota.number), {"seen_version": rota.version})
    rota.refresh_from_db()
    assert rota.state == "retired"


def test_history_compares_two_drafts(as_leader, trip, rota):
    second = planned(trip, seed=5)
    turn = a_turn(second)
    data = {"kind": "move", "seat": free_seat(second, turn).pk, "step": "save", "seen_version": second.version}
    as_leader.post(turn_url(second, turn), data)
    page = text(as_leader.get(url("rota-history", trip), {"left": 1, "right": 2}))
    assert "Rota 1 beside rota 2" in page
    assert turn.place.participant.name in page
    second.refresh_from_db()
    lines = {line.what: (line.left, line.right) for line in beside(rota, second, zone="Europe/Madrid")}
    assert lines["Draw number"] == (str(rota.seed), "5")
    assert lines["Lowest fair share"][1] == f"{told_share(second.result['worst_share']):.2f}"
    for place in trip.places.select_related("participant"):
        shares = tuple(f"{told_share(one.result['shares'][str(place.uuid)]):.2f}" for one in (rota, second))
        assert lines[f"Fair share of {place.participant.name}"] == shares
    assert all(what in page for what in lines)
    wrong = text(as_leader.get(url("rota-history", trip), {"left": 1, "right": 77}))
    assert "not one of the available choices" in wrong


def test_two_of_one_name_are_compared_each_for_themselves(trip, rota):
    one, other = (place.participant for place in trip.places.all()[:2])
    other.name = one.name
    other.save()
    second = planned(trip)
    session, hide = trip.sessions.first(), factories.hide(site=trip.sites.get(), name="Elder", seats=2)
    turns = second.turns.filter(session=session, place__participant__name=one.name)
    for turn, seat in zip(turns, hide.seats.all(), strict=True):
        turn.hide, turn.seat = hide, seat
        turn.save()
    found = [line for line in differences(rota, second) if line.right.startswith("Elder")]
    assert [line.person for line in found] == [one.name] * 2
    assert sorted(line.right for line in found) == sorted(f"Elder, {seat.name}" for seat in hide.seats.all())


def test_sessions_of_one_name_are_compared_in_their_order_with_their_days(trip, rota):
    first, last = trip.sessions.all()
    last.starts_at, last.ends_at = (moment + timedelta(days=1) for moment in (last.starts_at, last.ends_at))
    for session in (first, last):
        session.name = "Sit"
        session.save()
    second = planned(trip)
    second.turns.all().delete()
    found = [(line.session, line.person) for line in differences(rota, second)]
    assert found == [(day, f"P{n}") for day in ("Sat 8 May, Sit", "Sun 9 May, Sit") for n in range(1, 5)]


def test_the_leaders_own_move_is_on_the_issue_page_and_in_the_told_list(as_leader, trip, rota):
    session, seat = a_turn(rota).session, free_seat(rota, a_turn(rota))
    factories.turn(rota=rota, session=session, leader=trip.leader, place=None, hide=seat.hide, seat=seat)
    name = trip.leader.get_username()
    page = text(as_leader.get(url("rota-issue", trip, number=rota.number)))
    assert name in page.split("Who is told what")[1].split("</table>")[0]
    own = issue(rota).notices.get(place=None)
    assert (own.leader, own.summary["first"]) == (trip.leader, True)
    assert f"<h3>{name}</h3>" in text(as_leader.get(url("told-list", trip)))
    ticked = {"tick": "confirmed"}
    assert as_leader.post(url("told-tick", trip, notice_uuid=own.uuid), ticked).status_code == 302
    own.refresh_from_db()
    assert own.confirmed_at is not None
