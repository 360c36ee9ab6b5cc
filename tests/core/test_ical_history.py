"""Identity and history of calendar entries: changed, withdrawn, back again."""

from datetime import timedelta
from uuid import UUID

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from participants.core.errors import BadValue
from tests.core.calendar_files import FIRST, HEAD, file_of, lines_of, payload
from trips.documents.ical import (
    IssuedPayloads,
    calendar_file,
    calendar_uid,
    day_uid,
    events_from_issues,
    hide_session_uid,
    person_session_uid,
)

TRIP, PLACE, OTHER, SESSION, HIDE = (UUID(int=number) for number in range(1, 6))


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
