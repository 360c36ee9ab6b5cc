"""What papers are written with: quantities, file names, scripts, stored values, safety, etiquette."""

from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from participants.core.errors import BadShape
from participants.core.gear import Battery, Body, Gear, Lens, Tube
from tests.trips import paper_values
from trips.documents import quantities as q
from trips.documents.day_sheet import DaySheet
from trips.documents.days import CallPage, SessionPage
from trips.documents.etiquette import etiquette_for
from trips.documents.file_names import FileNames, safe_part
from trips.documents.frozen_json import as_json, from_json
from trips.documents.gear_table import gear_line
from trips.documents.owner_sheet import OwnerSheet
from trips.documents.paper_facts import PersonFacts
from trips.documents.safety import Circumstances, cautions_for
from trips.documents.scripts import HOUSE_FONT, printable_text, printing_families, unprintable
from trips.documents.wording import days
from trips.templatetags.light_words import near_clock
from trips.templatetags.quantities import as_clock

MADRID = ZoneInfo("Europe/Madrid")


def test_lengths_have_one_decimal_below_ten_and_none_above():
    assert [q.length_text(metres) for metres in (4.5, 6.0, 9.94, 9.96, 15, 0)] == [
        "4.5 m", "6 m", "9.9 m", "10 m", "15 m", "0 m",
    ]  # fmt: skip
    assert q.length_text(6.096, "feet") == "20 ft"  # exactly 20 international feet
    assert q.length_text(None) == "to follow"


def test_temperatures_are_whole_and_never_minus_nought():
    assert [q.temperature_text(air) for air in (37.5, -0.4, -5.2, None)] == ["38 °C", "0 °C", "−5 °C", "to follow"]
    assert q.temperature_text(40, "feet") == "104 °F"


def test_clock_times_name_the_day_when_it_is_another():
    late = datetime(2027, 5, 8, 22, 0, tzinfo=MADRID)
    assert q.clock_range_text(late, late + timedelta(hours=1)) == "22:00–23:00"
    assert q.clock_range_text(late, late + timedelta(hours=6)) == "22:00–04:00 Sun"


def test_a_clock_time_is_the_nearest_minute_wherever_it_is_printed():
    sunset = datetime(2027, 5, 8, 21, 25, 40, tzinfo=MADRID)
    half = sunset.replace(second=30)
    assert [q.clock_text(at) for at in (sunset, half, sunset.replace(second=29))] == ["21:26", "21:26", "21:25"]
    assert q.clock_range_text(half - timedelta(hours=1), sunset) == "20:26–21:26"
    assert (as_clock(sunset, "UTC"), near_clock(sunset)) == ("19:26", "21:26")


def test_days_are_written_out():
    assert q.day_text(date(2027, 5, 8)) == "Saturday 8 May"
    assert q.days_text(date(2027, 5, 8), date(2027, 5, 12)) == "8 to 12 May 2027"
    assert q.days_text(date(2027, 4, 30), date(2027, 5, 2)) == "30 April to 2 May 2027"
    assert q.days_text(date(2027, 12, 31), date(2028, 1, 1)) == "31 December 2027 to 1 January 2028"
    assert q.days_text(date(2027, 5, 8), date(2027, 5, 8)) == "8 May 2027"


@pytest.mark.parametrize(
    ("zone", "offset"),
    [
        ("Europe/Madrid", "UTC+02:00"),
        ("America/St_Johns", "UTC−02:30"),
        ("Asia/Kathmandu", "UTC+05:45"),
        ("UTC", "UTC+00:00"),
    ],
)
def test_a_moment_carries_zone_and_offset(zone, offset):
    moment = datetime(2027, 5, 8, 6, 45, tzinfo=ZoneInfo(zone))
    assert q.zoned_text(moment, zone) == f"06:45 on Saturday 8 May ({zone}, {offset})"


def test_positions_have_letters_and_not_signs():
    assert q.position_text(-27.1, -109.4) == "27.10000° S, 109.40000° W"
    assert q.position_text(39.5012, 6.2) == "39.50120° N, 6.20000° E"
    assert q.position_text(None, 6.2) == "to follow"


def test_a_fact_without_a_text_is_to_follow():
    assert [q.fact("Radio", text).known for text in ("", None, "  \n ", "channel 4")] == [False, False, False, True]
    assert q.fact("Radio", None).text == "to follow"


