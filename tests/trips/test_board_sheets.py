"""Changes from the day board: each three presses, the smallest repair, only those affected told."""

import re
from datetime import timedelta

import pytest
from django.contrib.messages import get_messages

from tests import factories
from tests.trips.day_pages import START, url
from tests.trips.issued_trips import issued_trip
from tests.trips.made_once import made_once
from trips import models
from trips.models import Happening, Making, MakingState
from trips.services.making_run import making_run

pytestmark = pytest.mark.django_db
made = made_once(issued_trip)
EARLY = START - timedelta(hours=3)
UNDER_WAY = START + timedelta(minutes=75)


@pytest.fixture
def trip(made):
    return models.Trip.objects.get(pk=made.pk)


@pytest.fixture
def leader(clock, client, trip):
    """The leader's browser, three hours before the first session; `leader.clock` is everybody's."""
    clock.moment = EARLY
    client.force_login(trip.leader)
    client.clock = clock
    return client


def at(leader, trip, moment):
    leader.clock.moment = moment
    leader.force_login(trip.leader)


def press(leader, trip, **data):
    """Where a press leads, and what the leader reads."""
    answer = leader.post(url("board-change", trip), data)
    assert answer.status_code == 302
    return answer.url.removeprefix(url("board-show", trip)), " ".join(map(str, get_messages(answer.wsgi_request)))


def key(trip, index=0):
    return f"place-{trip.places.all()[index].uuid}"


def name(trip, index=0):
    return trip.places.all()[index].participant.name


def hides(trip):
    return list(trip.sites.get().hides.all())


def text(answer):
    return " ".join(answer.content.decode().split())


def confirmed(leader, trip, path):
    """The page of a draft, read and issued."""
    page = text(leader.get(url("board-show", trip) + path))
    draft = trip.rotas.get(state="draft")
    answer = leader.post(url("board-show", trip) + path, {"seen_version": draft.version})
    assert answer.url == url("board-show", trip)
    return page, " ".join(map(str, get_messages(answer.wsgi_request)))


def told(page):
    """Whom the page of a draft names as told."""
    return set(re.search(r"Told: (.*?)\. Nobody else", page)[1].split(", "))


def notices(trip):
    return {row.place.participant.name for row in trip.rotas.get(state="issued").issue.notices.all()}


def test_a_closed_hide_is_repaired_and_issued_and_only_those_affected_are_told(leader, trip):
    assert "Close this session" in text(leader.get(url("board-show", trip) + "hide/"))
    path, said = press(leader, trip, what="close", span="this", hide=hides(trip)[0].uuid)
    assert path == "repair/?kind=fewest"
    assert f"{hides(trip)[0].name} is closed." in said
    assert "Working out the smallest repair" in text(leader.get(url("board-repair", trip)))
    making_run(making_uuid=Making.objects.get().uuid)
    assert leader.get(url("board-repair", trip)).url == url("board-show", trip) + "rota/2/"
    page, said = confirmed(leader, trip, "rota/2/")
    assert "<h1>2 moves" in page
    assert f"{name(trip)}: {hides(trip)[0].name} → {hides(trip)[2].name}" in page
    assert "is not available then." in page
    assert "Worked out in" in page
    assert "Rota 2 is issued" in said
    assert {name(trip, 0), name(trip, 1)} <= notices(trip) == told(page)
    assert "Rota 2 is issued</h1>" in text(leader.post(url("board-show", trip) + "rota/2/"))


def test_a_hide_nobody_sits_in_moves_nobody_and_is_opened_again(leader, trip):
    first, last = trip.sessions.all()[1:3]
    empty = {"hide": hides(trip)[2].uuid}
    assert press(leader, trip, what="close", span="range", first=first.uuid, last=last.uuid, **empty)[0] == ""
    assert set(Happening.objects.values_list("session", flat=True)) == {first.pk, last.pk}
    assert "was closed already" in press(leader, trip, what="close", session=first.uuid, **empty)[1]
    assert "is open again" in press(leader, trip, what="open", session=first.uuid, **empty)[1]
    assert (
        "before the first"
        in press(leader, trip, what="close", span="range", first=last.uuid, last=first.uuid, **empty)[1]
    )


