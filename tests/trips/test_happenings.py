"""What is noted on the day: what is refused, what the commands say, what leaders are warned of, what repairs count."""

import json
from datetime import timedelta

import pytest
from django.urls import reverse

from tests import factories
from tests.frozen_clock import clock_of
from tests.trips.command_line import run
from tests.trips.day_pages import START
from tests.trips.issued_trips import issued_trip, seated_rota
from tests.trips.made_once import made_once
from trips import models
from trips.assemble.repairs import repair_at
from trips.assemble.rota import plan_of, rota_inputs
from trips.assemble.rota_result import stored_rota
from trips.assemble.trip import trip_values
from trips.core.rota.check.tallies import tallies
from trips.models import Happening
from trips.services.rota import rota_follow

pytestmark = pytest.mark.django_db
made = made_once(issued_trip)
LATE = START + timedelta(hours=4, minutes=20)


@pytest.fixture
def trip(made):
    return models.Trip.objects.get(pk=made.pk)


@pytest.fixture
def session(trip):
    return trip.sessions.first()


def name(trip, index=0):
    return trip.places.all()[index].participant.name


def change(trip, *arguments, at=START):
    with clock_of("trips.management.commands.day_change", at):
        return run("day_change", trip.uuid, *arguments)


def day(trip, at):
    with clock_of("trips.management.commands.day", at):
        return json.loads(run("day", trip.uuid, "--json").out)["sessions"][0]


def states(trip, at):
    return {one["name"]: one["state"] for one in day(trip, at)["people"]}


def test_a_change_is_noted_shown_and_taken_back(trip):
    told = change(trip, "not_coming", "--person", name(trip), "--at", "06:00", "--by", trip.leader.username)
    assert (told.code, told.out.split(".")[0]) == (0, "Noted: not coming")
    assert states(trip, START)[name(trip)] == "not_coming"
    row = Happening.objects.get()
    assert (row.at, row.by) == (START - timedelta(minutes=45), trip.leader)
    assert change(trip, "undo", "--of", row.uuid).code == 0
    assert states(trip, START)[name(trip)] == "not_out"
    assert "taken back already" in change(trip, "undo", "--of", row.uuid).err
    assert Happening.objects.count() == 2


def test_a_hide_that_closed_after_its_car_left_is_noted_and_its_people_are_moved_by_hand(trip, session):
    hides = [hide.name for hide in trip.sites.get().hides.order_by("name")]
    sits = models.Turn.objects.get(session=session, place=trip.places.first()).hide.name
    free = next(hide for hide in hides if not models.Turn.objects.filter(session=session, hide__name=hide).exists())
    later = START + timedelta(minutes=75)
    change(trip, "hide_closed", "--hide", sits, "--note", "track flooded", at=later)
    assert "is closed since 08:00" in change(trip, "moved", "--person", name(trip, 3), "--hide", sits, at=later).err
    assert change(trip, "moved", "--person", name(trip), "--hide", free, at=later).code == 0
    shown = {(one["person"], one["hide"]): one["minutes"] for one in day(trip, START + timedelta(hours=5))["sat"]}
    assert (shown[name(trip), sits], shown[name(trip), free]) == (75, 165)
    assert (name(trip, 1), free) not in shown
    assert models.Turn.objects.get(session=session, place=trip.places.first()).hide.name == sits


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (("not_coming", "--person", "Nobody"), "There is no person 'Nobody' on this trip."),
        (("not_coming",), "Say who with --person"),
        (("hide_closed",), "Say which hide with --hide"),
        (("out", "--person", "{0}", "--at", "07:30"), "has not come yet"),
        (("not_coming", "--person", "{0}", "--at", "25:00"), "is no moment"),
        (("not_coming", "--person", "{0}", "--at", "2027-05-08T11:00", "--session", "1"), "has not come yet"),
        (("late", "--person", "{0}"), "Say until when"),
        (("moved", "--person", "{0}", "--hide", "{full}"), "has no free seat: 2 people"),
        (("hide_open", "--hide", "{full}"), "is not closed"),
        (("undo",), "Say with --of"),
        (("undo", "--of", "00000000-0000-0000-0000-000000000000"), "Say with --of"),
        (("out", "--person", "{0}", "--by", "stranger"), "does not lead this trip"),
    ],
)
def test_bad_input_is_one_clear_sentence(trip, session, arguments, sentence):
    full = models.Turn.objects.get(session=session, place=trip.places.last()).hide.name
    ran = change(trip, *(text.format(name(trip), full=full) for text in arguments))
    assert ran.code == 2
    assert sentence in ran.err
    assert ran.err.count("\n") == 1
    assert not Happening.objects.exists()


