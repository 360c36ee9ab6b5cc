"""Calendar files: RFC 5545 and 7986 line by line, then read back by three independent readers.

Readers: `icalendar` with `recurring-ical-events`, `dateutil` for the bare date lines, and `ical.js` under Node.
"""

import json
import re
import subprocess
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from pathlib import Path
from uuid import UUID
from zoneinfo import ZoneInfo

import icalendar
import pytest
import recurring_ical_events
from dateutil import parser as dateutil_parser
from dateutil import tz as dateutil_tz
from hypothesis import given, settings
from hypothesis import strategies as st

from participants.core.errors import BadValue
from trips.documents.ical import (
    CONTENT_TYPE,
    CalendarHead,
    EventPayload,
    IssuedPayloads,
    calendar_file,
    calendar_uid,
    day_uid,
    events_from_issues,
    hide_session_uid,
    person_session_uid,
    plain_text,
)

TRIP, PLACE, OTHER, SESSION, HIDE = (UUID(int=number) for number in range(1, 6))
MADRID = ZoneInfo("Europe/Madrid")
FIRST = datetime(2027, 5, 1, 18, 0, tzinfo=UTC)
HEAD = CalendarHead("calendar-1", "Marsh; west, 2027", "Turns\nand times")
READER = Path(__file__).with_name("calendar_reader.mjs")
FORTY_ZONES = [
    "Africa/Cairo",
    "Africa/Casablanca",
    "Africa/Johannesburg",
    "Africa/Nairobi",
    "America/Anchorage",
    "America/Argentina/Ushuaia",
    "America/Asuncion",
    "America/Caracas",
    "America/Denver",
    "America/Halifax",
    "America/Havana",
    "America/Mexico_City",
    "America/New_York",
    "America/Nuuk",
    "America/Santiago",
    "America/Sao_Paulo",
    "America/St_Johns",
    "Antarctica/Troll",
    "Asia/Beirut",
    "Asia/Gaza",
    "Asia/Jerusalem",
    "Asia/Kathmandu",
    "Asia/Kolkata",
    "Asia/Tehran",
    "Asia/Tokyo",
    "Atlantic/Azores",
    "Australia/Adelaide",
    "Australia/Darwin",
    "Australia/Lord_Howe",
    "Australia/Sydney",
    "Europe/Chisinau",
    "Europe/Dublin",
    "Europe/Istanbul",
    "Europe/London",
    "Europe/Madrid",
    "Pacific/Apia",
    "Pacific/Auckland",
    "Pacific/Chatham",
    "Pacific/Easter",
    "Pacific/Norfolk",
]


def payload(uid: str = "turn-1", **changes) -> EventPayload:
    values = {
        "uid": uid,
        "starts_at": datetime(2027, 5, 8, 6, 45, tzinfo=MADRID),
        "ends_at": datetime(2027, 5, 8, 10, 45, tzinfo=MADRID),
        "summary": "Alder, left",
        "description": "Leave 06:06",
        "location": "The yard",
        "alarm_min": 69,
    }
    return EventPayload(**(values | changes))


def file_of(*payloads: EventPayload, head: CalendarHead = HEAD) -> bytes:
    return calendar_file(head, events_from_issues([IssuedPayloads(FIRST, payloads)]))


def lines_of(data: bytes) -> list[str]:
    """Physical lines joined as RFC 5545 section 3.1 says."""
    return data.decode().replace("\r\n ", "").replace("\r\n\t", "").split("\r\n")


def value_of(data: bytes, name: str) -> str:
    """The TEXT of a property of the first event or, before it, of the calendar; unescaped one character at a time
    as RFC 5545 section 3.3.11 says."""
    head, block = ("\n".join(lines_of(data)) + "\n").split("\nBEGIN:VEVENT\n")[:2]
    block = head if name.islower() else block.split("\nBEGIN:VALARM\n")[0]
    found = [line for line in block.split("\n") if line.startswith(name.upper() + ":")]
    assert len(found) == 1
    escaped = found[0].removeprefix(name.upper() + ":")
    return re.sub(r"\\(.)", lambda match: "\n" if match[1] in "nN" else match[1], escaped)


