"""Broken and hostile trip files: refused whole, with path, value and reason."""

import json
from collections.abc import Callable
from typing import Any

import pytest
from django.contrib.auth import get_user_model
from django.db import transaction
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from tests.trips.full_trip import full_trip
from tests.trips.made_once import forget_everything
from tests.trips.small_trip import small_trip
from trips.services.trip_file import TripFileRefused, trip_file_bytes, trip_file_import
from trips.services.trip_file.reading import LARGEST_BYTES
from trips.services.trip_file.tables import TABLES

pytestmark = pytest.mark.django_db
UNKNOWN = "99999999-0000-4000-8000-000000000000"


def refusal(content: bytes) -> list[str]:
    """The sentences that a file is refused with; nothing of it is stored."""
    before = row_counts()
    with pytest.raises(TripFileRefused) as refused:
        trip_file_import(content=content)
    assert row_counts() == before
    sentences = refused.value.sentences()
    for sentence in sentences:
        assert sentence.endswith(".")
        assert "\n" not in sentence
        assert "Traceback" not in sentence
    return sentences


def row_counts() -> list[int]:
    return [table.model._default_manager.count() for table in TABLES] + [get_user_model().objects.count()]


def as_bytes(data: Any) -> bytes:
    return json.dumps(data, ensure_ascii=False).encode()


@pytest.fixture(scope="module")
def everything(django_db_setup: Any, django_db_blocker: Any) -> dict[str, Any]:
    """The file of a trip with a row in every table; the database is empty again."""
    with django_db_blocker.unblock():
        data = json.loads(trip_file_bytes(trip=full_trip(), with_health=True))
        forget_everything()
    return data


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"", "the file is empty."),
        (b" \n", "the file is empty."),
        (b'{"format": "fairhide trip", ', "the file is not JSON: it breaks at line 1, column 29."),
        (b"[]", "the file should hold one object, written in { }."),
        (b"null", "the file should hold one object, written in { }."),
        (b'{"a": NaN}', "the file holds NaN, which is no number."),
        (b'{"a": -Infinity}', "the file holds -Infinity, which is no number."),
        (b'{"a": 1e999}', "a: holds a number too large to store."),
        (b'{"a": 1' + b"0" * 400 + b"}", "a: holds a number too large to store."),
        (b'{"a": ' + b"9" * 5000 + b"}", "the file holds a number with too many digits."),
        (b'{"a": 1, "a": 2}', '"a" stands twice in one object.'),
        (b'{"a": "x\\u0000y"}', 'a: "x\\u0000y" holds the character U+0000, which cannot be stored.'),
        (b'{"a": "\\ud800"}', "holds half of a character pair, which cannot be stored."),
        ("{}".encode("utf-16"), "the file is not UTF-8 text (byte 0)."),
        (b'{"a": "\xe9"}', "the file is not UTF-8 text (byte 7)."),
        (b"[" * 100_000, "the file has lists within lists too deep to read."),
        (b'{"a": ' + b"[" * 900 + b"]" * 900 + b"}", "has lists within lists too deep to read."),
        (b'{"a": ' * 500 + b"1" + b"}" * 500, "has lists within lists too deep to read."),
        (b"\x00\x01\x02\xff" * 50, "the file is not UTF-8 text"),
    ],
)
def test_what_is_no_trip_file_is_refused(content, sentence):
    sentences = refusal(content)
    assert len(sentences) == 1
    assert sentence in sentences[0]


def test_a_file_beyond_the_limit_is_refused_without_reading_its_json():
    assert refusal(b"[" * (LARGEST_BYTES + 1)) == ["the file is larger than the 32 MB that a trip file may have."]


def test_a_byte_order_mark_does_no_harm():
    assert trip_file_import(content=b"\xef\xbb\xbf" + as_bytes(small_trip())).trip.name == "Small"


