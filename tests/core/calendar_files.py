"""Calendar files as values, lines and what readers make of them."""

import json
import re
import subprocess
from datetime import UTC, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from trips.documents.ical import CalendarHead, EventPayload, IssuedPayloads, calendar_file, events_from_issues

MADRID = ZoneInfo("Europe/Madrid")
FIRST = datetime(2027, 5, 1, 18, 0, tzinfo=UTC)
HEAD = CalendarHead("calendar-1", "Marsh; west, 2027", "Turns\nand times")
READER = Path(__file__).with_name("calendar_reader.mjs")


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
