"""Sentences about gear: numbers are in them, units are the person's, nothing is left as a code."""

from dataclasses import replace
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from participants.core.errors import BadValue, PictureRefused
from participants.core.exif import read_picture
from participants.core.gear import Battery, Body, Converter, Gear, Lens, Tube
from participants.core.packing import HideVisit, TripNeeds, packing_list
from participants.wording import (
    FIELDS,
    bad_value_sentence,
    item_sentence,
    picture_lines,
    picture_questions,
    picture_refused_sentence,
)
from tests.core.pictures import FULL_FRAME, RATIO, SHORT, jpeg
from trips.core.access import access
from trips.core.advice import Situation, advise
from trips.core.light import Glance
from trips.core.reach import Offer, reach, what_would_help
from trips.core.rota.problem.points import TurnFactors
from trips.core.values import AdviceSettings, Hide, Limit, Point, ReachSettings, Seat, Subject, View
from trips.documents.days import SessionPage, ViewPage
from trips.documents.wording.advice import (
    carry_sentences,
    depth_words,
    handling_sentences,
    light_short,
    setting_words,
    settings_reasons,
    step_sentences,
    stops_words,
)
from trips.documents.wording.reach import (
    access_sentence,
    assumed_sentences,
    help_sentence,
    reach_sentence,
    set_words,
    warning_sentence,
)
from trips.documents.wording.turn_why import TurnFacts, turn_why

SETTINGS = ReachSettings()
BODY = Body("45 MP full-frame body", 36, 24, 8256, 5504, top_iso=6400, af_limit_f=8)
LONG = Lens("600 mm f/4", 600, 600, 4, 4, near_limit_m=5.2, weight_g=3200)
GEAR = Gear(bodies=(BODY,), lenses=(LONG,))
SPARROW = Subject("s", "House sparrow", 14, 18)
VIEW = View("a", "pool", 250, 6.0, 6.0, water_edge_m=4.5)
HIDE = Hide("h", "Alder", Point(39.5, -6.2, 300, "Europe/Madrid"), (VIEW,), (Seat("s", "left"),), walk_m=300)


def at(near, far=None, **more):
    """A view at other distances."""
    return replace(VIEW, near_m=near, far_m=far or near, water_edge_m=None, **more)


def test_a_good_reach_gives_fill_distance_and_focal_length():
    found = reach(GEAR, VIEW, SPARROW, "web", SETTINGS)
    sentence = reach_sentence(found, SPARROW.name)
    assert sentence == "House sparrow fills about 44 % of the frame at 6.0 m with 600 mm."
    assert reach_sentence(found, SPARROW.name, "feet").endswith("at 19.7 ft with 600 mm.")
    assert warning_sentence(found.warnings[0]) == (
        "Birds at the near water edge, 4.5 m, are inside the near limit of 5.2 m."
    )
    assert "14.8 ft" in warning_sentence(found.warnings[0], "feet")
    assert assumed_sentences(found.assumed) == ("Maximum magnification assumed: test it with a tape.",)


@pytest.mark.parametrize(
    ("view", "output", "says"),
    [
        (at(4.0), "web", "600 mm f/4 focuses from 5.2 m on, and the perch is at 4.0 m"),
        (at(12.0), "web", "it needs a crop"),
        (at(40.0), "web", "fewer than 960, out of reach"),
        (at(15.0), "a3", "a print of A3 asks for 1984"),
    ],
)
def test_every_verdict_says_what_is_the_matter(view, output, says):
    assert says in reach_sentence(reach(GEAR, view, SPARROW, output, SETTINGS), SPARROW.name)


def test_large_subjects_are_tight_or_portraits():
    assert reach_sentence(reach(GEAR, VIEW, replace(SPARROW, length_max_cm=44), "web", SETTINGS), "Jay").endswith(
        ": tight."
    )
    large = reach(GEAR, VIEW, replace(SPARROW, length_min_cm=90, length_max_cm=110), "web", SETTINGS)
    assert "portraits only" in reach_sentence(large, "Stork")


def test_without_subject_or_gear_the_sentence_says_so():
    assert "the distance alone counts" in reach_sentence(reach(GEAR, VIEW, None, "web", SETTINGS))
    assert "No gear typed in yet" in reach_sentence(reach(Gear(), VIEW, SPARROW, "web", SETTINGS), "x")


