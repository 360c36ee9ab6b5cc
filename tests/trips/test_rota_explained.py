"""Why no rota of a trip is possible: from rows to sentences, hide by hide, with the smallest change that helps."""

from datetime import timedelta
from io import StringIO
from unittest.mock import patch

import pytest
from django.core.management import CommandError, call_command

from tests import factories
from tests.trips.rota_trips import A_LITTLE, LONG_BEFORE, estate, planned, seats_of
from trips.assemble.rota_result import stored_rota
from trips.core.rota.explain.conflicts import Explanation
from trips.core.rota.search.outcome import SearchTime
from trips.models import Pin, SessionHide, Trip
from trips.selectors import rota_verdict
from trips.selectors.rota_verdict import Explained, rota_checked, trip_explained
from trips.services.making import Wanted, making_open
from trips.services.making_run import making_run
from trips.services.remedy import remedy_apply
from trips.services.rota import rota_issue

pytestmark = pytest.mark.django_db


def told(trip: Trip, now=LONG_BEFORE) -> str:
    """The whole explanation of an impossible trip."""
    explained = trip_explained(trip, now=now)
    assert explained.verdict == "impossible"
    return " ".join(explained.sentences)


def with_steps_and_walks(trip: Trip) -> Trip:
    """A: 5 steps; B: 6; C: a walk of 300 m; D: 8 steps."""
    for name, steps, walk_m in (("Alder", 5, 40), ("Birch", 6, 60), ("Cedar", 0, 300), ("Dogwood", 8, 20)):
        trip.sites.get().hides.filter(name=name).update(steps=steps, walk_m=walk_m)
    return trip


def test_no_hide_fits_lists_each_hide_with_its_number_and_the_smallest_change() -> None:
    trip = with_steps_and_walks(estate(people=6, seats=(2, 2, 1, 2), sessions=2))
    place = trip.places.get(participant__name="P6")
    place.steps_limit, place.walk_limit_m = 3, 100
    place.save()
    sentences = told(trip)
    assert "No hide fits P6" in sentences
    assert "Alder (5 steps, at most 3)" in sentences
    assert "Birch (6 steps, at most 3)" in sentences
    assert "Cedar (a walk of 300 m, at most 100 m)" in sentences
    assert "Dogwood (8 steps, at most 3)" in sentences
    assert "after all (the smallest change is Alder: 5 steps, at most 3)" in sentences
    assert not any(f"P{number}" in sentences for number in range(1, 6))


def test_somebody_who_cannot_crawl_nor_sit_for_long() -> None:
    trip = estate(people=2, seats=(1, 1), sessions=1)
    trip.sites.get().hides.update(entry="crawl")
    place = trip.places.get(participant__name="P1")
    place.entry_limit, place.hours_limit = "stoop", 3
    place.save()
    sentences = told(trip)
    assert "No hide fits P1" in sentences
    assert "stooping in" in sentences
    assert "4 hours at a stretch, at most 3" in sentences
    assert "P2" not in sentences


def test_a_lens_that_cannot_focus_is_named_with_limit_and_distance() -> None:
    trip = estate(people=1, seats=(1,), sessions=1)
    lens = trip.places.get().participant.lenses.get()
    lens.focal_min_mm = lens.focal_max_mm = 800
    lens.near_limit_m, lens.name = 6.5, "800 mm"
    lens.save()
    sentences = told(trip)
    assert "No hide fits P1" in sentences
    assert "6.5 m" in sentences
    assert "6.0 m" in sentences


def test_two_people_together_with_one_of_them_pinned_to_a_single_seat() -> None:
    trip = estate(people=6, seats=(2, 2, 1, 2), sessions=2)
    first, second = trip.places.all()[:2]
    factories.models.Pairing.objects.create(trip=trip, first=first, second=second, kind="together")
    cedar = trip.sites.get().hides.get(name="Cedar")
    Pin.objects.create(trip=trip, session=trip.sessions.first(), place=first, hide=cedar)
    sentences = told(trip)
    assert "P1 and P2 sit together always." in sentences
    assert "P1 is pinned to Cedar" in sentences
    assert "Cedar has 1 seat" in sentences
    assert not any(f"P{number}" in sentences for number in range(3, 7))
    assert "Alder" not in sentences


def test_a_hide_is_offered_only_while_there_is_time_to_make_it_ready() -> None:
    trip = estate(people=5, seats=(2, 2, 1), sessions=1)
    session = trip.sessions.get()
    cedar = trip.sites.get().hides.get(name="Cedar")
    SessionHide.objects.create(session=session, hide=cedar, state="notice", notice_h=24)
    assert "Cedar is made ready" in told(trip)
    assert "Cedar is made ready" not in told(trip, now=session.starts_at - timedelta(hours=23))


