"""What a draft made on the day would do, before it is issued: who moves and why, whom to tell, whom to phone."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from trips.assemble.drive_rows import person_key, rows_of
from trips.assemble.drives import TripDrives
from trips.assemble.rota_result import stored_rota
from trips.assemble.trip import TripValues
from trips.assemble.why_cannot_sit import trip_names
from trips.core.rota.edit.repair_moves import repair_moves
from trips.documents.wording.board import move_sentence
from trips.models import Rota, RotaState
from trips.services.issue_payload import Told, who_is_told
from trips.services.rota import BY_HAND

PHONE_BEFORE = timedelta(minutes=30)


@dataclass(frozen=True)
class PhoneLine:
    """Somebody whom a mail may reach too late: when their car leaves, by the clock of the site."""

    told: Told
    leaves_at: datetime


@dataclass(frozen=True)
class BoardConfirm:
    """A draft as its leader confirms it. `is_planned`: the planner made it, in `seconds`; else it was made by hand.

    `aim`: the number of the former rota that it goes back to, None where there is none; `moves`: against that one then.
    """

    moves: tuple[str, ...]
    told: tuple[Told, ...]
    phone: tuple[PhoneLine, ...]
    is_planned: bool
    seconds: float | None
    aim: int | None = None


def board_confirm(rota: Rota, *, now: datetime) -> BoardConfirm:
    """What issuing a draft at this moment does."""
    stored = stored_rota(rota)
    problem, names = stored.inputs.problem, trip_names(stored.inputs)
    is_planned = rota.result.get("status") != BY_HAND and not rota.result.get("changed_by_hand")
    moves = tuple(
        move_sentence(move, names, is_planned=is_planned)
        for move in (repair_moves(problem, stored.plan) if problem.issued is not None else ())
    )
    told = tuple(who_is_told(rota, now))
    aim = rota.result.get("repair", {}).get("aim")
    return BoardConfirm(moves, told, _phone(rota, stored.inputs.values, told, now), is_planned, rota.seconds, aim)


def _phone(rota: Rota, values: TripValues, told: Iterable[Told], now: datetime) -> tuple[PhoneLine, ...]:
    """Those told who leave in less than PHONE_BEFORE, by what they knew or by what they are to do, the first first."""
    issued = rota.trip.rotas.filter(state=RotaState.ISSUED).exclude(pk=rota.pk).first()
    leaves: dict[str, datetime] = {}
    for one in (issued, rota):
        if one is not None:
            leaves |= {key: min(at, leaves.get(key, at)) for key, at in _leaving(one, values, now).items()}
    zone = ZoneInfo(next((row.site.time_zone for row in values.session_rows), "UTC"))
    lines = [PhoneLine(one, leaves[one.key].astimezone(zone)) for one in told if one.key in leaves]
    return tuple(sorted(lines, key=lambda line: (line.leaves_at, line.told.name)))


def _leaving(rota: Rota, values: TripValues, now: datetime) -> dict[str, datetime]:
    """When people leave from now on within PHONE_BEFORE, by their key."""
    drives = TripDrives(rows_of(rota.trip, values.session_rows, values.hide_rows), rota)
    found = {}
    for turn in rota.turns.select_related("place", "hide").order_by("-session__starts_at"):
        ride = drives.rides.get((turn.session_id, str(turn.hide.uuid)))
        if ride is not None and ride.leaves_at is not None and now <= ride.leaves_at < now + PHONE_BEFORE:
            found[person_key(turn)] = ride.leaves_at
    return found