def changed(change: Callable[[dict[str, Any]], Any]) -> bytes:
    """The small trip with one thing wrong."""
    data = small_trip()
    change(data)
    return as_bytes(data)


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        (lambda d: d.update(format="another"), 'format: "another" should be "fairhide trip".'),
        (lambda d: d.update(format_version=2), "format_version: 2 should be 1."),
        (lambda d: d.pop("trip"), 'lacks "trip".'),
        (lambda d: d.update(trip=None), "trip: null should be an object."),
        (lambda d: d.update(hide=[]), "hide: [] is a key that trip files do not have."),
        (lambda d: d["hides"][0].update(colour="red"), 'hides[0].colour: "red" is a key that trip files do not have.'),
        (lambda d: d["hides"][0].pop("name"), 'hides[0]: lacks "name".'),
        (lambda d: d["hides"][0].update(name=""), 'hides[0].name: "" must not be empty.'),
        (lambda d: d["hides"][0].update(name=7), "hides[0].name: 7 should be text."),
        (lambda d: d["hides"][0].update(name="x" * 201), "is longer than 200 characters."),
        (lambda d: d["hides"][0].update(steps=-1), "hides[0].steps: -1 is less than 0."),
        (lambda d: d["hides"][0].update(steps=1.5), "hides[0].steps: 1.5 should be a whole number."),
        (lambda d: d["hides"][0].update(steps=True), "hides[0].steps: true should be a whole number."),
        (lambda d: d["hides"][0].update(steps=10**30), "is more than 32767."),
        (lambda d: d["hides"][0].update(walk_m="far"), 'hides[0].walk_m: "far" should be a number.'),
        (lambda d: d["hides"][0].update(walk_m=None), "hides[0].walk_m: null should be a number."),
        (
            lambda d: d["hides"][0].update(doors="shut"),
            'hides[0].doors: "shut" is none of "free", "session", "all_day".',
        ),
        (lambda d: d["hides"][0].update(uuid="abc"), 'hides[0].uuid: "abc" is no uuid'),
        (lambda d: d.update(hides={}), "hides: {} should be a list."),
        (lambda d: d.update(hides=["Alder"]), 'hides[0]: "Alder" should be an object.'),
        (
            lambda d: d["hides"][0].update(site=UNKNOWN),
            f'hides[0].site: "{UNKNOWN}" is the uuid of no row in sites.',
        ),
        (
            lambda d: d["hides"][0].update(site=d["trip"]["uuid"]),
            "is the uuid of trip, not of a row in sites.",
        ),
        (lambda d: d["hides"][0].update(uuid=d["sites"][0]["uuid"]), "is already the uuid of sites[0]."),
        (lambda d: d["trip"].update(leader="bert"), 'trip.leader: "bert" is not among the file\'s leaders.'),
        (lambda d: d["leaders"].append({"username": "anna"}), 'leaders[1].username: "anna" stands there twice.'),
        (lambda d: d["trip"].update(sites=[]), "sessions[0].site:"),
        (lambda d: d["trip"].update(sites=d["trip"]["sites"] * 2), "names something twice."),
        (lambda d: d["trip"].update(starts_on="2027-02-30"), "does not exist in the calendar or on the clock."),
        (lambda d: d["trip"].update(starts_on="8 May 2027"), "is no day written as 2027-05-08."),
        (lambda d: d["trip"].update(ends_on="2027-05-07"), "trip: is refused: A trip does not end before it starts."),
        (lambda d: d["sites"][0].update(time_zone="Mars/Base"), "is no time zone (write one as Europe/Madrid)."),
        (lambda d: d["sites"][0].update(latitude_deg=139.5), "Latitude is from -90 to 90°"),
        (lambda d: d["sites"][0].update(last_changes_time="25:00"), "does not exist in the calendar or on the clock."),
        (lambda d: d["sessions"][0].update(ends_at="2027-05-08T06:45"), "A session ends after it starts"),
        (lambda d: d["sessions"][0].update(starts_at="soon"), "is no moment written as 2027-05-08T06:45:00+02:00."),
        (lambda d: d["sessions"][0].update(starts_at="0001-01-01T00:00:00+14:00"), "does not exist in the calendar"),
        (lambda d: d["sessions"].append(d["sessions"][0] | {"uuid": UNKNOWN}), "sessions[1]: repeats sessions[0]:"),
        (lambda d: d["hides"].append(d["hides"][0] | {"uuid": UNKNOWN}), "This site already has a hide of that name."),
        (lambda d: d["hides"][0].update(latitude_deg=39.5), "A position needs both latitude and longitude."),
    ],
)
def test_one_wrong_value_is_named_with_its_path_and_reason(change, sentence):
    sentences = refusal(changed(change))
    assert len(sentences) == 1, sentences
    assert sentence in sentences[0]


