"""The rota's pages: made, explained, changed by hand, issued, compared; as the leader, a stranger, and nobody."""

import re
from datetime import timedelta

import pytest
from django.db.models import F
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone

from tests import factories
from tests.trips.rota_trips import estate, planned
from trips.models import Change, Hide, Making, Pairing, Pin, Rota, SessionHide
from trips.selectors.making import LOOK_EVERY_S, last_making, making_panel
from trips.selectors.rota_compare import beside, differences
from trips.selectors.rota_page import rota_page
from trips.services.making_run import making_run
from trips.services.person import pairing_remove

pytestmark = pytest.mark.django_db


@pytest.fixture
def trip():
    return estate(people=4, seats=(2, 2, 2), sessions=2, leader_policy="never")


@pytest.fixture
def rota(trip):
    return planned(trip)


@pytest.fixture
def as_leader(client, trip):
    client.force_login(trip.leader)
    return client


def url(name, trip, **more):
    return reverse(f"trips:{name}", kwargs={"trip_uuid": trip.uuid, **more})


def text(answer):
    return answer.content.decode()


def turn_url(rota, turn, name="turn-edit"):
    return url(name, rota.trip, number=rota.number, session_uuid=turn.session.uuid, who=str(turn.place.uuid))


def a_turn(rota):
    return (
        rota.turns.filter(place__isnull=False).select_related("session", "place__participant", "hide", "seat").first()
    )


def free_seat(rota, turn):
    taken = rota.turns.filter(session=turn.session).values_list("seat_id", flat=True)
    hides = Hide.objects.filter(site=turn.session.site)
    return next(seat for hide in hides for seat in hide.seats.all() if seat.pk not in taken and hide != turn.hide)


def test_rota_show_without_a_rota_says_the_next_step(as_leader, trip):
    page = text(as_leader.get(url("rota-show", trip)))
    assert "No rota yet" in page
    assert url("rota-make", trip) in page


@pytest.mark.parametrize("asked", ["2027-02-30", "2027-13-45", "9999-12-31", "x", "\x00"])
def test_rota_show_opens_at_its_own_day_where_none_such_is_asked_for(as_leader, rota, asked):
    answer = as_leader.get(url("rota-show", rota.trip), {"day": asked})
    assert answer.context["day"] == as_leader.get(url("rota-show", rota.trip)).context["day"]


def test_rota_show_has_people_in_named_seats_light_counts_and_the_guarantee(as_leader, trip, rota):
    page = text(as_leader.get(url("rota-show", trip)))
    turn = a_turn(rota)
    assert turn.place.participant.name in page
    assert turn.seat.name in page
    assert "front light" in page
    assert "drawing-small" in page
    assert "of their own best" in page
    assert "How it is shared out" in page


def test_every_hide_that_is_not_closed_has_its_light_also_where_nobody_sits(client):
    trip = estate(people=2, seats=(2, 2, 2), sessions=2, leader_policy="never")
    client.force_login(trip.leader)
    rota = planned(trip)
    first, last = trip.sessions.all()
    taken = {session: rota.turns.filter(session=session).values("hide") for session in (first, last)}
    free = {session: Hide.objects.exclude(pk__in=hides).first() for session, hides in taken.items()}
    SessionHide.objects.create(session=first, hide=free[first], state="unavailable", reason="let")
    SessionHide.objects.create(session=last, hide=free[last], state="notice", notice_h=2)
    shown = {
        (line.session, cell.hide_name): cell.light
        for day in rota_page(rota).days
        for line in day.sessions
        for cell in line.cells
    }
    assert shown.pop((str(first.uuid), free[first].name)) == {}
    assert len(shown) == 5
    assert all({"light", "drawing", "cautions"} <= light.keys() for light in shown.values())
    page = text(client.get(url("rota-number", trip, number=rota.number)))
    assert page.count('class="rota-light"') == page.count("drawing-small") == 5


