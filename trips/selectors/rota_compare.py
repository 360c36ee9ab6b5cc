"""Two rotas of a trip side by side: who sits elsewhere."""

from dataclasses import dataclass
from typing import Any

from trips.models import Rota


@dataclass(frozen=True)
class Difference:
    """One person in one session: where in each of the two rotas ("rest", or empty where there is nothing)."""

    person: str
    session: str
    left: str
    right: str


def differences(left: Rota, right: Rota) -> list[Difference]:
    """Who sits elsewhere in `right` than in `left`, by session, then by name."""
    one, other = _seats(left), _seats(right)
    sessions = {key: (row.starts_at, str(row)) for row in left.trip.sessions.all() for key in [row.pk]}
    found = [
        Difference(name, sessions[session][1], one.get((session, name), ""), other.get((session, name), ""))
        for session, name in {*one, *other}
        if one.get((session, name)) != other.get((session, name))
    ]
    starts = {words: start for start, words in sessions.values()}
    return sorted(found, key=lambda difference: (starts[difference.session], difference.person))


def _seats(rota: Rota) -> dict[tuple[Any, str], str]:
    turns = rota.turns.values_list("session_id", "place__participant__name", "hide__name", "seat__name")
    seats = {(session, name or "the leader"): f"{hide}, {seat}" for session, name, hide, seat in turns}
    rests = rota.rests.values_list("session_id", "place__participant__name")
    return seats | dict.fromkeys(rests, "rest")
