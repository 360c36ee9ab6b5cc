"""What an issue keeps for the pages of people, and what changed for a person between two issues.

Who issues a rota (`trips/services/rota.py`) does, inside the transaction of the issue:

    pages = page_payloads(rota=rota)                      # {place uuid: payload}, for Issue.pages["people"]
    for place uuid, payload in pages.items():
        summary = changes_between(earlier.get(uuid), payload)   # earlier: the payloads of the issue before, or {}
        if summary["affected"]:                                 # only those affected are told
            Notice.objects.create(issue=issue, place=place, summary=summary)
    transaction.on_commit(lambda: notices_send.enqueue(str(issue.uuid)))     # trips/tasks: mails, sets told_at

Somebody who has lost their place has no payload in the new issue; nothing is told to them here. Payloads are plain
JSON in SI with moments in ISO form; `days_page` reads them back.
"""

from collections.abc import Mapping
from typing import Any

from trips.assemble.days import RotaPages
from trips.assemble.trip import TripValues
from trips.documents.changes import changes
from trips.documents.days import DaysPage
from trips.documents.stored import as_json, from_json
from trips.models import Place, Rota


def page_payload(*, rota: Rota, place: Place) -> dict[str, Any]:
    """The payload of one person's days page of a rota."""
    return payload_of(RotaPages(rota).page(place))


def page_payloads(*, rota: Rota, values: TripValues | None = None) -> dict[str, dict[str, Any]]:
    """The payloads of everybody on the trip, by place uuid; the rota is read once."""
    pages = RotaPages(rota, values)
    return {str(place.uuid): payload_of(pages.page(place)) for place in pages.values.place_rows}


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