def test_a_name_may_be_dropped_on_every_free_seat_and_hide_that_takes_people(as_leader, trip, rota):
    first, _ = trip.sessions.all()
    shut, asked = trip.sites.get().hides.all()[:2]
    SessionHide.objects.create(session=first, hide=shut, state="unavailable", reason="let")
    SessionHide.objects.create(session=first, hide=asked, state="notice", notice_h=2)
    where = url("rota-number", trip, number=rota.number)
    page = text(as_leader.get(where))
    hides = set(re.findall(rf'data-drop-hide="([^"]+)" data-drop-session="{first.uuid}"', page))
    assert hides == {str(hide.uuid) for hide in trip.sites.get().hides.exclude(pk=shut.pk)}
    taken = set(rota.turns.values_list("session", "seat"))
    seats = [seat for hide in trip.sites.get().hides.all() for seat in hide.seats.all()]
    free = [
        str(seat.uuid)
        for session in trip.sessions.all()
        for seat in seats
        if (session.pk, seat.pk) not in taken and not (session == first and seat.hide == shut)
    ]
    assert sorted(re.findall('data-drop-seat="([^"]+)"', page)) == sorted(free)
    Rota.objects.filter(pk=rota.pk).update(state="issued", version=F("version") + 1)
    assert "data-drop" not in text(as_leader.get(where))


def test_whom_each_has_sat_with_is_told_by_person_not_by_name(trip, rota):
    one, other = (place.participant for place in trip.places.all()[:2])
    other.name = one.name
    other.save()
    shown = {line.place: line.company for line in rota_page(rota).counts.lines}
    for place in trip.places.all():
        met = set()
        for turn in rota.turns.filter(place=place):
            beside = rota.turns.filter(session=turn.session, hide=turn.hide, place__isnull=False).exclude(place=place)
            met |= {row.place for row in beside}
        assert shown[str(place.uuid)] == tuple(sorted(row.participant.name for row in met))


def test_rota_show_costs_the_same_queries_however_large(as_leader, trip, rota, django_assert_num_queries):
    where = url("rota-number", trip, number=rota.number)
    as_leader.get(where)
    with django_assert_num_queries(15):
        as_leader.get(where)
    for _ in range(5):
        factories.hide(site=trip.sites.get())
        factories.place(trip=trip)
        factories.session(trip=trip)
    with django_assert_num_queries(15):
        as_leader.get(where)


def test_a_rota_made_on_old_data_says_so(as_leader, trip, rota):
    where = url("rota-number", trip, number=rota.number)
    assert "Made before the change of" not in text(as_leader.get(where))
    trip.sites.get().hides.first().save()
    assert "Made before the change of" in text(as_leader.get(where))


def test_a_site_or_an_animal_that_changed_makes_a_rota_old(as_leader, trip, rota):
    where = url("rota-number", trip, number=rota.number)
    site, hide = trip.sites.get(), trip.sites.get().hides.first()
    chance = factories.hide_subject(hide=hide)
    Rota.objects.filter(pk=rota.pk).update(made_at=timezone.now())
    assert "Made before the change of" not in text(as_leader.get(where))
    chance.subject.save()
    assert "Made before the change of" in text(as_leader.get(where))
    Rota.objects.filter(pk=rota.pk).update(made_at=timezone.now())
    site.save()
    assert "Made before the change of" in text(as_leader.get(where))


def test_a_rota_says_that_what_it_was_made_from_was_taken_away(as_leader, trip):
    first, second = trip.places.all()[:2]
    together = Pairing.objects.create(trip=trip, first=first, second=second, kind="together")
    rota = planned(trip)
    pages = [url(name, trip, number=rota.number) for name in ("rota-number", "rota-issue")]
    assert not any("Made before the change of" in text(as_leader.get(page)) for page in pages)
    pairing_remove(pairing=together)
    assert all("Made before the change of" in text(as_leader.get(page)) for page in pages)
    assert as_leader.post(pages[1], {"seen_version": rota.version}).status_code == 302  # the check accepts it


def test_rota_make_starts_one_run_for_two_presses(as_leader, trip):
    data = {"effort": "10", "seed": "3"}
    assert as_leader.post(url("rota-make", trip), data).status_code == 302
    assert as_leader.post(url("rota-make", trip), data).status_code == 302
    assert Making.objects.count() == 1
    assert Making.objects.get().seed == 3


def test_a_trip_without_people_or_sessions_makes_no_empty_rota(client):
    trip = factories.trip()
    client.force_login(trip.leader)
    factories.place(trip=trip)
    for _ in range(2):
        page = text(client.post(url("rota-make", trip), {"effort": "10", "seed": "0"}))
        assert "the trip&#x27;s page says what is needed" in page
        trip.places.all().delete()
        factories.session(trip=trip)
    assert not Making.objects.exists()


def test_a_wrong_seed_comes_back_with_a_sentence(as_leader, trip):
    answer = as_leader.post(url("rota-make", trip), {"effort": "10", "seed": "-4"})
    assert answer.status_code == 200
    assert "greater than or equal to 0" in text(answer)
    assert not Making.objects.exists()


