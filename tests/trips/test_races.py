"""Every form that makes rows, pressed twice at one moment on a database whose writers wait for each other."""

from pathlib import Path
from typing import Any

import pytest
from django.db import connection

from tests.access_table import ACCESS
from tests.trips.own_database import OwnDatabase
from tests.trips.races import races_told

LONG_S = 1800
# Answered with a page whatever is typed, or by what the race does not know: a password, a word to say yes, a picture.
NOT_SAVED = {
    "sign-in",
    "sign-in-to-admin",
    "two-steps-begin",
    "password-change",
    "participants:link-ask",
    "trips:my-data-erase",
    "trips:gear-picture",
    "trips:board-confirm",  # only of a draft, which the issue page takes first
}
# No page of the world has their form: they take away, draw, or ask for what only a planner's run leaves.
NOT_MET = {
    "two-steps-change",
    "participants:link-press",
    "participants:participant-sign-out",
    "participants:sign-in-link-mail",
    "trips:planner-refuse",
    "trips:rota-stop",
    "trips:board-note-undo",
    "trips:remedy-take",
    "trips:people-confirm",
    "trips:piece-remove",
    "trips:piece-found",
    "trips:piece-try",
    "trips:my-data-file",
    "trips:my-days-read",
}


@pytest.mark.django_db(transaction=True)
@pytest.mark.timeout(LONG_S)  # many pages; a busy machine is slow
def test_a_form_pressed_twice_at_once_makes_its_rows_once(tmp_path: Path) -> None:
    told: dict[str, Any]
    if connection.vendor == "sqlite":
        lines = "from tests.trips.races import races_told\nanswer = races_told()"
        told = OwnDatabase(tmp_path).program(lines, timeout_s=LONG_S)
    else:
        told = races_told()
    assert told["faults"] == []
    assert set(told["not_saved"]) == NOT_SAVED, "say in tests/trips/races.py what is typed into these"
    assert {name for name, row in ACCESS.items() if row.method == "post"} - set(told["met"]) <= NOT_MET
    assert {"trips:trip-new", "trips:person-new", "trips:rota-change", "trips:my-health"} <= set(told["making"])
