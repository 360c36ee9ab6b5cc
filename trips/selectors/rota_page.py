"""The page of one rota in a fixed number of queries, whatever its size; counts come as they were saved."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from trips.assemble.drive_rows import DriveRows, rows_of
from trips.assemble.drives import TripDrives
from trips.assemble.drives_told import DriveTold, drives_told
from trips.assemble.sessions import session_label
from trips.assemble.trip import TripValues
from trips.documents.rota_page import StageLine, company_of, short_hides, short_names, stage_lines
from trips.models import Hide, Place, Rota, RotaState, SessionHide, Turn
from trips.selectors.rota_glance import (
    Asked,
    Column,
    CountsLine,
    GlanceRows,
    HideRow,
    PersonTurns,
    columns_of,
    hide_rows,
    person_lines,
)

GOOD_HEADS = {"early": "Good mornings", "midday": "Good middays", "late": "Good evenings", "night": "Good nights"}


@dataclass(frozen=True, slots=True)
class RotaPage:
    """Everything the page of one rota shows beside its row: a table of `people` or of `hides` by sessions, and counts.

    `short`: the name that a cell shows of a person or a hide, by the full one; `zone`: of the site's clock.
    """

    columns: tuple[Column, ...]
    hides: tuple[HideRow, ...]
    people: tuple[PersonTurns, ...]
    demand: tuple[str, ...]
    good: tuple[str, ...]
    lines: tuple[CountsLine, ...]
    guarantee: tuple[str, ...]
    stages: tuple[StageLine, ...]
    short: Mapping[str, str]
    zone: str

    @property
    def followed(self) -> PersonTurns | None:
        """Whom the reader follows."""
        return next((row for row in self.people if row.is_followed), None)

    @property
    def near(self) -> tuple[Column | None, Column | None, Column | None]:
        """The session before the one that a phone shows, that one, and the one after it."""
        at = next((number for number, column in enumerate(self.columns) if column.is_shown), None)
        if at is None:
            return None, None, None
        return (self.columns[at - 1] if at else None), self.columns[at], next(iter(self.columns[at + 1 :]), None)


def rota_page(rota: Rota, asked: Asked) -> RotaPage:
    """Everything that the page of a rota shows, in a dozen queries."""
    rows = _rows(rota, asked)
    hours = {key: (state.starts_at, state.ends_at) for key, state in rows.states.items()}
    drives = TripDrives(DriveRows(rota.trip, tuple(rows.sessions), tuple(rows.hides), hours), rota, rows.turns)
    columns = columns_of(rows, drives)
    used = {session.kind for session in rows.sessions}
    good = {kind: head for kind, head in GOOD_HEADS.items() if kind in used}
    demand = {str(hide.uuid): hide.name for hide in rows.hides if hide.sought_after}
    lines = _counts(rows, demand, good)
    return RotaPage(
        columns=tuple(columns.values()),
        hides=hide_rows(rows, columns) if asked.rows == "hides" else (),
        people=person_lines(rows, columns, {line.place: line for line in lines}),
        demand=tuple(demand.values()),
        good=tuple(good.values()),
        lines=lines,
        guarantee=tuple(rota.result.get("told", {}).get("guarantee", ())),
        stages=stage_lines(rota.result.get("stages", ())),
        short=short_hides(hide.name for hide in rows.hides)
        | short_names(place.participant.name for place in rows.places),
        zone=min(((one.site.name, one.site.time_zone) for one in rows.sessions), default=("", "UTC"))[1],
    )


def undriven_ahead(rota: Rota, values: TripValues, now: datetime) -> list[tuple[str, tuple[DriveTold, ...]]]:
    """What of a rota cannot be driven in the sessions that are not over, by the session's name."""
    drives = TripDrives(rows_of(rota.trip, values.session_rows, values.hide_rows), rota)
    ahead = [row for row in values.session_rows if row.ends_at > now and drives.faults.get(row.pk)]
    return [(session_label(row), tuple(drives_told(drives, row.pk))) for row in ahead]


def _rows(rota: Rota, asked: Asked) -> GlanceRows:
    trip = rota.trip
    places = Place.objects.filter(trip=trip).order_by("participant__name", "pk").select_related("participant")
    found = list(places.prefetch_related("absences"))
    turns = rota.turns.order_by("seat__name", "part").select_related("seat", "hide", "place__participant", "leader")
    states = SessionHide.objects.filter(session__trip=trip)
    return GlanceRows(
        rota=rota,
        asked=asked,
        followed=next((place.pk for place in found if str(place.uuid) == asked.follow), None),
        hides=list(Hide.objects.filter(site__trips=trip).order_by("name", "uuid")),
        sessions=list(trip.sessions.select_related("site")),
        states={(state.session_id, state.hide_id): state for state in states},
        places=found,
        turns=list(turns),
        before=_followed_seats(rota),
        resting={(who, when): why for who, when, why in rota.rests.values_list("place_id", "session_id", "reason")},
    )


def _followed_seats(rota: Rota) -> dict[tuple[int | None, int], str]:
    """Where the issued rota that a draft follows has each (place, session); empty where there is none."""
    if rota.state != RotaState.DRAFT or rota.follows_id is None:
        return {}
    found = Turn.objects.filter(rota=rota.follows_id).values_list("place", "session", "hide__name", "seat__name")
    return {(place, session): f"{hide}, {seat}" for place, session, hide, seat in found}


def _counts(rows: GlanceRows, demand: Mapping[str, str], good: Mapping[str, str]) -> tuple[CountsLine, ...]:
    stored: dict[str, dict[str, Any]] = rows.rota.result.get("people", {})
    names = {place.pk: place.participant.name for place in rows.places}
    company = company_of([(one.session_id, one.hide_id, one.place_id) for one in rows.turns if one.place_id])
    return tuple(
        CountsLine(
            place=uuid,
            name=names[place.pk],
            kept=stored[uuid],
            demand=tuple((hide, stored[uuid]["demand"].get(key, 0)) for key, hide in demand.items()),
            good=tuple((head, stored[uuid]["good"].get(kind, 0)) for kind, head in good.items()),
            company=tuple(sorted(names[other] for other in company.get(place.pk, ()))),
        )
        for place in rows.places
        if (uuid := str(place.uuid)) in stored
    )
