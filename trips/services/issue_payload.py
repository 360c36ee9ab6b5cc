"""What an issue keeps for the pages of people, and what changed for a person between two issues.

Who issues a rota does this inside the transaction of the issue (`last`: the issue before it of the trip, or None):

    told = issue_contents(rota=rota, last=last)
    issue = Issue.objects.create(rota=rota, ..., pages=told.pages, papers={..., "drawings": told.drawings})
    for place_uuid, summary in told.summaries.items():          # only those whom it changes something for
        Notice.objects.create(issue=issue, place=places[place_uuid], summary=summary)
    notices_send.enqueue(str(issue.uuid))                       # trips.tasks.notices: mails, sets told_at

Payloads are plain JSON in SI with moments in ISO form; `days_page` reads one back. `changes_between(old, new)` compares
those of one person.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from trips.assemble.days import RotaPages
from trips.assemble.trip import TripValues, trip_values
from trips.documents.changes import changes
from trips.documents.days import DaysPage
from trips.documents.frozen_json import as_json, from_json
from trips.models import Issue, Place, Rota
from trips.selectors.my import PEOPLE
from trips.selectors.told import reach_of, told_sentences


@dataclass(frozen=True)
class IssueContents:
    """`pages` for Issue.pages; `drawings` by "session/hide/view number"; `summaries` of those affected, by place."""

    pages: dict[str, Any]
    drawings: dict[str, str]
    summaries: dict[str, dict[str, Any]]


def issue_contents(*, rota: Rota, last: Issue | None, values: TripValues | None = None) -> IssueContents:
    """Everything an issue keeps for pages, and what it changes for whom; the rota is read once."""
    made = RotaPages(rota, values)
    people = {str(place.uuid): payload_of(made.page(place)) for place in made.values.place_rows}
    before = last.pages.get(PEOPLE, {}) if last else {}
    summaries = {key: changes_between(before.get(key), payload) for key, payload in people.items()}
    told = {key: summary for key, summary in summaries.items() if summary["affected"]}
    return IssueContents({PEOPLE: people}, made.drawings(), told)


def payload_of(page: DaysPage) -> dict[str, Any]:
    """A page as plain JSON."""
    stored: dict[str, Any] = as_json(page)
    return stored


def days_page(payload: Mapping[str, Any]) -> DaysPage:
    """The page that a payload keeps."""
    return from_json(DaysPage, dict(payload))


def changes_between(old: Mapping[str, Any] | None, new: Mapping[str, Any]) -> dict[str, Any]:
    """What changed for one person: `first` (nothing was issued before), `affected`, and `changes`, as JSON."""
    if old is None:
        return {"first": True, "affected": True, "changes": []}
    found = changes(days_page(old), days_page(new))
    return {"first": False, "affected": bool(found), "changes": as_json(found)}


@dataclass(frozen=True)
class Told:
    """One person, how they hear of it and what they would read."""

    place: Place
    sentences: tuple[str, ...]
    reach: str


def who_is_told(rota: Rota) -> list[Told]:
    """Those affected, by name. Nothing is written."""
    last = Issue.objects.filter(rota__trip=rota.trip).order_by("-issued_at", "-pk").first()
    values = trip_values(rota.trip)
    contents = issue_contents(rota=rota, last=last, values=values)
    found = []
    for key, summary in contents.summaries.items():
        place = values.place_row(key)
        found.append(Told(place, told_sentences(summary, values.trip.units), reach_of(place.participant)))
    return found
