"""What an issue keeps for the pages of people, and what changed for a person between two issues.

Who issues a rota does this inside the transaction of the issue (`last`: the issue before it of the trip, or None):

    told = issue_contents(rota=rota, last=last)
    issue = Issue.objects.create(rota=rota, ..., pages=told.pages, papers={..., "drawings": told.drawings})
    for place_uuid, summary in told.summaries.items():          # only those whom it changes something for
        Notice.objects.create(issue=issue, place=places[place_uuid], summary=summary)
    notices_send.enqueue(str(issue.uuid))                       # trips.tasks.notices: mails, sets told_at

Payloads are plain JSON in SI with moments in ISO form; `page_of` reads one back. `changes_between(old, new)` compares
those of one person.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from trips.assemble.days import RotaPages
from trips.assemble.trip import TripValues, trip_values
from trips.documents.changes import changes, is_told, with_what_is_over
from trips.documents.days import DaysPage, page_of
from trips.documents.frozen_json import as_json
from trips.models import Issue, Place, Rota
from trips.selectors.my import PEOPLE
from trips.selectors.told import reach_of, told_last, told_sentences


@dataclass(frozen=True)
class IssueContents:
    """`pages` for Issue.pages; `drawings` by "session/hide/window number"; `summaries` of those affected, by place."""

    pages: dict[str, Any]
    drawings: dict[str, str]
    summaries: dict[str, dict[str, Any]]


def issue_contents(
    *, rota: Rota, last: Issue | None, values: TripValues | None = None, now: datetime | None = None
) -> IssueContents:
    """Everything an issue keeps for pages, and what it changes for whom; the rota is read once.

    Sessions that are over at `now` stay as the last issue told them (None: no session is over).
    """
    made = RotaPages(rota, values)
    before = last.pages.get(PEOPLE, {}) if last else {}
    told, later_min = before | told_last(rota.trip), rota.trip.rules.later_untold_min
    people, summaries = {}, {}
    for place in made.values.place_rows:
        key, page = str(place.uuid), made.page(place)
        if now is not None and key in before:
            page = with_what_is_over(page_of(before[key]), page, now)
        people[key] = payload_of(page)
        summaries[key] = changes_between(told.get(key), people[key], later_min)
    affected = {key: summary for key, summary in summaries.items() if summary["affected"]}
    return IssueContents({PEOPLE: people}, made.drawings(), affected)


def payload_of(page: DaysPage) -> dict[str, Any]:
    """A page as plain JSON."""
    stored: dict[str, Any] = as_json(page)
    return stored


def changes_between(
    old: Mapping[str, Any] | None, new: Mapping[str, Any], later_untold_min: float = 0.0
) -> dict[str, Any]:
    """What changed for one person: `first` (nothing was issued before), `affected`, and `changes`, as JSON.

    Only changes that nobody is told of (`is_told`) affect nobody; pages and calendars show them.
    """
    if old is None:
        return {"first": True, "affected": True, "changes": []}
    found = changes(page_of(old), page_of(new))
    affected = any(is_told(change, later_untold_min) for change in found)
    return {"first": False, "affected": affected, "changes": as_json(found)}


@dataclass(frozen=True)
class Told:
    """One person, how they hear of it and what they would read."""

    place: Place
    sentences: tuple[str, ...]
    reach: str


def who_is_told(rota: Rota, now: datetime | None = None) -> list[Told]:
    """Those affected by an issue at `now`, by name. Nothing is written."""
    last = Issue.objects.filter(rota__trip=rota.trip).order_by("-issued_at", "-pk").first()
    values = trip_values(rota.trip)
    contents = issue_contents(rota=rota, last=last, values=values, now=now)
    found = []
    for key, summary in contents.summaries.items():
        place = values.place_row(key)
        found.append(Told(place, told_sentences(summary, values.trip.units), reach_of(place.participant)))
    return found