def test_a_clock_time_that_does_not_exist_is_refused_with_the_reason():
    assert refusal(changed(lambda d: d["sessions"][0].update(starts_at="2027-03-28T02:30"))) == [
        'sessions[0].starts_at: "2027-03-28T02:30" is refused: '
        "02:30 does not exist on 28 March 2027 (Europe/Madrid): clocks go from 02:00 to 03:00."
    ]


def test_a_clock_time_that_comes_twice_is_asked_back_with_both_answers():
    [sentence] = refusal(changed(lambda d: d["sessions"][0].update(starts_at="2027-10-31T02:30")))
    assert sentence == (
        'sessions[0].starts_at: "2027-10-31T02:30" comes twice there, as the clocks go back: '
        "write 2027-10-31T02:30:00+02:00 or 2027-10-31T02:30:00+01:00."
    )
    data = small_trip()
    data["sessions"][0] |= {"starts_at": "2027-10-31T02:30:00+01:00", "ends_at": "2027-10-31T06:30"}
    start = trip_file_import(content=as_bytes(data)).trip.sessions.get().starts_at
    assert start.isoformat() == "2027-10-31T01:30:00+00:00"


def test_a_clock_time_without_offset_needs_a_site_that_says_whose_clock():
    data = small_trip()
    data["sites"].append(data["sites"][0] | {"uuid": UNKNOWN, "name": "Far", "time_zone": "Pacific/Easter"})
    data["sessions"] = []
    data["participants"] = [{"uuid": UNKNOWN.replace("9", "8"), "leader": "anna", "name": "Ida"}]
    place = {"uuid": UNKNOWN.replace("9", "7"), "participant": UNKNOWN.replace("9", "8")}
    data["places"] = [place | {"arrives_at": "2027-05-08T12:00"}]
    assert "no site says which clocks it goes by" in refusal(as_bytes(data))[0]
    data["places"][0]["arrives_at"] = "2027-05-08T12:00+02:00"
    assert trip_file_import(content=as_bytes(data)).trip.places.count() == 1


def test_many_faults_are_told_one_by_one_up_to_a_limit():
    data = small_trip()
    data["hides"] = [{"uuid": UNKNOWN, "site": 5, "name": "x", "steps": "few"} for _ in range(30)]
    sentences = refusal(as_bytes(data))
    assert len(sentences) == 21
    assert sentences[-1] == "And 40 more of the kind."
    assert 'hides[0].steps: "few" should be a whole number.' in sentences


@pytest.mark.parametrize(
    ("table", "name", "other", "sentence"),
    [
        ("turns", "seat", "another_hides_seat", "is no seat of that hide."),
        ("pins", "seat", "another_hides_seat", "is no seat of that hide."),
        ("turns", "hide", "another_sites_hide", "is not at the site of sessions["),
        ("run_stops", "hide", "another_sites_hide", "is not at the site of sessions["),
        ("session_logs", "hide", "another_sites_hide", "is not at the site of sessions["),
        ("happenings", "hide", "another_sites_hide", "is not at the site of sessions["),
        ("session_hides", "hide", "another_sites_hide", "is not at the site of sessions["),
        ("sessions", "site", "another_site", "is not one of the trip's sites."),
        ("places", "helps", "itself", "is this place itself."),
        ("rotas", "follows", "itself", "which is not numbered before this rota."),
    ],
)
def test_rows_that_do_not_fit_together_are_refused(everything, table, name, other, sentence):
    data = json.loads(json.dumps(everything))
    site = data["sites"][0] | {"uuid": UNKNOWN, "name": "Elsewhere"}
    hide = data["hides"][0] | {"uuid": UNKNOWN.replace("9", "8"), "name": "Not there", "site": UNKNOWN}
    data["sites"].append(site)
    data["hides"].append(hide)
    row = data[table][-1]
    seats = [seat for seat in data["seats"] if seat["hide"] != row.get("hide")]
    row[name] = {
        "another_hides_seat": seats[0]["uuid"],
        "another_sites_hide": hide["uuid"],
        "another_site": UNKNOWN,
        "itself": row["uuid"],
    }[other]
    assert any(
        f"{table}[{len(data[table]) - 1}].{name}: " in said and sentence in said for said in refusal(as_bytes(data))
    )


