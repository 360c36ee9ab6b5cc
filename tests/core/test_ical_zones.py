"""The same moments in every reader of calendar files, whatever clocks do."""

import re
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import icalendar
import pytest
import recurring_ical_events
from dateutil import parser as dateutil_parser
from dateutil import tz as dateutil_tz

from tests.core.calendar_files import file_of, lines_of, payload, read_by_script
from trips.documents.ical import EventPayload

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