def test_every_warning_has_a_sentence():
    unknown = replace(GEAR, lenses=(replace(LONG, near_limit_m=None),))
    by_hand = replace(GEAR, lenses=(replace(LONG, aperture_wide=11, aperture_long=11),))
    tube = replace(GEAR, tubes=(Tube("25 mm tube", 25),))
    cases = [
        reach(unknown, at(6.0), SPARROW, "web", SETTINGS),
        reach(by_hand, at(6.0), SPARROW, "web", SETTINGS),
        reach(GEAR, at(4.6, 7.0), SPARROW, "web", SETTINGS),
        reach(GEAR, at(4.0, assumed=("near_m", "far_m")), SPARROW, "web", SETTINGS),
        reach(replace(tube, lenses=(replace(LONG, near_limit_m=16.0),)), at(14.0, 15.9), None, "web", SETTINGS),
    ]
    told = {remark.kind: warning_sentence(remark) for found in cases for remark in found.warnings}
    assert set(told) >= {"near_limit_unknown", "manual_focus", "near_part_inside_limit", "focus_uncertain"}
    assert set(told) >= {"far_part_beyond_tube"}
    assert "f/11.0" in told["manual_focus"]
    assert "f/8" in told["manual_focus"]
    assert "nothing beyond 15.6 m" in told["far_part_beyond_tube"]


def test_sets_are_named_with_their_accessories():
    pieces = replace(GEAR, converters=(Converter("1.4× converter", 1.4),))
    found = reach(pieces, at(11.0), SPARROW, "web", SETTINGS)
    assert set_words(found.best) == "600 mm f/4 with 1.4× converter"
    assert "with 600 mm × 1.4" in reach_sentence(found, "House sparrow")


def test_help_names_the_piece_and_who_lends_it():
    spare = Gear(tubes=(Tube("20 mm tube", 20, "k"),))
    helps = what_would_help(GEAR, at(4.6), SPARROW, "web", SETTINGS, Offer(spare))
    assert [help_sentence(one, "Bo" if one.spare else "") for one in helps] == [
        "An extension tube of 20 mm (lent by Bo): good."
    ]


def test_access_says_both_numbers():
    limits = (Limit("walk_m", 100), Limit("hours", 3, firm=False), Limit("entry", "walk", firm=False))
    found = access(limits, replace(HIDE, entry="stoop"), hours=4)
    assert access_sentence(found, "Alder") == (
        "Alder does not fit the limits given: a walk of 300 m, at most 100 m. "
        "Alder is possible, though rather not: 4 hours at a stretch, rather at most 3; "
        "stooping in, rather at most walking in."
    )
    assert "984 ft" in access_sentence(found, "Alder", "feet")
    assert access_sentence(access((), HIDE), "Alder") == ""


START = datetime(2027, 5, 8, 6, 45, tzinfo=ZoneInfo("Europe/Madrid"))


SESSION = SessionPage("s", "early", "early", START, START + timedelta(minutes=90), "Europe/Madrid")


def advice(*evs, light="front"):
    """The page of a view in a light that goes from one EV to the next in an hour and a half, and its card."""
    marks = [index * 90 / (len(evs) - 1) for index in range(len(evs))]
    glances = tuple(
        Glance(START + timedelta(minutes=minute), light, None if None in evs else float(np.interp(minute, marks, evs)))
        for minute in range(91)
    )
    card = advise(
        GEAR, reach(GEAR, VIEW, SPARROW, "web", SETTINGS), Situation(HIDE, VIEW, SPARROW, glances), AdviceSettings()
    )
    return ViewPage("pool", 6.0, 6.0, still=card.still, moving=card.moving, rows=card.rows, steps=card.steps), card


def test_the_card_reads_as_settings_by_clock_time_with_reasons():
    view, card = advice(2.0, 9.0, 12.0, light="back")
    first, last = view.rows[0], view.rows[-1]
    assert (setting_words(first.still), light_short(first.light), stops_words(first.compensation)) == (
        "too dark", "back", "+1",
    )  # fmt: skip
    assert (last.at, setting_words(last.still)) == (SESSION.ends_at, "1/1000 s, f/5, ISO 800")
    dark, possible = step_sentences(view)
    assert dark == "Too dark until 07:20."
    assert possible.startswith("Wide open at the top ISO: 1/640 s by hand from 07:20, 1/1000 s from 07:")
    assert depth_words(card.depths[0]).endswith(" mm at 6.0 m and f/5")
    assert handling_sentences(view)[0] == "Focus continuous: one point on the eye."
    reasons = settings_reasons(view)
    assert len(set(reasons)) == len(reasons)
    assert "at the size of your picture" in " ".join(reasons)
    assert "back light take more" in reasons[-1]
    assert "Dial" not in str(settings_reasons(advice(12.0, 12.0)[0]))


def test_dusk_and_a_dark_night_are_told_in_words():
    dark, possible = step_sentences(advice(12.0, 0.0)[0])
    assert dark.startswith("Too dark from 0")
    assert "until" in possible
    assert "from" not in possible
    assert step_sentences(advice(-8.0, -8.0)[0]) == (
        "Too dark for a picture throughout, with all that body, lens and seat give.",
    )
    assert step_sentences(advice(12.0, 12.0)[0]) == ()
    assert setting_words(advice(None, None)[0].rows[0].still) == "1/1000 s, f/5, automatic ISO"
    assert stops_words(-1.0) == "−1"