@pytest.mark.parametrize(("span", "sessions"), [("this", 1), ("day", 2), ("trip", 4)])
def test_somebody_is_away_for_a_session_a_day_or_the_rest(leader, trip, span, sessions):
    path, said = press(leader, trip, what="away", who=key(trip), span=span)
    assert (path, said) == ("repair/?kind=fewest", f"{name(trip)} is noted as away.")
    assert Happening.objects.filter(kind="not_coming").count() == sessions


def test_somebody_late_has_a_turn_from_then(leader, trip):
    assert press(leader, trip, what="late", who=key(trip), until="07:30")[0] == ""
    assert Happening.objects.get().until_at == START + timedelta(minutes=45)
    assert "ends at 10:45" in press(leader, trip, what="late", who=key(trip), until="11:00")[1]
    assert "Choose a time" in press(leader, trip, what="late", who=key(trip))[1]


def test_two_swap_under_a_new_number_and_those_who_leave_soon_are_phoned(leader, trip):
    at(leader, trip, START - timedelta(minutes=40))
    path, _ = press(leader, trip, what="swap", who=key(trip, 0), other=key(trip, 2))
    assert path == "rota/2/"
    page, said = confirmed(leader, trip, path)
    assert "Phone, they leave soon" in page
    assert said.count("(no telephone), leaves 06:1") == 2
    assert notices(trip) == told(page) == {name(trip, 0), name(trip, 2)}


def test_two_swap_in_a_session_under_way_by_moves_alone(leader, trip):
    at(leader, trip, UNDER_WAY)
    path, said = press(leader, trip, what="swap", who=key(trip, 0), other=key(trip, 2))
    assert path == ""
    assert f"Tell {name(trip, 0)} (no telephone) and {name(trip, 2)} (no telephone)." in said
    moved = {row.place.participant.name: row.hide for row in Happening.objects.filter(kind="moved")}
    assert moved == {name(trip, 0): hides(trip)[1], name(trip, 2): hides(trip)[0]}
    assert trip.rotas.count() == 1


def test_a_hide_closed_under_way_ranks_where_its_people_go(leader, trip):
    at(leader, trip, UNDER_WAY)
    trip.sites.get().hides.filter(pk=hides(trip)[2].pk).update(walk_m=70)
    path, _ = press(leader, trip, what="close", span="this", hide=hides(trip)[0].uuid)
    assert path == f"move/?key={hides(trip)[0].uuid}"
    page = text(leader.get(url("board-show", trip) + path))
    assert f"{hides(trip)[2].name}, left" in page
    assert "In place 08:12, 153 min left" in page  # 08:00, 10 min drive and 2 on foot
    assert "Drive 10 min, walk 70 m." in page
    into = {"what": "give", "hide": hides(trip)[2].uuid, "session": trip.sessions.first().uuid}
    assert press(leader, trip, who=key(trip, 0), **into)[0] == path
    assert press(leader, trip, who=key(trip, 1), **into)[0] == ""
    assert "has no free seat" in press(leader, trip, who=key(trip, 2), **into)[1]
    shut = into | {"hide": hides(trip)[0].uuid}
    assert "is closed since 08:00" in press(leader, trip, who=key(trip, 2), **shut)[1]
    assert "Nobody is left to move" in text(leader.get(url("board-show", trip) + path))
    assert trip.rotas.count() == 1


def test_a_rule_that_forbids_a_move_is_named(leader, trip):
    at(leader, trip, UNDER_WAY)
    models.Pairing.objects.create(trip=trip, first=trip.places.all()[0], second=trip.places.all()[2], kind="apart")
    press(leader, trip, what="away", who=key(trip, 3), span="this")
    page = text(leader.get(url("board-show", trip) + f"move/?key={key(trip)}"))
    assert f"Not {hides(trip)[1].name}:" in page


