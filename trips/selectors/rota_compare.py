"""Two rotas of a trip side by side: how each was made, what it gives everybody, and who sits elsewhere."""

from dataclasses import dataclass
from uuid import UUID
from zoneinfo import ZoneInfo

from django.template.defaultfilters import floatformat
from django.utils.formats import date_format

from trips.core.rota.explain.promises import told_share
from trips.models import Rota, Session

Cell = tuple[int, int | None]  # the keys of a session and of a place, None: the leader


@dataclass(frozen=True)
class Difference:
    """One person in one session: where in each of the two rotas ("rest", or empty where there is nothing)."""

    person: str
    session: str
    left: str
    right: str


@dataclass(frozen=True)
class Beside:
    """One line of the comparison, in words."""

    what: str
    left: str
    right: str


def beside(left: Rota, right: Rota, *, zone: str) -> list[Beside]:
    """When and how each was made, its scores, and everybody's share by name."""
    names = dict(left.trip.places.values_list("uuid", "participant__name"))
    one, other = _facts(left, zone), _facts(right, zone)
    lines = [Beside(what, one[what], other[what]) for what in one]
    shares = [{UUID(key): share for key, share in rota.result.get("shares", {}).items()} for rota in (left, right)]
    people = sorted((names[key], key) for key in {*shares[0], *shares[1]} if key in names)
    return lines + [
        Beside(f"Fair share of {name}", *(_share(found.get(key)) for found in shares)) for name, key in people
    ]


def _facts(rota: Rota, zone: str) -> dict[str, str]:
    made_at = rota.made_at.astimezone(ZoneInfo(zone))
    return {
        "Made": date_format(made_at, "j M Y, H:i"),
        "Draw number": str(rota.seed),
        "Search time": rota.search_time or "by hand",
        "Took": "not known" if rota.seconds is None else f"{rota.seconds:.0f} s",
        "Lowest fair share": _share(rota.result.get("worst_share")),
        "Best possible": _number(rota.result.get("bound"), 3),
        "Sum of fair shares": _number(rota.result.get("total_of_shares"), 2),
    }


def _share(value: float | None) -> str:
    return _number(None if value is None else told_share(value), 2)


def _number(value: float | None, decimals: int) -> str:
    return "not known" if value is None else str(floatformat(value, decimals))


def differences(left: Rota, right: Rota) -> list[Difference]:
    """Who sits elsewhere in `right` than in `left`, by session, then by name."""
    one, other = _seats(left), _seats(right)
    names: dict[int | None, str] = dict(left.trip.places.values_list("pk", "participant__name"))
    names[None] = "the leader"
    sessions = {row.pk: row for row in left.trip.sessions.select_related("site")}
    changed = [key for key in {*one, *other} if one.get(key) != other.get(key)]
    changed.sort(key=lambda key: (sessions[key[0]].starts_at, key[0], names[key[1]], key[1] or 0))
    return [
        Difference(
            names[place],
            _session_words(sessions[session]),
            *(seats.get((session, place), "") for seats in (one, other)),
        )
        for session, place in changed
    ]


def _session_words(session: Session) -> str:
    day = session.starts_at.astimezone(ZoneInfo(session.site.time_zone))
    return f"{date_format(day, 'D j M')}, {session.name or session.get_kind_display()}"


def _seats(rota: Rota) -> dict[Cell, str]:
    turns = rota.turns.values_list("session_id", "place_id", "hide__name", "seat__name")
    seats: dict[Cell, str] = {(session, place): f"{hide}, {seat}" for session, place, hide, seat in turns}
    return seats | dict.fromkeys(rota.rests.values_list("session_id", "place_id"), "rest")
