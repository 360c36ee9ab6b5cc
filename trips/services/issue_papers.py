"""What an issue keeps for papers and calendars, so that both say later what was told."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any

from trips.assemble.day_papers import DayPapers
from trips.assemble.days import RotaPages
from trips.assemble.rota_events import owner_events, person_events, trip_events
from trips.assemble.trip import TripValues
from trips.documents.briefing import PaperHead
from trips.documents.frozen_json import as_json
from trips.documents.ical import EventPayload
from trips.models import Issue, Rota
from trips.services.papers import papers_made

NO_HEAD = PaperHead("", "", "", "")  # written when a paper is printed


@dataclass(frozen=True)
class IssuePapers:
    """`papers` for Issue.papers (the drawings of the pages are added to it), `events` for Issue.events."""

    papers: dict[str, Any]
    events: dict[str, Any]


def issue_papers(
    *, rota: Rota, values: TripValues | None = None, last: Issue | None = None, now: datetime | None = None
) -> IssuePapers:
    """What the issue of a rota keeps, but nobody's emergency contact; called inside the issue's transaction:

    kept = issue_papers(rota=rota)
    Issue.objects.create(rota=rota, ..., papers=kept.papers | {"drawings": told.drawings}, events=kept.events)

    Entries of the `last` issue that are over at `now` stay as they were told.
    """
    before = last.events if last else {}

    def stored(payloads: Iterable[EventPayload], told: list[dict[str, Any]]) -> list[dict[str, Any]]:
        before = [EventPayload.from_json(one) for one in told if not one.get("cancelled")]
        over = {one.uid: one for one in before if now and _has_ended(one.ends_at, now)}
        return [over.get(payload.uid, payload).as_json() for payload in payloads]

    made = RotaPages(rota, values)
    papers = papers_made(rota, made, NO_HEAD, drawings=False)
    sheets = DayPapers(rota, made, papers.pages)
    people = {
        str(place.uuid): person_events(made.values, place, papers.pages[str(place.uuid)])
        for place in made.values.place_rows
    }
    return IssuePapers(
        papers={
            "trip": as_json(papers.trip),
            "people": {key: as_json(replace(one, emergency_contact="")) for key, one in papers.people.items()},
            "days": as_json(papers.days),
            "owners": {key: as_json(own) for key, own in papers.owners.items()},
        },
        events={
            "people": {key: stored(own, before.get("people", {}).get(key, [])) for key, own in people.items()},
            "trip": stored(trip_events(made.values, sheets), before.get("trip", [])),
            "owners": {
                key: stored(own, before.get("owners", {}).get(key, []))
                for key, own in owner_events(made.values, sheets).items()
            },
        },
    )


def _has_ended(ends_at: datetime | date, now: datetime) -> bool:
    return ends_at <= now if isinstance(ends_at, datetime) else ends_at <= now.date()