def test_a_free_seat_goes_to_whoever_wants_it(leader, trip):
    free = hides(trip)[2]
    sheet = text(leader.get(url("board-show", trip) + f"hide/?one={free.uuid}"))
    assert f"{name(trip, 1)} +0" in sheet
    seat = free.seats.first()
    path, _ = press(leader, trip, what="give", who=key(trip, 1), hide=free.uuid, seat=seat.uuid)
    assert path == "rota/2/"
    page, _ = confirmed(leader, trip, path)
    assert f"{name(trip, 1)}: {hides(trip)[0].name} → {free.name} (Sat 8 May, early)." in page


def test_a_broken_seat_and_lost_gear_are_noted_and_taken_back(leader, trip):
    seat = hides(trip)[0].seats.first()
    path, _ = press(leader, trip, what="seat_broken", span="trip", seat=seat.uuid)
    assert path == "repair/?kind=fewest"
    assert "In use again" in text(leader.get(url("board-show", trip) + "undo/"))
    assert press(leader, trip, what="seat_mended", seat=seat.uuid)[0] == ""
    lens = trip.places.all()[0].participant.lenses.get()
    piece = {"what": "gear_away", "piece": f"lens:{lens.uuid}"}
    assert press(leader, trip, **piece)[1].endswith(f"{lens} is noted as away.")
    assert "away already" in press(leader, trip, **piece)[1]
    away = trip.gear_away.get()
    assert (away.borrower, away.from_at) == (None, START)
    assert press(leader, trip, what="gear_back", away=away.uuid)[1].endswith(f"{lens} is with its owner again.")
    assert press(leader, trip, borrower=key(trip, 1), **piece)[1].endswith(f"{lens} is noted as away.")
    assert trip.gear_away.get().borrower == trip.places.all()[1]


def test_another_sky_asks_who_would_gain(leader, trip):
    assert press(leader, trip, what="sky", span="day", sky="overcast")[0] == "repair/?kind=few"
    assert [row.sky for row in trip.sessions.all()] == ["overcast", "overcast", "clear", "clear"]
    assert Making.objects.get().repair == "few"


def test_another_car_takes_the_drops_and_times_are_issued_anew(leader, trip):
    session = trip.sessions.first()
    cars = [models.Car.objects.create(trip=trip, name=f"car {number}", seats=4) for number in (1, 2)]
    for car, hide in zip(cars, hides(trip), strict=False):
        models.RunStop.objects.create(run=models.Run.objects.create(session=session, car=car), hide=hide, position=1)
    down = {"what": "car_down", "span": "this", "car": cars[1].uuid}
    assert "Choose one beside it" in press(leader, trip, **down)[1]
    assert not Happening.objects.exists()
    path, _ = press(leader, trip, other_car=cars[0].uuid, **down)
    assert path == "rota/2/"
    assert {run.car for run in session.runs.all()} == {cars[0]}
    assert "Nobody moves" in confirmed(leader, trip, path)[0]
    assert notices(trip)


def test_a_change_while_the_planner_runs_is_kept_and_repaired_afterwards(leader, trip):
    running = Making.objects.create(
        trip=trip, state=MakingState.RUNNING, started_at=EARLY, heartbeat_at=EARLY, repair="fewest"
    )
    path, _ = press(leader, trip, what="away", who=key(trip), span="this")
    assert path == "repair/?kind=fewest"
    assert "Another search is stopping" in text(leader.get(url("board-repair", trip)))
    Making.objects.filter(pk=running.pk).update(state=MakingState.STOPPED)
    page = text(leader.get(url("board-repair", trip)))
    assert "Repair the rota" in page
    assert leader.post(url("board-repair", trip), {"kind": "fewest"}).url.endswith("repair/?kind=fewest")
    assert Making.objects.filter(state=MakingState.WAITING).count() == 1
    assert Happening.objects.filter(kind="not_coming").count() == 1