def looked(trip, since, seconds):
    """What the panel of an open page says so long after `since`."""
    panel = making_panel(last_making(trip), since + timedelta(seconds=seconds))
    return render_to_string("trips/_making_panel.html", {"panel": panel, "trip": trip})


def test_a_run_that_nobody_takes_up_says_how_to_start_a_worker_within_ten_seconds(trip):
    made = Making.objects.create(trip=trip, started_at=timezone.now())
    assert "No worker has taken it up." not in looked(trip, made.started_at, 4)
    told = looked(trip, made.started_at, 10 - LOOK_EVERY_S)  # the last look of a page within ten seconds
    assert "No worker has taken it up." in told
    assert "db_worker" in told


def test_a_run_whose_worker_was_killed_says_so_within_ten_seconds_and_how_to_start_one(trip):
    begun = timezone.now()
    beat = begun + timedelta(minutes=5)
    Making.objects.create(trip=trip, state="running", started_at=begun, heartbeat_at=beat)
    assert "No sign of life" not in looked(trip, beat, 4)
    told = looked(trip, beat, 10 - LOOK_EVERY_S)
    assert f"No sign of life for {10 - LOOK_EVERY_S} s." in told
    assert "db_worker" in told


def test_an_open_page_looks_as_often_as_is_said(as_leader, trip):
    Making.objects.create(trip=trip, started_at=timezone.now())
    assert f'hx-trigger="every {LOOK_EVERY_S}s"' in text(as_leader.get(url("rota-making", trip)))


def test_a_run_shows_stage_best_and_distance_from_proof(as_leader, trip):
    now = timezone.now()
    Making.objects.create(
        trip=trip, state="running", started_at=now, heartbeat_at=now, stage="worst_share", best=0.8, bound=0.82
    )
    part = text(as_leader.get(url("rota-making", trip), HTTP_HX_REQUEST="true"))
    assert "The worst share as high as possible" in part
    assert "at least 0.80 of their own best" in part
    assert "2.4 % from proof" in part
    assert "<html" not in part


def test_a_worker_without_a_sign_of_life_is_not_finished_and_never_impossible(as_leader, trip):
    silent = timezone.now() - timedelta(minutes=5)
    Making.objects.create(trip=trip, state="running", started_at=silent, heartbeat_at=silent)
    page = text(as_leader.get(url("rota-making", trip)))
    assert "Not finished" in page
    assert "db_worker" in page
    assert "says nothing about whether a rota exists" in page
    assert "No rota keeps" not in page


def test_a_finished_run_leads_htmx_to_its_rota(as_leader, trip, rota):
    answer = as_leader.get(url("rota-making", trip), HTTP_HX_REQUEST="true")
    assert answer["HX-Redirect"] == url("rota-number", trip, number=rota.number)


def test_stop_asks_the_run_to_stop(as_leader, trip):
    now = timezone.now()
    making = Making.objects.create(trip=trip, state="running", started_at=now, heartbeat_at=now)
    as_leader.post(url("rota-stop", trip, making_uuid=making.uuid))
    making.refresh_from_db()
    assert making.cancel


@pytest.mark.parametrize(
    ("state", "said"),
    [
        ("waiting", "The run is stopped; it had not begun, so there is no plan."),
        ("running", "told to stop; its best plan so far, if it has one, is kept as a draft."),
        ("finished", "The run had ended already."),
    ],
)
def test_stop_claims_no_plan_that_may_not_exist(as_leader, trip, state, said):
    now = timezone.now()
    begun = None if state == "waiting" else now
    making = Making.objects.create(trip=trip, state=state, started_at=now, heartbeat_at=begun)
    assert said in text(as_leader.post(url("rota-stop", trip, making_uuid=making.uuid), follow=True))


def test_the_button_offers_to_keep_a_plan_only_where_there_is_one(as_leader, trip):
    now = timezone.now()
    making = Making.objects.create(trip=trip, state="running", started_at=now, heartbeat_at=now)
    assert "Stop and keep the best" not in text(as_leader.get(url("rota-making", trip)))
    Making.objects.filter(pk=making.pk).update(best=0.8, version=F("version") + 1)
    assert "Stop and keep the best" in text(as_leader.get(url("rota-making", trip)))


@pytest.fixture
def crowded():
    """Seven seats for eight people."""
    return estate(people=8, seats=(2, 2, 2, 1), sessions=1)


def explained(trip):
    making = Making.objects.create(trip=trip, started_at=timezone.now(), effort=1)
    return making_run(making_uuid=making.uuid)