def test_more_than_six_votes_and_a_pair_said_twice_are_refused(everything):
    data = json.loads(json.dumps(everything))
    wish = data["wishes"][0]
    other = next(row["uuid"] for row in data["subjects"] if row["uuid"] != wish["subject"])
    data["wishes"].append(wish | {"uuid": UNKNOWN, "subject": other, "votes": 3})
    pair = data["pairings"][0]
    data["pairings"].append(
        {"uuid": UNKNOWN[:-1] + "1", "kind": "half", "first": pair["second"], "second": pair["first"]}
    )
    assert refusal(as_bytes(data)) == [
        "wishes[1].votes: 3 brings this person above the 6 votes there are to spend.",
        "pairings[1]: is about the same two people as pairings[0].",
    ]


def test_health_notes_in_a_file_that_says_it_has_none_are_refused(everything):
    assert refusal(as_bytes(everything | {"health_notes_included": False})) == [
        "health_notes: holds health notes, though health_notes_included says false."
    ]


def test_the_databases_own_refusal_comes_in_the_words_of_the_row(everything):
    data = json.loads(json.dumps(everything))
    data["turns"][0] |= {"place": None, "leader": None}
    [sentence] = refusal(as_bytes(data))
    assert sentence == "turns[0]: is refused: A turn belongs to one participant or to a leader."
    data = json.loads(json.dumps(everything))
    issued = next(row for row in data["rotas"] if row["state"] == "issued")
    other = next(row for row in data["rotas"] if row is not issued)
    other["state"] = "issued"
    [sentence] = refusal(as_bytes(data))
    assert sentence.endswith("is refused: Another rota of this trip is issued.")


def test_a_row_validator_refuses_what_the_schema_cannot_say(everything):
    data = json.loads(json.dumps(everything))
    data["views"][0]["horizon"] = [[90, 2], [80, 3]]
    data["participants"][0]["email"] = "nobody"
    sentences = refusal(as_bytes(data))
    assert sentences[0].startswith('participants[0].email: "nobody" is refused: Enter a valid email address')
    data["participants"][0]["email"] = ""
    assert "go by rising azimuth" in refusal(as_bytes(data))[0]


WRONG = st.sampled_from([[[]], {"a": 1e308}, -1, 10**40, "\u202e", "0001-01-01T00:00+14:00", False, None, UNKNOWN])


@settings(max_examples=60, deadline=None, phases=[Phase.generate], suppress_health_check=list(HealthCheck))
@given(draw=st.data())
def test_any_value_may_be_of_the_wrong_kind_without_a_trace(everything, draw):
    data = json.loads(json.dumps(everything))
    table = draw.draw(st.sampled_from(TABLES))
    row = data[table.name] if table.single else data[table.name][0]
    row[draw.draw(st.sampled_from(sorted(row)))] = draw.draw(WRONG)
    try:
        with transaction.atomic():
            trip_file_import(content=as_bytes(data))
            raise NotRefused
    except NotRefused:
        return  # a value that this column may have after all
    except TripFileRefused as refused:
        said = refused.sentences()
    assert said
    assert all(sentence.endswith(".") and len(sentence) < 600 for sentence in said)


class NotRefused(Exception):
    """Undoes an import that went well."""
