"""Typed text in calendar files: folded, escaped, and read back as typed."""

from pathlib import Path

import icalendar
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.core.calendar_files import file_of, payload, read_by_script, value_of
from trips.documents.ical import CalendarHead, plain_text


@pytest.mark.parametrize(
    "name",
    [
        "池塘觀鳥屋" * 12,
        "a" * 66 + "\N{EAGLE}" * 10,
        "b" * 65 + "\N{EAGLE}" * 10,
        "ö" * 80,
        "\\" * 90,
        ", " * 60,
    ],
)
def test_long_lines_are_cut_between_characters_and_at_seventy_five_octets(name):
    data = file_of(payload(summary=name))
    for line in data.split(b"\r\n"):
        assert len(line) <= 75
        line.decode()
    assert value_of(data, "SUMMARY") == name
    assert str(icalendar.Calendar.from_ical(data).events[0]["summary"]) == name


@pytest.mark.parametrize(
    "text",
    [
        "Hide 3; seat 2, left\\right\nsecond line",
        "north\\North",
        "a\\nb",
        "\\",
        "\\\\n",
        ":;,\"'=",
        "BEGIN:VEVENT\nX:1",
    ],
)
def test_typed_marks_come_back_as_typed_on_one_property_line(text, tmp_path):
    data = file_of(payload(summary=text, description=text, location=text))
    for name in ("SUMMARY", "DESCRIPTION", "LOCATION"):
        assert value_of(data, name) == text
    event = icalendar.Calendar.from_ical(data).events[0]
    assert [str(event[name]) for name in ("summary", "description", "location")] == [text] * 3
    path = tmp_path / "one.ics"
    path.write_bytes(data)
    ((read,),) = read_by_script(path)
    assert [read[name] for name in ("summary", "description", "location")] == [text] * 3


def test_control_characters_and_half_pairs_are_dropped():
    assert plain_text("a\x00b\x07c\x1b[0m\x7f\ud83e\td\r\ne\rf") == "abc[0m\td\ne\nf"
    assert value_of(file_of(payload(summary="a\x0bb\ud800")), "SUMMARY") == "ab"


def test_what_would_turn_a_line_round_is_dropped_and_isolates_and_joiners_stay():
    kept = "\u2068בית\u2069 \u200d\u200f"
    assert value_of(file_of(payload(summary=f"{kept} \u202emoc.live\u202c")), "SUMMARY") == f"{kept} moc.live"


texts = st.text(st.characters(exclude_categories=["Cs"]), max_size=120)


@settings(max_examples=80, deadline=None)
@given(texts, texts, texts, texts)
def test_any_text_in_any_field_is_read_back(summary, description, location, name):
    data = file_of(
        payload(summary=summary, description=description, location=location), head=CalendarHead("c", name, name)
    )
    assert all(len(line) <= 75 for line in data.split(b"\r\n"))
    calendar = icalendar.Calendar.from_ical(data)
    event = calendar.events[0]
    assert value_of(data, "name") == value_of(data, "x-wr-calname") == plain_text(name)
    assert str(event["summary"]) == plain_text(summary)
    assert str(event.get("description", "")) == plain_text(description)
    assert str(event.get("location", "")) == plain_text(location)


HARD_TEXTS = st.text(st.sampled_from('\\nN;,:" \t\n\r\x85\u2028é鷹\U0001f985'), max_size=90)


def test_hard_text_is_read_back_by_the_script_reader(tmp_path):
    written: dict[Path, list[str]] = {}

    @settings(max_examples=60, deadline=None, database=None)
    @given(st.tuples(HARD_TEXTS, HARD_TEXTS, HARD_TEXTS))
    def write(fields):
        path = tmp_path / f"{len(written)}.ics"
        summary, description, location = fields
        path.write_bytes(file_of(payload(summary=summary, description=description, location=location)))
        written[path] = [plain_text(text) for text in fields]

    write()
    for (event,), wanted in zip(read_by_script(*written), written.values(), strict=True):
        assert [event[name] or "" for name in ("summary", "description", "location")] == wanted