def test_too_many_people_are_counted_and_every_remedy_is_a_button(client, crowded):
    client.force_login(crowded.leader)
    making = explained(crowded)
    assert making.state == "impossible"
    page = text(client.get(url("rota-making", crowded)))
    assert "8 people, 7 seats, 1 short" in page
    changes = [remedy["change"] for remedy in making.explanation["remedies"]]
    assert {"rest", "share_seat", "add_seat"} <= set(changes)
    assert page.count("/remedy/") == len(changes)
    assert page.count("What would help") == 1  # the heading above the buttons, not a sentence beside it


@pytest.mark.parametrize("change", ["rest", "share_seat", "add_seat"])
def test_taking_a_remedy_makes_a_rota_possible(client, crowded, change):
    client.force_login(crowded.leader)
    making = explained(crowded)
    number = [remedy["change"] for remedy in making.explanation["remedies"]].index(change)
    answer = client.post(url("remedy-take", crowded, making_uuid=making.uuid, number=number))
    assert answer.status_code == 302
    again = making_run(making_uuid=Making.objects.get(state="waiting").uuid)
    assert again.state == "finished"


@pytest.mark.parametrize("number", [0, 99])
def test_a_remedy_that_is_gone_is_explained_and_changes_nothing(as_leader, trip, number):
    made = Making.objects.create(trip=trip, started_at=timezone.now(), state="impossible", ended_at=timezone.now())
    answer = as_leader.post(url("remedy-take", trip, making_uuid=made.uuid, number=number), follow=True)
    assert "Things have changed since this was offered" in text(answer)
    assert Making.objects.count() == 1


def refused_repair(trip, **found):
    """A run that ended without a rota, with one remedy: somebody may rest in the first session."""
    session = trip.sessions.first()
    rest = {"change": "rest", "sessions": [str(session.uuid)], "figures": {"people": 1}, "phrase": "Somebody rests."}
    now = timezone.now()
    ended = {"state": "impossible", "started_at": now, "ended_at": now} | found
    return Making.objects.create(trip=trip, effort=1, explanation={"remedies": [rest]}, **ended)


def test_a_remedy_is_carried_out_with_its_new_run_or_not_at_all(as_leader, trip):
    made = refused_repair(trip, repair="fewest")  # of a rota that was taken out of force since
    answer = as_leader.post(url("remedy-take", trip, making_uuid=made.uuid, number=0), follow=True)
    assert "A repair begins from an issued rota" in text(answer)
    assert trip.sessions.first().rests_allowed == 0
    assert last_making(trip) == made


def test_two_presses_take_a_remedy_once(as_leader, trip):
    made = refused_repair(trip)
    for _ in range(2):
        answer = as_leader.post(url("remedy-take", trip, making_uuid=made.uuid, number=0), follow=True)
    assert "Things have changed since this was offered" in text(answer)
    assert trip.sessions.first().rests_allowed == 1
    assert trip.makings.count() == 2


@pytest.mark.parametrize("state", ["finished", "stopped", "failed"])
def test_a_remedy_is_of_a_run_that_found_no_rota(as_leader, trip, state):
    made = refused_repair(trip, state=state)
    as_leader.post(url("remedy-take", trip, making_uuid=made.uuid, number=0))
    assert trip.sessions.first().rests_allowed == 0


def test_remedies_for_pairs_pins_minimum_and_closed_hides(client):
    trip = estate(people=2, seats=(1, 1), sessions=1, leader_policy="never")
    client.force_login(trip.leader)
    first, second = trip.places.all()
    Pairing.objects.create(trip=trip, first=first, second=second, kind="together")
    making = explained(trip)
    changes = [remedy["change"] for remedy in making.explanation["remedies"]]
    assert "let_sit_apart" in changes
    client.post(url("remedy-take", trip, making_uuid=making.uuid, number=changes.index("let_sit_apart")))
    assert not Pairing.objects.exists()


def test_a_move_shows_its_effect_before_it_is_confirmed(as_leader, trip, rota):
    turn = a_turn(rota)
    seat = free_seat(rota, turn)
    data = {"kind": "move", "seat": seat.pk, "why": "likes \u202eit there", "seen_version": rota.version}
    page = text(as_leader.post(turn_url(rota, turn), data | {"step": "show"}))
    assert "What this would do" in page
    assert f"{turn.place.participant.name} sits in {seat.hide.name}, {seat.name}" in page
    assert not Change.objects.exists()
    answer = as_leader.post(turn_url(rota, turn), data | {"step": "save"})
    assert answer.status_code == 302
    change = Change.objects.get()
    assert (change.who, change.why) == (trip.leader, "likes it there")
    assert rota.turns.get(session=turn.session, place=turn.place).seat == seat


