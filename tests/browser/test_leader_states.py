"""Every page of the leader in every state (empty, filled, refused, draft, issued, making, impossible), light and dark,
wide and on a phone: no rule of accessibility is broken and nothing is wider than its window."""

from base64 import b32decode
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone
from django_otp.oath import totp
from playwright.sync_api import Page

from tests import factories
from tests.browser.leader_checks import troubles_of
from trips.assemble.rota import rota_inputs
from trips.assemble.rota_result import Made
from trips.assemble.trip import trip_values
from trips.core.rota.problem.values import Plan, Turn
from trips.models import Change, Making, Pairing, Rota, SessionHide, Trip
from trips.services.making_run import making_run
from trips.services.rota import rota_issue, rota_save

pytestmark = pytest.mark.django_db(transaction=True)
MADE_AT = factories.FIRST_START - timedelta(days=30)


def url(name: str, trip: Trip, **more) -> str:
    return reverse(f"trips:{name}", kwargs={"trip_uuid": trip.uuid, **more})


def draft_of(trip: Trip) -> Rota:
    """A draft stored as the planner's are, without planning: people move on by one hide a session."""
    inputs = rota_inputs(trip_values(trip))
    problem = inputs.problem
    turns = [
        Turn(person, session, (person // 2 + session) % len(problem.hides), person % 2)
        for session in range(len(problem.sessions))
        for person in range(len(problem.people))
    ]
    stages = ({"name": "worst_share", "value": 0.8, "bound": 0.9, "proved": False},)
    made = Made(
        status="feasible", bound=0.9, stages=stages, seed=1, search_time="normal", seconds=3.0, solver_version="none"
    )
    return rota_save(inputs=inputs, plan=Plan(tuple(turns)), made=made, by=trip.leader, now=timezone.now())


@pytest.fixture
def trip(transactional_db) -> Trip:
    """Four people, three hides of two seats, four sessions; one hide is closed once, one needs notice."""
    trip = factories.planned_trip(people_count=4, hides=3, sessions=4)
    trip.sites.get().hides.order_by("pk").first().views.update(horizon=[[60, 4], [85, 12], [280, 9]])
    trip.sites.get().hides.update(sought_after=True, roof_height_m=0.5)
    return trip


@pytest.fixture
def page_of(open_context):
    return lambda trip: open_context(user=trip.leader).new_page()


def all_troubles(page: Page, states: list[tuple[str, str]]) -> list[str]:
    """Open each path and look at it; the name of the state goes before what is wrong."""
    found = []
    for state, path in states:
        answer = page.goto(path)
        assert answer is not None
        assert answer.status == 200, f"{state}: {path} answered {answer.status}"
        found += troubles_of(page, state)
    return found


def test_pages_with_nothing_in_them(page_of, open_context) -> None:
    nobody = open_context(user=factories.leader()).new_page()
    found = all_troubles(nobody, [("no trip", "/trips/"), ("a new trip", "/trips/new/"), ("a site", "/sites/new/")])
    trip = factories.trip(sites=[])
    names = ("trip-show", "person-list", "trip-hides", "session-list", "trip-light", "gear-table", "rota-show")
    names += ("rota-history", "rota-making", "pairing-list", "sessions-make", "people-import", "person-new")
    names += ("driver-lists", "incident-list")
    found += all_troubles(page_of(trip), [(f"empty {name}", url(name, trip)) for name in names])
    assert not found, "\n\n".join(found)


def refused(page: Page, path: str, fields: dict[str, str], button: str) -> None:
    """Fill a form in wrongly and press; it comes back with its summary."""
    page.goto(path)
    for selector, value in fields.items():
        page.fill(selector, value)
    page.get_by_role("main").get_by_role("button", name=button, exact=True).first.click()
    page.locator(".error-summary").first.wait_for()


def test_forms_that_come_back(page_of, trip) -> None:
    page, place, session = page_of(trip), trip.places.first(), trip.sessions.first()
    hide = trip.sites.get().hides.first()
    person, hidden = {"place_uuid": place.uuid}, reverse("trips:hide-edit", kwargs={"hide_uuid": hide.uuid})
    rota = draft_of(trip)
    turn = {"number": rota.number, "session_uuid": session.uuid, "who": str(place.uuid)}
    forms = [
        ("/trips/new/", {"#id_name": ""}, "Save the trip"),
        (url("trip-edit", trip), {"#id_name": ""}, "Save"),
        (url("rules-edit", trip), {"#id_tolerance": "5"}, "Save the rules"),
        (
            url("sessions-make", trip),
            {"#id_first_day": "2027-05-12", "#id_last_day": "2027-05-08"},
            "Show what this makes",
        ),
        (url("session-new", trip), {"[name=starts_at_day]": "", "[name=starts_at_clock]": ""}, "Save the session"),
        (url("session-edit", trip, session_uuid=session.uuid), {"[name=ends_at_clock]": ""}, "Save the session"),
        (url("person-new", trip), {"#id_email": "no address"}, "Add"),
        (url("person-edit", trip, **person), {"#id_name": ""}, "Save"),
        (url("pairing-list", trip), {}, "Save the pairing"),
        (hidden, {"#id_view-0-bearing_deg": "west"}, "Save the hide"),
        ("/sites/new/", {"#id_name": "Marsh", "#id_position": "nowhere"}, "Save the site"),
        (url("rota-make", trip), {"#id_seed": "-4"}, "Make it"),
        (url("turn-edit", trip, **turn), {}, "Show the effect"),
        (url("incident-list", trip), {}, "Make the record"),
    ]
    found = []
    for path, fields, button in forms:
        refused(page, path, fields, button)
        found += troubles_of(page, f"refused {path}")
    assert not found, "\n\n".join(found)


def test_sessions_as_the_rules_make_them(page_of, trip) -> None:
    page = page_of(trip)
    page.goto(url("sessions-make", trip))
    page.get_by_role("button", name="Show what this makes").click()
    page.get_by_role("heading", name="What the rules make").wait_for()
    assert not troubles_of(page, "proposed sessions")


def test_a_draft_its_turns_and_its_issue(page_of, trip) -> None:
    rota = draft_of(trip)
    second = draft_of(trip)
    turn = rota.turns.filter(place__isnull=False).select_related("session", "place", "hide").first()
    closed = next(hide for hide in trip.sites.get().hides.all() if hide != turn.hide)
    SessionHide.objects.create(session=turn.session, hide=closed, state="unavailable", reason="the herd is led there")
    Change.objects.create(rota=rota, who=trip.leader, when=timezone.now(), why="a late flight")
    first, other = trip.places.all()[:2]
    Pairing.objects.create(trip=trip, first=first, second=other, kind="half")
    turn.place.participant.lenses.all().delete()  # others could lend one
    factories.lens(participant=(other if turn.place == first else first).participant, name="a spare lens", spare=True)
    early, late = trip.sessions.all()[:2]
    late.starts_at = early.ends_at + timedelta(minutes=20)  # the car is not back by then
    late.save()
    one = {"number": rota.number, "session_uuid": turn.session.uuid, "who": str(turn.place.uuid)}
    leader, place_uuid = one | {"who": "leader"}, turn.place.uuid
    page = page_of(trip)
    drop = f"{url('turn-edit', trip, **one)}?hide={{}}"
    states = [
        ("a draft, changed since", url("rota-number", trip, number=rota.number)),
        ("hides of a draft", url("rota-number", trip, number=rota.number) + "?rows=hides"),
        ("a person followed", url("rota-number", trip, number=rota.number) + f"?follow={place_uuid}"),
        ("why", url("turn-why", trip, **one)),
        ("why the leader", url("turn-why", trip, **leader)),
        ("a turn", url("turn-edit", trip, **one)),
        ("the leader's turn", url("turn-edit", trip, **leader)),
        ("a change that breaks a rule", drop.format(closed.uuid)),
        ("who is told", url("rota-issue", trip, number=rota.number)),
        ("two side by side", f"{url('rota-history', trip)}?left={rota.number}&right={second.number}"),
        ("pairings", url("pairing-list", trip)),
    ]
    found = all_troubles(page, states)
    SessionHide.objects.all().delete()
    factories.lens(participant=turn.place.participant)
    rota_issue(rota=second, by=trip.leader, now=MADE_AT)
    turn.place.messages.create(kind="late", sent_at=MADE_AT, text="Flat tyre")
    states = [
        ("people with a message", url("person-list", trip)),
        ("an issued rota", url("rota-number", trip, number=second.number)),
        ("its issue", url("rota-issue", trip, number=second.number)),
        ("a way through with an issue", url("trip-show", trip)),
        ("a repair", url("rota-make", trip)),
        ("an emergency", url("emergency-show", trip, hide_uuid=turn.hide.uuid)),
        ("drivers' lists", url("driver-lists", trip)),
        ("the board", url("board-show", trip)),
        ("a person's sheet", f"{url('board-sheet', trip, kind='person')}?one=place-{turn.place.uuid}"),
        ("a hide's sheet", f"{url('board-sheet', trip, kind='hide')}?one={closed.uuid}"),
        ("the gear's sheet", url("board-sheet", trip, kind="gear")),
        ("a draft to confirm on the day", url("board-confirm", trip, number=rota.number)),
    ]
    found += all_troubles(page, states)
    assert not found, "\n\n".join(found)


# How a run stands: its state, how long ago it began and gave a sign of life (s), and what it knows.
RUNS = {
    "waiting": ("waiting", 2, None, {}),
    "waiting without a worker": ("waiting", 30, None, {}),
    "begun": ("running", 3, 1, {}),
    "half-way": ("running", 9, 1, {"stage": "worst_share", "best": 0.81, "bound": 0.9, "progress": [[2.0, 0.81, 0.9]]}),
    "thorough, proved": (
        "running",
        900,
        1,
        {"search_time": "thorough", "best": 0.81, "bound": 0.81, "progress": [[2.0, 0.7, 1.0], [750.0, 0.81, 0.81]]},
    ),
    "missing a sign of life": ("running", 30, 20, {"stage": "worst_share", "best": 0.81, "bound": 0.9}),
    "silent": ("running", 500, 400, {}),
    "stopped": ("stopped", 9, 1, {}),
    "trip changed": ("trip_changed", 9, 1, {"explanation": {"leader": ["Hide Alder was taken out: start again."]}}),
    "failed": ("failed", 9, 1, {}),
    "nothing found": ("nothing_found", 9, 1, {}),
}


def run_of(trip: Trip, name: str) -> Making:
    """The trip's latest run, made to stand like that."""
    state, begun_s, sign_s, known = RUNS[name]
    now = timezone.now()
    trip.makings.all().delete()
    return Making.objects.create(
        trip=trip,
        state=state,
        started_at=now - timedelta(seconds=begun_s),
        heartbeat_at=None if sign_s is None else now - timedelta(seconds=sign_s),
        ended_at=None if state in ("waiting", "running") else now,
        **known,
    )


def test_a_run_in_every_state(page_of, trip) -> None:
    page, found = page_of(trip), []
    for name in RUNS:
        run_of(trip, name)
        found += all_troubles(page, [(name, url("rota-making", trip))])
    run_of(trip, "half-way")
    found += all_troubles(page, [("half-way, no rota yet", url("rota-show", trip))])
    draft_of(trip)
    found += all_troubles(page, [("half-way above a draft", url("rota-show", trip))])
    assert not found, "\n\n".join(found)


def test_an_impossible_trip_with_its_remedies(page_of) -> None:
    trip = factories.planned_trip(people_count=5, hides=2, sessions=2)
    making = Making.objects.create(trip=trip, started_at=timezone.now(), search_time="quick")
    assert making_run(making_uuid=making.uuid).state == "impossible"
    found = all_troubles(
        page_of(trip), [("impossible", url("rota-making", trip)), ("no rota, impossible", url("rota-show", trip))]
    )
    assert not found, "\n\n".join(found)


def test_pages_of_signing_in(open_context) -> None:
    leader = factories.leader()
    page = open_context(user=leader).new_page()
    begin, own = reverse("two-steps-begin"), reverse("sign-in-show")
    found = all_troubles(page, [("one step", own), ("a key for the app", begin)])
    refused(page, begin, {"#id_code": "000000"}, "Switch it on")
    found += troubles_of(page, "a wrong code")
    page.fill("#id_code", f"{totp(b32decode(''.join(page.locator('main code').all_inner_texts()))):06}")
    page.get_by_role("button", name="Switch it on").click()
    page.get_by_role("link", name="I have them").wait_for()
    found += troubles_of(page, "recovery codes") + all_troubles(page, [("two steps", own)])
    other = open_context().new_page()
    other.goto(reverse("sign-in"))
    other.fill("#id_username", leader.username)
    other.fill("#id_password", "quiet-soles-27")
    other.get_by_role("main").get_by_role("button", name="Sign in").click()
    other.wait_for_url("**/code/")
    found += troubles_of(other, "the second step")
    assert not found, "\n\n".join(found)