def test_what_is_over_or_said_twice_is_refused(trip, session):
    after = START + timedelta(hours=5)
    hide = trip.sites.get().hides.first().name
    assert "ended at 10:45" in change(trip, "hide_closed", "--hide", hide, "--session", "1", at=after).err
    assert change(trip, "hide_closed", "--hide", hide).code == 0
    assert "was closed already at 06:45" in change(trip, "hide_closed", "--hide", hide).err
    assert change(trip, "out", "--person", name(trip)).code == 0
    assert "was ticked already at 06:45" in change(trip, "out", "--person", name(trip)).err
    assert "take that back first" in change(trip, "not_coming", "--person", name(trip)).err


def test_the_help_of_each_command_has_an_example(capsys):
    for command in ("day", "day_change", "watch_overdue"):
        with pytest.raises(SystemExit):
            run(command, "--help")
        assert f"manage.py {command}" in capsys.readouterr().out.split("example")[1]


def test_every_page_of_a_leader_says_who_is_overdue(as_leader, trip, session):
    home = reverse("trips:trip-list")

    def bar(at):
        with clock_of("config.context", at):
            return "overdue-bar" in as_leader.get(home).content.decode()

    change(trip, "out", "--person", name(trip))
    assert not bar(START + timedelta(hours=1))
    assert not bar(START + timedelta(hours=4, minutes=10))
    with clock_of("config.context", LATE):
        page = as_leader.get(home).content.decode()
    hide = models.Turn.objects.get(session=session, place=trip.places.first()).hide
    assert f"{reverse('trips:emergency-show', args=[trip.uuid, hide.uuid])}#what-to-do" in page
    with clock_of("trips.management.commands.watch_overdue", LATE):
        told = run("watch_overdue")
    assert told.code == 1
    assert name(trip) in told.err
    for place in trip.places.all():
        change(trip, "back", "--person", place.participant.name, at=LATE)
    assert not bar(LATE)
    assert not bar(LATE + timedelta(days=3))


def test_the_bar_of_a_stranger_stays_empty(client, trip):
    change(trip, "out", "--person", name(trip))
    client.force_login(factories.leader())
    with clock_of("config.context", LATE):
        assert "overdue-bar" not in client.get(reverse("trips:trip-list")).content.decode()


def problem_after(trip, at):
    rota, values = trip.rotas.get(state="issued"), trip_values(trip)
    return rota, rota_inputs(values, repair=repair_at(rota, values, now=at))


def test_a_no_show_has_no_turn_in_a_repair_and_no_share_of_it(trip):
    after = START + timedelta(hours=5)
    rota, before = problem_after(trip, after)
    change(trip, "not_coming", "--person", name(trip))
    _, inputs = problem_after(trip, after)
    assert inputs.problem.past == 1
    assert [turn.person for turn in inputs.problem.issued.turns if turn.session == 0] == [1, 2, 3]
    was, now = (tallies(one.problem, one.problem.issued) for one in (before, inputs))
    assert now.points[0] < was.points[0]
    assert now.points[1:] == was.points[1:]
    rows = plan_of(rota, inputs.values)
    assert inputs.as_issued(inputs.as_sat(rows)) == rows


