"""Records of incidents: put together from what was noted on the day, then frozen."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from trips.assemble import point_value
from trips.assemble.day import happening_rows, happening_values
from trips.assemble.drive_rows import person_name
from trips.assemble.hide_papers import rescue_facts
from trips.assemble.sessions import session_label
from trips.documents.briefing import PaperHead
from trips.documents.frozen_json import as_json, from_json
from trips.documents.incident import STATEMENT, IncidentPaper, IncidentSeat, IncidentTime
from trips.documents.quantities import Fact, clock_range_text, clock_text, position_text, stamp_text
from trips.documents.wording.happenings import noted_words
from trips.models import Happening, Hide, IncidentRecord, Notice, Session, Trip
from trips.selectors.my_wishes import reader_name
from trips.selectors.out_back import HideOutings, outings
from trips.selectors.trip import leader_phones
from trips.services.pdf import PrintJob, job_pdf


@dataclass(frozen=True)
class IncidentSaid:
    """What a leader types for a record: where (None: the whole session), what happened, who was told when."""

    session: Session
    hide: Hide | None
    happened: str
    told: str


@transaction.atomic
def incident_make(*, trip: Trip, told: IncidentSaid, by: Any, now: datetime) -> IncidentRecord:
    """The trip's next record, with everything as it stands now; later happenings do not reach it."""
    Trip.objects.select_for_update().get(pk=trip.pk)
    number = (trip.incidents.aggregate(last=Max("number"))["last"] or 0) + 1
    paper = _paper(trip, told, f"Incident record {number}", reader_name(by), now)
    return IncidentRecord.objects.create(
        trip=trip, number=number, session=told.session, made_at=now, by=by, paper=as_json(paper)
    )


def incident_pdf(record: IncidentRecord) -> bytes:
    """The record as it was frozen, printed. Raises NoFont, PaperFailed or BadShape."""
    paper = from_json(IncidentPaper, record.paper)
    return job_pdf(PrintJob("papers/incident.html", {"head": paper.head, "paper": paper, "statement": STATEMENT}))


def _paper(trip: Trip, told: IncidentSaid, title: str, made_by: str, now: datetime) -> IncidentPaper:
    session, site = told.session, told.session.site
    zone = ZoneInfo(site.time_zone)
    hides = [one for one in outings(trip, session, now=now).hides if told.hide in (None, one.hide)]
    made = stamp_text(now.astimezone(zone), site.time_zone)
    hours = clock_range_text(session.starts_at.astimezone(zone), session.ends_at.astimezone(zone))
    return IncidentPaper(
        head=PaperHead(trip.name, title, "", made, site.time_zone, leaders=leader_phones(trip)),
        session=f"{session_label(session)}, {hours}",
        facts=_facts(told.hide or (hides[0].hide if len(hides) == 1 else None), session),
        happened=told.happened,
        told=told.told,
        made_by=made_by,
        seats=tuple(_seats(hides)),
        times=_times(trip, told, hides, zone),
        mailed=_mailed(told, zone),
    )


def _facts(hide: Hide | None, session: Session) -> tuple[Fact, ...]:
    if hide is None:
        return (Fact("Estate", session.site.name),)
    point = point_value(hide.site, hide)
    whose = "Position" if hide.latitude_deg is not None else "Position of the estate"
    where = f"{position_text(point.latitude_deg, point.longitude_deg)} (WGS 84)"
    return (Fact("Hide", f"{hide.name}, {hide.site.name}"), Fact(whose, where), *rescue_facts(hide))


def _seats(hides: Iterable[HideOutings]) -> Iterable[IncidentSeat]:
    for one in hides:
        for person in one.people:
            out, back = (clock_text(at) if at else "" for at in (person.out_at, person.back_at))
            yield IncidentSeat(one.hide.name, person.seat, person.who.name, out, back)


def _times(trip: Trip, told: IncidentSaid, hides: Iterable[HideOutings], zone: ZoneInfo) -> tuple[IncidentTime, ...]:
    """What was noted of the session, of one hide where one is named; and of cars and light on that day."""
    day = told.session.starts_at.astimezone(zone).date()
    people = {person.who.key for one in hides for person in one.people}
    rows = [row for row in happening_rows(trip) if row.session_id in (None, told.session.pk)]
    values = zip(rows, happening_values(rows), strict=True)
    return tuple(
        IncidentTime(
            clock_text(row.at.astimezone(zone)), noted_words(value, _who(row), row.hide.name if row.hide else "")
        )
        for row, value in sorted(values, key=lambda pair: (pair[0].at, pair[1].key))
        if (row.session_id or row.at.astimezone(zone).date() == day)
        and (told.hide is None or not (row.hide_id or value.person) or row.hide == told.hide or value.person in people)
    )


def _who(row: Happening) -> str:
    return person_name(row) if row.place_id or row.leader_id else (row.car.name if row.car else "")


def _mailed(told: IncidentSaid, zone: ZoneInfo) -> tuple[IncidentTime, ...]:
    sent = Notice.objects.filter(session=told.session, told_at__isnull=False).select_related("leader", "hide")
    wanted = sent if told.hide is None else sent.filter(hide=told.hide)
    return tuple(
        IncidentTime(clock_text(timezone.localtime(one.told_at, zone)), f"Mail to {reader_name(one.leader)}: overdue")
        for one in wanted.order_by("told_at", "pk")
    )