def test_a_hide_that_closes_after_its_car_has_left_makes_no_repair_impossible(clock) -> None:
    trip = estate(people=4, seats=(2, 2, 2), sessions=3)
    issued = planned(trip)
    rota_issue(rota=issued, by=None, now=LONG_BEFORE)
    session = trip.sessions.all()[1]
    gone, *_ = {turn.hide for turn in issued.turns.filter(session=session, place__isnull=False).select_related("hide")}
    SessionHide.objects.create(session=session, hide=gone, state="unavailable", reason="flooded")
    shortly_before = session.starts_at - timedelta(minutes=1)
    assert trip_explained(trip, now=shortly_before).verdict == "possible"
    clock.moment = shortly_before
    repaired = planned(trip, repair="fewest")
    assert seats_of(repaired) == seats_of(issued)
    assert rota_checked(stored_rota(repaired)).faults == ()


@pytest.mark.parametrize(("allowed", "words"), [(0, "Three rest in turn"), (1, "Two more rest in turn")])
def test_the_rests_that_would_help_come_on_top_of_those_allowed(allowed: int, words: str) -> None:
    trip = estate(people=6, seats=(2, 1), sessions=2)
    trip.sessions.update(rests_allowed=allowed)
    made, _ = making_open(trip=trip, wanted=Wanted(search_time=A_LITTLE), by=None, now=LONG_BEFORE)
    (rest,) = (one for one in making_run(making_uuid=made.uuid).explanation["remedies"] if one["change"] == "rest")
    assert rest["phrase"].startswith(words)
    remedy_apply(trip=trip, remedy=rest)
    assert {session.rests_allowed for session in trip.sessions.all()} == {3}
    assert planned(trip).state == "draft"


def test_a_limit_of_sessions_in_a_row_is_kept_told_and_raised_by_its_remedy() -> None:
    trip = estate(people=4, seats=(2, 2), sessions=3)
    trip.rules.consecutive_turns_at_most = 2
    trip.rules.save()
    assert "each of 4 people needs a rest in any 3 sessions in a row" in told(trip)
    made, _ = making_open(trip=trip, wanted=Wanted(search_time=A_LITTLE), by=None, now=LONG_BEFORE)
    remedies = {one["change"]: one for one in making_run(making_uuid=made.uuid).explanation["remedies"]}
    assert {"rest", "more_in_a_row"} <= set(remedies)
    assert remedies["more_in_a_row"]["by_button"]
    trip.sessions.update(rests_allowed=2)
    rota = planned(trip)
    assert rota_checked(stored_rota(rota)).faults == ()
    assert rota.rests.count() == 4
    trip.sessions.update(rests_allowed=0)
    remedy_apply(trip=trip, remedy=remedies["more_in_a_row"])
    assert trip.rules.consecutive_turns_at_most == 3
    assert planned(trip).state == "draft"


@pytest.mark.parametrize(
    ("options", "search_time", "said"),
    [
        (("--search-time", "thorough"), "thorough", ""),
        (("--effort", "7"), "normal", "--effort is replaced by --search-time: 7 is read as normal.\n"),
        ((), "normal", ""),
    ],
)
def test_explain_takes_a_search_time(options: tuple[str, ...], search_time: str, said: str) -> None:
    heard = StringIO()
    with patch("trips.management.commands.explain.trip_explained") as asked:
        asked.return_value = Explained("possible", ("A rota that keeps all rules exists.",))
        call_command("explain", str(estate().uuid), *options, stdout=StringIO(), stderr=heard)
    assert asked.call_args.kwargs["search_time"] == search_time
    assert heard.getvalue() == said


def test_two_words_for_one_option_are_refused() -> None:
    with pytest.raises(CommandError, match="say one of the two"):
        call_command("explain", str(estate().uuid), "--effort", "7", "--search-time", "quick")


def test_an_explanation_that_is_not_settled_is_settled_with_a_longer_search(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(rota_verdict._EFFORTS, "quick", 1e-9)
    trip = estate(people=2, seats=(2, 1), sessions=2)
    quick = trip_explained(trip, now=LONG_BEFORE, search_time=SearchTime.QUICK)
    assert quick.verdict == "unknown"
    assert "Choose a longer search time" in quick.sentences[0]
    assert trip_explained(trip, now=LONG_BEFORE).verdict == "possible"


def test_a_run_that_proved_there_is_no_rota_never_says_that_it_was_not_settled() -> None:
    made, _ = making_open(trip=estate(people=4, seats=(2, 1)), wanted=Wanted(), by=None, now=LONG_BEFORE)
    with patch("trips.services.making_run.explain", return_value=Explanation("unknown")):
        ended = making_run(making_uuid=made.uuid)
    assert ended.state == "impossible"
    assert ended.explanation["leader"] == ["There was not enough time to find out which rules conflict."]