def read_by_script(*files: Path) -> list[list[dict]]:
    done = subprocess.run(
        ["node", str(READER), *map(str, files)], capture_output=True, text=True, check=False, timeout=120
    )
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


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


# --- the same moments in every reader, whatever the clocks do -------------------------------------------------------


def weeks_of_clock_change(zone: ZoneInfo) -> list[date]:
    """First days of the weeks of 2027 around each clock change; one week of March where the clocks never change."""
    noons = [datetime(2027, 1, 1, 12, tzinfo=zone) + timedelta(days=number) for number in range(365)]
    changes = [today.date() for today, tomorrow in pairwise(noons) if today.utcoffset() != tomorrow.utcoffset()]
    return [day - timedelta(days=3) for day in changes] or [date(2027, 3, 25)]


def sessions_of(zone: ZoneInfo) -> list[EventPayload]:
    rows = []
    for first in weeks_of_clock_change(zone):
        for number in range(7):
            day = first + timedelta(days=number)
            for hour, minute in ((1, 30), (6, 45), (17, 30), (22, 0)):
                start = datetime(day.year, day.month, day.day, hour, minute, tzinfo=zone)
                end = (start.astimezone(UTC) + timedelta(hours=4)).astimezone(zone)
                rows.append(payload(f"{day} {hour}", starts_at=start, ends_at=end, alarm_min=69))
    return rows


@pytest.fixture(scope="module")
def zone_files(tmp_path_factory):
    folder = tmp_path_factory.mktemp("zones")
    files = {}
    for name in FORTY_ZONES:
        path = folder / f"{name.replace('/', '-')}.ics"
        rows = sessions_of(ZoneInfo(name))
        path.write_bytes(file_of(*rows))
        files[name] = (path, {row.uid: (row.starts_at.timestamp(), row.ends_at.timestamp()) for row in rows})
    return files


def test_there_are_forty_zones_and_most_of_them_change_their_clocks():
    assert len(set(FORTY_ZONES)) == 40
    assert sum(len(weeks_of_clock_change(ZoneInfo(name))) >= 2 for name in FORTY_ZONES) >= 22


def test_the_python_readers_see_the_moments_in_forty_zones(zone_files):
    for path, wanted in zone_files.values():
        calendar = icalendar.Calendar.from_ical(path.read_bytes())
        seen = {
            str(event["uid"]): (event.start.timestamp(), event.end.timestamp())
            for event in recurring_ical_events.of(calendar).all()
        }
        assert seen == wanted


def test_dateutil_sees_the_local_clock_times_in_forty_zones(zone_files):
    for name, (path, wanted) in zone_files.items():
        blocks = "\n".join(lines_of(path.read_bytes())).split("BEGIN:VEVENT")[1:]
        for block in blocks:
            uid, start, end = (re.search(f"^{key}:(.*)$", block, re.M)[1] for key in ("UID", "DTSTART", "DTEND"))
            moments = tuple(dateutil_parser.isoparse(text) for text in (start, end))
            assert tuple(moment.timestamp() for moment in moments) == wanted[uid]
            local = moments[0].astimezone(dateutil_tz.gettz(name))
            own = datetime.fromtimestamp(wanted[uid][0], ZoneInfo(name))
            assert local.replace(tzinfo=None) == own.replace(tzinfo=None)


def test_the_script_reader_sees_the_moments_in_forty_zones(zone_files):
    read = read_by_script(*(path for path, _ in zone_files.values()))
    for events, (_, wanted) in zip(read, zone_files.values(), strict=True):
        assert {event["uid"]: (event["start"], event["end"]) for event in events} == wanted
        assert not any(event["floating"] for event in events)
        assert all(event["alarms"] == [-69 * 60] for event in events)


