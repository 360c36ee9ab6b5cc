"""Everything on a card is of one set: fills, depth of field, settings, what to carry and the framing of the sun."""

import re
from dataclasses import replace
from datetime import datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest

from participants.core.gear import Body, Converter, Gear, Lens
from participants.core.optics import circle_mm, depth_of_field_mm
from trips.core.light import Interval
from trips.core.reach import Remark
from trips.core.reach.sets import effective_focal_at_mm
from trips.core.values import Chance, Hide, Point, Rules, Seat, Session, Subject, View, Wishes
from trips.documents.briefing import Etiquette
from trips.documents.briefing_cards import Card, fill_other
from trips.documents.days import CallPage, HeatPage, LightCaution, SessionPage, TurnPage, ViewPage
from trips.documents.drawings.turn_bar import turn_bar
from trips.documents.frozen_json import as_json, from_json
from trips.documents.hide_cards import by_hide
from trips.documents.turn_facts import HideSession, TurnPerson, person_reach, turn_light, view_pages
from trips.documents.wording.days import HEAT_ASSUMED
from trips.documents.wording.reach import set_words

ZONE = ZoneInfo("Europe/Madrid")
STARTS_AT, ENDS_AT = datetime(2027, 5, 8, 7, tzinfo=ZONE), datetime(2027, 5, 8, 11, tzinfo=ZONE)
BODY = Body("45 MP", 36.0, 24.0, 8256, 5504, top_iso=12800, key="b")
LENS = Lens("400 mm f/5.6", 400, 400, 5.6, 5.6, near_limit_m=3.5, key="l")
DOUBLE = Converter("2x", 2.0, key="c")
ZOOM = Lens("200-600 mm f/5.6-6.3", 200, 600, 5.6, 6.3, near_limit_m=2.4, key="z")
SPARROW, HERON = Subject("s", "House sparrow", 14, 18), Subject("h", "Grey heron", 90, 98)
VIEW = View("pool", "pool", 250.0, 6.0, 6.0)


def page(gear: Gear, votes: tuple[tuple[str, int], ...]):
    chances = tuple(Chance(one.key, 0.6, 0.3, 0.6, 0.0) for one in (SPARROW, HERON))
    point = Point(39.5, -6.2, 300, "Europe/Madrid")
    hide = Hide("a", "Alder", point, (VIEW,), (Seat("s", "left"),), chances=chances)
    session = Session(key="e", name="early", starts_at=STARTS_AT, ends_at=ENDS_AT, kind="early")
    stand = HideSession(hide, session, (SPARROW, HERON), Rules())
    person = TurnPerson(gear, Wishes(votes=votes))
    reach = person_reach(person, hide, stand.subjects, stand.rules)
    (found,) = view_pages(person, stand, reach, turn_light(person, stand, reach))
    return found


def card(*views) -> Card:
    turn = TurnPage("a", "Alder", "left", CallPage(), views=views)
    return Card(SessionPage("e", "early", "early", STARTS_AT, ENDS_AT, "Europe/Madrid", turn), turn)


def test_a_warning_about_the_light_of_one_of_two_views_names_that_view():
    shadow = LightCaution("shadow_on_perch", STARTS_AT, ENDS_AT)
    scent = LightCaution("scent", STARTS_AT, ENDS_AT)
    west = ViewPage("west window", 6.0, 6.0, notices=(scent,))
    east = replace(west, name="east window", notices=(shadow, scent))
    told = card(west, east).mind
    assert "East window: The hide's own shadow lies on the perch 07:00–11:00." in told
    assert sorted(warning.startswith("The wind") for warning in told) == [False, True]
    assert "The hide's own shadow lies on the perch 07:00–11:00." in card(east).mind


def test_a_card_for_the_bare_lens_names_the_converter_where_that_serves_another_subject():
    found = page(Gear((BODY,), (LENS,), (DOUBLE,)), (("h", 6),))
    gear = found.reach.best
    assert (gear.lens, gear.converter, found.subject) == (LENS, None, "Grey heron")
    assert found.carry.pieces == ("45 MP", "400 mm f/5.6")
    heron, sparrow = found.fills
    assert sparrow.fill == pytest.approx(heron.fill * 16 / 94)
    assert sparrow.verdict == "needs_crop"
    assert sparrow.other.converter == DOUBLE
    assert fill_other(sparrow, found) == f"with the 2×: {200 * sparrow.fill:.0f} %"
    assert fill_other(heron, found) == ""
    told = card(found)
    assert told.of_set == "400 mm f/5.6 for Grey heron"
    assert any(note.startswith("Depth of field with 400 mm: ") for note in told.notes)


def test_depth_of_field_is_that_of_the_cards_own_lens_and_aperture():
    found = page(Gear((BODY,), (LENS,), (DOUBLE,)), (("h", 6),))
    (depth,) = found.depths
    f_number = depth.f_number
    assert f_number in {row.still.f_number for row in found.rows if row.still}
    focal = effective_focal_at_mm(found.reach.best, 6.0)
    near, far = depth_of_field_mm(focal, f_number, 6000.0, circle_mm(36, 24))
    assert (depth.near_m, depth.far_m, depth.f_number) == (near / 1000, far / 1000, f_number)