def test_an_issue_is_undone_under_a_new_number_and_as_far_as_it_still_holds(leader, trip):
    press(leader, trip, what="swap", who=key(trip, 0), other=key(trip, 2))
    confirmed(leader, trip, "rota/2/")
    former = list(trip.rotas.get(number=1).turns.values_list("session", "place", "hide"))
    for closed in (None, hides(trip)[0]):
        if closed is not None:
            Happening.objects.create(
                trip=trip, kind="hide_closed", session=trip.sessions.all()[3], hide=closed, at=EARLY
            )
        assert "Back to rota" in text(leader.get(url("board-show", trip) + "undo/"))
        assert leader.post(url("board-repair", trip), {"kind": "back"}).url.endswith("repair/?kind=back")
        made = making_run(making_uuid=Making.objects.latest("pk").uuid)
        assert made.rota.result["repair"]["aim"] == (1 if closed is None else 2)
        page, _ = confirmed(leader, trip, f"rota/{made.rota.number}/")
        assert ("as far as it holds" in page) == (closed is not None)
        if closed is None:
            assert sorted(made.rota.turns.values_list("session", "place", "hide")) == sorted(former)
            assert notices(trip) == {name(trip, 0), name(trip, 2)}


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        ({"what": "away", "who": "leader-0"}, "is not on this trip"),
        ({"what": "away"}, "Choose somebody."),
        ({"what": "close", "hide": "{elsewhere}"}, "was taken out meanwhile. Choose again."),
        ({"what": "swap", "who": "{someone}", "other": "{someone}"}, "Choose two different people."),
        ({"what": "gear_away", "piece": "lens:0"}, "no longer on the trip"),
    ],
)
def test_bad_input_is_one_clear_sentence_and_changes_nothing(leader, trip, data, sentence):
    rows = {"elsewhere": str(factories.hide().uuid), "someone": key(trip)}
    _, said = press(leader, trip, **{name: text.format(**rows) for name, text in data.items()})
    assert sentence in said
    assert not Happening.objects.exists()


def test_what_is_over_is_not_closed_any_more(leader, trip):
    at(leader, trip, START + timedelta(hours=6))
    session = trip.sessions.first()
    assert "ended at 10:45" in press(leader, trip, what="close", session=session.uuid, hide=hides(trip)[0].uuid)[1]
    at(leader, trip, START + timedelta(days=40))
    assert "All sessions are over" in press(leader, trip, what="away", who=key(trip))[1]


def test_a_note_is_taken_back_from_the_undo_sheet(leader, trip):
    press(leader, trip, what="away", who=key(trip), span="this")
    assert f"{name(trip)}: not coming (Sat 8 May, early)" in text(leader.get(url("board-show", trip) + "undo/"))
    undo = f"{url('board-show', trip)}note/{Happening.objects.get().uuid}/undo/"
    assert leader.post(undo).url == url("board-show", trip)
    assert "taken back already" in " ".join(map(str, get_messages(leader.post(undo).wsgi_request)))
    answer = leader.post(url("board-repair", trip), {"kind": "back"})
    assert "none to go back to" in " ".join(map(str, get_messages(answer.wsgi_request)))


@pytest.mark.parametrize("kind", ["person", "hide", "car", "light", "gear", "undo"])
def test_each_sheet_opens_and_says_so_when_all_is_over(leader, trip, kind):
    assert f"<h1>{kind.capitalize()}</h1>" in text(leader.get(url("board-show", trip) + f"{kind}/"))
    at(leader, trip, START + timedelta(days=40))
    page = text(leader.get(url("board-show", trip) + f"{kind}/"))
    assert ("All sessions are over" in page) == (kind != "undo")
    assert leader.get(url("board-show", trip) + "other/").status_code == 404