def test_a_move_that_breaks_a_rule_names_it_and_is_not_saved(as_leader, trip, rota):
    turn = a_turn(rota)
    seat = free_seat(rota, turn)
    SessionHide.objects.create(session=turn.session, hide=seat.hide, state="unavailable", reason="let")
    data = {"kind": "move", "seat": seat.pk, "step": "show"}
    page = text(as_leader.post(turn_url(rota, turn), data))
    assert "not possible" in page
    assert seat.hide.name in page
    answer = as_leader.post(turn_url(rota, turn), data | {"step": "save", "seen_version": rota.version})
    assert answer.status_code == 200
    assert "The rules stand against it." in text(answer)
    assert not Change.objects.exists()


def test_dropping_a_name_leads_to_the_same_form(as_leader, trip, rota):
    turn = a_turn(rota)
    seat = free_seat(rota, turn)
    page = text(as_leader.get(turn_url(rota, turn), {"hide": str(seat.hide.uuid)}))
    assert "What this would do" in page
    page = text(as_leader.get(turn_url(rota, turn), {"seat": str(seat.uuid)}))
    assert f"{turn.place.participant.name} sits in {seat.hide.name}, {seat.name}" in page
    other = rota.turns.filter(session=turn.session).exclude(place=turn.place).exclude(hide=turn.hide).first()
    page = text(as_leader.get(turn_url(rota, turn), {"person": str(other.place.uuid)}))
    assert f"{other.place.participant.name} sits in {turn.hide.name}" in page


@pytest.mark.parametrize("asked", [{"hide": "nonsense"}, {"person": "nonsense"}, {"hide": ""}, {"seat": "x"}])
def test_a_drop_on_nothing_is_explained(as_leader, trip, rota, asked):
    answer = as_leader.get(turn_url(rota, a_turn(rota)), asked)
    assert answer.status_code == 200
    assert "error-summary" in text(answer)


def test_a_stale_change_is_told_so(as_leader, trip, rota):
    turn = a_turn(rota)
    data = {"kind": "move", "seat": free_seat(rota, turn).pk, "step": "save", "seen_version": rota.version}
    as_leader.post(turn_url(rota, turn), data)
    back = data | {"seat": turn.seat.pk}
    assert "changed since you opened it" in text(as_leader.post(turn_url(rota, turn), back))


def test_a_change_is_undone(as_leader, trip, rota):
    turn = a_turn(rota)
    seat = free_seat(rota, turn)
    data = {"kind": "move", "seat": seat.pk, "step": "save", "seen_version": rota.version}
    as_leader.post(turn_url(rota, turn), data)
    change = Change.objects.get()
    assert "Undo this change" in text(as_leader.get(url("rota-number", trip, number=rota.number)))
    as_leader.post(url("turn-undo", trip, number=rota.number, change_uuid=change.uuid))
    assert rota.turns.get(session=turn.session, place=turn.place).seat == turn.seat


def test_two_changes_are_undone_one_after_the_other(as_leader, trip, rota):
    before = set(rota.turns.values_list("session", "place", "seat"))
    for turn in rota.turns.filter(session=trip.sessions.first(), place__isnull=False)[:2]:
        rota.refresh_from_db()
        data = {"kind": "rest", "step": "save", "seen_version": rota.version}
        type(turn.session).objects.update(rests_allowed=2, version=F("version") + 1)
        assert as_leader.post(turn_url(rota, turn), data).status_code == 302
    for change in rota.changes.order_by("-when", "-pk"):
        page = text(as_leader.get(url("rota-number", trip, number=rota.number)))
        assert page.count("Undo this change") == 1
        undo = url("turn-undo", trip, number=rota.number, change_uuid=change.uuid)
        assert f'action="{undo}"' in page
        as_leader.post(undo)
    assert set(rota.turns.values_list("session", "place", "seat")) == before
    assert "Undo this change" not in text(as_leader.get(url("rota-number", trip, number=rota.number)))


def test_a_turn_is_pinned_and_let_go(as_leader, trip, rota):
    turn = a_turn(rota)
    why = turn_url(rota, turn, "turn-why")
    assert "Pin it for all later plans" in text(as_leader.get(why))
    as_leader.post(turn_url(rota, turn, "turn-pin"))
    assert Pin.objects.get().hide == turn.hide
    assert "Take the pin off" in text(as_leader.get(why))
    as_leader.post(turn_url(rota, turn, "turn-pin"), {"pin": "off"})
    assert not Pin.objects.exists()