def test_a_zoom_prints_one_focal_length_and_the_fills_at_it():
    found = page(Gear((BODY,), (ZOOM,)), (("h", 6),))
    heron, sparrow = found.fills
    assert sparrow.fill == pytest.approx(heron.fill * 16 / 94)
    assert fill_other(sparrow, found).startswith("with 600 mm: ")
    assert f"at {found.reach.best.focal_mm:.0f} mm" in card(found).of_set


def test_what_an_issue_keeps_of_a_card_comes_back_as_it_was():
    found = page(Gear((BODY,), (LENS,), (DOUBLE,)), (("h", 6),))
    assert from_json(type(found), as_json(found)) == found


def test_turns_in_one_hide_share_a_card_that_says_once_what_holds_for_all():
    found = page(Gear((BODY,), (LENS,), (DOUBLE,)), (("h", 6),))
    first, again = card(found), card(replace(found, light=found.light[:1]))
    elsewhere = replace(first, turn=replace(first.turn, hide_key="b", hide="Birch"))
    alder, birch = by_hide((first, elsewhere, again), rules=(Etiquette("Birch", "No flash."),))
    assert (alder.name, len(alder.cards), birch.name, len(birch.cards)) == ("Alder", 2, "Birch", 1)
    assert (alder.rule, birch.rule) == ("", "No flash.")
    assert [one.fills for one in alder.framings] == [first.fills] != [()]
    assert alder.carry == first.carry
    assert alder.general == first.general != ()


def test_what_holds_for_one_turn_of_a_hide_alone_names_that_turn():
    bare = page(Gear((BODY,), (LENS,), (DOUBLE,)), (("h", 6),))
    other = page(Gear((BODY,), (ZOOM,)), (("h", 6),))
    late = card(other)
    late = replace(late, session=replace(late.session, kind="late", key="l"))
    (alder,) = by_hide((card(bare), late))
    assert {line.partition(": ")[0] for line in alder.carry} > {"Sat 8 May, early", "Sat 8 May, late"}
    assert f"Sat 8 May, late: {late.carry[0]}" in alder.carry
    (twice,) = by_hide((card(bare), card(bare)))
    assert twice.carry == card(bare).carry


def test_animals_are_told_for_each_set_that_the_person_takes_into_the_hide():
    found = page(Gear((BODY,), (LENS,), (DOUBLE,)), (("h", 6),))
    other = page(Gear((BODY,), (ZOOM,)), (("h", 6),))
    (alder,) = by_hide((card(found), card(other), card(found)))
    assert [one.set for one in alder.framings] == [set_words(found.reach.best), set_words(other.reach.best)]


def test_four_things_to_mind_at_most_stand_above_the_rest():
    found = page(Gear((BODY,), (LENS,), (DOUBLE,)), (("h", 6),))
    near = tuple(Remark("water_edge_inside_limit", LENS.name, 4.5, limit) for limit in (5.0, 5.2, 5.4, 5.6))
    one = card(replace(found, reach=replace(found.reach, warnings=near)))
    one = replace(one, turn=replace(one.turn, cautions="Eight steps.", doors="session"))
    (alder,) = by_hide((one,))
    assert alder.mind[:2] == ("Eight steps.", "The door stays shut for the whole session.")
    assert len(alder.mind) == 4
    assert set(one.always_minded) == {*alder.mind, *alder.notes[:2]}


def test_settings_that_do_not_change_have_one_row():
    found = page(Gear((BODY,), (LENS,), (DOUBLE,)), (("h", 6),))
    repeated = tuple(row for row in found.rows for _ in range(2))
    assert card(replace(found, rows=repeated)).settings == card(found).settings
    dark = (replace(found.rows[0], still=None, moving=None, compensation=stops) for stops in (0.0, 1.0))
    assert len(card(replace(found, rows=tuple(dark))).settings) == 1


def test_labels_of_a_bar_keep_apart_however_short_a_light_is():
    minutes = (0, 225, 228, 233, 236, 240)
    names = ("front", "side", "front", "shade", "none")
    moments = [STARTS_AT + timedelta(minutes=one) for one in minutes]
    parts = tuple(Interval(name, *span) for name, span in zip(names, pairwise(moments), strict=True))
    svg = turn_bar(parts, "bar")
    labels = re.findall(r'<text x="([\d.]+)" y="(-?[\d.]+)"[^>]*font-weight="600"[^>]*>(\d\d:\d\d[^<]*)<', svg)
    assert len(labels) == len(minutes)
    assert {label[2][:5] for label in labels} == {f"{one:%H:%M}" for one in moments}
    for (x, y, text), (after, line, _) in pairwise(sorted(labels, key=lambda one: (one[1], float(one[0])))):
        assert y != line or float(x) + 4.5 * len(text) + 2.8 <= float(after)


def test_what_nobody_measured_is_told_beside_the_turns_even_to_guests():
    warm = HeatPage(1.5, 2, worst_air_c=24.0, worst_hide_c=24.0, assumed=True)
    turn = TurnPage("a", "Alder", "left", CallPage(), heat=warm)
    guest = Card(SessionPage("e", "early", "early", STARTS_AT, ENDS_AT, "Europe/Madrid", turn), turn)
    assert guest.general == (HEAT_ASSUMED,)
    assert guest.heat == "Air up to 24 °C outside. Water: 1.5 l in 2 bottles of one litre."