def test_a_turn_without_moments_is_to_follow():
    session = paper_values.turn(0, call=CallPage())
    assert (q.clock_text(session.turn.call.in_place_at), days.pick_up_hours(session.turn.call)) == ("to follow", "")
    assert (days.ready_day(session), days.hours_words(session)) == ("Sat 8 May", "06:45–10:45")
    assert days.own_hours_words(session.turn) == ""


def test_a_hide_whose_own_rule_seats_people_after_the_start_says_so():
    session = paper_values.turn(0)
    on_time = replace(session, turn=replace(session.turn, call=CallPage(in_place_at=session.starts_at)))
    late = session.starts_at + timedelta(minutes=3)
    later = replace(session, turn=replace(session.turn, call=CallPage(in_place_at=late)))
    assert days.in_place_words(on_time) == "06:45"
    assert days.in_place_words(later) == "06:48, 3 min after the start by this hide's own rule"


def test_a_car_that_leaves_before_midnight_puts_the_turn_on_the_day_people_get_up():
    start = datetime(2027, 5, 9, 0, 30, tzinfo=MADRID)
    session = paper_values.turn(0, call=CallPage(leaves_at=start - timedelta(hours=1)))
    assert days.ready_day(replace(session, starts_at=start)) == "Sat 8 May"


# --- names of files -------------------------------------------------------------------------------------------------


@settings(max_examples=200, deadline=None)
@given(st.lists(st.text(max_size=90), max_size=8))
def test_file_names_are_safe_and_differ(names):
    handed = FileNames()
    made = [handed.safe("papers/", "briefing", name) for name in names]
    assert len({name.casefold() for name in made}) == len(made)
    for name in made:
        assert name.startswith("papers/briefing")
        assert not set(name.removeprefix("papers/")) & set('/\\:*?"<>|\x00\n')
        assert len(name) < 90
        assert ".." not in name


def test_names_of_all_scripts_stay_readable():
    assert safe_part("José  Gómez-Ruiz (Sr.)") == "josé-gómez-ruiz-sr"
    assert safe_part("李明") == "李明"
    assert safe_part("../../etc") == "etc"
    assert safe_part("***") == ""


# --- scripts and fonts ----------------------------------------------------------------------------------------------

LATIN = frozenset(map(ord, "abcABC é"))


def test_only_what_is_needed_is_asked_of_other_fonts():
    coverage = {HOUSE_FONT: LATIN, "Noto Sans Thai": frozenset(map(ord, "สมชาย")), "Noto Sans": frozenset()}
    assert printing_families("abc é", coverage) == (HOUSE_FONT,)
    assert printing_families("abc สม", coverage)[:2] == (HOUSE_FONT, "Noto Sans Thai")
    assert unprintable("abc สม", coverage) == ()


def test_what_no_font_prints_is_named_by_script_and_package():
    coverage = {HOUSE_FONT: LATIN}
    (thai,) = unprintable("abc สม", coverage)
    assert (thai.script, thai.characters, thai.package) == ("Thai", "มส", "fonts-noto-core")
    assert {one.package for one in unprintable("한李カ", coverage)} == {"fonts-noto-cjk"}
    (eagle,) = unprintable("\N{EAGLE}", coverage)
    assert (eagle.script, eagle.package) == ("symbols", "fonts-noto-color-emoji")


def test_joiners_marks_of_direction_and_spaces_need_no_font():
    assert unprintable("a\u200d\u200e\u202b\u00a0\u2003\ufe0fb\n\t", {HOUSE_FONT: LATIN}) == ()


@settings(max_examples=100, deadline=None)
@given(st.text(max_size=60))
def test_printable_text_can_be_written_and_read(text):
    kept = printable_text(text)
    assert kept.encode().decode() == kept
    assert printable_text(kept) == kept
    assert not set(kept) & {"\x00", "\x1b", "\x7f", "\ufffe", "\uffff"}


def test_printable_text_keeps_isolates_and_joiners_and_drops_what_turns_a_line_round():
    assert printable_text("a\u202eb\u202a\u202cc\u200d\u200f\u2068d\u2069") == "abc\u200d\u200f\u2068d\u2069"


# --- stored values --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "value"),
    [
        (SessionPage, paper_values.turn(0)),
        (DaySheet, paper_values.day_sheet()),
        (OwnerSheet, paper_values.owner_sheet()),
    ],
)
def test_a_paper_is_restored_as_it_was_stored(kind, value):
    stored = as_json(value)
    restored = from_json(kind, stored)
    assert as_json(restored) == stored
    assert restored == value