def test_why_here_tells_light_reach_wish_and_points(as_leader, trip, rota):
    page = text(as_leader.get(turn_url(rota, a_turn(rota), "turn-why")))
    assert "drawing-small" in page
    for part in ("Light:", "Reach:", "Wish:", "points of 100"):
        assert part in page


@pytest.mark.parametrize(
    ("policy", "why"),
    [("spare_seats", "takes a seat that is left"), ("coaching", "sits beside people in turn"), ("never", "no seat")],
)
def test_why_here_tells_of_the_leader_by_the_trips_rule(as_leader, trip, policy, why):
    type(trip.rules).objects.filter(trip=trip).update(leader_policy="spare_seats", version=F("version") + 1)
    rota = planned(trip)
    turn = rota.turns.filter(place__isnull=True).select_related("session", "hide").first()
    type(trip.rules).objects.filter(trip=trip).update(leader_policy=policy, version=F("version") + 1)
    where = url("turn-why", trip, number=rota.number, session_uuid=turn.session.uuid, who="leader")
    page = text(as_leader.get(where))
    assert why in page
    assert turn.hide.name in page
    Rota.objects.filter(pk=rota.pk).update(state="issued", version=F("version") + 1)
    assert f'href="{where}"' in text(as_leader.get(url("rota-number", trip, number=rota.number)))


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
    assert "Rota 1 is issued; everybody whom it changes something for is told by e-mail." in text(answer)


def test_an_issue_that_the_checker_rejects_leaves_the_draft(as_leader, trip, rota):
    turn = a_turn(rota)
    SessionHide.objects.create(session=turn.session, hide=turn.hide, state="unavailable")
    answer = as_leader.post(url("rota-issue", trip, number=rota.number), {"seen_version": rota.version})
    assert "Not issued" in text(answer)
    assert turn.hide.name in text(answer)
    rota.refresh_from_db()
    assert rota.state == "draft"


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
    data = {"effort": "10", "seed": "0", "from_session": trip.sessions.last().pk}
    answer = as_leader.post(url("rota-make", trip), data | {"repair": ""})
    assert list(answer.context["form"].errors) == ["from_session"]
    assert "This goes with a repair" in text(answer)
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
    assert lines["Seed"] == (str(rota.seed), "5")
    assert lines["Worst share"][1] == f"{second.result['worst_share']:.3f}"
    for place in trip.places.select_related("participant"):
        shares = tuple(f"{one.result['shares'][str(place.uuid)]:.2f}" for one in (rota, second))
        assert lines[f"Share of {place.participant.name}"] == shares
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


def test_a_turn_offers_to_begin_a_stay_or_to_end_it_but_not_both(as_leader, rota):
    turn = a_turn(rota)
    page = text(as_leader.get(turn_url(rota, turn)))
    assert ("Stay in the hide" in page, "No longer stay" in page) == (True, False)
    rota.turns.filter(pk=turn.pk).update(stays=True, version=F("version") + 1)
    page = text(as_leader.get(turn_url(rota, turn)))
    assert ("Stay in the hide" in page, "No longer stay" in page) == (False, True)


def test_a_turn_of_nobody_is_a_404(as_leader, trip, rota):
    turn = a_turn(rota)
    kwargs = {"number": rota.number, "session_uuid": turn.session.uuid, "who": "not-a-uuid"}
    assert as_leader.get(url("turn-edit", trip, **kwargs)).status_code == 404
    assert as_leader.get(url("rota-number", trip, number=99)).status_code == 404


@pytest.mark.parametrize("name", ["rota-show", "rota-make", "rota-making", "rota-history"])
def test_another_leader_gets_404(client, trip, name):
    client.force_login(factories.leader())
    assert client.get(url(name, trip)).status_code == 404


def test_apart_is_nowhere_on_what_the_page_tells_everybody(as_leader, trip):
    first, second = trip.places.all()[:2]
    Pairing.objects.create(trip=trip, first=first, second=second, kind="apart")
    rota = planned(trip)
    told = [sentence for sentences in rota.result["told"].values() for sentence in sentences]
    told += [sentence for sentences in rota.result["why"].values() for sentence in sentences]
    told += [reason for turn in rota.turns.all() for reason in turn.reasons]
    assert not any("apart" in sentence for sentence in told)
