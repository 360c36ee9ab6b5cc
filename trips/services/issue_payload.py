"""What an issue keeps for the pages of people, and what changed for a person between two issues.

Who issues a rota does this inside the transaction of the issue (`last`: the issue before it of the trip, or None):

    told = issue_contents(rota=rota, last=last, now=now)
    issue = Issue.objects.create(rota=rota, ..., pages=told.pages, papers={..., "drawings": told.drawings})
    notices_write(issue=issue, told=told.told, by=by)            # only those whom it changes something for

Payloads are plain JSON in SI with moments in ISO form; `page_of` reads one back. `changes_between(old, new)` compares
those of one person.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from django.contrib.auth import get_user_model

from trips.assemble.days import RotaPages
from trips.assemble.trip import TripValues, trip_values
from trips.documents.changes import changes, is_told, with_what_is_over, with_what_was
from trips.documents.days import DaysPage, page_of, tells_what_was
from trips.documents.frozen_json import as_json
from trips.models import ON_TRIP, Issue, Place, Rota, Trip
from trips.selectors.my import LEADERS, PEOPLE, issued_page
from trips.selectors.told import addressee, reach_of, told_last, told_sentences


@dataclass(frozen=True)
class Affected:
    """A participant's place, or a leader, and what an issue changes for them."""

    summary: dict[str, Any]
    place: Place | None = None
    leader: Any = None


@dataclass(frozen=True)
class IssueContents:
    """`pages` for Issue.pages; `drawings` by `drawing_key`; `told`: those affected."""

    pages: dict[str, Any]
    drawings: dict[str, str]
    told: tuple[Affected, ...]


def issue_contents(*, rota: Rota, last: Issue | None, now: datetime, values: TripValues | None = None) -> IssueContents:
    """Everything an issue keeps for pages, and what it changes for whom; the rota is read once.

    Sessions that are over at `now` stay as the last issue told them. Somebody who had turns and is no longer on the
    trip keeps a page, without turns, and is told once.
    """
    made = RotaPages(rota, values)
    left = _left_places(rota.trip, last)
    before = last.pages.get(PEOPLE, {}) if last else {}
    known, later_min = before | told_last(rota.trip)[PEOPLE], rota.trip.rules.later_untold_min
    people, told = {}, []
    for place in (*made.values.place_rows, *left):
        key, page = str(place.uuid), made.page(place)
        last_page = _last_page(place, before.get(key)) if last else None
        if last_page is not None and key in before:
            page = with_what_is_over(last_page, page, now)
        people[key] = payload_of(with_what_was(last_page, page))
        one = Affected(changes_between(known.get(key), people[key], later_min), place=place)
        told.append(_left(one, now) if place in left else one)
    led, leaders = _leaders_affected(made, last, now)
    told += leaders
    affected = tuple(one for one in told if one.summary["affected"])
    return IssueContents({PEOPLE: people, LEADERS: led}, made.drawings(), affected)


def _last_page(place: Place, payload: dict[str, Any] | None) -> DaysPage | None:
    """What a person was told last: the `payload` of the issue before, or else what an earlier one kept."""
    if payload is not None and tells_what_was(payload):
        return page_of(payload)
    issued = issued_page(place)
    return issued.page if issued else None


def _left_places(trip: Trip, last: Issue | None) -> list[Place]:
    """Those to whom the issue before gave a page and who are no longer on the trip."""
    known = last.pages.get(PEOPLE, {}) if last else {}
    rows = trip.places.filter(uuid__in=known).exclude(state__in=ON_TRIP)
    return list(rows.select_related("participant").prefetch_related("absences"))


def _left(one: Affected, now: datetime) -> Affected:
    """What somebody is told who is no longer on the trip: which turns are theirs no more, of those still ahead."""
    gone = [change for change in one.summary["changes"] if datetime.fromisoformat(change["starts_at"]) > now]
    return replace(one, summary={"first": False, "affected": bool(gone), "changes": gone, "left": True})


def _leaders_affected(made: RotaPages, last: Issue | None, now: datetime) -> tuple[dict[str, Any], list[Affected]]:
    """Leaders' pages by user name, and what changes for whom, by the rules of participants; first seats: all at once.

    A leader without a seat gets no page; of the one before they are told what is still ahead.
    """
    trip, before = made.rota.trip, last.pages.get(LEADERS, {}) if last else {}
    known, pages = before | told_last(trip)[LEADERS], made.leader_pages()
    led, found = {}, []
    users = get_user_model().objects.filter(username__in={*before, *pages})
    for user in users.order_by("pk"):
        name = user.get_username()
        page = pages[name] if name in pages else _unseated(page_of(before[name]))
        if name in before:
            page = with_what_is_over(page_of(before[name]), page, now)
        summary = changes_between(known.get(name), payload_of(page), trip.rules.later_untold_min)
        found.append(Affected(summary, leader=user))
        if name in pages:
            led[name] = payload_of(page)
    return led, found


def _unseated(page: DaysPage) -> DaysPage:
    """The page of somebody who sits nowhere any more."""
    return replace(page, sessions=tuple(replace(session, turn=None) for session in page.sessions))


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
    """One person, how they hear of it and what they would read. `key`: as seats and drives name them."""

    name: str
    sentences: tuple[str, ...]
    reach: str
    key: str = ""
    phone: str = ""


def who_is_told(rota: Rota, now: datetime) -> list[Told]:
    """Those affected, by name, leaders last. Nothing is written."""
    last = Issue.objects.filter(rota__trip=rota.trip).order_by("-issued_at", "-pk").first()
    values = trip_values(rota.trip)
    contents = issue_contents(rota=rota, last=last, now=now, values=values)
    found = []
    for one in contents.told:
        who = addressee(one.place, one.leader, values.trip)
        key = f"place-{one.place.uuid}" if one.place else f"leader-{one.leader.pk}"
        found.append(Told(who.name, told_sentences(one.summary, values.trip.units), reach_of(who), key, who.phone))
    return found