# --- identity and history -------------------------------------------------------------------------------------------


def history(*payload_lists) -> dict:
    issues = [IssuedPayloads(FIRST + timedelta(days=day), tuple(rows)) for day, rows in enumerate(payload_lists)]
    return {event.payload.uid: event for event in events_from_issues(issues)}


def test_identity_rests_on_trip_person_and_session_alone():
    own = person_session_uid(TRIP, PLACE, SESSION)
    assert own == person_session_uid(TRIP, PLACE, SESSION)
    assert UUID(own).version == 5
    others = {
        own,
        person_session_uid(TRIP, OTHER, SESSION),
        person_session_uid(OTHER, PLACE, SESSION),
        hide_session_uid(TRIP, HIDE, SESSION),
        day_uid(TRIP, "arrival", PLACE),
        day_uid(TRIP, "departure", PLACE),
        day_uid(TRIP, "trip"),
        calendar_uid(TRIP),
        calendar_uid(TRIP, PLACE),
    }
    assert len(others) == 9


def test_a_changed_turn_keeps_its_identity_and_goes_up_by_one():
    same = payload("same")
    events = history([payload("moved"), same], [payload("moved", summary="Birch, right"), same])
    assert (events["moved"].sequence, events["moved"].stamped_at) == (1, FIRST + timedelta(days=1))
    assert events["moved"].payload.summary == "Birch, right"
    assert (events["same"].sequence, events["same"].stamped_at) == (0, FIRST)


def test_a_turn_that_goes_back_to_what_it_was_still_goes_up():
    events = history([payload()], [payload(summary="Birch")], [payload()])
    assert (events["turn-1"].sequence, events["turn-1"].stamped_at) == (2, FIRST + timedelta(days=2))


def test_issues_without_a_change_leave_no_trace():
    assert history([payload()], [payload()], [payload()])["turn-1"].sequence == 0


def test_a_withdrawn_turn_is_cancelled_keeps_its_text_and_comes_back_confirmed():
    gone = history([payload()], [], [])
    assert (gone["turn-1"].cancelled, gone["turn-1"].sequence) == (True, 1)
    assert gone["turn-1"].stamped_at == FIRST + timedelta(days=1)
    data = calendar_file(HEAD, gone.values())
    assert "STATUS:CANCELLED" in lines_of(data)
    assert b"VALARM" not in data
    back = history([payload()], [], [payload()])
    assert (back["turn-1"].cancelled, back["turn-1"].sequence) == (False, 2)
    assert "STATUS:CONFIRMED" in lines_of(calendar_file(HEAD, back.values()))


def test_a_later_turn_starts_its_own_count():
    events = history([], [], [payload()])
    assert (events["turn-1"].sequence, events["turn-1"].stamped_at) == (0, FIRST + timedelta(days=2))


def test_two_entries_of_one_identity_in_one_issue_are_refused():
    with pytest.raises(BadValue):
        history([payload(), payload(summary="Birch")])


def test_the_same_values_give_the_same_bytes_in_any_order():
    rows = [payload(f"turn-{number}") for number in range(20)]
    assert file_of(*rows) == file_of(*reversed(rows))


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


@settings(max_examples=60, deadline=None)
@given(st.lists(st.lists(st.tuples(st.sampled_from("abc"), st.sampled_from("xy")), unique_by=lambda row: row[0])))
def test_the_count_grows_exactly_when_an_entry_changes(issues):
    seen: dict[str, tuple] = {}
    for length in range(1, len(issues) + 1):
        rows = [[payload(uid, summary=summary) for uid, summary in issue] for issue in issues[:length]]
        for uid, event in history(*rows).items():
            now = (event.payload.summary, event.cancelled)
            if uid in seen:
                assert event.sequence == seen[uid][1] + (now != seen[uid][0])
            else:
                assert event.sequence == 0
            seen[uid] = (now, event.sequence)
