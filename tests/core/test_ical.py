"""Calendar files: RFC 5545 and 7986 line by line, then read back by three independent readers.

Readers: `icalendar` with `recurring-ical-events`, `dateutil` for the bare date lines, and `ical.js` under Node.
"""

import json
import re
from dataclasses import replace
from datetime import date, datetime

import icalendar
import pytest
import recurring_ical_events

from participants.core.errors import BadValue
from tests.core.calendar_files import FIRST, HEAD, MADRID, file_of, lines_of, payload, read_by_script, value_of
from trips.documents.ical import CONTENT_TYPE, EventPayload, IssuedPayloads, calendar_file, events_from_issues


def test_required_properties_stand_once_and_every_line_ends_with_both_characters():
    data = file_of(payload(), payload("turn-2"))
    text = data.decode()
    assert text.startswith("BEGIN:VCALENDAR\r\n")
    assert text.endswith("END:VCALENDAR\r\n")
    assert re.search("[^\r]\n|\r[^\n]", text) is None
    lines = lines_of(data)
    for once in ("VERSION:2.0", "CALSCALE:GREGORIAN"):
        assert lines.count(once) == 1
    assert sum(line.startswith("PRODID:") for line in lines) == 1
    for each in ("UID:", "DTSTAMP:", "SEQUENCE:", "STATUS:", "DTSTART", "DTEND", "SUMMARY:"):
        assert sum(line.startswith(each) for line in text.split("BEGIN:VEVENT")[1].split("\r\n")) == 1
        assert sum(line.startswith(each) for line in text.split("BEGIN:VEVENT")[2].split("\r\n")) == 1


def test_a_file_names_a_method_as_little_as_its_content_type_does():
    lines = lines_of(file_of(payload()))  # RFC 5545 section 3.7.2: in both or in neither
    assert [line.startswith("METHOD") for line in lines].count(True) == CONTENT_TYPE.count("method=") == 0


def test_the_entries_of_a_draft_are_tentative_and_its_name_says_so():
    data = calendar_file(replace(HEAD, draft=True), events_from_issues([IssuedPayloads(FIRST, (payload(),))]))
    lines = lines_of(data)
    assert "STATUS:TENTATIVE" in lines
    assert "STATUS:CONFIRMED" not in lines
    assert value_of(data, "name") == value_of(data, "x-wr-calname") == "Draft: Marsh; west, 2027"
    for name in ("description", "x-wr-caldesc"):
        assert value_of(data, name) == "Draft, not issued: it may change. Turns\nand times"


def test_a_reader_is_told_how_often_to_ask_again():
    lines = lines_of(file_of(payload()))
    assert "REFRESH-INTERVAL;VALUE=DURATION:PT1H" in lines  # RFC 7986 section 5.7
    assert "X-PUBLISHED-TTL:PT1H" in lines
    assert "NAME:Marsh\\; west\\, 2027" in lines  # RFC 7986 section 5.1
    assert "UID:calendar-1" in lines  # RFC 7986 section 5.3


def test_times_are_written_in_utc_and_read_back_as_the_local_time():
    data = file_of(payload())
    lines = lines_of(data)
    assert "DTSTART:20270508T044500Z" in lines
    assert "DTEND:20270508T084500Z" in lines
    event = icalendar.Calendar.from_ical(data).events[0]
    assert event.start.astimezone(MADRID).isoformat() == "2027-05-08T06:45:00+02:00"


def test_a_time_without_a_zone_is_refused():
    with pytest.raises(BadValue):
        file_of(payload(starts_at=datetime(2027, 5, 8, 6, 45), ends_at=datetime(2027, 5, 8, 10, 45)))


def test_a_three_day_entry_ends_on_the_day_after_its_last_day():
    data = file_of(payload(starts_at=date(2027, 5, 8), ends_at=date(2027, 5, 11), alarm_min=None))
    lines = lines_of(data)
    assert "DTSTART;VALUE=DATE:20270508" in lines
    assert "DTEND;VALUE=DATE:20270511" in lines
    days = recurring_ical_events.of(icalendar.Calendar.from_ical(data))
    assert [len(days.at(date(2027, 5, day))) for day in (7, 8, 9, 10, 11)] == [0, 1, 1, 1, 0]


@pytest.mark.parametrize("ends_at", [datetime(2027, 5, 8, 6, 45, tzinfo=MADRID), date(2027, 5, 9)])
def test_an_end_that_is_not_after_its_start_is_refused(ends_at):
    with pytest.raises(BadValue):
        file_of(payload(ends_at=ends_at))


def test_a_stored_payload_is_the_payload_that_was_stored():
    for one in (payload(), payload(starts_at=date(2027, 5, 8), ends_at=date(2027, 5, 9), alarm_min=None)):
        stored = json.loads(json.dumps(one.as_json()))
        assert EventPayload.from_json(stored) == one
        assert EventPayload.from_json(stored).as_json() == stored


def test_a_calendar_without_entries_is_still_a_calendar(tmp_path):
    data = calendar_file(HEAD, [])
    assert icalendar.Calendar.from_ical(data).events == []
    path = tmp_path / "empty.ics"
    path.write_bytes(data)
    assert read_by_script(path) == [[]]
    assert "BEGIN:VTIMEZONE" in lines_of(data)  # RFC 5545 section 3.6: at least one component