def test_a_field_that_came_later_keeps_its_default():
    stored = as_json(paper_values.head())
    del stored["language"]
    assert from_json(type(paper_values.head()), stored).language == "en"


def test_a_field_that_was_kept_under_another_name_is_read():
    person = PersonFacts("Ana", "metric", views=(paper_values.view_facts(),))
    stored = as_json(person)
    stored["windows"] = [{("window" if key == "view" else key): one for key, one in stored.pop("views")[0].items()}]
    assert from_json(type(person), stored) == person


@pytest.mark.parametrize("spoilt", [{"day": 5}, {"sessions": {}}, {"head": []}, {"people": "six"}])
def test_a_stored_paper_of_another_shape_is_refused_with_its_place(spoilt):
    stored = as_json(paper_values.owner_sheet()) | spoilt
    with pytest.raises((BadShape, TypeError, ValueError)):
        from_json(OwnerSheet, stored)


def test_what_cannot_be_stored_is_refused():
    @dataclass(frozen=True)
    class Odd:
        value: object

    with pytest.raises(BadShape):
        as_json(Odd(object()))


# --- safety, etiquette, gear ----------------------------------------------------------------------------------------


def test_a_shared_hide_has_its_manners_and_a_lone_seat_its_own():
    shared = {rule.title for rule in etiquette_for(True)}
    assert {"Talk", "Phone", "Lens movement", "Bags", "Stepping out", "Leaving early"} <= shared
    assert "Talk" not in {rule.title for rule in etiquette_for(False)}
    assert etiquette_for(True, (("Alder", "No flash."), ("Birch", "  ")))[-1].text == "No flash."


def test_cautions_follow_the_circumstances_and_each_names_its_source():
    everything = cautions_for(Circumstances(by_water=True, sunken=True, ladder=True, alone=True))
    assert all(caution.source for caution in everything)
    titles = {caution.title for caution in everything}
    wanted = "Heat|Cold and wind chill|Heater fumes|Lightning|Flood|Fire risk|Snakes|Ticks|Cattle and dogs|Water edge"
    assert set(wanted.split("|")) <= titles
    assert {"Vehicles near sunken hides", "Alone in a hide", "Hunting land", "Batteries on the journey"} <= titles
    mild = {caution.title for caution in cautions_for(Circumstances(coldest_c=15, hottest_c=20))}
    assert not {"Heat", "Cold and wind chill", "Water edge", "Alone in a hide", "Ladders and towers"} & mild


def test_gear_is_told_with_energy_and_unknown_limits():
    gear = Gear(
        (Body("45 MP", 36, 24, 8256, 5504),),
        (Lens("600 mm f/4", 600, 600, 4, 4), Lens("300 mm f/4", 300, 300, 4, 4, 1.4)),
        tubes=(Tube("25 mm tube", 25),),
        batteries=(Battery("spare", 14.4, 7.0, 2),),
    )
    line = gear_line("Marta", gear)
    assert line.lenses == ("600 mm f/4, near limit to follow", "300 mm f/4, near limit 1.4 m")
    assert line.batteries == ("2 × 14.4 V 7 Ah (101 Wh)",)
    assert line.cells[2] == ("25 mm tube",)
    assert gear_line("Marta", gear, units="feet").lenses[1] == "300 mm f/4, near limit 4.6 ft"


def test_gear_that_nobody_typed_yet_is_to_follow_and_a_guest_brings_none():
    assert gear_line("Marta", Gear()).cells == (("to follow",),) * 5
    body_alone = gear_line("Marta", Gear((Body("45 MP", 36, 24, 8256, 5504),)))
    assert body_alone.cells == (("45 MP",), ("to follow",), (), (), ())
    guest = gear_line("Guest", Gear(), photographs=False)
    assert (guest.cells, guest.note) == (((),) * 5, "comes without a camera")


def test_lengths_of_animals_are_in_the_readers_units():
    assert [q.size_text(27, 29, units) for units in ("metric", "feet")] == ["27 to 29 cm", "11 in"]
    assert [q.size_text(93, 122, units) for units in ("metric", "feet")] == ["93 to 122 cm", "37 to 48 in"]
    assert [q.size_text(12.5, 12.5, units) for units in ("metric", "feet")] == ["12.5 cm", "5 in"]


def test_a_reason_that_holds_for_several_hides_is_said_once():
    briefing = paper_values.briefing()
    assert briefing.shared == briefing.cards[0].general != ()
    assert replace(briefing, cards=briefing.cards[:1]).shared == ()