def test_half_a_session_is_half_the_points_and_a_move_counts_where_somebody_sat_longest(trip, session):
    after = START + timedelta(hours=5)
    _, before = problem_after(trip, after)
    free = next(hide for hide in trip.sites.get().hides.all() if not hide.turns.exists())
    change(trip, "left_early", "--person", name(trip), at=START + timedelta(hours=2))
    change(trip, "moved", "--person", name(trip, 1), "--hide", free.name, at=START + timedelta(hours=1))
    _, inputs = problem_after(trip, after)
    turns = {turn.person: turn for turn in inputs.problem.issued.turns if turn.session == 0}
    assert inputs.values.hides[turns[1].hide].key == str(free.uuid)
    assert inputs.problem.points[0][0][turns[0].hide] == pytest.approx(before.problem.points[0][0][turns[0].hide] / 2)


def test_a_draft_keeps_the_past_as_it_was_told_and_counts_it_as_it_was_sat(trip, session):
    after = START + timedelta(hours=5)
    change(trip, "not_coming", "--person", name(trip))
    rota = trip.rotas.get(state="issued")
    draft = rota_follow(rota=rota, by=trip.leader, now=after)
    assert list(draft.turns.filter(session=session).values_list("place", "seat")) == list(
        rota.turns.filter(session=session).values_list("place", "seat")
    )
    stored = stored_rota(draft)
    assert stored.is_current
    assert len([turn for turn in stored.plan.turns if turn.session == 0]) == 3
    assert rota.result == trip.rotas.get(pk=rota.pk).result


def test_who_does_not_come_and_a_closed_hide_bind_a_repair_before_the_session(trip, session):
    hide = models.Turn.objects.get(session=session, place=trip.places.last()).hide
    early = START - timedelta(hours=3)
    change(trip, "not_coming", "--person", name(trip), at=early)
    change(trip, "hide_closed", "--hide", hide.name, at=early)
    _, inputs = problem_after(trip, early)
    closed = [one.key for one in inputs.values.hides].index(str(hide.uuid))
    assert (0, 0) in inputs.problem.absent
    assert (0, closed) in inputs.problem.closed


def test_a_sought_after_hide_that_was_not_sat_in_is_still_owed(trip):
    hide = models.Turn.objects.filter(place=trip.places.first()).first().hide
    models.Hide.objects.filter(pk=hide.pk).update(sought_after=True)
    for number, session in enumerate(trip.sessions.all(), start=1):
        change(trip, "not_coming", "--person", name(trip), "--session", str(number), at=session.starts_at)
    inputs = rota_inputs(trip_values(trip))
    sought = inputs.problem.in_demand[0]
    assert (0, sought) in inputs.problem.owed
    assert (1, sought) not in inputs.problem.owed


def test_a_hide_is_closed_and_opened_and_people_are_noted_on_the_page_of_who_is_out(as_leader, trip, session):
    url = reverse("trips:out-tick", args=[trip.uuid, session.uuid])
    place, other = trip.places.all()[:2]
    hide = models.Turn.objects.get(session=session, place=place).hide

    def press(**data):
        with clock_of("trips.views.day", START):
            return as_leader.post(url, data, follow=True).content.decode()

    assert "Not coming" in press(who=f"place-{place.uuid}", what="not_coming")
    assert "until 07:30" in press(who=f"place-{other.uuid}", what="late", until="07:30")
    assert "Closed" in press(who=f"hide-{hide.uuid}", what="hide_closed")
    assert "Hide closed now" in press(who=f"hide-{hide.uuid}", what="hide_open")
    free = next(one for one in trip.sites.get().hides.all() if not one.turns.exists())
    last = f"place-{trip.places.last().uuid}"
    press(who=last, what="moved", hide=free.uuid)
    assert Happening.objects.get(kind="moved").hide == free
    assert "Choose the hide" in press(who=last, what="moved")
    assert "is not a valid UUID" in press(who=last, what="moved", hide="9" * 26)
    assert "Say until when" in press(who=f"place-{trip.places.last().uuid}", what="late")
    assert "Choose who it is about" in press(who=f"hide-{hide.uuid}", what="out")
    assert Happening.objects.count() == 5


def test_a_draft_of_no_issued_rota_has_no_day(trip):
    other = factories.planned_trip(people_count=2, hides=1, sessions=1)
    seated_rota(other)
    assert day(other, START)["contradictions"] == []