def test_two_shutters_from_the_same_minute_are_told_by_the_shorter_one():
    view, _ = advice(0.0, 12.0)
    rest, still, moving = view.steps
    alike = replace(view, steps=(rest, replace(still, spans=moving.spans), moving))
    told = step_sentences(alike)[-1]
    assert told.count("1/2000 s from ") == 1
    assert "1/1000 s" not in told


def test_nothing_is_dialled_in_while_it_is_too_dark():
    row = advice(12.0, 12.0)[0].rows[0]
    assert replace(row, compensation=1.0).dial == 1.0
    assert replace(row, compensation=1.0, still=None, moving=None).dial == 0.0


def test_what_to_carry_is_told_in_the_persons_units():
    _, card = advice(12.0, 12.0)
    assert carry_sentences(card.carry)[-1] == "The walk is 300 m. The lens alone weighs 3.2 kg."
    assert carry_sentences(card.carry, "feet")[-1] == "The walk is 984 ft. The lens alone weighs 7.1 lb."
    seats = [
        carry_sentences(replace(card.carry, support="tripod", support_name=name))[1]
        for name in ("tripod", "carbon tripod", "")
    ]
    assert seats == [
        "The seat takes a tripod.",
        "The seat takes a tripod: carbon tripod.",
        "The seat takes a tripod, which is not in your list: ask your leader.",
    ]


def test_every_field_of_gear_has_words():
    for field in FIELDS:
        sentence = bad_value_sentence(BadValue(field=field, value=0, low=1.0, high=2.0, unit=""))
        assert "_" not in sentence
        assert sentence.endswith(".")
    for reason in ("not_a_picture", "not_jpeg", "no_header", "too_many_pixels"):
        assert "type the gear in" in picture_refused_sentence(PictureRefused(reason=reason))


def test_a_picture_is_shown_line_by_line_with_its_sources():
    lines = {what: value for what, value, _ in picture_lines(read_picture(jpeg()))}
    assert lines["Sensor"] == "36 × 24 mm"
    assert lines["Focal length of the lens"] == "600 mm"
    odd = read_picture(jpeg(FULL_FRAME | {0x920A: (RATIO, [(840, 1)]), 0xA405: (SHORT, [1300])}))
    asks = " ".join(picture_questions(odd))
    assert "sensor's size is not certain" in asks
    assert "36 × 24 mm (from pixels and resolution of the sensor)" in asks
    assert "1.4 times" in asks
    bare = read_picture(jpeg({0x0110: FULL_FRAME[0x0110]}))
    assert {what: value for what, value, _ in picture_lines(bare)}["Sensor"] == "not known"


def test_a_figure_after_a_name_from_right_to_left_stands_in_order():
    gear = replace(GEAR, batteries=(Battery("סוללה", 20, 10),))
    lines = [item_sentence(item) for item in packing_list(gear, TripNeeds())]
    assert any(line.startswith("Spare battery \u2068סוללה\u2069, 200 Wh: ") for line in lines)
    facts = TurnFacts(TurnFactors(50, 1, 1, 1), "front", True, "אגם", wanted=(("דוכיפת", 3, 0.8),), only_hide=True)
    told = turn_why(facts)
    assert told[0].startswith("\u2068אגם\u2069 is the only hide")
    assert "Wish: \u2068דוכיפת\u2069 (3 votes, comes nearly always); 1.00 of what the trip can offer you." in told


def test_every_line_of_the_packing_list_has_words():
    gear = replace(GEAR, batteries=(Battery("pack", 14.8, 10, 3), Battery("giant", 20, 10)))
    needs = TripNeeds(
        session_hours=(4.0, 4.0),
        hides=(HideVisit("Alder", "bean_bag", 300, True),),
        lowest_c=2,
        highest_c=38,
        cabin_bag_kg=2.0,
        cabin_bag_note="one bag",
    )
    lines = [item_sentence(item) for item in packing_list(gear, needs)]
    assert "Spare battery giant, 200 Wh: above 160 Wh: not allowed on passenger aircraft" in lines
    assert "Cabin bag (2 kg, one bag): lenses 3.2 kg, the lenses alone are above your limit" in lines
    assert "Warm layers for sitting still: air down to 2 °C" in lines
    assert "Bean bag for Alder: not in your list, ask your leader" in lines
    assert any("36 °F" in item_sentence(item, "feet") for item in packing_list(gear, needs))
    assert "Water for the fullest day: 6 l in 6 bottles of one litre" in lines
    quarts = "Water for the fullest day: 6.3 US quarts in 7 bottles of one US quart"
    assert quarts in [item_sentence(item, "feet") for item in packing_list(gear, needs)]
    assert all(item_sentence(item) for item in packing_list(Gear(), TripNeeds()))
    called = replace(gear, batteries=(Battery("spare batteries", 7.0, 1.9, 2),))
    assert "Spare batteries, 13.3 Wh: up to 100 Wh" in " ".join(map(item_sentence, packing_list(called, needs)))
